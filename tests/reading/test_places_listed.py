"""Places listed behind a part that is named once: "the left rear too", "both fronts and the left rear"."""

from __future__ import annotations

import pytest

from talkaround.models import Line, Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _lines(text: str, vocabulary: Vocabulary) -> list[Line]:
    return write_order(Note(name="listed", text=text), vocabulary=vocabulary).lines


def _places(component: str, lines: list[Line]) -> set[tuple[object, object]]:
    return {(x.position.axle, x.position.side) for x in lines if x.component.id == component}


_FRONTS_AND_LEFT_REAR = {("front", "left"), ("front", "right"), ("rear", "left")}


@pytest.mark.parametrize(
    ("text", "component", "places"),
    [
        (
            "Replaced both front wheel speed sensors and the left rear. Rotors are 24 mm.",
            "wheel-speed-sensor",
            _FRONTS_AND_LEFT_REAR,
        ),
        ("Replaced both fronts and the left rear wheel speed sensor.", "wheel-speed-sensor", _FRONTS_AND_LEFT_REAR),
        ("Front struts are leaking, the left rear too.", "strut", _FRONTS_AND_LEFT_REAR),
        ("right front caliper is seized and so is the right rear", "brake-caliper", {("front", "right"), ("rear", "right")}),
        ("Left front tire is cut. The right front as well.", "tire", {("front", "left"), ("front", "right")}),
        (
            "left front strut is leaking and the right front too sway bar link on the left is loose",
            "strut",
            {("front", "left"), ("front", "right")},
        ),
    ],
)  # fmt: skip
def test_each_place_of_the_list_has_its_line(
    text: str, component: str, places: set[tuple[str, str]], vocabulary: Vocabulary
) -> None:
    lines = _lines(text, vocabulary)
    assert _places(component, lines) == places
    said = {(tuple(c.id for c in x.conditions), x.work, x.action.verb) for x in lines if x.component.id == component}
    assert len(said) == 1, "what is said of one is said of all"


def test_what_comes_behind_the_list_is_at_none_of_its_places(vocabulary: Vocabulary) -> None:
    text = "Replaced both front wheel speed sensors and the left rear. A rotor is scored."
    rotors = [x.position for x in _lines(text, vocabulary) if x.component.id == "brake-rotor"]
    assert [(p.axle, p.side) for p in rotors] == [(None, None)]


def test_a_place_that_opens_what_comes_next_is_no_list(vocabulary: Vocabulary) -> None:
    lines = _lines("Left front: pads 4 mm, rotor good. And the right front. Rotor is scored.", vocabulary)
    assert {(x.component.id, x.position.side, x.severity) for x in lines if x.component.id == "brake-rotor"} == {
        ("brake-rotor", "left", "good"),
        ("brake-rotor", "right", "suggested"),
    }


def test_too_tight_is_no_list(vocabulary: Vocabulary) -> None:
    lines = _lines("Left rear brake drum is scored, right rear too tight.", vocabulary)
    scored = [x.position.side for x in lines if any(c.id == "scored" for c in x.conditions)]
    assert scored == ["left"]


def test_what_belongs_to_parts_on_both_sides_is_on_both(vocabulary: Vocabulary) -> None:
    lines = _lines("Both front calipers are seized, pads are ok.", vocabulary)
    assert _places("brake-pad", lines) == {("front", None)}
