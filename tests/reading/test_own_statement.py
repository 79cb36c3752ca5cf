"""Where talk turns to something of its own: "i cleaned it", a fault that opens a typed line, what was said of a pair."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _found(text: str, vocabulary: Vocabulary) -> set[tuple[str, str | None, str, str]]:
    lines = write_order(Note(name="own", text=text), vocabulary=vocabulary).lines
    return {(x.component.id, x.position.side, c.id, x.work) for x in lines for c in x.conditions}


def test_what_i_did_is_not_of_the_part_before(vocabulary: Vocabulary) -> None:
    text = "rotors look fine i cleaned and lubed the slide pins rear pads are seven"
    lines = write_order(Note(name="own", text=text), vocabulary=vocabulary).lines
    assert {x.component.id for x in lines if x.work == "done"} == {"caliper-slide-pin"}


def test_what_i_did_to_it_ends_there(vocabulary: Vocabulary) -> None:
    text = "positive battery cable was loose i snugged it up left tail light bulb's burnt out put one in it"
    assert _found(text, vocabulary) == {
        ("positive-battery-cable", None, "loose", "done"),
        ("tail-lamp-bulb", "left", "inoperative", "done"),
    }


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("Headlamps ok. Slight play O/S/F lower ball joint, advise.", "lower-ball-joint"),
        ("Left steer tire 9/32. Air leak driver side brake chamber rear.", "brake-chamber"),
    ],
)
def test_a_fault_that_opens_a_sentence_is_that_of_the_part_behind_it(
    text: str, component: str, vocabulary: Vocabulary
) -> None:
    assert {found[0] for found in _found(text, vocabulary)} == {component}


def test_both_are_the_two_just_read(vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="own", text="Tires LF 3/32 RF 3/32 replace both."), vocabulary=vocabulary).lines
    assert {(x.position.side, x.action.verb, x.action.quantity, x.severity) for x in lines} == {
        ("left", "replace", None, "required"),
        ("right", "replace", None, "required"),
    }


def test_found_today_though_declined_before(vocabulary: Vocabulary) -> None:
    text = "Cabin filter is nasty, customer declined it last time so I'd offer it again."
    assert _found(text, vocabulary) == {("cabin-air-filter", None, "contaminated", "proposed")}


def test_what_was_replaced_last_time_is_history(vocabulary: Vocabulary) -> None:
    assert not _found("Last visit the cabin filter was replaced. Horn works.", vocabulary)


def test_when_the_pedal_is_hit_is_no_fault_of_the_pedal(vocabulary: Vocabulary) -> None:
    text = "LR brake hose cracked, bulging when I hit the pedal. That's unsafe."
    lines = write_order(Note(name="own", text=text), vocabulary=vocabulary).lines
    assert [(x.component.id, x.position.side, x.severity) for x in lines] == [("brake-hose", "left", "unsafe")]


@pytest.mark.parametrize("ones", ["one's", "one is"])
def test_the_one_that_is_dry_is_not_the_next_part(ones: str, vocabulary: Vocabulary) -> None:
    text = f"left rear wheel cylinder is weeping a little bit right {ones} dry brake master cylinder is good"
    lines = write_order(Note(name="own", text=text), vocabulary=vocabulary).lines
    assert {(x.component.id, x.position.side) for x in lines if x.severity == "good"} == {
        ("wheel-cylinder", "right"),
        ("brake-master-cylinder", None),
    }


def test_a_fault_before_its_noun_stays_with_it(vocabulary: Vocabulary) -> None:
    assert _found("Left front has a torn CV boot.", vocabulary) == {("cv-boot", "left", "torn", "proposed")}
