"""A side put right in the same breath, with no full stop before what is said of the other side."""

import pytest

from talkaround.models import Note, Steering
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "steering", "faulty", "good"),
    [
        (
            "left front wheel bearing's humming no hang on it's the right front left's quiet",
            "left-hand",
            "right",
            "left",
        ),
        (
            "passenger rear shock is leaking no wait it's the driver rear passenger's dry",
            "left-hand",
            "left",
            "right",
        ),
        ("left lower ball joint is loose sorry right lower left is tight", "left-hand", "right", "left"),
        (
            "the nearside track rod end is worn sorry no it's the offside nearside is solid",
            "right-hand",
            "right",
            "left",
        ),
    ],
)
def test_the_fault_is_on_the_side_put_right(
    text: str, steering: Steering, faulty: str, good: str, vocabulary: Vocabulary
) -> None:
    order = write_order(Note(name="a", text=text), vocabulary=vocabulary, steering=steering)
    assert [line.position.side for line in order.lines if line.conditions] == [faulty]
    assert [line.position.side for line in order.lines if line.severity == "good"] == [good]
