"""One of two parts ("either the ball joint or the tie rod"), and the part of the one that stands at the place said."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def test_one_of_two_is_asked_and_neither_is_condemned(vocabulary: Vocabulary) -> None:
    text = "Left rear clunks over bumps, it's either the shock or the sway bar link. Horn ok."
    order = write_order(Note(name="either", text=text), vocabulary=vocabulary)
    found = {(x.component.id, x.position.axle, x.position.side, x.action.verb) for x in order.lines}
    assert found == {
        ("shock-absorber", "rear", "left", "diagnose"),
        ("sway-bar-link", "rear", "left", "diagnose"),
        ("horn", None, None, "none"),
    }
    assert any(q.field == "component" and "shock absorber or the sway bar link" in q.text for q in order.questions)


def test_what_leaks_is_asked_from_where(vocabulary: Vocabulary) -> None:
    text = "Coolant leak, it's either the water pump or the thermostat housing."
    order = write_order(Note(name="either", text=text), vocabulary=vocabulary)
    assert [(x.component.id, x.action.verb) for x in order.lines] == [("coolant", "diagnose")]
    assert any(q.field == "component" for q in order.questions)


@pytest.mark.parametrize(
    ("text", "boot"),
    [
        ("Steering rack is dry, tie rods are tight, right outer has a torn boot.", "tie-rod-end-boot"),
        ("Steering rack is dry, right boot is torn.", "steering-rack-boot"),
    ],
)
def test_the_boot_is_that_of_the_one_at_the_place_said(text: str, boot: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="boot", text=text), vocabulary=vocabulary).lines
    assert [(x.component.id, x.position.side) for x in lines if x.conditions] == [(boot, "right")]
