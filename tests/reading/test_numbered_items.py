"""Talk that numbers its items, and what "which", "the rest" and "inner" point to."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary


def _lines(order: RepairOrder) -> dict[tuple[str, str], list[float]]:
    """The readings of each line by component and place."""
    found = {}
    for line in order.lines:
        p = line.position
        place = " ".join(str(x) for x in (p.axle, p.side, p.depth) if x)
        found[line.component.id, place] = [m.value for m in line.measurements]
    return found


@pytest.mark.parametrize(
    "text",
    [
        "first one the horn is dead second the battery is weak third the left headlamp is out fourth the muffler is rusted",
        "number one the horn is dead, second is the battery, weak, third left headlamp is out, fourth the muffler is rusted",
        "first the horn is dead second thing the battery is weak third one left headlamp is out then the muffler four is "
        "rusted fifth the radiator is fine",
    ],
)
def test_numbers_of_items_are_no_readings(text: str, vocabulary: Vocabulary) -> None:
    lines = _lines(order_of(text, vocabulary))
    assert {"horn", "battery", "headlamp", "muffler"} <= {component for component, _ in lines}
    assert not any(lines.values())


def test_readings_in_32nds_are_no_items(vocabulary: Vocabulary) -> None:
    text = "first the tires left front four thirty seconds right front five third the battery is weak"
    assert _lines(order_of(text, vocabulary))["tire", "front left"] == [4]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("There's oil on the belt from the power steering pump, which is leaking.", "power-steering-pump"),
        ("coolant is low because of the radiator which is leaking", "radiator"),
        ("The carpet is wet from the heater core, which is leaking.", "heater-core"),
    ],
)
def test_which_points_to_the_part_before_it(text: str, part: str, vocabulary: Vocabulary) -> None:
    lines = order_of(text, vocabulary).lines
    assert [x.component.id for x in lines if any(c.id == "leaking" for c in x.conditions)] == [part]


@pytest.mark.parametrize(
    "text",
    [
        "Tires: left front is at four, the rest are six.",
        "the left front tire is at four thirty seconds the rest are six",
        "Left front tire 4/32, all the others are 6/32.",
    ],
)
def test_the_rest_are_the_other_corners(text: str, vocabulary: Vocabulary) -> None:
    assert _lines(order_of(text, vocabulary)) == {
        ("tire", "front left"): [4],
        ("tire", "front right"): [6],
        ("tire", "rear left"): [6],
        ("tire", "rear right"): [6],
    }


@pytest.mark.parametrize(
    "text",
    [
        "Bus tires. RR outer 6 inner 6, LR outer 6 inner 2.",
        "Bus, tires: right rear outer six, inner six. Left rear outer six, inner two.",
    ],
)
def test_inner_and_outer_are_read_at_the_side_just_said(text: str, vocabulary: Vocabulary) -> None:
    assert _lines(order_of(text, vocabulary)) == {
        ("tire", "rear right outer"): [6],
        ("tire", "rear right inner"): [6],
        ("tire", "rear left outer"): [6],
        ("tire", "rear left inner"): [2],
    }


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("Tandem tractor. Axle two left outer, cut to the cords, replace.", "2 left outer"),
        ("Low loader, tri axle. Axle three nearside inner, torn in the sidewall.", "3 right inner"),
    ],
)
def test_a_place_inside_or_outside_of_duals_is_a_tire(text: str, place: str, vocabulary: Vocabulary) -> None:
    assert ("tire", place) in _lines(order_of(text, vocabulary))
