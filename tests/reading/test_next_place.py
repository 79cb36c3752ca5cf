"""A place behind a verdict is where the talk goes next, where the part spoken of has a place of its own."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    "text",
    [
        "Tandem tractor. Axle two right lining. Three eighths, that's good axle three left, brake drum is cracked.",
        "tandem tractor axle two right brake lining three eighths that's good axle three left brake drum is cracked",
        "Tandem tractor: axle two right brake lining. 3/8 in, good. Axle three left brake drum cracked.",
    ],
)
def test_the_place_behind_a_verdict_is_the_next_ones(text: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="next", text=text, kind="transcript"), vocabulary=vocabulary).lines
    found = {(x.component.id, x.position.axle, x.position.side) for x in lines}
    assert found == {("brake-lining", 2, "right"), ("brake-drum", 3, "left")}


def test_a_side_behind_a_reading_is_that_readings(vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="next", text="Front tires: 5 mm left, 4 mm right."), vocabulary=vocabulary).lines
    assert {(x.position.side, x.measurements[0].value) for x in lines} == {("left", 5), ("right", 4)}


@pytest.mark.parametrize(
    "text",
    [
        "Driver side first. Front strut here is dry and so is the other one, tires. 10 32nds, both fronts.",
        "driver side first front strut is dry and so is the other one tires ten thirty seconds both fronts",
    ],
)
def test_both_said_behind_a_reading_is_both_sides_though_the_talk_is_on_one(text: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="both", text=text, kind="transcript"), vocabulary=vocabulary).lines
    tires = {x.position.side: [m.value for m in x.measurements] for x in lines if x.component.id == "tire"}
    assert tires == {"left": [10], "right": [10]}


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Idler arm, no play, good, pitman arm, good.", {"idler-arm", "pitman-arm"}),
        ("radiator no leaks, water pump dry, heater core, good", {"radiator", "water-pump", "heater-core"}),
    ],
)
def test_each_part_of_a_row_of_good_ones_has_its_line(text: str, parts: set[str], vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="row", text=text), vocabulary=vocabulary).lines
    assert {x.component.id for x in lines if x.severity == "good"} == parts


def test_what_is_left_is_no_side(vocabulary: Vocabulary) -> None:
    text = "two millimeters left on the right front pads and four millimeters left in the rear pads"
    lines = write_order(Note(name="left", text=text), vocabulary=vocabulary).lines
    assert {(x.position.axle, x.position.side) for x in lines} == {("front", "right"), ("rear", None)}


@pytest.mark.parametrize(
    "text",
    [
        "so the rotor on the right is hard spotted and it needs one left, rotor's okay but they come in pairs",
        "so the front rotor on the right is scored, it's got to be replaced left, rotor is fine",
    ],
)
def test_a_recognisers_comma_comes_late_behind_a_side(text: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="comma", text=text, kind="transcript"), vocabulary=vocabulary).lines
    assert {x.position.side: x.severity for x in lines} == {"right": "required", "left": "good"}


def test_a_side_that_ends_its_statement_stays(vocabulary: Vocabulary) -> None:
    text = "so the front pads are worn out on the left, rotor is okay and it's the same with the hose"
    lines = write_order(Note(name="comma", text=text, kind="transcript"), vocabulary=vocabulary).lines
    assert next(x for x in lines if x.component.id == "brake-pad").position.side == "left"
