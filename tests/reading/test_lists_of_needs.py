"""Headings of needs ("Rec:"), places that are named as not meant, and rows that a number leads."""

from __future__ import annotations

import pytest

from talkaround.models import Line, Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _lines(text: str, vocabulary: Vocabulary) -> list[Line]:
    return write_order(Note(name="needs", text=text), vocabulary=vocabulary).lines


def test_what_a_heading_asks_for_is_what_follows_it(vocabulary: Vocabulary) -> None:
    lines = _lines("LF tire ok. Needs: battery, LF wheel bearing. Recommend: cabin filter.", vocabulary)
    assert {(x.component.id, x.severity) for x in lines} == {
        ("tire", "good"),
        ("battery", "required"),
        ("wheel-bearing", "required"),
        ("cabin-air-filter", "suggested"),
    }


def test_a_word_of_need_behind_a_part_is_said_of_it(vocabulary: Vocabulary) -> None:
    assert [(x.component.id, x.severity) for x in _lines("Battery recommended: weak.", vocabulary)] == [
        ("battery", "suggested")
    ]


@pytest.mark.parametrize(
    "text",
    [
        "Right front strut is leaking, not the left.",
        "right front strut is leaking not the left front",
        "It's not the left front, the right front strut is leaking.",
    ],
)
def test_what_is_not_meant_is_not_at_fault(text: str, vocabulary: Vocabulary) -> None:
    faulty = {(x.component.id, x.position.axle, x.position.side) for x in _lines(text, vocabulary) if x.conditions}
    assert faulty == {("strut", "front", "right")}


def test_not_leaking_on_the_left_is_good_there(vocabulary: Vocabulary) -> None:
    lines = _lines("Right rear shock is leaking. It's not leaking on the left.", vocabulary)
    assert {(x.position.side, x.severity == "good") for x in lines} == {("right", False), ("left", True)}


def test_where_a_noise_comes_from(vocabulary: Vocabulary) -> None:
    lines = _lines("RF pads 2mm. Rear noise = RR wheel bearing rough.", vocabulary)
    assert {x.component.id for x in lines if any(c.id == "noisy" for c in x.conditions)} == {"wheel-bearing"}


@pytest.mark.parametrize("text", ["Brake pads 9mm F 8mm R.", "Brake pads F 9mm R 8mm."])
def test_a_row_led_by_numbers_or_by_places(text: str, vocabulary: Vocabulary) -> None:
    read = {x.position.axle: [m.value for m in x.measurements] for x in _lines(text, vocabulary)}
    assert read == {"front": [9], "rear": [8]}


def test_rears_are_is_no_number_of_them(vocabulary: Vocabulary) -> None:
    text = "brake pads left front is at three and four rears are drums wheel cylinders are dry"
    read = {(x.position.axle, x.position.side): [m.value for m in x.measurements] for x in _lines(text, vocabulary)}
    assert read["front", "left"] == [3, 4]
    assert ("rear", "left") not in read or not read["rear", "left"]


def test_a_list_of_what_is_recommended_makes_no_fault_less_serious(vocabulary: Vocabulary) -> None:
    text = "RF caliper is seized. Rec: RF caliper, cabin filter."
    assert {(x.component.id, x.severity) for x in _lines(text, vocabulary)} == {
        ("brake-caliper", "required"),
        ("cabin-air-filter", "suggested"),
    }
