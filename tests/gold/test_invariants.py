"""What holds of every note that the project has: nothing lost, nothing invented, no guessed side, always the same."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pytest

from project_notes import SAMPLES, every_note
from spoken_numbers import stands_in
from talkaround.models import Line, Note, RepairOrder, Steering
from talkaround.pipeline import write_order
from talkaround.reading.words import read_words
from talkaround.vocabulary import Tag, Vocabulary
from talkaround.vocabulary.folding import Word

NOTES = sorted(every_note())
each_note = pytest.mark.parametrize("key", NOTES)

# Words of place that say a side or an axle only together with what was said before or by leaving some out.
RELATIVE = {"both", "all-four", "neither-side", "this-side", "other-side", "same-place"}
BY_DRIVE_SIDE = {
    "driver": ("left", "right"),
    "passenger": ("right", "left"),
    "nearside": ("right", "left"),
    "offside": ("left", "right"),
    "curbside": ("right", "left"),
    "roadside": ("left", "right"),
}


def spans_of(order: RepairOrder) -> Iterator[tuple[str, int, int]]:
    """Every span of an order with what it is the span of."""
    for line in order.lines:
        yield from ((f"line {line.number}", e.begin, e.end) for e in line.evidence)
    for concern in order.concerns:
        yield from (("concern", e.begin, e.end) for e in concern.evidence)
    for name, part in (("vehicle", order.vehicle), ("customer", order.customer)):
        yield from ((name, e.begin, e.end) for e in (part.evidence if part else []))
    yield from ((f"set aside ({a.reason})", a.begin, a.end) for a in order.set_aside)


def lost_words(order: RepairOrder) -> list[str]:
    """The words of the note that no span of its order holds."""
    held = bytearray(len(order.note.text))
    for _, begin, end in spans_of(order):
        held[begin:end] = b"\1" * (end - begin)
    return [m[0] for m in re.finditer(r"[A-Za-z0-9]+", order.note.text) if not all(held[m.start() : m.end()])]


@dataclass
class Evidence:
    """The words that a line rests on, and what the trade's vocabulary says that they mean."""

    line: Line
    note: Note
    steering: Steering
    vocabulary: Vocabulary
    note_words: list[Word]

    @cached_property
    def text(self) -> str:
        return " … ".join(self.note.text[e.begin : e.end] for e in self.line.evidence)

    @cached_property
    def words(self) -> list[str]:
        spans = [(e.begin, e.end) for e in self.line.evidence]
        return [w.fold for w in self.note_words if any(begin <= w.begin and w.end <= end for begin, end in spans)]

    @cached_property
    def tags(self) -> list[Tag]:
        return [tag for _, _, tags in self.vocabulary.matcher.find(self.words) for tag in tags]

    @cached_property
    def places(self) -> set[str]:
        column = self.steering == "right-hand"
        said = {word for tag in self.tags if tag.kind == "place" for word in tag.value.split()}
        # A letter of a table or of shorthand: R may be right or rear.
        letters = {"l": {"left"}, "r": {"right", "rear"}, "f": {"front"}}
        said = said.union(*(letters[word] for word in self.words if word in letters))
        return {BY_DRIVE_SIDE[word][column] if word in BY_DRIVE_SIDE else word for word in said}

    def concluded(self, *fields: str) -> bool:
        """Whether a rule is named for one of the fields."""
        return any(b.field in fields for b in self.line.because)

    def says(self, *kinds: str) -> bool:
        return any(tag.kind in kinds for tag in self.tags)


@pytest.fixture(scope="module")
def rests_on(orders: dict[str, RepairOrder], vocabulary: Vocabulary) -> dict[str, list[Evidence]]:
    lines = {}
    for key, order in orders.items():
        words = read_words(order.note.text, vocabulary, spoken=None if order.note.kind == "typed" else True).words
        steering = every_note()[key][1]
        lines[key] = [Evidence(line, order.note, steering, vocabulary, words) for line in order.lines]
    return lines


