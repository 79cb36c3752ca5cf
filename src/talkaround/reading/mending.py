"""Words that were misheard or misspelled, read as what was meant; each mend is kept, none is silent.

A mended word keeps the characters of what stands in the note. Three ways lead to one: a known mishearing of
``mishearings.toml``, a name that sounds alike, and one slip of the keyboard. What may turn the meaning around, or may be
two things, is left as it stands and asked about.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import takewhile

from rapidfuzz.distance import OSA

from talkaround.reading.sound_alikes import DOUBTFUL, NUMBER_WORDS, SURE, Alike, find_alikes, is_a_name
from talkaround.reading.types import Doubt, Mend
from talkaround.vocabulary import LONG_WORD, Vocabulary
from talkaround.vocabulary.alikes import holds
from talkaround.vocabulary.folding import Word
from talkaround.vocabulary.terms import MisheardWords

_LONGEST_MISHEARING = 5
_NEAR = 5
_BESIDE = 2
_ANY_NUMBER = "#"
_SENTENCE_ENDS = frozenset({".", "\n", "?", "!"})
# Two meanings whose scores lie closer than this are not told apart.
_CLOSE = 4.0
_CHOICES = 3
_WORDS_BEFORE = 4
# Little words make up a third of what is spoken, and a tenth of what is keyed in shorthand.
_SPOKEN_SHARE = 0.25
_LITTLE = frozenset(
    "the a an is are was it its i he she they so and but that this there on of to in at with for got has have had be been "
    "do did not no just me my you we thats theres ive id".split()
)


@dataclass(slots=True)
class Mended:
    """The words as they are read, what was mended among them, and what may have been misheard."""

    words: list[Word]
    mends: list[Mend] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    spoken: bool = False
    """Whether a recogniser wrote the note down."""


def mend(text: str, words: list[Word], vocabulary: Vocabulary, spoken: bool, by_sound: bool = True) -> Mended:
    """Mend ``words`` against the vocabulary; what may be misheard only where a recogniser wrote it down (``spoken``)."""
    out = Mended(words, spoken=spoken)
    if spoken:
        out.words = _mend_known(text, out.words, vocabulary, out)
    if spoken and by_sound:
        out.words = _mend_alikes(text, out.words, vocabulary, out)
    out.words = _mend_slips(text, out.words, vocabulary, spoken, out)
    out.mends.sort(key=lambda m: m.begin)
    return out


def sounds_spoken(words: list[Word]) -> bool:
    """Whether a text reads as talk that was written down, and not as keyed shorthand."""
    said = [w.fold for w in words if w.fold.isalnum()]
    return sum(w in _LITTLE for w in said) >= _SPOKEN_SHARE * len(said) > 0


# ----- known mishearings


def _mend_known(text: str, words: list[Word], vocabulary: Vocabulary, kept: Mended) -> list[Word]:
    out: list[Word] = []
    folds = [w.fold for w in words]
    i = 0
    while i < len(words):
        length, heard = _known_at(folds, i, out, vocabulary) if folds[i] in vocabulary.misheard_first else (1, None)
        stretch = words[i : i + length]
        i += length
        begin, end = stretch[0].begin, stretch[-1].end
        if heard is None:
            out += stretch
        elif heard.ask:
            out += stretch
            kept.doubts.append(_question(text, begin, end, [heard.name]))
        else:
            out += [Word(w, begin, end) for w in heard.said]
            kept.mends.append(Mend(begin, end, text[begin:end], heard.name, 100.0, "known-mishearing"))
    return out


def _known_at(folds: list[str], i: int, mended: list[Word], vocabulary: Vocabulary) -> tuple[int, MisheardWords | None]:
    """The longest known mishearing at a word that fits what stands around, and how many words it takes."""
    before = [w.fold for w in mended[-_NEAR:]]
    for length in range(min(_LONGEST_MISHEARING, len(folds) - i), 0, -1):
        stretch = tuple(folds[i : i + length])
        # Recognisers set commas by ear, inside a name too.
        if "," in stretch[1:-1] and stretch[-1] != ",":
            stretch = tuple(f for f in stretch if f != ",")
        for heard in vocabulary.mishearings.get(stretch, ()):
            fits = _fits(heard, before, folds[i + length : i + length + _NEAR])
            if fits and not _names_a_part(folds, i, i + length, vocabulary):
                return length, heard
    return 1, None


def _names_a_part(folds: list[str], begin: int, end: int, vocabulary: Vocabulary) -> bool:
    """Whether a stretch as it was written makes the name of a part with its neighbors: "caliper motor" is no rotor."""
    for first in range(max(0, begin - _BESIDE), begin + 1):
        for last in range(end, min(len(folds), end + _BESIDE) + 1):
            beside = (*folds[first:begin], *folds[end:last])
            if any(map(holds, beside)) and any(
                t.kind == "component" for t in vocabulary.phrases.get(tuple(folds[first:last]), ())
            ):
                return True
    return False


def _fits(heard: MisheardWords, before: list[str], after: list[str]) -> bool:
    """Whether the words about a stretch are such as the lexicon asks for; ``before`` has been mended."""
    last, first = before[-1] if before else "", after[0] if after else ""
    if last in heard.not_behind or first in heard.not_before:
        return False
    if heard.behind and last not in heard.behind and not (_ANY_NUMBER in heard.behind and _is_number(last)):
        return False
    if heard.before and first not in heard.before:
        return False
    return not heard.beside or bool(heard.beside & {*_of_sentence(before[::-1]), *_of_sentence(after)})


def _is_number(fold: str) -> bool:
    return fold[:1].isdigit() or fold in NUMBER_WORDS


def _of_sentence(folds: list[str]) -> Iterator[str]:
    return takewhile(lambda f: f not in _SENTENCE_ENDS, folds)


# ----- names that sound alike


def _mend_alikes(text: str, words: list[Word], vocabulary: Vocabulary, kept: Mended) -> list[Word]:
    said: dict[int, tuple[int, list[Word]]] = {}
    for found in find_alikes(text, words, vocabulary):
        best = found[0]
        begin, end = words[best.name_begin].begin, words[best.name_end - 1].end
        rivals = list(_rivals(found))
        if best.score >= SURE and not rivals:
            at = words[best.begin].begin, words[best.end - 1].end
            said[best.begin] = best.end, [Word(w, *at) for w in best.said]
            kept.mends.append(
                Mend(begin, end, text[begin:end], " ".join(best.name), round(best.score, 1), "sounds-alike")
            )
        elif best.said_of and best.score >= _worth_asking(words[best.begin : best.end], best, vocabulary):
            names = [" ".join(a.name) for a in (best, *rivals)]
            kept.doubts.append(_question(text, begin, end, names[:_CHOICES]))
    out: list[Word] = []
    i = 0
    while i < len(words):
        if i in said:
            i, instead = said[i]
            out += instead
        else:
            out.append(words[i])
            i += 1
    return out


def _worth_asking(heard: list[Word], best: Alike, vocabulary: Vocabulary) -> float:
    """The score from which on it is asked about; everyday words were most likely said, and "builds" was no "buildup"."""
    if best.said[0].startswith(heard[0].fold):
        return SURE
    everyday = all(w.fold in vocabulary.ordinary or w.fold in vocabulary.words for w in heard)
    return (SURE + DOUBTFUL) / 2 if everyday else DOUBTFUL


def _rivals(found: list[Alike]) -> Iterator[Alike]:
    """Other parts that the best one is not told from; of a name and a part of it the whole stands."""
    best = found[0]
    seen = {best.component}
    for a in found[1:]:
        if a.score > best.score - _CLOSE and a.component not in seen and not set(a.name) <= set(best.name):
            seen.add(a.component)
            yield a


def _question(text: str, begin: int, end: int, names: list[str]) -> Doubt:
    heard = " ".join(text[begin:end].split())
    # With a few words before it, that tell what is spoken of.
    before = re.split(r"[.!?\n]", text[:begin])[-1].split()[-_WORDS_BEFORE:]
    passage = " ".join([*before, heard])
    return Doubt(
        "understanding",
        f"In “{passage}”, was “{heard}” heard right, or was it “{'” or “'.join(names)}”?",
        [*names, "heard right"],
    )


# ----- slips of the keyboard


def _mend_slips(text: str, words: list[Word], vocabulary: Vocabulary, spoken: bool, kept: Mended) -> list[Word]:
    """Long words that are one slip of the keyboard away from a word of the vocabulary."""
    known, ordinary = vocabulary.words, vocabulary.ordinary
    out = []
    for n, w in enumerate(words):
        mended = None
        if len(w.fold) >= LONG_WORD and w.fold.isalpha() and w.fold not in known and w.fold not in ordinary:
            # Recognisers write only names with a large letter; who types may write any noun so.
            mended = None if spoken and is_a_name(text, words, n) else _slip_of(w.fold, vocabulary.long_words)
        if mended:
            score = round(100 * OSA.normalized_similarity(w.fold, mended), 1)
            kept.mends.append(Mend(w.begin, w.end, text[w.begin : w.end], mended, score, "misspelled"))
        out.append(Word(mended, w.begin, w.end) if mended else w)
    return out


@lru_cache(maxsize=4096)
def _slip_of(word: str, known: frozenset[str]) -> str | None:
    """The one known word that it is a slip of, or None.

    Two neighbours may be swapped; from eight letters on also one letter wrong, missing or doubled, but in the last two.
    """
    near = [
        k
        for k in known
        if abs(len(k) - len(word)) <= 1 and k[0] == word[0] and OSA.distance(word, k, score_cutoff=1) == 1
    ]
    swapped = [k for k in near if len(k) == len(word) and sorted(k) == sorted(word)]
    if len(swapped) == 1:
        return swapped[0]
    far = [k for k in near if len(word) >= 8 and k[-2:] == word[-2:]]
    return far[0] if len(far) == 1 else None
