"""Every note that the project has (the labelled ones of ``tests/gold`` and the samples), the shipped vocabulary, and the
order of a note that a test writes.
"""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from talkaround.intake import read_note
from talkaround.models import Note, RepairOrder, Steering
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary, load_vocabulary

ROOT = Path(__file__).resolve().parent.parent
GOLD = ROOT / "tests" / "gold"
SAMPLES = ROOT / "sample_notes"


@dataclass(frozen=True)
class Labelled:
    """A gold note as it comes in, its drive side, and what a careful service writer makes of it."""

    note: Note
    steering: Steering
    labels: dict[str, Any]


@cache
def shipped_vocabulary() -> Vocabulary:
    """The vocabulary without a shop's folder, read once."""
    return load_vocabulary()


def order_of(text: str, vocabulary: Vocabulary, steering: Steering = "left-hand") -> RepairOrder:
    """The order of a typed note."""
    return write_order(Note(name="bay", text=text), vocabulary=vocabulary, steering=steering)


@cache
def gold_notes() -> dict[str, Labelled]:
    """Every gold note by its id."""
    notes = {}
    for path in sorted((GOLD / "notes").glob("*.json")):
        labels = json.loads(path.read_text("utf-8"))
        note = Note(name=labels["id"], kind=labels["kind"], text=labels["text"])
        notes[labels["id"]] = Labelled(note, labels["steering"], labels)
    return notes


@cache
def every_note() -> dict[str, tuple[Note, Steering]]:
    """Gold notes by id and samples by file name; a sample with "uk" in its name is of a right-hand-drive vehicle."""
    notes = {key: (labelled.note, labelled.steering) for key, labelled in gold_notes().items()}
    for path in sorted(SAMPLES.iterdir()):
        steering: Steering = "right-hand" if "uk" in path.stem.split("-") else "left-hand"
        notes[path.name] = (read_note(path), steering)
    return notes
