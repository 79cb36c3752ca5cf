"""One number of a note, in words or digits or both, with the words that say it: ``number_at``.

"Eleven point eight", "seven thirty-seconds", "a quarter of an inch", "2-1/4", "12 point 4", "6,000". How recognisers
garble a number while they write it down is in ``heard_numbers``.
"""

from __future__ import annotations

from talkaround.reading.heard_numbers import SOUND_LIKE, heard_as_word, heard_in_digits
from talkaround.reading.number_words import (
    BEGINS_NUMBER,
    ONES,
    PARTS,
    SCALES,
    TENS,
    Number,
    below_hundred,
    digits_after_point,
    is_digits,
    is_int,
    is_oh,
    part_at,
    whole,
    word,
)

# Behind a whole number these are a third one, a fifth gear: parts of an inch are halves, quarters, eighths and so on.
_NO_PART_OF_INCH = frozenset({2, 3, 5, 6, 10})
_OF_INCH = frozenset({2, 4, 8, 16, 32, 64})
BEGINS = BEGINS_NUMBER | SOUND_LIKE.keys()
"""Every word that a number begins with, but for numbers in digits."""
_MEASURES = frozenset({"inch", "in", "millimeter", "mm", "mil", "turn", "foot", "volt", "bar", "degree", "quart"})


def number_at(words: list[str], i: int) -> Number | None:
    """The number that starts at word ``i``; None where there is none."""
    if words[i] in BEGINS:
        return heard_as_word(words, i) or _part_of_one(words, i) or _in_words(words, i)
    return _in_digits(words, i) if is_digits(words[i]) else None


# ----- in words -------------------------------------------------------------------------------------------------------


def _in_words(words: list[str], i: int) -> Number | None:
    w, nxt = words[i], word(words, i + 1)
    if is_oh(w) and nxt == "point":
        digits, j = digits_after_point(words, i + 2)
        return Number(float("0." + digits), j, spoken=True) if digits else None
    if w == "point" or (is_oh(w) and (nxt in ONES or is_oh(nxt))):
        digits, j = digits_after_point(words, i + 1 if w == "point" else i)
        return Number(float("0." + digits), j, spoken=True) if digits else None
    found = whole(words, i)
    if found is None:
        return None
    value, j = found
    if word(words, j) in ("slash", "over") and word(words, j + 1) in ("32", "thirty"):
        end = j + 2 if words[j + 1] == "32" else j + 3
        if words[j + 1] == "32" or word(words, j + 2) == "two":
            return Number(value, end, thirty_seconds=True)
    if word(words, j) == "point":
        digits, k = digits_after_point(words, j + 1)
        if digits:
            return _scaled(words, Number(float(f"{value}.{digits}"), k, spoken=True))
    part = part_at(words, j)
    if part:
        number = _parts(words, value, part)
        if number:
            return number
    more = _and_a_part(words, j)
    return Number(value + more[0], more[1], spoken=True) if more else Number(value, j, spoken=True)


def _scaled(words: list[str], number: Number) -> Number:
    """ "Five point two million"."""
    scale = SCALES.get(word(words, number.end))
    if scale is None:
        return number
    return number._replace(value=round(number.value * scale, 6), end=number.end + 1)


def _parts(words: list[str], top: float, part: tuple[int, int]) -> Number | None:
    """So many parts: "four thirty-seconds", "five sixteenths", "three quarters of an inch", "two thirds"."""
    bottom, end = part
    if bottom == 32:
        return Number(top, end, thirty_seconds=True, spoken=True)
    if bottom == 64 or (bottom not in _NO_PART_OF_INCH and top < bottom):
        return Number(top / bottom, end, of_inch=True, spoken=True)
    measured = _measure_behind(words, end)
    if top < bottom and measured:
        return Number(top / bottom, measured, of_inch=words[measured] in ("inch", "in"), spoken=True)
    return None


def _measure_behind(words: list[str], j: int) -> int | None:
    """Where the unit stands behind a fraction: "of an inch", "a turn", "inch"."""
    k = j
    if word(words, k) == "of":
        k += 1
    if word(words, k) in ("a", "an"):
        k += 1
    return k if word(words, k) in _MEASURES else None


