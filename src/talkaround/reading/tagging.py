"""The words of a note with all that is recognized in them, before any of it is understood: codes, numbers, mentions."""

from __future__ import annotations

from typing import NamedTuple

from talkaround.reading.codes import Codes, read_codes
from talkaround.reading.mentions import drop_swallowed, find_mentions
from talkaround.reading.numbered_places import NumberedPlace
from talkaround.reading.numbering import find_numbering
from talkaround.reading.quantities import find_quantities
from talkaround.reading.types import Mention, Quantity
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word


class Tagged(NamedTuple):
    """What was recognized in the words of a note, before it is cut into clauses."""

    codes: Codes
    quantities: list[Quantity]
    numbered: list[NumberedPlace]
    other: list[tuple[int, int]]
    """Stretches of words with a number that is no reading, such as money and times."""
    mentions: list[Mention]


def recognized(text: str, words: list[Word], vocabulary: Vocabulary, *, typed: bool = True) -> Tagged:
    """What is recognized in ``words`` of ``text``; ``typed`` as against what a recogniser wrote down."""
    codes = read_codes(text, words)
    quantities, numbered, other = find_quantities(words, vocabulary, codes.stretches(words))
    numbering = find_numbering(words)
    quantities = drop_swallowed(quantities, numbering)
    mentions = find_mentions(words, vocabulary, quantities, numbered, other, numbering, typed)
    return Tagged(codes, drop_swallowed(quantities, mentions), numbered, other, mentions)
