"""Parts that the technician asks for: "order me two front struts", "I'll need four tires"."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

_FRONTS = {("front", "left"), ("front", "right")}
_REARS = {("rear", "left"), ("rear", "right")}


@pytest.mark.parametrize(
    ("text", "component", "places"),
    [
        ("Order me two front struts.", "strut", _FRONTS),
        ("Grab me a pair of rear shocks.", "shock-absorber", _REARS),
        ("I'll need four tires.", "tire", _FRONTS | _REARS),
        ("I need two front struts and a pair of rear shocks.", "shock-absorber", _REARS),
        ("rear shocks are dry grab me a set of front pads and two rotors", "brake-rotor", _FRONTS),
        ("Get me a water pump.", "water-pump", {(None, None)}),
    ],
)
def test_what_is_asked_for_is_to_be_fitted(
    text: str, component: str, places: set[tuple[str | None, str | None]], vocabulary: Vocabulary
) -> None:
    wanted = [
        x
        for x in write_order(Note(name="wanted", text=text), vocabulary=vocabulary).lines
        if x.component.id == component
    ]
    assert {(x.position.axle, x.position.side) for x in wanted} == places
    assert {(x.action.verb, x.work) for x in wanted} == {("replace", "proposed")}


@pytest.mark.parametrize(
    "text",
    ["Front struts are leaking, order me two.", "front struts are leaking i'll need two of them rear tires are fine"],
)
def test_two_of_what_was_spoken_of(text: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="wanted", text=text), vocabulary=vocabulary).lines
    replaced = {(x.component.id, x.position.side) for x in lines if x.action.verb == "replace"}
    assert replaced == {("strut", "left"), ("strut", "right")}


@pytest.mark.parametrize("text", ["Get me the keys.", "Grab me a coffee.", "Need two people to bleed it."])
def test_what_is_no_part_is_no_line(text: str, vocabulary: Vocabulary) -> None:
    assert not write_order(Note(name="wanted", text=text), vocabulary=vocabulary).lines