def _and_a_part(words: list[str], j: int) -> tuple[float, int] | None:
    """ "And a half", "and three quarters", "and three thirty-seconds" behind a whole number."""
    if word(words, j) != "and":
        return None
    if word(words, j + 1) in ("a", "one"):
        part = part_at(words, j + 2)
        return (1 / part[0], part[1]) if part else None
    top = ONES.get(word(words, j + 1))
    part = part_at(words, j + 2) if top else None
    return (top / part[0], part[1]) if top and part and part[0] != 3 else None


def _part_of_one(words: list[str], i: int) -> Number | None:
    """ "A quarter of an inch", "half an inch", "a sixteenth", "an inch and a half"; no count such as "one third"."""
    article = words[i] in ("a", "an", "one")
    j = i + 1 if article else i
    part = part_at(words, j)
    if part and part[0] == 32 and article:
        return Number(1, part[1], thirty_seconds=True, spoken=True)
    if part and (article or part[0] in (2, 4)):
        k = _measure_behind(words, part[1])
        if k is not None:
            return Number(1 / part[0], k, of_inch=words[k] in ("inch", "in"), spoken=True)
        if article and part[0] in (8, 16, 64):
            return Number(1 / part[0], part[1], of_inch=True, spoken=True)
    if part:
        return None
    if article and word(words, i + 1) == "inch":
        more = _and_a_part(words, i + 2)
        if more:
            return Number(1 + more[0], more[1], of_inch=True, spoken=True)
        return Number(1, i + 1, spoken=True)
    if article and word(words, i + 1) in ("thou", "thousandth", "millimeter", "mm", "mil"):
        return Number(1, i + 1, spoken=True)
    return None


# ----- in digits ------------------------------------------------------------------------------------------------------


def _in_digits(words: list[str], i: int) -> Number:
    w, nxt, after = words[i], word(words, i + 1), word(words, i + 2)
    value = float(w)
    garbled = heard_in_digits(words, i)
    if garbled:
        return garbled
    mixed = _mixed(words, i)
    if mixed:
        return mixed
    if nxt in ("/", "slash", "over") and is_int(after) and is_int(w) and int(after) in _OF_INCH:
        if int(after) == 32:
            return Number(value, i + 3, thirty_seconds=True)
        if int(w) < int(after):
            return Number(value / int(after), i + 3, of_inch=True)
    if nxt == "and" and is_int(w) and value >= 100 and value % 100 == 0 and is_int(after) and 0 < int(after) < 100:
        return Number(value + int(after), i + 3)
    if nxt in ("eighth", "sixteenth", "quarter"):
        return Number(value / PARTS[nxt], i + 2, of_inch=True)
    if nxt == "point" and (after in ONES or is_oh(after) or after in TENS or is_int(after)):
        digits, j = digits_after_point(words, i + 2)
        return Number(float(f"{w}.{digits}"), j)
    more = _and_a_part(words, i + 1)
    if more:
        return Number(value + more[0], more[1])
    if (nxt == "hundred" or nxt in SCALES) and value < 1000:
        return _with_scale(words, i, value)
    return Number(value, i + 1)


def _mixed(words: list[str], i: int) -> Number | None:
    """ "2-1/4", "2 1/4": a whole number and parts of an inch."""
    j = i + 2 if word(words, i + 1) == "-" else i + 1
    top, stroke, bottom = word(words, j), word(words, j + 1), word(words, j + 2)
    if not (is_int(top) and stroke == "/" and is_int(bottom)) or word(words, j + 3) == "/":
        return None
    if int(bottom) not in _OF_INCH or not 0 < int(top) < int(bottom):
        return None
    return Number(float(words[i]) + int(top) / int(bottom), j + 3, of_inch=True)


def _with_scale(words: list[str], i: int, value: float) -> Number:
    """ "6 hundred", "3 hundred and 10", "84 thousand 2 hundred"."""
    scale = 100 if words[i + 1] == "hundred" else SCALES[words[i + 1]]
    k = i + 3 if word(words, i + 2) == "and" else i + 2
    tail = word(words, k)
    if is_int(tail) and int(tail) < scale:
        if word(words, k + 1) == "hundred":
            return Number(value * scale + int(tail) * 100, k + 2)
        return Number(value * scale + int(tail), k + 1)
    more = below_hundred(words, k)
    return Number(value * scale + more[0], more[1]) if more else Number(value * scale, i + 2)
