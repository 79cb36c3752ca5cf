"""Brake pads that nobody names: "rears are metal to metal", millimeters at an axle where brakes are spoken of."""

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def pads(text: str, v: Vocabulary) -> dict[tuple[object, object], str]:
    order = write_order(Note(name="pads", text=text), vocabulary=v)
    return {(x.position.axle, x.position.side): x.severity for x in order.lines if x.component.id == "brake-pad"}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Right rear is metal to metal.", {("rear", "right"): "unsafe"}),
        (
            "Came in for a brake noise. Fronts have 4 mil left, rears are metal to metal on the right side.",
            {("front", None): "suggested", ("rear", "right"): "unsafe"},
        ),
        ("Checked the brakes. Fronts at 6 mm, rears at 1 mm.", {("front", None): "good", ("rear", None): "required"}),
        ("Fronts at 6 mm, rears at 3 mm.", {}),
        ("No metal to metal at the rear.", {}),
    ],
)
def test_what_is_said_of_pads_only_is_said_of_them(
    text: str, found: dict[tuple[object, object], str], vocabulary: Vocabulary
) -> None:
    assert pads(text, vocabulary) == found


def test_both_speeds_are_no_two_sides(vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="fan", text="Radiator fan works both speeds."), vocabulary=vocabulary)
    assert [x.position.side for x in order.lines] == [None]
