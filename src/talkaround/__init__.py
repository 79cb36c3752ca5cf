"""Turns a technician's spoken or typed walkaround note into a repair order, each line tied to its words.

``read`` is the whole of it for another program; ``within_spacy`` puts it into a spaCy pipeline. What comes out is
``models.RepairOrder``; ``talkaround schema`` prints it as JSON Schema.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from talkaround.models import NoteKind, RepairOrder, RuleBook, Steering
    from talkaround.vocabulary import Vocabulary


def read(
    text: str,
    *,
    steering: Steering = "left-hand",
    rule_book: RuleBook | None = None,
    kind: NoteKind = "typed",
    name: str = "note",
    lexicon: str | Path | None = None,
) -> RepairOrder:
    """The repair order of a note. Pure: the same arguments and lexicon give the same order.

    Args:
        text: the note as given; every ``begin`` and ``end`` in the order counts characters of it, end exclusive.
        steering: where the driver sits: decides what driver, passenger, nearside and offside mean.
        rule_book: whose limits readings are held against; None for the one that goes with the drive side and vehicle.
        kind: ``transcript`` where a speech recogniser wrote the words down, which mishears.
        name: what the note is called in the order.
        lexicon: a shop's own lexicon folder, laid over the shipped one. It is read once a process.

    Raises:
        LexiconError: a file of ``lexicon`` is not as it should be; its text says which, where and how to mend it.
    """
    from talkaround.models import Note
    from talkaround.pipeline import write_order

    note = Note(name=name, kind=kind, text=text)
    return write_order(note, vocabulary=_vocabulary(lexicon), steering=steering, rule_book=rule_book)


@lru_cache(maxsize=4)
def _vocabulary(folder: str | Path | None) -> Vocabulary:
    from talkaround.vocabulary import load_vocabulary

    return load_vocabulary(None if folder is None else Path(folder))


__all__ = ["read"]