def told(evidence: Evidence, what: object) -> str:
    """A line that a reader can act on."""
    return f"line {evidence.line.number}, {evidence.line.component.name}: {what} is not in {evidence.text!r}"


# nothing lost


@each_note
def test_every_word_is_evidence_or_set_aside(orders: dict[str, RepairOrder], key: str) -> None:
    assert lost_words(orders[key]) == []


@each_note
def test_every_span_is_a_stretch_of_the_note(orders: dict[str, RepairOrder], key: str) -> None:
    text = orders[key].note.text
    assert text == every_note()[key][0].text
    assert [span for span in spans_of(orders[key]) if not text[span[1] : span[2]].strip() or span[2] > len(text)] == []


@each_note
def test_evidence_of_a_timed_note_has_its_time(orders: dict[str, RepairOrder], key: str) -> None:
    order = orders[key]
    evidence = [e for part in (*order.lines, *order.concerns) for e in part.evidence]
    timed = {(u.begin, u.end, u.start_s) for u in order.note.utterances}
    for e in evidence:
        begins = {start for begin, end, start in timed if begin <= e.begin < end}
        assert e.start_s in (begins or {None})


# nothing invented


@each_note
def test_every_line_rests_on_words(rests_on: dict[str, list[Evidence]], key: str) -> None:
    assert [told(e, "a word") for e in rests_on[key] if not re.search(r"\w", e.text)] == []


@each_note
def test_every_component_is_spoken_of(rests_on: dict[str, list[Evidence]], vocabulary: Vocabulary, key: str) -> None:
    """By a name of its own, of the more general one that it is a kind of, or of the assembly that it belongs to."""
    wrong = []
    for e in rests_on[key]:
        ids = {e.line.component.id}
        component = vocabulary.components[e.line.component.id]
        while component.kind_of:
            ids.add(component.kind_of)
            component = vocabulary.components[component.kind_of]
        ids |= {kind for i in set(ids) for kind in vocabulary.kinds.get(i, ())}
        if not any(t.kind in ("component", "short") and t.value in ids for t in e.tags) and not e.concluded(
            "component"
        ):
            wrong.append(told(e, "its name"))
    assert wrong == []


@each_note
def test_every_side_and_axle_is_said_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    wrong = []
    for e in rests_on[key]:
        position = e.line.position
        own = set(e.line.component.name.split())
        for value in (position.axle, position.side, position.level, position.depth, position.end):
            known = value is None or value in e.places | own or e.places & RELATIVE or e.concluded("position")
            if isinstance(value, int):
                known = known or stands_in(value, e.text)
            if not known and not (value == "both" and e.places >= {"left", "right"}):
                wrong.append(told(e, value))
        for word in (position.place or "").split():
            number = word.split("=")[1]
            if not (
                e.concluded("position") or word in e.places or (number.isdigit() and stands_in(int(number), e.text))
            ):
                wrong.append(told(e, word))
    assert wrong == []


@each_note
def test_every_condition_is_said_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    assert [
        told(e, condition.id)
        for e in rests_on[key]
        for condition in e.line.conditions
        if not any(t.kind == "condition" and t.value == condition.id for t in e.tags) and not e.concluded("conditions")
    ] == []


@each_note
def test_every_reading_stands_in_its_words_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    assert [
        told(e, f"{m.value:g} {m.unit}")
        for e in rests_on[key]
        for m in e.line.measurements
        if not stands_in(m.value, e.text) and not e.concluded("measurements")
    ] == []


@each_note
def test_every_severity_is_said_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    wrong = []
    for e in rests_on[key]:
        if e.line.severity == "good":
            said = e.says("good", "negation", "ruled-out") or "neither-side" in e.places
        else:
            said = e.says("severity", "action", "work")
        if not said and not e.concluded("severity"):
            wrong.append(told(e, e.line.severity))
    assert wrong == []


