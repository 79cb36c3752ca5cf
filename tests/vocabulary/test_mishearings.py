"""What a recogniser misheard is read as it was meant; words that make sense as they stand are left alone."""

import pytest

from talkaround.models import Note, Position
from talkaround.pipeline import write_order
from talkaround.reading.words import read_words
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Rear wheel bearing drones at speed.", "drone"),
        ("Tire is a tad worn on the inner edge.", "tad"),
        ("The actual front pads are fine.", "actual"),
        ("Pulls straight, front tires good.", "straight"),
        ("Front tow hook is missing.", "tow"),
        ("Inner tie rod thread is stripped, left side.", "thread"),
        ("Rear bumper bracket breaks loose.", "break"),
        ("A/C cooling is weak.", "cooling"),
        ("New axle for left side.", "for"),
        ("Grease flung from axle to inner rim.", "to"),
        ("Noise is rare, only on bumps.", "rare"),
        ("No charge for latch.", "for"),
        ("Flex pipe is correct.", "correct"),
        ("Pump pushing oil past the lower seal.", "pushing"),
        ("Last front tire was new.", "last"),
        ("Lift rear end to check.", "lift"),
        ("Four rivet heads gone, rear.", "head"),
        ("No weight on the left front rim.", "weight"),
        ("License plate lamp joint corroded, plate loose.", "plate"),
        ("The left rear caliper motor is dead, pads are fine.", "motor"),
        ("Spark plug well seal is leaking.", "well"),
        ("The battery cooling blower is noisy.", "cooling"),
        ("The upper and lower motor mounts are torn.", "lower"),
        ("Not sure where the sensor sits, ABS light is on.", "where"),
        ("Trunk has a knock on the left.", "knock"),
        ("The headlamps are well aimed, both good.", "well"),
    ],
)
def test_words_that_make_sense_are_not_mended(text: str, word: str, vocabulary: Vocabulary) -> None:
    assert word in [w.fold for w in read_words(text, vocabulary, spoken=True).words]


@pytest.mark.parametrize("text", ["Last front tire is worn out.", "Lift front tire to see, it is worn out."])
def test_no_side_comes_of_a_word_that_is_none(text: str, vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="a", kind="transcript", text=text), vocabulary=vocabulary)
    assert order.lines
    assert all(line.position.side is None for line in order.lines)


@pytest.mark.parametrize(
    ("text", "component", "position"),
    [
        ("Rear break pads are at two millimeters.", "brake-pad", Position(axle="rear")),
        ("Rare discs are scored, they need replaced.", "brake-rotor", Position(axle="rear")),
        ("Left front high rod is loose, needs one.", "tie-rod", Position(axle="front", side="left")),
        ("Servant tine belt is cracked.", "serpentine-belt", Position()),
        ("Axle to left wheel seal is leaking.", "wheel-seal", Position(axle=2, side="left")),
        ("The low plug relay is dead, replace it.", "glow-plug-relay", Position()),
        ("The lower motor is noisy, replace it.", "blower-motor", Position()),
        ("The can belt tensioner is worn out.", "timing-belt-tensioner", Position()),
        ("Left marker well is broken, needs one.", "side-marker-bulb", Position(side="left")),
        (
            "Left front brake pad where indicator is broken off.",
            "pad-wear-indicator",
            Position(axle="front", side="left"),
        ),
    ],
)
def test_what_was_misheard_is_read_as_meant(
    text: str, component: str, position: Position, vocabulary: Vocabulary
) -> None:
    order = write_order(Note(name="a", kind="transcript", text=text), vocabulary=vocabulary)
    assert {line.component.id for line in order.lines} == {component}
    said = position.model_dump(exclude_none=True)
    assert all(said.items() <= line.position.model_dump(exclude_none=True).items() for line in order.lines)
