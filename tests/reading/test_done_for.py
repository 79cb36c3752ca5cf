""" "The bearing is done": worn out, or the work where the note tells of work; asked where neither shows."""

from __future__ import annotations

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _order(text: str, vocabulary: Vocabulary) -> RepairOrder:
    return write_order(Note(name="done", text=text), vocabulary=vocabulary)


def _asks(order: RepairOrder) -> bool:
    return any("worn out, or the work done" in q.text for q in order.questions)


@pytest.mark.parametrize(
    "text",
    ["Left rear wheel bearing is done.", "The clutch is finished.", "water pump's done", "Front struts are done."],
)
def test_worn_out_and_asked(text: str, vocabulary: Vocabulary) -> None:
    order = _order(text, vocabulary)
    assert {([c.id for c in x.conditions][0], x.severity, x.work) for x in order.lines} == {
        ("worn", "required", "proposed")
    }
    assert sum("worn out, or the work done" in q.text for q in order.questions) == 1


@pytest.mark.parametrize(
    "text", ["Radiator is done, replace it.", "Left rear wheel bearing is growling and rough, the bearing is done."]
)
def test_not_asked_where_the_note_tells(text: str, vocabulary: Vocabulary) -> None:
    order = _order(text, vocabulary)
    assert {x.work for x in order.lines} == {"proposed"}
    assert not _asks(order)


@pytest.mark.parametrize(
    "text",
    [
        "I've done the left rear wheel bearing.",
        "Front pads are done, torqued to 90.",
        "Oil change is done.",
        "Brake fluid is done.",
        "Wiper blades done.",
    ],
)
def test_work_that_was_done(text: str, vocabulary: Vocabulary) -> None:
    order = _order(text, vocabulary)
    assert {(x.work, tuple(c.id for c in x.conditions)) for x in order.lines} == {("done", ())}
    assert not _asks(order)


def test_until_it_is_done_is_still_to_do(vocabulary: Vocabulary) -> None:
    order = _order("Right front coil spring is broken, it is not going anywhere until it's done.", vocabulary)
    assert [(x.work, x.severity, [c.id for c in x.conditions]) for x in order.lines] == [
        ("proposed", "unsafe", ["broken"])
    ]
