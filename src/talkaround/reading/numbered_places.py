"""Places that go by a number: ``axle=2``, ``cylinder=3``, ``bank=1``."""

from __future__ import annotations

from typing import NamedTuple

from talkaround.reading.number_words import ORDINALS, below_hundred, is_int
from talkaround.vocabulary.folding import Word

_ORDINALS = {**{w: n for w, n in ORDINALS.items() if n <= 6}, "1st": 1}

BEGINS_PLACE = frozenset({"axle", "cylinder", "bank", "number", "no", "#", "a", "ax", *_ORDINALS})
"""Every word that a numbered place begins with, but for digits."""
_NUMBERED_NOUNS = frozenset({"axle", "cylinder", "bank", "injector", "plug", "coil"})
_BEFORE_NOUN = frozenset({"ignition", "spark", "fuel", "glow"})


class NumberedPlace(NamedTuple):
    """``axle=2``, ``cylinder=3`` or ``bank=1`` with the words that say it."""

    begin: int
    end: int
    means: str


def numbered_place(words: list[Word], folds: list[str], i: int) -> NumberedPlace | None:
    """The numbered place that starts at word ``i``: "axle two", "#3 cylinder", "2nd axle", "A1"."""
    w = folds[i]
    nxt = folds[i + 1] if i + 1 < len(folds) else ""
    key = {"axle": "axle", "cylinder": "cylinder", "bank": "bank"}.get(w)
    if key and nxt:
        j = i + 2 if nxt in ("number", "no", "#") else i + 1
        if j < len(folds):
            if folds[j] == "." and j + 1 < len(folds):
                j += 1
            whole = below_hundred(folds, j) if not is_int(folds[j]) else (int(folds[j]), j + 1)
            spoken_homophone = (
                {"to": 2, "too": 2, "for": 4}.get(folds[j])
                if key == "axle" and j == i + 1 and i + 2 < len(folds) and folds[i + 2] in ("left", "right")
                else None
            )
            if (
                whole
                and 0 < whole[0] <= 16
                and not (whole[1] < len(folds) and folds[whole[1]] in ("mm", "psi", "/", "point", "inch", "thirty"))
            ):
                return NumberedPlace(i, whole[1], f"{key}={whole[0]}")
            if spoken_homophone:
                return NumberedPlace(i, j + 1, f"{key}={spoken_homophone}")
    if w in ("number", "no", "#"):
        j = i + 2 if nxt == "." else i + 1
        if j + 1 < len(folds):
            whole = below_hundred(folds, j) if not is_int(folds[j]) else (int(folds[j]), j + 1)
            # "Number three ignition coil": a word may stand before the noun that has one for each cylinder.
            behind = folds[whole[1] : whole[1] + 2] if whole else []
            noun = behind[1] if behind[:1] and behind[0] in _BEFORE_NOUN and behind[1:] else (behind or [""])[0]
            if whole and noun in _NUMBERED_NOUNS and 0 < whole[0] <= 16:
                keyed = noun if noun in ("axle", "bank") else "cylinder"
                return NumberedPlace(i, whole[1] + (noun in ("axle", "cylinder", "bank")), f"{keyed}={whole[0]}")
    if w in _ORDINALS and nxt == "axle" and not (i and folds[i - 1] == "side"):
        # "Driver side first, axle two": there the axle has its number behind it.
        return NumberedPlace(i, i + 2, f"axle={_ORDINALS[w]}")
    if w == "a" and is_int(nxt) and len(nxt) == 1 and words[i].end == words[i + 1].begin:
        return NumberedPlace(i, i + 2, f"axle={nxt}")
    if w == "ax" and is_int(nxt) and len(nxt) == 1:
        return NumberedPlace(i, i + 2, f"axle={nxt}")
    if is_int(w) and len(w) == 1 and nxt in ("st", "nd", "rd", "th") and i + 2 < len(folds) and folds[i + 2] == "axle":
        return NumberedPlace(i, i + 3, f"axle={w}")
    return None
