"""Words as the vocabulary compares them: case, plural, possessive, spelling and shorthand folded away.

The same folding is applied to every name of the lexicon and to every note, so a name is typed once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

SPELLING_TABLES = ("variants", "same", "shorthand", "irregular")
"""The tables of ``spelling.toml`` that words are folded by; where two name a word, the later one stands."""
WRITTEN_TABLES = ("british",)
"""Those that only the paper is written by."""


class Word(NamedTuple):
    """One folded word and the characters of the note that it stands for.

    ``fold`` is a word in lower case, a number in digits, ``\\n``, or one punctuation mark. Two words may share
    their characters: ``headlight`` folds to ``head lamp``.
    """

    fold: str
    begin: int
    end: int


TOKEN = re.compile(
    r"""
      (?P<with>\b[wW]/(?=\s|[A-Za-z]{2}))
    | (?P<number>\d{1,3}(?:,\d{3})+(?:\.\d+)?(?!\d) | \d+(?:\.\d+)? | (?<![\w.])\.\d+)
    | (?P<initials>(?<![A-Za-z/])[A-Za-z](?:/[A-Za-z])+(?![A-Za-z/]) | (?<![A-Za-z.])(?:[A-Z]\.){2,}(?:[A-Z]\b)?)
    | (?P<word>[^\W\d_]+(?:['’][^\W\d_]+)*)
    | (?P<newline>\r\n?|\n)
    | (?P<mark>[^\w\s]|_)
    """,
    re.VERBOSE,
)
_MOST_KEPT = 50_000
"""Words whose folding is kept; a note's are nearly all among them, the names and codes of a million notes are not."""
_APOSTROPHE = re.compile(r"['’]")


class Folder:
    """Folds words by the tables of ``spelling.toml``.

    ``fold("tyres") == ("tire",)``; ``fold("headlight") == ("head", "lamp")``. Results are cached by word.
    """

    def __init__(self, tables: Mapping[str, Mapping[str, str]]):
        self._table: dict[str, tuple[str, ...]] = {}
        for name in SPELLING_TABLES:
            for word, stands_for in tables.get(name, {}).items():
                self._table[word.replace("-", "")] = tuple(stands_for.split())
        self._cache: dict[str, tuple[str, ...]] = {}

    def fold(self, word: str) -> tuple[str, ...]:
        """The folded words that one word of a note stands for: mostly one, and two for such as ``headlight``."""
        found = self._cache.get(word)
        if found is None:
            if len(self._cache) >= _MOST_KEPT:
                self._cache.clear()
            found = self._cache[word] = self._fold(word)
        return found

    def _fold(self, word: str) -> tuple[str, ...]:
        low = word.lower()
        if low.endswith(("'s", "’s")) and len(low) > 3:
            low = low[:-2]
        low = _APOSTROPHE.sub("", low)
        return self._look_up(low, 0)

    def _look_up(self, low: str, depth: int) -> tuple[str, ...]:
        entry = self._table.get(low)
        if entry is None:
            single = singular(low)
            entry = self._table.get(single, (single,)) if single != low else (low,)
        if depth > 3 or entry == (low,):
            return entry
        return tuple(w for part in entry for w in (self._look_up(part, depth + 1) if part != low else (part,)))

    def scan(self, text: str) -> list[Word]:
        """Cut ``text`` into folded words with their characters; nothing but white space is left out.

        A hyphen inside a word is no word of its own (``U-joint`` is two words).
        """
        words: list[Word] = []
        for m in TOKEN.finditer(text):
            kind, piece, begin, end = m.lastgroup, m.group(), m.start(), m.end()
            if kind == "word":
                for f in self.fold(piece):
                    words.append(Word(f, begin, end))
            elif kind == "number":
                words.append(Word(piece.replace(",", ""), begin, end))
            elif kind == "initials":
                for f in self._look_up(re.sub(r"[/.]", "", piece).lower(), 0):
                    words.append(Word(f, begin, end))
            elif kind == "with":
                words.append(Word("with", begin, end))
            elif kind == "newline":
                words.append(Word("\n", begin, end))
            elif piece in "-‐‑" and begin > 0 and end < len(text) and text[begin - 1].isalnum() and text[end].isalnum():
                if text[begin - 1].isdigit() and text[end].isdigit():
                    words.append(Word("-", begin, end))
            elif piece in "–—":
                words.append(Word("—", begin, end))
            else:
                words.append(Word(piece, begin, end))
        return words

    def phrase(self, name: str) -> tuple[str, ...]:
        """The folded words of a name of the lexicon."""
        return tuple(w.fold for w in self.scan(name))


def singular(word: str) -> str:
    """``word`` in lower case without its plural ending, by the regular rules of English spelling."""
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "xes", "sses", "zzes")):
        return word[:-2]
    return word[:-1]
