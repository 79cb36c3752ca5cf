"""Whole numbers, decimals and fractions in words, on folded words: "one forty", "oh four five", "three and a half".

Each function takes the folds of a note and where to look, and gives the value with the index behind its last word, or
None where no such number starts there. Hundreds said short ("one forty", "one oh five") are how a shop says a pressure.
"""

from __future__ import annotations

from typing import NamedTuple

ONES = {
    w: n
    for n, w in enumerate(
        "zero one two three four five six seven eight nine "
        "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
    )
}
TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}
_OH = frozenset({"oh", "o"})
# No reading has more digits, and a float keeps no more.
_LONGEST = 15
SCALES = {
    "thousand": 10**3, "grand": 10**3, "million": 10**6, "billion": 10**9, "trillion": 10**12, "quadrillion": 10**15,
}  # fmt: skip
PARTS = {
    "half": 2, "third": 3, "quarter": 4, "fifth": 5, "sixth": 6, "eighth": 8, "tenth": 10, "sixteenth": 16,
}  # fmt: skip
_LONG_PARTS = {("thirty", "second"): 32, ("sixty", "fourth"): 64}
BEGINS_WHOLE = frozenset({*ONES, *TENS, *SCALES, "hundred", "a", "an"})
"""Every word that a whole number in words begins with."""
ORDINALS = {
    w: n
    for n, w in enumerate(
        "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth "
        "fifteenth sixteenth seventeenth eighteenth nineteenth".split(),
        1,
    )
}
_TENTHS = {f"{w[:-1]}ieth": n for w, n in TENS.items()}
BEGINS_NUMBER = frozenset({*BEGINS_WHOLE, *PARTS, *ORDINALS, *_TENTHS, *_OH, "point"})
"""Every word that a number in words begins with, a part or an ordinal too."""
_MOST_DIGITS = 4
"""Digits behind a point, leading noughts not counted; no gauge in a shop reads more."""


class Number(NamedTuple):
    """A value and the index behind its last word.

    ``thirty_seconds``: it is in thirty-seconds of an inch. ``of_inch``: a part of an inch, in inches. ``spoken``: in
    words. ``thousandths``: it is in thousandths of an inch.
    """

    value: float
    end: int
    of_inch: bool = False
    thirty_seconds: bool = False
    spoken: bool = False
    thousandths: bool = False


def is_digits(fold: str) -> bool:
    """Whether a folded word is a number in plain digits (not a superscript or a circled one)."""
    return (
        len(fold) <= _LONGEST and fold.isascii() and (fold[:1].isdigit() or (fold[:1] == "." and fold[1:2].isdigit()))
    )


def is_int(fold: str) -> bool:
    """Whether it is a whole number in plain digits, without sign or comma."""
    return len(fold) <= _LONGEST and fold.isascii() and fold.isdigit()


def is_oh(fold: str) -> bool:
    """Whether it is a nought as it is spoken."""
    return fold in _OH


def word(words: list[str], i: int) -> str:
    """Word ``i``; empty before the first and behind the last."""
    return words[i] if 0 <= i < len(words) else ""


def part_at(words: list[str], i: int) -> tuple[int, int] | None:
    """The denominator of a fraction: "quarter", "sixteenth", "thirty-second"."""
    w = word(words, i)
    if w in PARTS:
        return PARTS[w], i + 1
    long = _LONG_PARTS.get((w, word(words, i + 1))) if w in TENS else None
    return (long, i + 2) if long else None


def below_hundred(words: list[str], i: int) -> tuple[int, int] | None:
    """The number from 0 to 99 in words at ``i``, and the word behind it; None where there is none."""
    w = word(words, i)
    if w in TENS:
        if part_at(words, i) and word(words, i - 1) in ONES:
            return None
        nxt = ONES.get(word(words, i + 1), 0)
        return (TENS[w] + nxt, i + 2) if 0 < nxt < 10 else (TENS[w], i + 1)
    return (ONES[w], i + 1) if w in ONES else None


def _below_thousand(words: list[str], i: int) -> tuple[int, int] | None:
    """ "One hundred and ninety", "twenty one hundred", and said short "one forty", "one oh five"."""
    first = (1, i) if word(words, i) == "hundred" else below_hundred(words, i)
    if first is None:
        return None
    value, j = first
    nxt = word(words, j)
    if nxt == "hundred" and 0 < value < 100:
        return _rest(words, j + 1, value * 100)
    if 0 < value < 10 and _said_short(words, j):
        if nxt in _OH:
            last = ONES.get(word(words, j + 1), 0)
            return (value * 100 + last, j + 2) if 0 < last < 10 else (value, j)
        more = below_hundred(words, j)
        if more and word(words, more[1]) != "hundred":
            return value * 100 + more[0], more[1]
    return value, j


