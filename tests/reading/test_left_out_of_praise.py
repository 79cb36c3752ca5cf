""" "All the tires are good except the right rear": the others are, and that one is not. Scenarios of our own."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _found(text: str, vocabulary: Vocabulary) -> dict[tuple[str, object, object], tuple[str, ...]]:
    lines = write_order(Note(name="except", text=text), vocabulary=vocabulary).lines
    return {
        (x.component.id, x.position.axle, x.position.side): tuple(c.id for c in x.conditions) or (x.severity,)
        for x in lines
    }


def test_the_one_that_does_not_work(vocabulary: Vocabulary) -> None:
    found = _found("All exterior lights work except LH plate light.", vocabulary)
    assert list(found.values()) == [("inoperative",)]
    assert [key[0] for key in found] == ["license-plate-lamp"]


def test_the_others_are_good_and_the_one_is_looked_at(vocabulary: Vocabulary) -> None:
    assert _found("All tires good except RR.", vocabulary) == {
        ("tire", "front", "left"): ("good",),
        ("tire", "front", "right"): ("good",),
        ("tire", "rear", "left"): ("good",),
        ("tire", "rear", "right"): ("monitor",),
    }


def test_what_the_note_says_of_it_next_is_what_is_wrong(vocabulary: Vocabulary) -> None:
    found = _found("All tires good except RR. It's cut.", vocabulary)
    assert found["tire", "rear", "right"] == ("torn",)


def test_what_is_left_out_of_one_thing_is_not_of_the_one_before(vocabulary: Vocabulary) -> None:
    found = _found("Left front tire is cut. All lights ok bar the right front fog.", vocabulary)
    assert found["tire", "front", "left"] == ("torn",)
    assert ("tire", "front", "right") not in found


@pytest.mark.parametrize(
    ("text", "component", "side"),
    [
        ("rear tires are good at eight there's play in the right outer tie rod", "outer-tie-rod-end", "right"),
        ("Left tie rod end is loose - sorry, inner, not outer.", "tie-rod", "left"),
        (
            "LF wheel bearing humming, RF ok. No wait, it's the right that hums, left is quiet.",
            "wheel-bearing",
            "right",
        ),
    ],
)
def test_only_the_one_that_is_meant_is_at_fault(text: str, component: str, side: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="turn", text=text), vocabulary=vocabulary).lines
    faulty = {(x.component.id, x.position.side) for x in lines if x.severity != "good"}
    assert faulty == {(component, side)}


def test_another_persons_vehicle_is_not_this_one(vocabulary: Vocabulary) -> None:
    text = "Water pump is not leaking. The neighbor's van had the same noise and that was the alternator."
    assert _found(text, vocabulary) == {("water-pump", None, None): ("good",)}


def test_rotors_of_both_sides_just_read_are_both(vocabulary: Vocabulary) -> None:
    found = _found("Left front pads 3 mm, right front 3 mm, rotors have a lip.", vocabulary)
    assert {key[1:] for key in found if key[0] == "brake-rotor"} == {("front", "left"), ("front", "right")}


def test_the_last_of_a_list_of_needs(vocabulary: Vocabulary) -> None:
    found = _found("Left rear caliper is seized, needs caliper, rotors and pads on the rear.", vocabulary)
    assert {key[0] for key in found} == {"brake-caliper", "brake-rotor", "brake-pad"}
    assert {key[1] for key in found} == {"rear"}
