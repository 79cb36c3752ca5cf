"""A question that the note answers itself says what the answer makes of it."""

from __future__ import annotations

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _order(text: str, vocabulary: Vocabulary) -> RepairOrder:
    return write_order(Note(name="asked", text=text), vocabulary=vocabulary)


@pytest.mark.parametrize(
    ("text", "severity"),
    [
        ("Left front tire is cut, 5/32. Unsafe? no.", "required"),
        ("Left front tire is cut, 5/32. Unsafe? Yes.", "unsafe"),
        ("Left front tire is cut, 5/32. Safe to drive? yes.", "required"),
        ("Left front tire is cut, 5/32. Safe to drive? No.", "unsafe"),
        ("Left front tire is cut, 5/32. Roadworthy? nope", "unsafe"),
    ],
)
def test_the_answer_says_whether_it_is_safe(text: str, severity: str, vocabulary: Vocabulary) -> None:
    assert [x.severity for x in _order(text, vocabulary).lines] == [severity]


def test_no_part_is_asked_for_where_the_answer_is_that_it_is_not_unsafe(vocabulary: Vocabulary) -> None:
    order = _order("Unsafe? no. Horn works.", vocabulary)
    assert [(x.component.id, x.severity) for x in order.lines] == [("horn", "good")]
    assert not order.questions


def test_not_safe_of_no_part_is_asked_back(vocabulary: Vocabulary) -> None:
    assert any("Safe to drive" in q.text for q in _order("Safe to drive? No. Horn works.", vocabulary).questions)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Rear shocks leaking? not that I can see", {("shock-absorber", "good")}),
        ("Brakes ok? yeah. Is the horn working? Yes.", {("brake-system", "good"), ("horn", "good")}),
        ("Is the water pump leaking? No.", {("water-pump", "good")}),
        ("Water pump leaking? yes", {("water-pump", "leaking")}),
        ("Washer working? no. Does the horn work? No.", {("windshield-washer", "inoperative"), ("horn", "inoperative")}),
        ("Left wiper blade ok? no, it streaks", {("wiper-blade", "worn")}),
        # What would be is no finding, whatever the answer.
        ("Would the struts pass? No. Horn ok.", {("horn", "good")}),
    ],
)  # fmt: skip
def test_the_answer_decides(text: str, found: set[tuple[str, str]], vocabulary: Vocabulary) -> None:
    lines = _order(text, vocabulary).lines
    assert {(x.component.id, y) for x in lines for y in [c.id for c in x.conditions] or [x.severity]} == found


def test_what_is_not_seen_takes_nothing_back(vocabulary: Vocabulary) -> None:
    lines = _order("Left lower ball joint has 2 mm of play. Leaking? Not that I can see.", vocabulary).lines
    assert [([c.id for c in x.conditions], [m.value for m in x.measurements]) for x in lines] == [(["loose"], [2])]
