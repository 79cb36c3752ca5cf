"""A typed line that opens with the fault, what was declined, and words that only look like work done."""

from __future__ import annotations

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _order(text: str, vocabulary: Vocabulary) -> RepairOrder:
    return write_order(Note(name="first", text=text), vocabulary=vocabulary, steering="right-hand")


@pytest.mark.parametrize(
    "text",
    [
        "egr valve dirty, cleaned\noil leak o/s driveshaft seal, monitor\nhorn ok",
        "egr valve dirty, cleaned\nleak o/s driveshaft seal\nhorn ok",
    ],
)
def test_a_line_that_opens_with_the_fault_is_of_its_own_part(text: str, vocabulary: Vocabulary) -> None:
    leaking = [
        (x.component.id, x.position.side)
        for x in _order(text, vocabulary).lines
        if any(c.id == "leaking" for c in x.conditions)
    ]
    assert leaking == [("axle-seal", "right")]


def test_what_is_declined_is_the_part_behind_the_word(vocabulary: Vocabulary) -> None:
    text = "sill n/s corroded, weld\no/s driveshaft seal leaking, monitor\ncust declined sill"
    work = {x.component.id: x.work for x in _order(text, vocabulary).lines}
    assert work == {"rocker-panel": "declined", "axle-seal": "proposed"}


@pytest.mark.parametrize("text", ["left front tire has a chunk out of it so that tire's done", "Rear tires are done."])
def test_done_said_of_a_tire_is_worn_out(text: str, vocabulary: Vocabulary) -> None:
    assert {x.work for x in _order(text, vocabulary).lines} == {"proposed"}


def test_no_steer_tire_sits_at_the_rear(vocabulary: Vocabulary) -> None:
    text = "tandem tractor steer tire is nine thirty seconds left, rear ones are at eight"
    for line in _order(text, vocabulary).lines:
        assert line.component.id != "steer-tire" or line.position.axle == "front"
