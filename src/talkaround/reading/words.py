"""The note's words as the vocabulary knows them: folded, with mishearings and slips of the keyboard mended.

A mended word keeps the characters of what stands in the note.
"""

from __future__ import annotations

from functools import lru_cache

from rapidfuzz.distance import OSA

from talkaround.vocabulary import LONG_WORD, Vocabulary
from talkaround.vocabulary.folding import Word

_LONGEST_MISHEARING = 4
_NEAR = 5


def read_words(text: str, vocabulary: Vocabulary) -> list[Word]:
    """Fold ``text`` and mend it against the vocabulary."""
    return _mend_slips(
        _mend_mishearings(_join_letters(vocabulary.folder.scan(text), vocabulary), vocabulary), vocabulary
    )


def _join_letters(words: list[Word], vocabulary: Vocabulary) -> list[Word]:
    """Letters spoken one by one and known together: "c v" is cv, "e g r" is egr."""
    out: list[Word] = []
    i = 0
    while i < len(words):
        for length in (4, 3, 2):
            run = words[i : i + length]
            if len(run) < length or not all(len(w.fold) == 1 and w.fold.isalpha() for w in run):
                continue
            if any(b.begin - a.end > 2 or b.begin == a.end for a, b in zip(run, run[1:], strict=False)):
                continue
            joined = "".join(w.fold for w in run)
            if joined in vocabulary.words:
                out.append(Word(joined, run[0].begin, run[-1].end))
                i += length
                break
        else:
            out.append(words[i])
            i += 1
    return out


def _mend_mishearings(words: list[Word], vocabulary: Vocabulary) -> list[Word]:
    out: list[Word] = []
    folds = [w.fold for w in words]
    i = 0
    while i < len(words):
        for length in range(min(_LONGEST_MISHEARING, len(words) - i), 0, -1):
            heard = vocabulary.mishearings.get(tuple(folds[i : i + length]))
            if heard is None:
                continue
            if heard.beside and not heard.beside & _neighbours(folds, i, i + length):
                continue
            begin, end = words[i].begin, words[i + length - 1].end
            out += [Word(w, begin, end) for w in heard.said]
            i += length
            break
        else:
            out.append(words[i])
            i += 1
    return out


def _neighbours(folds: list[str], begin: int, end: int) -> set[str]:
    """The words near a stretch, no further than its own sentence."""
    before, after = folds[max(0, begin - _NEAR) : begin], folds[end : end + _NEAR]
    for n in range(len(before) - 1, -1, -1):
        if before[n] in (".", "\n", "?", "!"):
            before = before[n + 1 :]
            break
    for n, w in enumerate(after):
        if w in (".", "\n", "?", "!"):
            after = after[:n]
            break
    return {*before, *after}


def _mend_slips(words: list[Word], vocabulary: Vocabulary) -> list[Word]:
    """Long words that are one slip of the keyboard away from a word of the vocabulary."""
    known = vocabulary.words
    out = []
    for w in words:
        if len(w.fold) >= LONG_WORD and w.fold.isalpha() and w.fold not in known:
            mended = _slip_of(w.fold, vocabulary.long_words)
            out.append(Word(mended, w.begin, w.end) if mended else w)
        else:
            out.append(w)
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
