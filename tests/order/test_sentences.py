"""The words on paper: what each line says to a customer, in the words of the reader's side of the road.

Every expected sentence was written before the program was run.
"""

import itertools
import re
from typing import get_args

import breame.spelling
import pytest
from pint import UnitRegistry

from project_notes import order_of
from talkaround.models import (
    Action,
    ActionVerb,
    ComponentRef,
    Condition,
    ConditionId,
    Degree,
    Line,
    Measurement,
    Note,
    PartRef,
    Position,
    RepairOrder,
    Steering,
    Work,
)
from talkaround.order.sentences import Sentences
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

US: list[tuple[str, str, str, str]] = [
    # The note, the component, its cause, its correction.
    ("Left front tire is badly worn.", "tire", "The left front tire is badly worn.", "Replace the left front tire."),
    (
        "Right rear caliper is seized.",
        "brake-caliper",
        "The right rear brake caliper is stuck.",
        "Replace the right rear brake caliper.",
    ),
    ("Rear pads are at 6 mm.", "brake-pad", "The rear brake pads measured 6 mm", ""),
    (
        "Oil pan is seeping, watch it.",
        "oil-pan",
        "The oil pan is damp from a light seep.",
        "Look at the oil pan again at the next visit.",
    ),
    ("Horn doesn't work.", "horn", "The horn is not working.", "Replace the horn."),
    ("Coolant is low, topped it up.", "coolant", "The coolant was low.", "Topped up the coolant."),
    (
        "License plate lamp was out, put a bulb in.",
        "license-plate-lamp",
        "The license plate lamp was not working.",
        "Replaced the license plate lamp.",
    ),
    ("Thermostat is stuck open, one on order.", "thermostat", "The thermostat is stuck", "The part is on order."),
    (
        "Serpentine belt is cracked, customer said no.",
        "serpentine-belt",
        "The serpentine belt is cracked.",
        "Replace the serpentine belt. The customer declined this work.",
    ),
    (
        "Left rear wheel bearing is noisy, only comes with the hub.",
        "wheel-bearing",
        "The left rear wheel bearing is noisy.",
        "Replace the left rear wheel bearing by fitting the wheel hub assembly that it comes with.",
    ),
    (
        "Right rear brake hose checked, good.",
        "brake-hose",
        "The right rear brake hose was inspected and found good.",
        "",
    ),
    ("Left front tire is at 7/32.", "tire", "The left front tire measured 7/32 in of tread", ""),
    (
        "Axle 2 left brake drum is cracked.",
        "brake-drum",
        "The left brake drum on axle 2 is cracked.",
        "Replace the left brake drum on axle 2.",
    ),
    (
        "Number 3 ignition coil is dead.",
        "ignition-coil",
        "The ignition coil (cylinder 3) is not working.",
        "Replace the ignition coil (cylinder 3).",
    ),
    (
        "Wheel alignment is out.",
        "wheel-alignment",
        "The wheel alignment is out of adjustment.",
        "Set the wheel alignment.",
    ),
]
UK: list[tuple[str, str, str, str]] = [
    ("n/s/f tyre badly worn", "tire", "The left front tyre is badly worn.", "Replace the left front tyre."),
    ("o/s/r brake disc cracked", "brake-rotor", "The right rear brake disc is cracked.", "Replace the right rear brake disc."),
    ("rear silencer rotted, needs one", "rear-muffler", "The rear silencer is", "Replace the rear silencer."),
    (
        "n/s anti roll bar link front loose",
        "sway-bar-link",
        "The left front anti-roll bar link is loose.",
        "Replace the left front anti-roll bar link.",
    ),
    ("windscreen cracked", "windshield", "The windscreen is cracked.", "Replace the windscreen."),
    (
        "n/s/f track rod end loose",
        "outer-tie-rod-end",
        "The left front outer track rod end is loose.",
        "Replace the left front outer track rod end.",
    ),
    ("sump leaking", "oil-pan", "The sump is leaking.", "Replace the sump."),
    ("bonnet catch seized, lubricated it", "hood-latch", "The bonnet latch was stuck.", "Lubricated the bonnet latch."),
    (
        "o/s/r number plate lamp not working",
        "license-plate-lamp",
        "The right rear number plate lamp is not working.",
        "Replace the right rear number plate lamp.",
    ),
]  # fmt: skip


def bare(sentence: str) -> str:
    """The sentence without its explanations: brackets around more than a key and its number."""
    return re.sub(r" \((?!(?:cylinder|bank) \d)[^()]*\)", "", sentence)


@pytest.mark.parametrize(("text", "component", "cause", "correction"), US)
def test_us(text: str, component: str, cause: str, correction: str, vocabulary: Vocabulary) -> None:
    line = next(x for x in order_of(text, vocabulary).lines if x.component.id == component)
    assert bare(line.cause).startswith(cause)
    assert correction in bare(line.correction)
    assert bool(line.correction) == bool(correction)


@pytest.mark.parametrize(("text", "component", "cause", "correction"), UK)
def test_uk(text: str, component: str, cause: str, correction: str, vocabulary: Vocabulary) -> None:
    line = next(x for x in order_of(text, vocabulary, "right-hand").lines if x.component.id == component)
    assert bare(line.cause).startswith(cause)
    assert correction in bare(line.correction)


# ----- what is measured


