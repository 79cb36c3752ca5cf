""" "Bad" is what technicians say of anything that has had its day; beside another fault it says how much of it."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("Wheel bearing is bad on the left front.", "wheel-bearing"),
        ("the left front ball joint's bad", "ball-joint"),
        ("Fuel pump is going bad.", "fuel-pump"),
        ("Catalytic converter's gone bad", "catalytic-converter"),
        ("radiator bad", "radiator"),
        ("Horn is bad.", "horn"),
    ],
)
def test_a_bad_part_is_to_be_replaced(text: str, part: str, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="bad", text=text), vocabulary=vocabulary).lines
    assert (line.component.id, line.severity, line.action.verb) == (part, "required", "replace")


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("Left front strut is leaking real bad.", "leaking"),
        ("Bad leak at the rear main seal.", "leaking"),
        ("Muffler is rusted bad.", "corroded"),
    ],
)
def test_beside_a_fault_bad_is_its_degree(text: str, condition: str, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="bad", text=text), vocabulary=vocabulary).lines
    assert [(c.id, c.degree) for c in line.conditions] == [(condition, "severe")]


@pytest.mark.parametrize("text", ["Brakes are not bad.", "CV boot is not too bad.", "Water pump's not bad."])
def test_not_bad_is_good(text: str, vocabulary: Vocabulary) -> None:
    assert [x.severity for x in write_order(Note(name="bad", text=text), vocabulary=vocabulary).lines] == ["good"]
