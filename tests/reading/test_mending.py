"""What a recogniser misheard is read as meant where its words make no sense, and the order tells of each mend.

The mishearings here are made up by sound class, as recognisers mix them up: b and m, p and b, v and b, f and th, r and w, a
word taken apart or run into the next. That these are the ones that are mixed up is common knowledge of phonetics.
"""

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.output import as_csv, as_html, as_markdown, terminal
from talkaround.output.explanation import render
from talkaround.pipeline import explain_order, write_order
from talkaround.vocabulary import Vocabulary

NO_MENDS: dict[str, str] = {}


def heard(text: str, vocabulary: Vocabulary) -> RepairOrder:
    return write_order(Note(name="a", kind="transcript", text=text), vocabulary=vocabulary)


def mends(order: RepairOrder) -> dict[str, str]:
    return {m.heard: m.read for m in order.mended}


def asked(order: RepairOrder) -> list[str]:
    return [q.text for q in order.questions if q.field == "understanding"]


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("Left front sway mar link is loose, needs a link.", "sway-bar-link"),
        ("The right front lower maul joint is torn and loose.", "lower-ball-joint"),
        ("Rear differential binion seal is leaking, replace the seal.", "pinion-seal"),
        ("Transmission ban gasket is seeping, watch it.", "transmission-pan-gasket"),
        ("Left front outer die rod end is worn, replace it.", "outer-tie-rod-end"),
        ("The lower radiator hoze is cracked, replace it.", "lower-radiator-hose"),
        ("Right front wheel pairing is noisy, replace it.", "wheel-bearing"),
        ("Left front falve cover gasket is leaking, replace it.", "valve-cover-gasket"),
        ("The idler bulley is noisy and loose, replace it.", "drive-belt-idler-pulley"),
        ("Serpen tine belt is cracked, needs a belt.", "serpentine-belt"),
        ("Clutch master silinder is leaking, replace it.", "clutch-master-cylinder"),
        ("Right front swaybarr bushing is torn and loose.", "sway-bar-bushing"),
        ("Engine oil pangasket is leaking, replace it.", "oil-pan-gasket"),
    ],
)
def test_a_name_that_sounds_alike_is_read(text: str, component: str, vocabulary: Vocabulary) -> None:
    order = heard(text, vocabulary)
    assert {line.component.id for line in order.lines} == {component}
    assert len(order.mended) == 1


@pytest.mark.parametrize(
    "text",
    [
        "Both front brake hoses are fine and the rear hoses are dry.",
        "Her sister drove it in, the left front tire is low.",
        "He says the dog chewed the rear belt, the buckle is broken.",
        "The pump is cold, the belt is tight and the hoses are soft.",
        "Air dryer purging nonstop, the tank is dry.",
        "Got the wheel off, the new bearing is in and it is quiet.",
        "There is a stone hole in the condenser and it leaks.",
        "The street he parks on floods, so the carpet is wet.",
        "Found a mall parking ticket under the seat, seat is fine.",
        "I put the shop light on the hinge, the hinge is worn.",
        "Wheel of the trailer is bent, the rest is fine.",
    ],
)
def test_words_that_make_sense_stay(text: str, vocabulary: Vocabulary) -> None:
    order = heard(text, vocabulary)
    assert mends(order) == NO_MENDS
    assert [text for text in asked(order) if "heard right" in text] == []


@pytest.mark.parametrize(
    "text",
    [
        # What is said and what it would be turned into mean the opposite, or another side.
        "Left tie rod end is tied, the right one is loose.",
        "Battery hold down is going, battery tests good.",
        "Front lift tire is worn, the other front tire is good.",
        "Rear light tire is low, the other one is good.",
        "The rear rotor is god, pads are worn.",
        "The lower ball joint is knot loose, the boot is torn.",
        "Heater is of, the blower works.",
    ],
)
def test_no_mend_turns_the_meaning_or_makes_a_side(text: str, vocabulary: Vocabulary) -> None:
    order = heard(text, vocabulary)
    turning = {"tight", "gone", "good", "not", "off", "on", "left", "right", "no", "fine"}
    assert not [m for m in order.mended if turning & set(m.read.split())]


