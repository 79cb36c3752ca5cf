"""The names of the lexicon by sound: what stands beside a word in the name of a part, and which names sound alike."""

from __future__ import annotations

import marshal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from talkaround.vocabulary.sounding import key_of_sounds, sounds_of, spelled_out

# Words that hold no name together: little ones, and places.
LITTLE = frozenset("a an the of and or to on in for with at off up out by as no".split())
PLACES = frozenset("front rear left right center driver passenger nearside offside side".split())
# A side is never made out of a sound: a wrong one is the worst mistake.
_SIDES = frozenset("left right driver passenger nearside offside".split())
_MOST = 2  # words of a name that a stretch of the note may stand for

Words = tuple[str, ...]
Sounds = dict[str, dict[Words, str]]
"""Words by what they are filed under, each with its sound as :func:`spelled_out`."""


@dataclass(slots=True)
class Alikes:
    """Names of the lexicon, filed so that what sounds like one is found without trying all."""

    before: Sounds
    """Under a word: what stands before it in the name of a part (``ball`` under ``joint``)."""
    after: Sounds
    whole: Sounds
    """Under the key of its sounds: a whole name, or words for a condition."""


def build_alikes(phrases: Mapping[Words, frozenset[str]]) -> Alikes:
    """Sort ``phrases``, each with the kinds of its tags, by how they sound."""
    out = Alikes({}, {}, {})
    spelled: dict[Words, str] = {}

    def file(under: str, words: Words, where: Sounds) -> None:
        if words not in spelled:
            spelled[words] = spelled_out(sounds_of_all(words))
        where.setdefault(under, {})[words] = spelled[words]

    for phrase, kinds in phrases.items():
        part = bool(kinds & {"component", "short"})
        if (part or kinds & {"condition", "good"}) and len(phrase) <= _MOST and all(map(_is_spoken, phrase)):
            file(key_of_sounds(sounds_of_all(phrase)), phrase, out.whole)
        for begin, end in _inside(phrase) if part else ():
            if end < len(phrase) and holds(phrase[end]):
                file(phrase[end], phrase[begin:end], out.before)
            if begin and holds(phrase[begin - 1]):
                file(phrase[begin - 1], phrase[begin:end], out.after)
    return out


def frozen_alikes(alikes: Alikes) -> bytes:
    """The files as bytes, for the cache."""
    return marshal.dumps((alikes.before, alikes.after, alikes.whole))


def thawed_alikes(stored: bytes) -> Alikes:
    """The files from the bytes of :func:`frozen_alikes`. Raises ``ValueError`` or ``EOFError`` for other bytes."""
    return Alikes(*marshal.loads(stored))


def holds(word: str) -> bool:
    """Whether a word that was heard right tells what its neighbor may have been."""
    return word not in LITTLE and word not in PLACES


def sounds_of_all(words: Iterable[str]) -> str:
    """The sounds of words one after the other, without what divides them."""
    return "".join(map(sounds_of, words))


def _inside(phrase: Words) -> Iterable[tuple[int, int]]:
    """The stretches of a name that may have been misheard while the rest was not."""
    for length in range(1, min(_MOST, len(phrase) - 1) + 1):
        for begin in range(len(phrase) - length + 1):
            words = phrase[begin : begin + length]
            if all(map(_is_spoken, words)) and not {words[0], words[-1]} & LITTLE and not set(words) & _SIDES:
                yield begin, begin + length


def _is_spoken(word: str) -> bool:
    return word.isalpha() and len(word) > 1


__all__ = [
    "PLACES",
    "Alikes",
    "Sounds",
    "Words",
    "build_alikes",
    "frozen_alikes",
    "holds",
    "sounds_of_all",
    "thawed_alikes",
]