@pytest.mark.parametrize(
    ("value", "unit", "steering"),
    [
        (2.2, "bar", "left-hand"), (90, "N m", "left-hand"), (-25, "degC", "left-hand"), (220, "kPa", "left-hand"),
        (32, "psi", "right-hand"), (0.06, "in", "right-hand"), (5, "1/32 in", "right-hand"), (80, "ft lb", "right-hand"),
        (-13, "degF", "right-hand"),
    ],
)  # fmt: skip
def test_a_reading_in_the_other_sides_unit_is_given_in_the_readers_too(
    value: float, unit: str, steering: Steering, vocabulary: Vocabulary
) -> None:
    """Against ``pint``, which knows nothing of this project."""
    pint = UnitRegistry()
    theirs = {"degC": "degC", "degF": "degF", "N m": "N*m", "ft lb": "ft*lbf", "1/32 in": "inch/32", "in": "inch"}
    said = Sentences(vocabulary, steering).reading(Measurement(quantity="length", value=value, unit=unit))
    match = re.search(r"\((-?[\d.]+) ?(\S.*)\)", said)
    assert match is not None, said
    shown = {"°F": "degF", "°C": "degC", "N·m": "N*m", "ft lb": "ft*lbf"}.get(match[2], match[2])
    quantity = pint.Quantity(value, theirs.get(unit, unit)) if unit != "1/32 in" else pint.Quantity(value / 32, "inch")
    assert float(match[1]) == pytest.approx(quantity.to(shown).magnitude, rel=0.03, abs=0.06)


def test_a_reading_in_the_readers_own_unit_stands_alone(vocabulary: Vocabulary) -> None:
    assert "(" not in Sentences(vocabulary, "left-hand").reading(Measurement(quantity="pressure", value=32, unit="psi"))
    assert "(" not in Sentences(vocabulary, "right-hand").reading(Measurement(quantity="thickness", value=3, unit="mm"))


# ----- the customer's own words


def test_the_concern_stands_with_the_line_that_answers_it(vocabulary: Vocabulary) -> None:
    order = order_of(
        "Customer says the brakes squeal. Front pads are at 2 mm, need replaced. Horn doesn't work.", vocabulary
    )
    by_part = {line.component.id: line.concern for line in order.lines}
    assert by_part["brake-pad"] == "Reported: “Customer says the brakes squeal.”"
    assert by_part["horn"] == ""


# ----- every sentence that there can be

_COMPONENTS = ("tire", "brake-pad", "coolant", "window-regulator", "steering-rack-boot")


def _lines(vocabulary: Vocabulary) -> list[Line]:
    made = []
    degrees: list[Degree | None] = [None, *get_args(Degree)]
    product = itertools.product(get_args(ConditionId), degrees, get_args(ActionVerb), get_args(Work))
    for n, (condition, degree, verb, work) in enumerate(product):
        id = _COMPONENTS[n % len(_COMPONENTS)]
        comp = vocabulary.components[id]
        position = Position(axle="front", side="left") if "side" in comp.places else Position()
        made.append(
            Line(
                number=1,
                component=ComponentRef(id=id, name=comp.name, system=comp.system),
                position=position,
                conditions=[Condition(id=condition, degree=degree)],
                severity="required",
                action=Action(verb=verb, part=PartRef(id=id, name=comp.name) if verb == "replace" else None),
                work=work,
            )
        )
    return made


@pytest.mark.parametrize("steering", get_args(Steering))
def test_every_sentence_is_well_formed_and_spelled_for_its_reader(steering: Steering, vocabulary: Vocabulary) -> None:
    """Spelling against ``breame``, a list of US and UK spellings that knows nothing of this project."""
    write = Sentences(vocabulary, steering)
    for line in _lines(vocabulary):
        for text in write.three_cs(line):
            for sentence in filter(None, re.split(r"(?<=\.) ", text)):
                assert sentence[0].isupper() and sentence.endswith("."), sentence
                assert "  " not in sentence and ".." not in sentence and " ." not in sentence, sentence
            for word in re.findall(r"[a-z]+", text.lower()):
                # US standards write "disc brake" too (49 CFR 571.105).
                if (
                    steering == "left-hand"
                    and word not in ("disc", "discs")
                    and breame.spelling.british_spelling_exists(word)
                ):
                    assert breame.spelling.get_american_spelling(word) == word, (word, text)
                if steering == "right-hand" and breame.spelling.american_spelling_exists(word):
                    assert breame.spelling.get_british_spelling(word) == word, (word, text)


def test_all_notes_give_well_formed_sentences(orders: dict[str, RepairOrder]) -> None:
    for order in orders.values():
        for line in order.lines:
            for text in (line.cause, line.correction):
                assert text == "" or (text[0].isupper() and text.endswith(".")), text
                assert "  " not in text and ".." not in text
                assert not re.search(r"\b[a-z]+-[a-z]+-[a-z]+-[a-z]+\b", text), text


def test_no_sentence_says_more_than_was_found(vocabulary: Vocabulary) -> None:
    line = order_of("Left rear tail lamp is out.", vocabulary).lines[0]
    assert bare(line.cause) == "The left rear tail lamp is not working."


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("Rear brake pads are at 7 mm, good.", "7 mm (above the minimum of 2 mm)"),
        ("Left front tire is at 1/32.", "1/32 in of tread (below the minimum of 2/32 in)"),
        ("Washer fluid is completely empty, top it up.", "empty"),
        ("Needs a cabin filter.", "is not noted"),
    ],
)
def test_the_cause_says_what_was_seen_and_held_against(text: str, cause: str, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines
    assert cause in line.cause


@pytest.mark.parametrize(
    ("text", "correction"),
    [
        ("Right rear tire was low, aired it up.", "Inflated the right rear tire."),
        ("Battery is weak, charge it.", "Charge the battery."),
        ("Washer fluid was low, topped it off.", "Topped up the washer fluid."),
    ],
)
def test_each_thing_is_filled_in_its_own_word(text: str, correction: str, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines
    assert line.correction.startswith(correction)