@each_note
def test_every_action_is_said_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    # Good findings have nothing to do, what is to be watched is watched, a declined one stays as it is, and "needs a
    # bulb" says replace with a word of need and the name of a part.
    wrong = []
    for e in rests_on[key]:
        verb = e.line.action.verb
        follows = verb == "none" and (e.line.severity == "good" or e.line.work == "declined")
        follows = follows or (verb == "monitor" and e.line.severity == "monitor")
        follows = follows or (verb == "replace" and e.says("severity") and e.says("component", "short"))
        if not follows and not e.says("action", "work") and not e.concluded("action"):
            wrong.append(told(e, verb))
    assert wrong == []


@each_note
def test_every_part_fitted_is_said_or_has_its_rule(rests_on: dict[str, list[Evidence]], key: str) -> None:
    assert [
        told(e, e.line.action.part.name)
        for e in rests_on[key]
        if e.line.action.part
        and not e.concluded("part")
        and not any(t.kind in ("component", "short") and t.value == e.line.action.part.id for t in e.tags)
    ] == []


@each_note
def test_a_line_that_is_good_has_nothing_to_be_done(orders: dict[str, RepairOrder], key: str) -> None:
    good = [line for line in orders[key].lines if line.severity == "good"]
    assert [line.number for line in good if line.action.verb != "none" or line.action.part or line.conditions] == []


# no guessed side


@each_note
def test_an_open_side_of_work_to_be_done_is_asked(
    orders: dict[str, RepairOrder], vocabulary: Vocabulary, key: str
) -> None:
    order = orders[key]
    asked = {(q.line, q.field) for q in order.questions}
    unasked = []
    for line in order.lines:
        component = vocabulary.components[line.component.id]
        # Pads, shoes and linings are ordered for an axle, few vehicles have two of some parts (a muffler); what is all
        # right, watched, declined or done needs no side.
        by_axle = component.sold == "axle-set" or "side" in component.seldom
        idle = line.severity == "good" or line.work == "done" or line.action.verb in ("none", "monitor")
        if idle or by_axle or "side" not in component.places or line.position.side is not None:
            continue
        if (line.number, "side") not in asked:
            unasked.append(f"line {line.number}: {line.component.name}")
    assert unasked == []


@each_note
def test_questions_are_of_lines_that_there_are(orders: dict[str, RepairOrder], key: str) -> None:
    numbers = [line.number for line in orders[key].lines]
    assert numbers == list(range(1, len(numbers) + 1))
    for question in orders[key].questions:
        assert question.line is None or question.line in numbers
        assert question.text.strip().endswith("?")


# same note, same order


@each_note
def test_the_same_note_gives_the_same_order(orders: dict[str, RepairOrder], vocabulary: Vocabulary, key: str) -> None:
    note, steering = every_note()[key]
    again = write_order(note, vocabulary=vocabulary, steering=steering)
    assert again.model_dump_json() == orders[key].model_dump_json()


def test_another_run_of_the_program_gives_the_same_orders(orders: dict[str, RepairOrder], tmp_path: Path) -> None:
    """Another process with another seed for its hashes, so that no order hangs on how Python keeps its sets."""
    samples = sorted(SAMPLES.iterdir())
    for hand in ("left-hand", "right-hand"):
        mine = [path for path in samples if every_note()[path.name][1] == hand]
        assert mine
        command = [
            sys.executable,
            "-m",
            "talkaround.cli",
            "write",
            *map(str, mine),
            "--out",
            str(tmp_path),
            "--steering",
            hand,
        ]
        subprocess.run(command, check=True, env={**os.environ, "PYTHONHASHSEED": "7"})
    for path in samples:
        written = RepairOrder.model_validate_json((tmp_path / f"{path.stem}.json").read_text("utf-8"))
        assert written == orders[path.name]
