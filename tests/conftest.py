"""What every test may use: the shipped vocabulary, read once, and the orders of all notes."""

import pytest

from project_notes import every_note, shipped_vocabulary
from talkaround.models import RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return shipped_vocabulary()


@pytest.fixture(scope="session")
def orders(vocabulary: Vocabulary) -> dict[str, RepairOrder]:
    """The order of every note that the project has, by the note's id or file name."""
    made = {}
    for key, (note, steering) in every_note().items():
        try:
            made[key] = write_order(note, vocabulary=vocabulary, steering=steering)
        except Exception as error:
            error.add_note(f"while reading the note {key}")
            raise
    return made
