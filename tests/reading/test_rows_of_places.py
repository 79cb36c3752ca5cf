"""Places in a row, each with what was read or found there: "LF 5 RF 5 LR 3 RR 3 pads", "F: 6 mm R: 4 mm"."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _read(text: str, component: str, vocabulary: Vocabulary) -> dict[tuple[object, object], list[float]]:
    lines = write_order(Note(name="row", text=text), vocabulary=vocabulary).lines
    return {
        (x.position.axle, x.position.side): [m.value for m in x.measurements]
        for x in lines
        if x.component.id == component
    }


_CORNERS = {("front", "left"): [5], ("front", "right"): [4], ("rear", "left"): [3], ("rear", "right"): [6]}


@pytest.mark.parametrize(
    "text",
    [
        "LF 5 RF 4 LR 3 RR 6 pads. Rotors ok.",
        "LF: 5mm RF: 4mm LR: 3mm RR: 6mm brake pads",
        "Brake pads: LF: 5 mm, RF: 4 mm, LR: 3 mm, RR: 6 mm.",
        "Sway bar link left front ok. LF 5 mm RF 4 mm LR 3 mm RR 6 mm pads",
        "left front five right front four left rear three right rear six brake pads rotors are fine",
    ],
)
def test_each_corner_has_its_reading(text: str, vocabulary: Vocabulary) -> None:
    assert _read(text, "brake-pad", vocabulary) == _CORNERS


def test_a_place_before_a_colon_is_that_of_what_stands_behind_it(vocabulary: Vocabulary) -> None:
    text = "Pads F: 6mm R: 4mm | Rotors F: ok R: scored"
    assert _read(text, "brake-pad", vocabulary) == {("front", None): [6], ("rear", None): [4]}
    lines = write_order(Note(name="row", text=text), vocabulary=vocabulary).lines
    rotors = {(x.position.axle, tuple(c.id for c in x.conditions)) for x in lines if x.component.id == "brake-rotor"}
    assert rotors == {("front", ()), ("rear", ("scored",))}


def test_a_corner_with_a_colon_over_several_parts_is_a_heading(vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="row", text="LF: pads 4 mm, rotor scored."), vocabulary=vocabulary).lines
    assert {(x.component.id, x.position.axle, x.position.side) for x in lines} == {
        ("brake-pad", "front", "left"),
        ("brake-rotor", "front", "left"),
    }


def test_tires_by_axle_are_two_at_each(vocabulary: Vocabulary) -> None:
    assert _read("Tires 6/32 F, 4/32 R.", "tire", vocabulary) == {
        ("front", "left"): [6], ("front", "right"): [6], ("rear", "left"): [4], ("rear", "right"): [4],
    }  # fmt: skip


@pytest.mark.parametrize("behind", ["rotate", "pads"])
def test_what_was_named_before_the_row_is_what_was_read(behind: str, vocabulary: Vocabulary) -> None:
    read = _read(f"LF tire 4/32 RF 4/32 LR 6/32 RR 6/32 {behind}.", "tire", vocabulary)
    assert read == {("front", "left"): [4], ("front", "right"): [4], ("rear", "left"): [6], ("rear", "right"): [6]}
