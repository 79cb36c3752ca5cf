"""The usual cautions: those that the work calls for and no others. Common practice, no source."""

import pytest

from talkaround.models import Note, Steering
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

CALLED_FOR = [
    ("High voltage battery coolant pump is leaking, needs a pump.", "High voltage"),
    ("Driver's seat belt pretensioner is faulty, needs replaced.", "Airbags"),
    ("AC compressor is seized, needs a compressor.", "Refrigerant"),
    ("Fuel line is leaking, replace it.", "Fuel:"),
    ("Radiator is leaking, needs a radiator.", "coolant"),
    ("Exhaust manifold is cracked, needs replaced.", "Hot exhaust"),
    ("Axle 2 left brake chamber is leaking, replace it.", "Air brakes"),
    ("Right front coil spring is broken, needs a spring.", "springs"),
    ("Battery is dead, needs a battery.", "acid"),
    ("Front pads are at 1 mm, need replaced.", "dust"),
    ("Hoist cylinder is leaking, rebuild it.", "Hydraulic"),
    ("Left front lower ball joint is loose, needs replaced.", "Lift and support"),
    ("Left front lower ball joint is loose, needs replaced.", "torque"),
    ("Left front brake hose is leaking, do not drive it.", "must not be driven"),
]
NOT_CALLED_FOR = [
    "Wiper blades are torn, need replaced.",
    "Horn doesn't work, needs one.",
    "Dome lamp is out, needs a bulb.",
]


NOT_FOR_LIGHT_WORK = [
    ("Gas cap is cracked, needs a cap.", "Fuel:"),
    ("Charge port door is broken, needs replaced.", "High voltage"),
    ("Radiator fan relay is dead, needs a relay.", "coolant"),
    ("Liftgate struts are weak, replace them.", "springs"),
    ("Left front hubcap is missing, needs one.", "Lift and support"),
    ("Left front hubcap is missing, needs one.", "torque"),
    ("Right rear valve cap is missing, needs one.", "Lift and support"),
]


def cautions(text: str, vocabulary: Vocabulary, steering: Steering = "left-hand") -> list[str]:
    return write_order(Note(name="bay", text=text), vocabulary=vocabulary, steering=steering).cautions


@pytest.mark.parametrize(("text", "words"), CALLED_FOR)
def test_work_calls_for_its_caution(text: str, words: str, vocabulary: Vocabulary) -> None:
    assert any(words in caution for caution in cautions(text, vocabulary))


@pytest.mark.parametrize(("text", "words"), NOT_FOR_LIGHT_WORK)
def test_light_work_beside_danger_calls_for_less(text: str, words: str, vocabulary: Vocabulary) -> None:
    assert not any(words in caution for caution in cautions(text, vocabulary))


@pytest.mark.parametrize("text", NOT_CALLED_FOR)
def test_light_work_calls_for_none_but_the_last_word(text: str, vocabulary: Vocabulary) -> None:
    found = cautions(text, vocabulary)
    assert len(found) == 1
    assert "The maker's service information, local codes and licensed practice come first." in found[0]


@pytest.mark.parametrize(
    "text",
    [
        "Left front lower ball joint is tight, good.",
        "Left front lower ball joint is a little loose, keep an eye on it.",
        "Left front lower ball joint is loose, customer said no.",
        "Left front lower ball joint was loose, replaced it.",
    ],
)
def test_what_nobody_works_on_calls_for_none(text: str, vocabulary: Vocabulary) -> None:
    assert len(cautions(text, vocabulary)) == 1


def test_danger_that_was_declined_still_stops_the_vehicle(vocabulary: Vocabulary) -> None:
    text = "Left front brake hose is leaking, do not drive it, customer said no."
    assert any("must not be driven" in caution for caution in cautions(text, vocabulary))


def test_the_reader_on_the_other_side_of_the_road(vocabulary: Vocabulary) -> None:
    found = " ".join(cautions("n/s/f tyre cut, needs a tyre. Radiator leaking, needs one.", vocabulary, "right-hand"))
    assert "tyres" in found and "pressurised" in found and "tires" not in found
