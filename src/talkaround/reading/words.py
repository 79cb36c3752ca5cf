"""The note's words as the vocabulary knows them: folded, letters joined, and mended."""

from __future__ import annotations

from talkaround.reading.mending import Mended, mend, sounds_spoken
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word


def read_words(text: str, vocabulary: Vocabulary, spoken: bool | None = None, by_sound: bool = True) -> Mended:
    """Fold ``text`` and mend it; ``spoken`` tells whether a recogniser wrote it, None lets its words tell."""
    words = _join_letters(vocabulary.folder.scan(text), vocabulary)
    return mend(text, words, vocabulary, sounds_spoken(words) if spoken is None else spoken, by_sound)


def _join_letters(words: list[Word], vocabulary: Vocabulary) -> list[Word]:
    """Letters spoken one by one and known together: "c v" is cv, "e g r" is egr."""
    out: list[Word] = []
    i = 0
    letters = [len(w.fold) == 1 and w.fold.isalpha() for w in words]
    while i < len(words):
        for length in (4, 3, 2) if letters[i] else ():
            run = words[i : i + length]
            if len(run) < length or not all(letters[i : i + length]):
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
