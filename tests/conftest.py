"""What every test may use: the shipped vocabulary, read once, and the orders of all notes."""

import pytest
from project_notes import every_note

from talkaround.models import RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary, load_vocabulary


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.fixture(scope="session")
def orders(vocabulary: Vocabulary) -> dict[str, RepairOrder]:
    """The order of every note that the project has, by the note's id or file name."""
    return {
        key: write_order(note, vocabulary=vocabulary, steering=steering)
        for key, (note, steering) in every_note().items()
    }
