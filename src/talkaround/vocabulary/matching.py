"""The phrase matcher on a blank English pipeline: every phrase of the lexicon in one pass."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import spacy
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc

if TYPE_CHECKING:
    from talkaround.vocabulary import Phrase, Tag


class Matcher:
    """Finds the phrases of a vocabulary among folded words.

    The words go into the Doc already folded, so phrases are compared by exact word.
    """

    def __init__(self, phrases: dict[Phrase, tuple[Tag, ...]]):
        self._vocab = spacy.blank("en").vocab
        self._tags: dict[int, tuple[Tag, ...]] = {}
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        for n, (phrase, tags) in enumerate(phrases.items()):
            name = f"p{n}"
            self._matcher.add(name, [Doc(self._vocab, words=list(phrase))])
            self._tags[self._vocab.strings[name]] = tags

    def find(self, words: Sequence[str]) -> list[tuple[int, int, tuple[Tag, ...]]]:
        """All phrases as ``(first word, word after the last, tags)``, overlapping ones too, in order of their start."""
        if not words:
            return []
        found = self._matcher(Doc(self._vocab, words=list(words)))
        return sorted((begin, end, self._tags[key]) for key, begin, end in found)
