"""The phrase matcher on a blank English pipeline: every phrase of the lexicon in one pass."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, Any

import spacy
from spacy.language import Language
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.util import registry

from talkaround.vocabulary.terms import many_new_objects

if TYPE_CHECKING:
    from talkaround.vocabulary.terms import Phrase, Tag

_TOKENIZER = "talkaround.folded_words"


def _folded_words() -> Callable[[Language], Callable[[str], Doc]]:
    """The tokenizer of folded words, which stand apart already; English's own is slow to build and would go unused."""
    return lambda nlp: lambda text: Doc(nlp.vocab, words=text.split(" "))


registry.tokenizers.register(_TOKENIZER, func=_folded_words)


class Matcher:
    """Finds the phrases of a vocabulary among folded words.

    The words go into the Doc already folded, so phrases are compared by exact word.
    """

    def __init__(self, phrases: Mapping[Phrase, tuple[Tag, ...]]):
        self._phrases = phrases
        nlp = spacy.blank("en", config={"nlp": {"tokenizer": {"@tokenizers": _TOKENIZER}}})
        self._vocab = nlp.vocab
        # A pattern may be given as the hashes of its words, as a stored matcher gives them back; a Doc for each of
        # the phrases costs five times as much. One key serves all: the matched words themselves lead to the tags.
        number = self._vocab.strings.add
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        with many_new_objects():
            numbers = {word: number(word) for word in {w for p in phrases for w in p}}
            patterns: list[Any] = [[numbers[w] for w in phrase] for phrase in phrases]
            self._matcher.add("phrase", patterns)

    def passing(self) -> AbstractContextManager[Any]:
        """Forgets, at its end, the words that notes brought; else a number or a name of each stays for ever.

        For one thread at a time, and never one within another.
        """
        zone: AbstractContextManager[Any] = self._vocab.memory_zone()
        return zone

    def find(self, words: Sequence[str]) -> list[tuple[int, int, tuple[Tag, ...]]]:
        """All phrases as ``(first word, word after the last, tags)``, overlapping ones too, in order of their start."""
        if not words:
            return []
        found = self._matcher(Doc(self._vocab, words=list(words)))
        return sorted((begin, end, self._phrases[tuple(words[begin:end])]) for _, begin, end in found)
