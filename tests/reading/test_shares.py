"""Half of what there was when new, and readings at two places in one breath."""

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def readings(text: str, component: str, v: Vocabulary) -> dict[tuple[object, object], list[tuple[float, str]]]:
    order = write_order(Note(name="shares", text=text), vocabulary=v)
    return {
        (x.position.axle, x.position.side): [(m.value, m.unit) for m in x.measurements]
        for x in order.lines
        if x.component.id == component
    }


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (
            "front pads are about half, rears about the same.",
            {("front", None): [(50, "%")], ("rear", None): [(50, "%")]},
        ),
        ("Rear pads half left.", {("rear", None): [(50, "%")]}),
        (
            "Left front pads are at half left rear pads at 3.",
            {("front", "left"): [(50, "%")], ("rear", "left"): [(3, "mm")]},
        ),
        ("Front pads are half worn.", {("front", None): []}),
    ],
)
def test_half_is_a_share(
    text: str, found: dict[tuple[object, object], list[tuple[float, str]]], vocabulary: Vocabulary
) -> None:
    assert readings(text, "brake-pad", vocabulary) == found


def test_each_place_has_the_number_said_of_it(vocabulary: Vocabulary) -> None:
    text = "Tires, fronts are five thirty seconds rears are about four, wearing on the insides."
    found = readings(text, "tire", vocabulary)
    assert {place: [value for value, _ in read] for place, read in found.items()} == {
        ("front", "left"): [5], ("front", "right"): [5], ("rear", "left"): [4], ("rear", "right"): [4],
    }  # fmt: skip


def test_a_heading_of_place_and_system_holds_for_what_stands_below(vocabulary: Vocabulary) -> None:
    text = "Front suspension:\n- left sway bar link clunks\n- struts dry\nRear suspension:\n- left coil spring broken\n"
    order = write_order(Note(name="heading", text=text), vocabulary=vocabulary)
    assert {(x.component.id, x.position.axle, x.position.side) for x in order.lines} == {
        ("sway-bar-link", "front", "left"), ("strut", "front", "left"), ("strut", "front", "right"),
        ("coil-spring", "rear", "left"),
    }  # fmt: skip
