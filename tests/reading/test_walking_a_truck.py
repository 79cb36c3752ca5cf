"""Which wheel is meant when somebody walks along a vehicle of several axles."""

from __future__ import annotations

import pytest

from talkaround.models import Note, Steering
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _places(text: str, component: str, vocabulary: Vocabulary, steering: Steering = "left-hand") -> set[str]:
    order = write_order(Note(name="walk", text=text), vocabulary=vocabulary, steering=steering)
    return {
        " ".join(str(x) for x in (p.axle, p.side, p.depth) if x)
        for p in (line.position for line in order.lines if line.component.id == component)
    }


@pytest.mark.parametrize(
    "text",
    [
        "mixer truck, tandem, driver side first. Axle two outer nine, inner nine. Axle three outer eight, inner two.",
        "tandem dump truck uh driver side first axle two outer nine inner nine axle three outer eight inner two",
        "tandem tractor walking down the driver side axle two outer nine inner nine axle three outer eight inner two",
    ],
)
def test_a_walk_down_one_side_keeps_it(text: str, vocabulary: Vocabulary) -> None:
    assert _places(text, "tire", vocabulary) == {"2 left outer", "2 left inner", "3 left outer", "3 left inner"}


def test_the_walk_begins_anew_at_the_other_steer_tire(vocabulary: Vocabulary) -> None:
    text = (
        "tandem tractor driver side first steer tire is twelve thirty seconds axle two outer nine inner nine "
        "passenger side steer tire is eleven thirty seconds brake chamber on this side is leaking axle two outer eight"
    )
    assert _places(text, "tire", vocabulary) == {"2 left outer", "2 left inner", "2 right outer"}
    assert _places(text, "steer-tire", vocabulary) == {"front left", "front right"}
    assert not {"2 left", "3 left", "left"} & _places(text, "brake-chamber", vocabulary)


def test_a_steer_tire_is_at_the_front_wherever_the_talk_was(vocabulary: Vocabulary) -> None:
    text = "Tandem tractor. Axle three left wheel seal is leaking. Right steer tire is cupped."
    assert _places(text, "steer-tire", vocabulary) == {"front right"}


@pytest.mark.parametrize(
    "text",
    [
        "Tires: left front 6/32, right front 6/32, left rear 5/32, right rear 5/32. All four sidewalls cracked.",
        "Tires: LF 6/32 RF 6/32 LR 5/32 RR 5/32. All four date code 2316, sidewalls cracking.",
    ],
)
def test_all_four_just_read_are_meant(text: str, vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="walk", text=text), vocabulary=vocabulary)
    cracked = [line for line in order.lines if any(c.id == "cracked" for c in line.conditions)]
    assert {(x.position.axle, x.position.side) for x in cracked} == {
        ("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right"),
    }  # fmt: skip


def test_the_edge_of_one_tire_does_not_hold_for_the_next_duals(vocabulary: Vocabulary) -> None:
    text = (
        "tandem tractor right steer tire is cupped on the outside edge keep an eye on it right fuel tank strap is loose "
        "batteries are fine axle two right outer nine inner eight"
    )
    assert _places(text, "tire", vocabulary) == {"2 right outer", "2 right inner"}


def test_a_car_with_an_axle_has_no_duals(vocabulary: Vocabulary) -> None:
    text = "Left front CV axle clicks. Left front tire is 6/32, worn on the inner side."
    assert _places(text, "tire", vocabulary) == {"front left"}
