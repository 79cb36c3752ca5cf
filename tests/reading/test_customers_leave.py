"""The customer's leave ("go ahead") is no concern; a refusal stands on the lines that it is of."""

from __future__ import annotations

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _order(text: str, vocabulary: Vocabulary) -> RepairOrder:
    return write_order(Note(name="leave", text=text), vocabulary=vocabulary)


@pytest.mark.parametrize(
    "leave",
    [
        "Customer said go ahead.",
        "Customer okayed it.",
        "She approved it.",
        "Owner authorised the lot.",
        "Cust ok'd it.",
        "He gave us the go ahead.",
        "Waiting on approval.",
        "He said to do it.",
    ],
)
def test_leave_to_do_the_work_is_no_concern(leave: str, vocabulary: Vocabulary) -> None:
    order = _order(f"Water pump is leaking. {leave}", vocabulary)
    assert not order.concerns
    assert [(x.component.id, x.work) for x in order.lines] == [("water-pump", "proposed")]


def test_what_a_customer_says_of_the_vehicle_still_is_one(vocabulary: Vocabulary) -> None:
    order = _order("Water pump is leaking, approved. Customer says it pulls left.", vocabulary)
    assert [c.text for c in order.concerns] == ["Customer says it pulls left."]


def test_the_refusal_is_of_the_ones_that_were_refused(vocabulary: Vocabulary) -> None:
    order = _order("Front tires 3/32, rear tires 3/32. He okayed the fronts, declined the rears.", vocabulary)
    assert {(x.position.axle, x.work) for x in order.lines} == {("front", "proposed"), ("rear", "declined")}


def test_who_gave_leave_was_told_of_the_danger(vocabulary: Vocabulary) -> None:
    unsafe = "Left lower ball joint is loose, don't drive it."
    asked = [q.text for q in _order(unsafe, vocabulary).questions]
    assert any("customer told" in text for text in asked)
    for leave, told in (("She okayed it.", True), ("Waiting on approval.", False)):
        asked = [q.text for q in _order(f"{unsafe} {leave}", vocabulary).questions]
        assert any("customer told" in text for text in asked) is not told


def test_going_ahead_with_work_is_the_work(vocabulary: Vocabulary) -> None:
    lines = _order("Go ahead and replace the cabin filter.", vocabulary).lines
    assert [(x.component.id, x.action.verb) for x in lines] == [("cabin-air-filter", "replace")]
