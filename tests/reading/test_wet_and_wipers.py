"""Words that mean another thing at another part: a wet seal leaks, a wiper at the rear is the rear one."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _found(text: str, vocabulary: Vocabulary) -> set[tuple[str, object, tuple[str, ...]]]:
    lines = write_order(Note(name="words", text=text), vocabulary=vocabulary).lines
    return {(x.component.id, x.position.axle, tuple(c.id for c in x.conditions)) for x in lines}


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("LR axle seal is wet.", "axle-seal"),
        ("Oil pan is wet.", "oil-pan"),
        ("Clutch pedal ok, clutch master cylinder leaking inside cab.", "clutch-master-cylinder"),
    ],
)
def test_what_is_wet_or_leaks_into_the_cab_leaks(text: str, component: str, vocabulary: Vocabulary) -> None:
    assert (component, ("leaking",)) in {(c, said) for c, _, said in _found(text, vocabulary)}


def test_a_brake_master_that_leaks_inside_only_bypasses(vocabulary: Vocabulary) -> None:
    assert not [said for _, _, said in _found("Brake master cylinder is leaking inside.", vocabulary) if said]


def test_the_rear_one_is_the_rear_wiper(vocabulary: Vocabulary) -> None:
    found = _found("Wipers front fine, rear torn.", vocabulary)
    assert ("rear-wiper", "rear", ("torn",)) in found
    assert not [said for component, _, said in found if component == "windshield-wiper" and said]


def test_soft_hoses_are_aged_and_soft_tires_low(vocabulary: Vocabulary) -> None:
    assert _found("Heater hoses are soft.", vocabulary) == {("heater-hose", None, ("aged",))}
    assert {said for _, _, said in _found("Left front tire is soft.", vocabulary)} == {("low",)}