@pytest.mark.parametrize(
    ("text", "about", "choice"),
    [
        ("Inner and outer tie rods tied on the left, boot is torn.", "tied", "tight"),
        ("The wheel bearing is tied and the hub is fine.", "tied", "tight"),
        ("Battery hold down is going, the battery is weak.", "going", "gone"),
    ],
)
def test_what_would_turn_the_meaning_is_asked(text: str, about: str, choice: str, vocabulary: Vocabulary) -> None:
    order = heard(text, vocabulary)
    questions = [q for q in order.questions if q.field == "understanding"]
    assert [(about in q.text, choice in q.choices) for q in questions] == [(True, True)]
    assert mends(order) == NO_MENDS


@pytest.mark.parametrize(
    ("text", "about", "choice"),
    [
        ("Rear trending bushings are worn on the truck, axle is fine.", "trending bushings", "trunnion bushing"),
        ("Valve cumber gasket is leaking, the front seal is dry.", "Valve cumber gasket", "valve cover gasket"),
        ("Brake scramble is broken, the pads are fine.", "Brake scramble", "brake cable"),
    ],
)
def test_the_doubtful_is_asked_and_left_as_it_stands(
    text: str, about: str, choice: str, vocabulary: Vocabulary
) -> None:
    order = heard(text, vocabulary)
    questions = [q for q in order.questions if q.field == "understanding"]
    assert [about in q.text for q in questions] == [True]
    assert any(choice in c for c in questions[0].choices)
    assert mends(order) == NO_MENDS


def test_the_order_tells_what_was_heard_and_read(vocabulary: Vocabulary) -> None:
    text = "Okay. Right rear break pads are at two mm. Left front sway mar link is loose. Replcae both, the altrenator too."
    order = heard(text, vocabulary)
    told = [(m.heard, m.read, m.how) for m in order.mended]
    assert told == [
        ("break", "brake", "known-mishearing"),
        ("sway mar link", "sway bar link", "sounds-alike"),
        ("Replcae", "replace", "misspelled"),
        ("altrenator", "alternator", "misspelled"),
    ]
    assert [m.heard for m in order.mended] == [text[m.begin : m.end] for m in order.mended]
    assert [m.score for m in order.mended if m.how == "known-mishearing"] == [100]
    assert all(80 < m.score < 100 for m in order.mended if m.how != "known-mishearing")
    assert order.note.text == text


def test_every_format_shows_it(vocabulary: Vocabulary) -> None:
    note = Note(name="a", kind="transcript", text="Left front sway mar link is loose, replace it.")
    order = write_order(note, vocabulary=vocabulary)
    explained = render(explain_order(note, vocabulary=vocabulary))
    for shown in (*(f.render(order) for f in (as_csv, as_html, as_markdown, terminal)), explained):
        assert "sway mar link" in shown
        assert "sway bar link" in shown
        assert "sounds alike" in shown


def test_an_order_without_mends_says_nothing_of_them(vocabulary: Vocabulary) -> None:
    order = heard("Left front sway bar link is loose, replace it.", vocabulary)
    assert order.mended == []
    for shown in (f.render(order) for f in (as_csv, as_html, as_markdown, terminal)):
        assert "sounds alike" not in shown


@pytest.mark.parametrize(
    "text",
    [
        "LF sway mar link loose, rplc",
        "RF break pads 2mm\nLF 3mm",
        "maul joint LF, play 3mm",
        "LR see vee booth torn, replace",
        "wheel baring noise RR",
    ],
)
def test_what_was_keyed_is_not_mended_by_ear(text: str, vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="a", kind="typed", text=text), vocabulary=vocabulary)
    assert mends(order) == NO_MENDS


def test_what_was_keyed_is_mended_for_slips(vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="a", kind="typed", text="LF caliepr seized, replcae"), vocabulary=vocabulary)
    assert mends(order) == {"caliepr": "caliper", "replcae": "replace"}


def test_a_dictated_note_in_a_text_file_is_mended_by_ear(vocabulary: Vocabulary) -> None:
    text = "okay so the left front sway mar link on this one is loose and it needs a link and that is all i have"
    order = write_order(Note(name="a", kind="typed", text=text), vocabulary=vocabulary)
    assert mends(order) == {"sway mar link": "sway bar link"}


def test_a_comma_by_ear_does_not_part_a_name(vocabulary: Vocabulary) -> None:
    order = heard("Outer tie, rots are loose on the left front.", vocabulary)
    assert mends(order) == {"tie, rots": "tie rod"}
