"""Characters said or typed one after the other: letters, digits, numbers, the spelling alphabet (ICAO Annex 10, volume II)."""

from __future__ import annotations

from typing import NamedTuple

from talkaround.reading.number_words import ONES, TENS, below_hundred, is_int, is_oh, word
from talkaround.vocabulary.folding import Word

_ALPHABET = {
    w: w[0].upper()
    for w in (
        "alpha alfa bravo charlie delta echo foxtrot golf hotel india juliet juliett kilo lima mike november oscar papa "
        "quebec romeo sierra tango uniform victor whiskey whisky xray yankee zulu"
    ).split()
}
# Names of letters and digits as recognisers write them; only where a code was announced, for all are words of their own.
_SOUNDS_LIKE = {
    "be": "B", "bee": "B", "see": "C", "sea": "C", "dee": "D", "gee": "G", "jay": "J", "kay": "K", "okay": "K", "el": "L",
    "ell": "L", "em": "M", "en": "N", "pea": "P", "pee": "P", "are": "R", "ar": "R", "es": "S", "ess": "S", "tea": "T",
    "tee": "T", "you": "U", "vee": "V", "ex": "X", "why": "Y", "wye": "Y", "zee": "Z", "zed": "Z", "for": "4", "to": "2",
    "too": "2", "won": "1", "ate": "8", "nought": "0", "nil": "0",
}  # fmt: skip
_TIMES = {"double": 2, "triple": 3, "treble": 3}
# Words that stand for a character, or for how often one is said.
_SAID = frozenset({*_TIMES, *ONES, *TENS, *_ALPHABET, "oh", "o", "x", "ex"})
_LONGEST_PIECE = 17


class Piece(NamedTuple):
    """The characters that one or more words stand for, and the index behind the last of those."""

    characters: str
    end: int


def piece_at(text: str, words: list[Word], i: int, *, announced: bool) -> Piece | None:
    """The next characters of a code at word ``i``; ``announced`` where a word such as VIN says that one comes."""
    if i >= len(words):
        return None
    fold = words[i].fold
    written = text[words[i].begin : words[i].end]
    if fold not in _SAID and len(written) > 1 and written.isalpha() and written[0].islower():
        # Asked of every word of a note, and nearly always in vain.
        return Piece(_SOUNDS_LIKE[fold], i + 1) if announced and fold in _SOUNDS_LIKE else None
    folds = [w.fold for w in words[i : i + 4]]
    if fold in _TIMES:
        again = piece_at(text, words, i + 1, announced=announced)
        if again and len(again.characters) == 1:
            # "Double u" is a letter of its own.
            return Piece(
                "W" if fold == "double" and again.characters == "U" else again.characters * _TIMES[fold], again.end
            )
    if is_oh(fold):
        return Piece("0", i + 1)
    if fold in ("x", "ex") and word(folds, 1) == "ray":
        return Piece("X", i + 2)
    if fold in ONES or fold in TENS:
        number = below_hundred(folds, 0)
        return Piece(str(number[0]), i + number[1]) if number else None
    if fold in _ALPHABET:
        return Piece(_ALPHABET[fold], i + 1)
    letters = written.split()
    if len(letters) > 1 and all(len(x) == 1 for x in letters):
        # Letters that the trade joins ("c v") are letters again in a code.
        written = "".join(letters).upper()
    end = i + 1
    while end < len(words) and words[end].begin == words[i].begin:
        end += 1
    if is_int(written) or (len(written) == 1 and written.isascii() and written.isalpha()):
        return Piece(written.upper(), end)
    if written.isascii() and written.isalpha() and written.isupper() and len(written) <= _LONGEST_PIECE:
        return Piece(written, end)
    return Piece(_SOUNDS_LIKE[fold], i + 1) if announced and fold in _SOUNDS_LIKE else None


def run_at(text: str, words: list[Word], i: int, *, announced: bool, most: int) -> list[Piece]:
    """The pieces from word ``i`` on, commas and hyphens between them passed over, of at most ``most`` characters."""
    pieces: list[Piece] = []
    length, j = 0, i
    while j < len(words):
        k = j + 1 if pieces and words[j].fold in (",", "-", ".") and _goes_on(words, j) else j
        piece = piece_at(text, words, k, announced=announced)
        if piece is None or length + len(piece.characters) > most:
            break
        pieces.append(piece)
        length, j = length + len(piece.characters), piece.end
    return pieces


def _goes_on(words: list[Word], j: int) -> bool:
    """A full stop between characters ("1. M. 8.") ends nothing; one before a line end does."""
    return j + 1 < len(words) and words[j + 1].fold != "\n"


__all__ = ["Piece", "piece_at", "run_at"]
