"""Words that were misheard or misspelled, read as what was meant; each mend is kept, none is silent.

A mended word keeps the characters of what stands in the note. Three ways lead to one: a known mishearing of
``mishearings.toml``, a name that sounds alike, and one slip of the keyboard. What may turn the meaning around, or may be
two things, is left as it stands and asked about.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import takewhile

from rapidfuzz.distance import OSA

from talkaround.reading.sound_alikes import DOUBTFUL, SURE, Alike, find_alikes, is_a_name
from talkaround.reading.types import Doubt, Mend
from talkaround.vocabulary import LONG_WORD, Vocabulary
from talkaround.vocabulary.folding import Word
from talkaround.vocabulary.terms import MisheardWords

_LONGEST_MISHEARING = 5
_NEAR = 5
_SENTENCE_ENDS = frozenset({".", "\n", "?", "!"})
# Two meanings whose scores lie closer than this are not told apart.
_CLOSE = 4.0
_CHOICES = 3
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


def mend(text: str, words: list[Word], vocabulary: Vocabulary, spoken: bool, by_sound: bool = True) -> Mended:
    """Mend ``words`` against the vocabulary; what may be misheard only where a recogniser wrote it down (``spoken``)."""
    out = Mended(words)
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
        for length in range(min(_LONGEST_MISHEARING, len(words) - i), 0, -1):
            stretch = tuple(folds[i : i + length])
            # Recognisers set commas by ear, inside a name too.
            if "," in stretch[1:-1]:
                stretch = tuple(f for f in stretch if f != ",")
            known = vocabulary.mishearings.get(stretch, ())
            before = [w.fold for w in out[-_NEAR:]]
            heard = next((m for m in known if _fits(m, before, folds[i + length : i + length + _NEAR])), None)
            if heard is None:
                continue
            begin, end = words[i].begin, words[i + length - 1].end
            if heard.ask:
                kept.doubts.append(_question(text[begin:end], [" ".join(heard.said)]))
                out += words[i : i + length]
            else:
                out += [Word(w, begin, end) for w in heard.said]
                kept.mends.append(Mend(begin, end, text[begin:end], " ".join(heard.said), 100.0, "known-mishearing"))
            i += length
            break
        else:
            out.append(words[i])
            i += 1
    return out


def _fits(heard: MisheardWords, before: list[str], after: list[str]) -> bool:
    """Whether the words about a stretch are such as the lexicon asks for; ``before`` has been mended."""
    last, first = before[-1] if before else "", after[0] if after else ""
    if last in heard.not_behind or first in heard.not_before:
        return False
    if heard.behind and last not in heard.behind or heard.before and first not in heard.before:
        return False
    return not heard.beside or bool(heard.beside & {*_of_sentence(before[::-1]), *_of_sentence(after)})


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
        elif best.score >= DOUBTFUL and best.said_of:
            names = [" ".join(a.name) for a in (best, *rivals)]
            kept.doubts.append(_question(text[begin:end], names[:_CHOICES]))
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


def _rivals(found: list[Alike]) -> Iterator[Alike]:
    """Other parts that the best one is not told from."""
    best = found[0]
    seen = {best.component}
    for a in found[1:]:
        if a.score > best.score - _CLOSE and a.component not in seen:
            seen.add(a.component)
            yield a


def _question(heard: str, names: list[str]) -> Doubt:
    heard = " ".join(heard.split())
    return Doubt(
        "understanding",
        f"Heard “{heard}”: was it “{'” or “'.join(names)}”?",
        [*names, "neither" if len(names) > 1 else "no"],
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
