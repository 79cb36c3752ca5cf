"""What an order takes over from its judged findings in the same way, whether it is written or revised."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from talkaround.judging import SHOWN, Asked
from talkaround.models import PartRef, Question
from talkaround.vocabulary import Vocabulary


def part_refs(ids: Iterable[str], v: Vocabulary) -> list[PartRef]:
    """Parts of the lexicon as an order names them. Raises ``KeyError`` for an unknown id."""
    return [PartRef(id=id, name=v.components[id].name) for id in ids]


def questions_shown(asked: Sequence[Asked], number_of: Callable[[int], int]) -> list[Question]:
    """The questions that an order shows; ``number_of`` gives the line's number of a judged finding's index."""
    return [
        Question(line=None if a.judged is None else number_of(a.judged), field=a.field, text=a.text, choices=a.choices)
        for a in asked[:SHOWN]
    ]


__all__ = ["part_refs", "questions_shown"]