def _rest(words: list[str], j: int, value: int) -> tuple[int, int]:
    """What is under a hundred behind hundreds or thousands, with or without "and".

    Left where it begins a number of its own: "one hundred and one twenty" is 100 and 120.
    """
    k = j + 1 if word(words, j) == "and" else j
    more = below_hundred(words, k)
    if more is None or not more[0] or word(words, more[1]) == "hundred":
        return value, j
    if more[0] < 10 and _said_short(words, more[1]):
        return value, j
    if k > j and part_at(words, more[1]):
        return value, j
    return value + more[0], more[1]


def _said_short(words: list[str], j: int) -> bool:
    """Whether tens or a nought at ``j`` go on a number said short ("one" + "twenty", "one" + "oh five")."""
    w = word(words, j)
    return w in _OH or ONES.get(w, 0) >= 10 or (w in TENS and not part_at(words, j))


def whole(words: list[str], i: int) -> tuple[int, int] | None:
    """A spoken whole number, with "and" as in the UK or without."""
    # Asked of every word of a note, and nearly always in vain.
    if not 0 <= i < len(words) or words[i] not in BEGINS_WHOLE:
        return None
    if words[i] in ("a", "an") and (word(words, i + 1) == "hundred" or word(words, i + 1) in SCALES):
        words = [*words[:i], "one", *words[i + 1 :]]
    group = _below_thousand(words, i)
    if group is None and word(words, i) not in SCALES:
        return None
    value, j = group or (1, i)
    total, least = 0, None
    while word(words, j) in SCALES and value and (least is None or SCALES[words[j]] < least):
        least = SCALES[words[j]]
        total, value, j = total + value * least, 0, j + 1
        k = j + 1 if word(words, j) == "and" else j
        more = _below_thousand(words, k)
        if more is None or not more[0]:
            break
        behind = word(words, more[1])
        if behind in SCALES and SCALES[behind] >= least:
            break
        if k > j and part_at(words, more[1]):
            break
        value, j = more
    return total + value, j


def digits_after_point(words: list[str], i: int) -> tuple[str, int]:
    """Digits spoken behind a point: "eight", "oh five", "twenty five", "one two"; nothing where there are none."""
    digits, j = "", i
    while j < len(words):
        w = words[j]
        if w in _OH or w == "zero":
            digits, j = digits + "0", j + 1
        elif w in TENS:
            found = None if digits.strip("0") else below_hundred(words, j)
            if found is None:
                break
            digits, j = digits + str(found[0]), found[1]
        elif w in ONES:
            follows = word(words, j + 1)
            if digits and (follows in ("hundred", "point", "thousand") or follows in TENS or part_at(words, j + 1)):
                # Here a number of its own begins: "twelve point six, five twenty".
                break
            digits, j = digits + str(ONES[w]), j + 1
        elif w.isascii() and w.isdigit() and not digits:
            return w, j + 1
        else:
            break
        if len(digits.lstrip("0")) >= _MOST_DIGITS:
            break
    return digits, j


def ordinal(words: list[str], i: int) -> tuple[int, int] | None:
    """ "Third", "twenty first", "forty eighth", "eleven hundred twenty first", "one thousandth"."""
    w = word(words, i)
    if w in ORDINALS:
        return ORDINALS[w], i + 1
    if w in _TENTHS:
        return _TENTHS[w], i + 1
    if w in TENS and 0 < ORDINALS.get(word(words, i + 1), 0) < 10:
        return TENS[w] + ORDINALS[words[i + 1]], i + 2
    head = whole(words, i)
    if head is None:
        return None
    value, j = head
    last = word(words, j)
    if last == "hundredth":
        return value - value % 1000 + value % 1000 * 100, j + 1
    if last == "thousandth":
        return value * 1000, j + 1
    if j - i > 1 and words[j - 1] in TENS and value % 10 == 0 and 0 < ORDINALS.get(last, 0) < 10:
        return value + ORDINALS[last], j + 1
    k = j + 1 if last == "and" else j
    if value % 100 == 0 and value:
        tail = ordinal(words, k) if any(word(words, k) in names for names in (ORDINALS, _TENTHS, TENS)) else None
        if tail and tail[0] < 100:
            return value + tail[0], tail[1]
    return None
