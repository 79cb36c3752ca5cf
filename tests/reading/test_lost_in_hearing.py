"""Where a recogniser lost or misplaced a word, what is left is not said of its neighbour."""

from __future__ import annotations

from talkaround.models import Line, Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _lines(text: str, vocabulary: Vocabulary) -> list[Line]:
    return write_order(Note(name="heard", text=text, kind="transcript"), vocabulary=vocabulary).lines


def test_a_lost_verdict_is_not_the_next_ones(vocabulary: Vocabulary) -> None:
    text = (
        "left rear wheel bearing is rallying right rear is quiet left front cv boot is torn and slinging grease "
        "right one is good transmission fluid is burnt no leaks"
    )
    bearings = {(x.position.side, x.severity) for x in _lines(text, vocabulary) if x.component.id == "wheel-bearing"}
    assert bearings == {("right", "good")}


def test_a_known_verdict_is_its_own(vocabulary: Vocabulary) -> None:
    text = "left rear wheel bearing is growling right rear is quiet left front cv boot is torn and slinging grease all over"
    bearings = {(x.position.side, x.severity) for x in _lines(text, vocabulary) if x.component.id == "wheel-bearing"}
    assert bearings == {("left", "required"), ("right", "good")}


def test_a_lost_number_is_not_the_one_before(vocabulary: Vocabulary) -> None:
    lines = _lines("Brake pads front 3 millimeters rear, thick brake fluid is dark.", vocabulary)
    assert {x.position.axle for x in lines if x.component.id == "brake-pad"} == {"front"}


def test_a_comma_behind_the_side_of_one(vocabulary: Vocabulary) -> None:
    lines = _lines("Wiper blades are torn left, headlight is out right, one works.", vocabulary)
    assert {(x.position.side, x.severity == "good") for x in lines if x.component.id == "headlamp"} == {
        ("left", False),
        ("right", True),
    }


def test_what_is_fine_needs_nothing(vocabulary: Vocabulary) -> None:
    for text in ("strut mounts are fine needs an alignment", "strut mounts are fine needs and alignment after"):
        found = {(x.component.id, x.severity) for x in _lines(text, vocabulary)}
        assert found == {("strut-mount", "good"), ("wheel-alignment", "required")}
