"""Every rule has a meaning, and every meaning a rule: by what the code names and by what fires over all notes."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from project_notes import ROOT, every_note, shipped_vocabulary
from talkaround.judging.rules import BY_CONDITION
from talkaround.judging.rules import RULES as JUDGING
from talkaround.models import Note
from talkaround.order.rules import RULES as ORDER
from talkaround.output.explanation import Explanation, meaning
from talkaround.pipeline import explain_order, write_order
from talkaround.reading.rules import RULES as READING
from talkaround.reading.state import ASIDE_MODES

SOURCES = ROOT / "src" / "talkaround"
RULE = re.compile(r"[a-z]+(?:-[a-z]+)*\.[a-z]+(?:-[a-z]+)*")


def named_in(path: Path) -> Iterator[str]:
    """The rule ids that a module names in its code; of one made by a mode, the one for each mode."""
    tree = ast.parse(path.read_text("utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and RULE.fullmatch(node.value):
            yield node.value
        if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
            begin = str(node.values[0].value)
            if begin == "aside." and len(node.values) == 2:
                # What is taken back has rules of its own.
                yield from (f"aside.{mode}" for mode in ASIDE_MODES if mode != "taken-back")


def rules_of(room: str) -> set[str]:
    return {
        rule
        for path in (SOURCES / room).glob("*.py")
        if path.name != "rules.py"
        for rule in named_in(path)
        if not rule.startswith("talkaround.")
    }


@cache
def explained() -> dict[str, Explanation]:
    v = shipped_vocabulary()
    return {key: explain_order(note, vocabulary=v, steering=steering) for key, (note, steering) in every_note().items()}


def rules_behind(e: Explanation) -> set[str]:
    touched = {why.rule for step in e.recorded.steps for t in step.touched for why in t.why}
    return touched | {step.rule for step in e.recorded.steps} | {b.rule for line in e.order.lines for b in line.because}


def fired() -> set[str]:
    """Every rule that fires over the notes of the project."""
    return set().union(*map(rules_behind, explained().values()))


@pytest.mark.parametrize(("room", "meanings"), [("reading", READING), ("judging", JUDGING), ("order", ORDER)])
def test_meanings_and_the_rules_of_the_code_are_the_same(room: str, meanings: dict[str, str]) -> None:
    """A rule without a meaning needs one in ``rules.py`` of its room; a meaning without a rule is to go."""
    assert rules_of(room) == set(meanings)


def test_every_rule_that_fires_has_a_meaning() -> None:
    assert len(fired()) > 50
    assert sorted(rule for rule in fired() if not meaning(rule)) == []


@pytest.mark.parametrize(
    ("rule", "text"),
    [
        ("aside.tally", "Left front tire is bald. Quote 2 tires."),
        ("correction.swap-of-nothing", "Other way round. Horn is dead."),
        ("place.other-side", "Left front brake hose is cracked. The caliper on the other side is seized."),
        ("place.two-with-a-stroke", "Front pads 6/5."),
        ("ruled-out.not-it", "The leak is not the oil pan, it is the rear main seal."),
        ("say.before-naming", "It's cupped, that tire has to go."),
        ("severity.unclear", "Horn, leave as is."),
    ],
)
def test_rules_that_few_notes_need_can_fire(rule: str, text: str) -> None:
    assert rule in rules_behind(explain_order(Note(name="bay", text=text), vocabulary=shipped_vocabulary()))


@pytest.mark.parametrize("topic", BY_CONDITION)
def test_conditions_have_rules_that_fire(topic: str) -> None:
    assert {rule for rule in fired() if rule.startswith(f"{topic}.")} - JUDGING.keys()
    assert meaning(f"{topic}.worn") == BY_CONDITION[topic]
    assert meaning(f"{topic}.no-such-condition") is None


def test_a_meaning_is_one_short_line() -> None:
    texts = [*READING.values(), *JUDGING.values(), *BY_CONDITION.values()]
    assert [text for text in texts if len(text) > 100 or "\n" in text or text.endswith(".")] == []


def test_an_order_is_the_same_when_it_is_explained() -> None:
    v = shipped_vocabulary()
    differ = [
        key
        for key, (note, steering) in every_note().items()
        if explained()[key].order != write_order(note, vocabulary=v, steering=steering)
    ]
    assert differ == []


def test_every_clause_is_told_once_and_every_line_has_one() -> None:
    for key, e in explained().items():
        words = e.recorded.words
        clauses = [step.clause for step in e.recorded.steps]
        assert [c.number for c in clauses] == list(range(len(clauses))), key
        assert sum(c.end - c.begin for c in clauses) == len(words), key
        kept = {id(t.finding) for step in e.recorded.steps for t in step.touched if t.how != "gone"}
        assert [f.component for f in e.recorded.read.findings if id(f) not in kept] == [], key


def test_every_limit_that_is_told_is_the_one_of_the_line() -> None:
    limits = shipped_vocabulary().limits
    told = 0
    for e in explained().values():
        for line in e.order.lines:
            for measurement, limit in zip(line.measurements, e.limits[line.number], strict=True):
                if limit is not None:
                    assert limits[limit].source == measurement.limit_source
                    told += 1
                else:
                    assert measurement.limit_source in (None, "as said in the note")
    assert told > 20
