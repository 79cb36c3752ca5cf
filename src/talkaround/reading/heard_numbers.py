"""What recognisers make of thirty-seconds and thousandths of an inch while they write numbers in digits."""

from __future__ import annotations

from talkaround.reading.number_words import Number, is_int, word

_DEEPEST = 36
"""Thirty-seconds of an inch of the deepest new tread that is made; a greater figure is no depth."""


def heard_in_digits(words: list[str], i: int) -> Number | None:
    """What a recogniser's own formatting makes of thirty-seconds and thousandths of an inch.

    It writes "thirty" as 30 and takes "seconds" for time ("7 30 seconds", "330 seconds", "7.30 seconds", "10, 30
    seconds", "7:30 seconds"), or joins the two ("432nds", "4-32s", "3 32nds"); "eighteen thousandths" become "18,000ths".
    """
    w, nxt = words[i], word(words, i + 1)
    value = float(w)
    j = i + 2 if nxt in (",", "-", ":", "/") else i + 1
    unit = _thirty_second(words, j)
    if unit and value <= _DEEPEST and is_int(w):
        return Number(value, unit, thirty_seconds=True)
    if nxt == "second" and w.endswith(".30") and value <= _DEEPEST:
        return Number(int(value), i + 2, thirty_seconds=True)
    if is_int(w) and len(w) in (3, 4) and 0 < int(w[:-2]) <= _DEEPEST:
        if nxt == "second" and w.endswith(("30", "32")) or nxt in ("nd", "nds") and w.endswith(("30", "32")):
            return Number(int(w[:-2]), i + 2, thirty_seconds=True)
        if nxt == "s" and w.endswith("32"):
            return Number(int(w[:-2]), i + 2, thirty_seconds=True)
    if nxt in ("th", "ths") and value >= 1000 and value % 1000 == 0 and is_int(w):
        return Number(value / 1000, i + 2, thousandths=True)
    if nxt in ("/", "over") and word(words, i + 2) in ("1000", "1000th"):
        return Number(value, i + 3, thousandths=True)
    if word(words, i + 1) == "1000" and word(words, i + 2) in ("th", "ths"):
        return Number(value, i + 3, thousandths=True)
    return None


SOUND_LIKE = {"for": 4, "to": 2, "too": 2, "won": 1, "ate": 8}
_BEFORE_NUMBER = frozenset(
    {
        "is",
        "are",
        "at",
        "about",
        "or",
        "was",
        "were",
        "both",
        "front",
        "rear",
        "left",
        "right",
        "inner",
        "outer",
        "inside",
        "outside",
    }
)


def heard_as_word(words: list[str], i: int) -> Number | None:
    """ "Pads are for 30 seconds": a number of thirty-seconds written as the little word that sounds like it.

    Only behind a verb of being or a place, where no length of time can stand ("cranked it for 30 seconds" is one).
    """
    value = SOUND_LIKE.get(words[i])
    if value is None or word(words, i - 1) not in _BEFORE_NUMBER:
        return None
    end = _thirty_second(words, i + 1)
    return Number(value, end, thirty_seconds=True) if end else None


def _is_thirty(fold: str) -> bool:
    return fold in ("30", "thirty")


def _thirty_second(words: list[str], j: int) -> int | None:
    """The end of "30 seconds", "thirty second", "32nds", "32s", "30-2nds" at ``j``."""
    w, nxt = word(words, j), word(words, j + 1)
    if _is_thirty(w) and nxt == "second":
        return j + 2
    if _is_thirty(w) and nxt in ("2", "two") and word(words, j + 2) in ("nd", "nds"):
        return j + 3
    if w in ("32nd", "32nds", "32s"):
        return j + 1
    if w == "32" and nxt in ("nd", "nds", "s", "second"):
        return j + 2
    return None
