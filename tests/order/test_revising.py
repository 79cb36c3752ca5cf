"""An order put together anew from lines that people changed."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from project_notes import every_note, shipped_vocabulary
from talkaround.models import Note, RepairOrder
from talkaround.order.revising import Entry, joined, revised
from talkaround.pipeline import read_again

NOTES = sorted(every_note())


def again(note: Note, steering: str = "left-hand", **how: object) -> tuple[RepairOrder, RepairOrder]:
    """The order as read, and as put together anew with every line handled ``how``."""
    order, found, judged = read_again(note, vocabulary=shipped_vocabulary(), steering=steering)  # type: ignore[arg-type]
    entries = [Entry(line, n, **how) for n, line in enumerate(order.lines)]  # type: ignore[arg-type]
    return order, revised(order, entries, found, judged, shipped_vocabulary())[0]


def unaccounted(order: RepairOrder) -> list[str]:
    """Words of the note that stand on no line, in no concern, fact or set-aside stretch."""
    spans = [e for x in order.lines for e in x.evidence] + [e for c in order.concerns for e in c.evidence]
    spans += [*order.set_aside, *(order.vehicle.evidence if order.vehicle else [])]
    spans += order.customer.evidence if order.customer else []
    held = {n for s in spans for n in range(s.begin, s.end)}
    return [m[0] for m in re.finditer(r"\w+", order.note.text) if not held.issuperset(range(m.start(), m.end()))]


def changed(before: RepairOrder, after: RepairOrder) -> list[str]:
    return [
        f"line {a.number} {name}: {getattr(a, name)!r} -> {getattr(b, name)!r}"
        for a, b in zip(before.lines, after.lines, strict=True)
        for name in type(a).model_fields
        if getattr(a, name) != getattr(b, name)
    ]


@pytest.mark.parametrize("id", NOTES)
def test_what_nobody_touched_stands_as_it_was_read(id: str) -> None:
    note, steering = every_note()[id]
    before, after = again(note, steering)
    assert changed(before, after) == []
    for name in ("parts", "jobs", "questions_left", "cautions", "summary", "set_aside"):
        assert getattr(after, name) == getattr(before, name), name
    if not after.questions_left:
        # Those of equal weight come in the order of the lines.
        assert sorted(map(repr, after.questions)) == sorted(map(repr, before.questions))


@pytest.mark.parametrize("id", NOTES)
def test_judging_a_line_again_gives_what_it_gave(id: str) -> None:
    note, steering = every_note()[id]
    before, after = again(note, steering, touched=True)
    assert changed(before, after) == []
    assert after.parts == before.parts
    assert after.summary == before.summary


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NOTES), st.sets(st.integers(0, 40)), st.randoms(use_true_random=False))
def test_every_word_is_accounted_for_and_lines_are_numbered_whatever_is_struck(id: str, struck: set[int], r) -> None:  # type: ignore[no-untyped-def]
    note, steering = every_note()[id]
    order, found, judged = read_again(note, vocabulary=shipped_vocabulary(), steering=steering)
    entries = [Entry(line, n, struck=n in struck) for n, line in enumerate(order.lines)]
    r.shuffle(entries)
    after, _ = revised(order, entries, found, judged, shipped_vocabulary())
    assert unaccounted(after) == []
    assert [x.number for x in after.lines] == list(range(1, len(after.lines) + 1))
    assert all(q.line is None or 1 <= q.line <= len(after.lines) for q in after.questions)
    assert all(n in range(1, len(after.lines) + 1) for p in after.parts for n in p.lines)
    # The words of a struck line are set aside, but for those that another line rests on too, or the vehicle's facts.
    on_lines = {n for x in after.lines for e in x.evidence for n in range(e.begin, e.end)}
    on_lines |= {n for c in after.concerns for e in c.evidence for n in range(e.begin, e.end)}
    on_lines |= {n for e in order.vehicle.evidence for n in range(e.begin, e.end)} if order.vehicle else set()
    on_lines |= {n for e in order.customer.evidence for n in range(e.begin, e.end)} if order.customer else set()
    aside = {n for a in after.set_aside for n in range(a.begin, a.end)}
    for x in entries:
        for e in x.line.evidence if x.struck else ():
            for m in re.finditer(r"\w+", note.text[e.begin : e.end]):
                assert set(range(e.begin + m.start(), e.begin + m.end())) <= on_lines | aside, m[0]


def of(text: str) -> tuple[RepairOrder, list[Entry], object]:
    order, found, judged = read_again(Note(name="n", text=text), vocabulary=shipped_vocabulary())
    entries = [Entry(line, n) for n, line in enumerate(order.lines)]

    def put(entries: list[Entry]) -> RepairOrder:
        return revised(order, entries, found, judged, shipped_vocabulary())[0]

    return order, entries, put


def test_parts_follow_the_side() -> None:
    order, (entry,), put = of("Left front lower ball joint has play, replace it.")
    assert [p.position.side for p in order.parts] == ["left"]
    entry.line = entry.line.model_copy(deep=True)
    entry.line.position.side = "right"
    entry.touched, entry.by_hand = True, frozenset({"position"})
    after = put([entry])  # type: ignore[operator]
    assert [p.position.side for p in after.parts] == ["right"]
    assert "right front" in after.lines[0].correction
    assert "left" not in after.lines[0].correction + after.lines[0].cause + after.summary


def test_without_its_unsafe_line_the_order_does_not_forbid_to_drive() -> None:
    order, entries, put = of("Left front brake hose is cracked, needs replacing, unsafe. Wiper blades are torn.")
    assert "Do not drive" in order.summary
    assert any("must not be driven" in c for c in order.cautions)
    unsafe = [e for e in entries if e.line.severity == "unsafe"]
    assert unsafe
    for e in unsafe:
        e.struck = True
    after = put(entries)  # type: ignore[operator]
    assert "Do not drive" not in after.summary
    assert not any("must not be driven" in c for c in after.cautions)


def test_a_line_that_a_person_calls_unsafe_forbids_to_drive() -> None:
    order, entries, put = of("Wiper blades are torn. Left front tire is at 8/32.")
    assert "Do not drive" not in order.summary
    entries[0].line = entries[0].line.model_copy(update={"severity": "unsafe"})
    entries[0].touched, entries[0].by_hand = True, frozenset({"severity"})
    after = put(entries)  # type: ignore[operator]
    assert after.lines[0].severity == "unsafe"
    assert "Do not drive" in after.summary
    assert any("must not be driven" in c for c in after.cautions)


def test_what_is_joined_has_the_words_of_both_and_the_gravest_severity() -> None:
    order, _, _ = of("Left front tire is at 2/32, replace. Right front tire is at 5/32.")
    one = joined(order.lines)
    spans = {n for e in one.evidence for n in range(e.begin, e.end)}
    assert spans == {n for x in order.lines for e in x.evidence for n in range(e.begin, e.end)}
    assert [m.value for m in one.measurements] == [m.value for x in order.lines for m in x.measurements]
    assert one.severity == order.lines[0].severity


def with_reading(text: str, value: float) -> tuple[RepairOrder, RepairOrder]:
    """The order of a note of one reading, and what it is once a person set another value."""
    order, (entry,), put = of(text)
    entry.line = entry.line.model_copy(deep=True)
    entry.line.measurements[0].value = value
    entry.touched, entry.by_hand = True, frozenset({"measurements"})
    return order, put([entry])  # type: ignore[operator]


def test_a_reading_mended_to_a_bad_one_is_no_longer_good() -> None:
    # 49 CFR 570.9 (a): a tread under 2/32 in fails.
    before, after = with_reading("Left front tire is at 8/32.", 1)
    assert before.lines[0].severity == "good"
    assert after.lines[0].severity in ("unsafe", "required")
    assert after.lines[0].measurements[0].verdict == "fail"


def test_a_reading_mended_to_a_good_one_takes_back_what_was_concluded_from_the_bad_one() -> None:
    before, after = with_reading("Left front tire is at 1/32.", 9)
    assert before.lines[0].conditions
    assert after.lines[0].severity == "good"
    assert not after.lines[0].conditions
    assert not after.parts


def test_a_limit_that_the_note_names_holds_for_the_mended_reading_too() -> None:
    before, after = with_reading("Left front rotor is 24.1 mm, minimum is 22 mm.", 21.5)
    assert (before.lines[0].measurements[0].limit, before.lines[0].measurements[0].verdict) == (22, "pass")
    assert (after.lines[0].measurements[0].limit, after.lines[0].measurements[0].verdict) == (22, "fail")
    assert after.lines[0].severity in ("unsafe", "required")
