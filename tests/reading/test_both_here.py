""" "Both" said of one corner or side is not left and right; a count that adds up is no reading."""

from __future__ import annotations

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def order(text: str, v: Vocabulary) -> RepairOrder:
    return write_order(Note(name="both", kind="transcript", text=text), vocabulary=v)


def spots(text: str, v: Vocabulary) -> set[tuple[str, str | int | None, str | None]]:
    return {(x.component.id, x.position.axle, x.position.side) for x in order(text, v).lines}


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (
            "Driver front now. Both ball joints over here are tight.",
            {("upper-ball-joint", "front", "left"), ("lower-ball-joint", "front", "left")},
        ),
        (
            "Right front. Both tie rods on this side are tight.",
            {("inner-tie-rod", "front", "right"), ("outer-tie-rod-end", "front", "right")},
        ),
        (
            "Left rear wheel is off. Both calipers on this side are seized.",
            {("brake-caliper", "front", "left"), ("brake-caliper", "rear", "left")},
        ),
        (
            "At the left front, both shocks are leaking.",
            {("shock-absorber", "front", "left"), ("shock-absorber", "front", "right")},
        ),
    ],
)
def test_both_of_one_corner(
    text: str, lines: set[tuple[str, str | int | None, str | None]], vocabulary: Vocabulary
) -> None:
    assert spots(text, vocabulary) == lines


def test_the_lower_of_a_corner_stays_at_that_corner(vocabulary: Vocabulary) -> None:
    text = "passenger front upper ball joint is tight lower is loose needs a lower ball joint"
    assert ("lower-ball-joint", "front", "right") in spots(text, vocabulary)


def test_what_adds_up_is_no_reading(vocabulary: Vocabulary) -> None:
    text = "Left front tie rods are tight. Right front shock is leaking too so that makes two shocks."
    assert [m for line in order(text, vocabulary).lines for m in line.measurements] == []
    # Said with its unit it is one.
    assert any(line.measurements for line in order("Oil pressure, that makes two bar.", vocabulary).lines)
