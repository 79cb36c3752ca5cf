"""What the technician says he left open is asked back: a reading not taken, a place not noted, a choice of ways to mend."""

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary

OPEN = [
    (
        "pressure hose on the hoist pump is cracked make up a new one i didn't measure the length though",
        "measurement",
        "hose",
    ),
    ("Left rear tire is worn low, forgot to write down the depth.", "measurement", "tire"),
    ("Rear brake shoes are thin, didn't measure them, need replaced.", "measurement", "brake shoe"),
    ("clutch cable is frayed need to know the length before i order", "measurement", "clutch cable"),
    (
        "The right rear brake line is rusted through, have to make one up, length not taken yet.",
        "measurement",
        "brake line",
    ),
    ("governor cuts out at one forty so it needs adjusting or a governor i'll let the shop pick", "action", "governor"),
    ("Both front rotors are grooved, machine or replace, your call.", "action", "brake rotor"),
    ("EGR valve is sticking, either clean it or replace it, up to the customer.", "action", "EGR valve"),
    ("One of the rear door handles is broken off inside, I forgot to say which on the sheet.", "side", "handle"),
    ("Front wheel bearing is humming but I couldn't tell which side.", "side", "wheel bearing"),
    ("A heated seat doesn't work, forgot which one.", "side", "seat"),
    ("Shock absorber leaking on the right, forgot whether it was front or rear.", "axle", "shock"),
    ("Brake hose is cracked on the left side, didn't write down if it's front or back.", "axle", "brake hose"),
]


@pytest.mark.parametrize(("text", "field", "part"), OPEN)
def test_it_is_asked_of_the_part(text: str, field: str, part: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    names = {line.number: line.component.name for line in order.lines}
    assert any(q.field == field and q.line and part in names[q.line] for q in order.questions)


def test_a_place_that_was_not_noted_is_not_made_up(vocabulary: Vocabulary) -> None:
    order = order_of("Shock absorber leaking on the right, forgot whether it was front or rear.", vocabulary)
    assert [(line.position.axle, line.position.side) for line in order.lines] == [(None, "right")]


def test_the_choices_are_those_that_were_named(vocabulary: Vocabulary) -> None:
    order = order_of("Left front rotor is grooved, machine or replace, your call.", vocabulary)
    choices = [q.choices for q in order.questions if q.field == "action" and "What is to be done" in q.text]
    assert choices == [["machine", "replace"]]


def test_what_was_not_measured_and_is_not_at_fault_is_no_line(vocabulary: Vocabulary) -> None:
    order = order_of("Front pads are at 6 mm. I didn't measure the rear shoes.", vocabulary)
    assert [line.component.id for line in order.lines] == ["brake-pad"]
    assert all(q.field != "measurement" for q in order.questions)


def test_a_reading_that_follows_answers_itself(vocabulary: Vocabulary) -> None:
    order = order_of("Left rear tire is worn, 2/32. Right rear tire is at 7/32.", vocabulary)
    assert order.questions == []
