"""Boxes of a typed list: "Leaks: none", "Noises: RF wheel bearing", "Under: ..."."""

from __future__ import annotations

import pytest

from talkaround.models import Line, Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _lines(text: str, vocabulary: Vocabulary) -> list[Line]:
    return write_order(Note(name="box", text=text), vocabulary=vocabulary).lines


@pytest.mark.parametrize("box", ["Leaks: none.", "Noises - none.", "Leaks: no"])
def test_none_is_said_of_no_part_before(box: str, vocabulary: Vocabulary) -> None:
    lines = _lines(f"Water pump weeping. Horn works. {box}", vocabulary)
    assert {(x.component.id, x.severity == "good", len(x.conditions)) for x in lines} == {
        ("water-pump", False, 1),
        ("horn", True, 0),
    }


@pytest.mark.parametrize(
    ("box", "component", "condition"),
    [("Leaks: water pump.", "water-pump", "leaking"), ("Noises: RF wheel bearing.", "wheel-bearing", "noisy")],
)
def test_the_part_in_the_box_has_the_fault(box: str, component: str, condition: str, vocabulary: Vocabulary) -> None:
    lines = _lines(f"Battery ok. {box}", vocabulary)
    assert {(x.component.id, tuple(c.id for c in x.conditions)) for x in lines} == {
        ("battery", ()),
        (component, (condition,)),
    }


def test_a_line_of_its_own_leaves_the_corner(vocabulary: Vocabulary) -> None:
    text = "RR: brake hose cracked, pads 2mm\nUnder: exhaust hanger missing"
    places = {x.component.id: (x.position.axle, x.position.side) for x in _lines(text, vocabulary)}
    assert places["brake-hose"] == ("rear", "right")
    assert places["exhaust-hanger"] == (None, None)


def test_a_fluid_has_no_side(vocabulary: Vocabulary) -> None:
    lines = _lines("Left front caliper is sticking. Brake fluid on the passenger side is dark.", vocabulary)
    assert [x.position.side for x in lines if x.component.id == "brake-fluid"] == [None]


def test_gears_are_no_readings(vocabulary: Vocabulary) -> None:
    assert not [m for x in _lines("Trans slips 2-3.", vocabulary) for m in x.measurements]


def test_where_somebody_says_it_is_is_still_his_word(vocabulary: Vocabulary) -> None:
    text = (
        "right front brake hose should be replaced brake fluid is dark i would flush it the customer says the power door "
        "on the left quits halfway sometimes i could not get it to do that"
    )
    order = write_order(Note(name="box", text=text), vocabulary=vocabulary)
    assert {x.component.id for x in order.lines} == {"brake-hose", "brake-fluid"}
    assert [c.symptoms for c in order.concerns] == [["quits"]]


def test_the_heading_of_a_section_has_not_got_the_fault(vocabulary: Vocabulary) -> None:
    lines = _lines("SUSPENSION: LR air spring, the rearward one, is cracked at the bead.", vocabulary)
    assert [x.component.id for x in lines] == ["air-spring"]


def test_the_tire_itself_is_the_one_just_read(vocabulary: Vocabulary) -> None:
    text = (
        "left front tire four on the inside edge and seven on the outside toe is out on the front so it needs an "
        "alignment the tire itself can ride for now just watch it right rear tire is at eight thirty seconds"
    )
    tires = {
        (x.position.axle, x.position.side): x.severity for x in _lines(text, vocabulary) if x.component.id == "tire"
    }
    assert tires == {("front", "left"): "monitor", ("rear", "right"): "good"}


def test_what_is_taken_care_of_is_not_the_next_part(vocabulary: Vocabulary) -> None:
    text = (
        "lug nuts on the left front were loose i torqued that wheel to a hundred and five foot pounds that's taken care "
        "of rear drive unit left axle seal is seeping just damp watch it next time charge port door is fine"
    )
    assert not {x.component.id for x in _lines(text, vocabulary)} & {"drive-unit"}
