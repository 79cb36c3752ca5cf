"""Numbers as spoken or typed, fractions, units and ranges; and numbered places (axle 2, cylinder 3).

Works on folded words. Spoken forms: "eleven point eight volts", "seven thirty-seconds", "forty thousandths", "a quarter
of an inch", "one forty psi", "between four and five". Money, times, ages and distances are taken up and dropped, so that
their numbers are no readings.
"""

from __future__ import annotations

from typing import NamedTuple

from talkaround.reading.types import Quantity
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

ONES = {
    w: n
    for n, w in enumerate(
        "zero one two three four five six seven eight nine "
        "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
    )
}
TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}
OH = {"oh": 0, "o": 0}
PARTS = {"half": 2, "third": 3, "quarter": 4, "fifth": 5, "eighth": 8, "tenth": 10, "sixteenth": 16}
ORDINALS = {"first": 1, "1st": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6}
# Units that mark a number as something other than a reading of a part.
NO_READING = frozenset({"mi", "km", "h", "min", "s", "month", "year", "week", "day", "rpm", "mph", "W"})
# A one-letter unit counts only where it stands against its number (190A) or is a capital that is no word.
ONE_LETTER = frozenset({"a", "c", "f", "m", "s", "h", "l"})
_LIMIT_WORDS = frozenset({
    "limit", "minimum", "min", "max", "maximum", "spec", "discard", "should", "supposed", "rated", "rating", "stamped",
    "allowed", "allowable", "against", "call", "new",
})  # fmt: skip
_AFTER_IN = frozenset(
    "the it a an there this that her his my our bay here them these those front back rear each every one both its "
    "good great fine nice perfect decent and".split()
)


class Number(NamedTuple):
    value: float
    end: int
    fraction_of_inch: bool = False
    thirty_seconds: bool = False
    spoken: bool = False


def _is_digits(fold: str) -> bool:
    """Whether a folded word is a number in plain digits (not a superscript or a circled one)."""
    return fold.isascii() and (fold[:1].isdigit() or (fold[:1] == "." and fold[1:2].isdigit()))


def _is_int(fold: str) -> bool:
    return fold.isascii() and fold.isdigit()


def _small(words: list[str], i: int) -> tuple[int, int] | None:
    """A spoken whole number below a hundred at ``i``."""
    w = words[i] if i < len(words) else ""
    if w in TENS:
        nxt = words[i + 1] if i + 1 < len(words) else ""
        if nxt in ONES and 0 < ONES[nxt] < 10:
            return TENS[w] + ONES[nxt], i + 2
        return TENS[w], i + 1
    if w in ONES:
        return ONES[w], i + 1
    return None


def _whole(words: list[str], i: int) -> tuple[int, int] | None:
    """A spoken whole number at ``i``: "one hundred ninety", "one forty", "five twenty", "six hundred and ten"."""
    first = (1, i) if words[i : i + 1] == ["hundred"] else _small(words, i)
    if first is None:
        return None
    value, j = first
    total = 0
    seen_scale = False
    while j < len(words) and words[j] in ("hundred", "thousand", "grand"):
        seen_scale = True
        if words[j] == "hundred":
            value, j = value * 100, j + 1
        else:
            total, value, j = total + value * 1000, 0, j + 1
        k = j + 1 if j < len(words) and words[j] == "and" else j
        more = _small(words, k)
        if more:
            value, j = value + more[0], more[1]
    if not seen_scale and 0 < value < 10 and j < len(words):
        # "one forty", "six forty", "one oh five": hundreds said short.
        if words[j] in TENS and words[j : j + 2] != ["thirty", "second"]:
            more = _small(words, j)
            if more:
                return value * 100 + more[0], more[1]
        if words[j] in OH and j + 1 < len(words) and words[j + 1] in ONES and ONES[words[j + 1]] < 10:
            return value * 100 + ONES[words[j + 1]], j + 2
        if words[j] in ONES and 10 <= ONES[words[j]] < 20:
            return value * 100 + ONES[words[j]], j + 1
    return total + value, j


def _decimals(words: list[str], i: int) -> tuple[str, int]:
    """Digits spoken after a point: "eight", "oh five", "twenty five", "one two"."""
    digits, j = "", i
    while j < len(words):
        w = words[j]
        if w in OH:
            digits, j = digits + "0", j + 1
        elif w in TENS:
            value, j = _small(words, j) or (0, j + 1)
            digits += str(value)
        elif w in ONES and not (digits and words[j + 1 : j + 2] in (["hundred"], ["point"], ["thousand"])):
            digits, j = digits + str(ONES[w]), j + 1
        elif _is_int(w) and not digits:
            digits, j = w, j + 1
        else:
            break
        if len(digits) >= 3:
            break
    return digits, j


def number_at(words: list[str], i: int) -> Number | None:
    """The number that starts at word ``i``, with the word after it; None where there is none."""
    w = words[i]
    nxt = words[i + 1] if i + 1 < len(words) else ""
    after = words[i + 2] if i + 2 < len(words) else ""
    if w in ("a", "an", "one", "half", "quarter") or w in PARTS:
        part = _part_of_one(words, i)
        if part:
            return part
    if _is_digits(w):
        return _digits_at(words, i, w, nxt, after)
    if w in ("point",) or (w in OH and nxt and (nxt in ONES or nxt in OH)):
        digits, j = _decimals(words, i + 1 if w == "point" else i)
        return Number(float("0." + digits), j, spoken=True) if digits else None
    whole = _whole(words, i + 1) if w == "a" and nxt == "hundred" else _whole(words, i)
    if whole is None:
        return None
    value, j = whole
    if words[j : j + 1] in (["slash"], ["over"]) and words[j + 1 : j + 2] == ["32"]:
        return Number(value, j + 2, thirty_seconds=True)
    if words[j : j + 1] == ["point"]:
        digits, k = _decimals(words, j + 1)
        if digits:
            return Number(float(f"{value}.{digits}"), k, spoken=True)
    if words[j : j + 2] == ["thirty", "second"]:
        return Number(value, j + 2, thirty_seconds=True, spoken=True)
    if words[j : j + 1] and words[j] in PARTS and words[j] not in ("third", "half", "fifth"):
        return Number(value / PARTS[words[j]], j + 1, fraction_of_inch=True, spoken=True)
    half = _and_a_part(words, j)
    if half:
        return Number(value + half[0], half[1], spoken=True)
    return Number(value, j, spoken=True)


def _and_a_part(words: list[str], j: int) -> tuple[float, int] | None:
    """ "and a half", "and three quarters" behind a whole number."""
    if words[j : j + 1] != ["and"]:
        return None
    if words[j + 1 : j + 2] in (["a"], ["one"]) and words[j + 2 : j + 3] and words[j + 2] in PARTS:
        return 1 / PARTS[words[j + 2]], j + 3
    top = words[j + 1] if j + 1 < len(words) else ""
    if top in ONES and words[j + 2 : j + 3] and words[j + 2] in PARTS and words[j + 2] != "third":
        return ONES[top] / PARTS[words[j + 2]], j + 3
    return None


def _part_of_one(words: list[str], i: int) -> Number | None:
    """ "a quarter", "half an inch", "an inch and a half", "half"."""
    w = words[i]
    j = i + 1 if w in ("a", "an", "one") else i
    if j < len(words) and words[j] in PARTS and words[j] not in ("third", "fifth", "tenth"):
        if words[j] in ("half", "quarter") or j > i:
            k = j + 1
            if words[k : k + 2] in (["of", "an"], ["of", "a"]):
                k += 2
            elif words[k : k + 1] in (["an"], ["a"]):
                k += 1
            if words[k : k + 1] and words[k] in ("inch", "in", "millimeter", "mm", "turn"):
                return Number(1 / PARTS[words[j]], k, fraction_of_inch=words[k] in ("inch", "in"), spoken=True)
        return None
    if w in ("a", "an", "one") and words[i + 1 : i + 2] == ["inch"]:
        half = _and_a_part(words, i + 2)
        return (
            Number(1 + half[0], half[1], fraction_of_inch=True, spoken=True) if half else Number(1, i + 1, spoken=True)
        )
    return None


def _digits_at(words: list[str], i: int, w: str, nxt: str, after: str) -> Number | None:
    value = float(w)
    # What recognisers make of thirty-seconds: "3 30 seconds", "10, 30 seconds", "7.30 seconds", "330 seconds".
    if nxt == "30" and after == "second":
        return Number(value, i + 3, thirty_seconds=True)
    if nxt == "," and after == "30" and words[i + 3 : i + 4] == ["second"] and value <= 24:
        return Number(value, i + 4, thirty_seconds=True)
    if nxt == "thirty" and after == "second":
        return Number(value, i + 3, thirty_seconds=True)
    if nxt == "second" and w.endswith(".30") and value < 25:
        return Number(int(value), i + 2, thirty_seconds=True)
    if nxt == "second" and w.endswith("30") and len(w) in (3, 4) and _is_int(w):
        return Number(int(w[:-2]), i + 2, thirty_seconds=True)
    if (
        nxt == "-"
        and _is_int(after)
        and words[i + 3 : i + 4] == ["/"]
        and words[i + 4 : i + 5]
        and words[i + 4] in ("2", "4", "8", "16", "32", "64")
        and int(after) < int(words[i + 4])
    ):
        return Number(value + int(after) / int(words[i + 4]), i + 5, fraction_of_inch=True)
    if (
        nxt in ("/", "slash")
        and _is_int(after)
        and not (after in ("2", "4", "8", "16") and _is_int(w) and int(w) >= int(after))
        and int(after) in (2, 4, 8, 16, 32, 64)
        and _is_int(w)
    ):
        if int(after) == 32:
            return Number(value, i + 3, thirty_seconds=True)
        return Number(value / int(after), i + 3, fraction_of_inch=True)
    if (
        after == "/"
        and _is_int(nxt)
        and words[i + 3 : i + 4]
        and words[i + 3] in ("2", "4", "8", "16", "32", "64")
        and int(nxt) < int(words[i + 3])
    ):
        return Number(value + int(nxt) / int(words[i + 3]), i + 4, fraction_of_inch=True)
    if nxt in ("th", "ths") and value >= 1000 and _is_int(w):
        return Number(value / 1000, i + 1)
    if nxt == "and" and _is_int(w) and value >= 100 and value % 100 == 0 and _is_int(after) and 0 < int(after) < 100:
        return Number(value + int(after), i + 3)
    if nxt in PARTS and nxt in ("eighth", "sixteenth", "quarter"):
        return Number(value / PARTS[nxt], i + 2, fraction_of_inch=True)
    if nxt == "point" and after and (after in ONES or after in OH or after in TENS):
        digits, j = _decimals(words, i + 2)
        return Number(float(f"{w}.{digits}"), j)
    half = _and_a_part(words, i + 1)
    if half:
        return Number(value + half[0], half[1])
    if nxt in ("hundred", "thousand") and value < 1000:
        scale = 100 if nxt == "hundred" else 1000
        more = _small(words, i + 3 if after == "and" else i + 2)
        tail = (float(after), i + 3) if _is_int(after) and float(after) < scale else None
        if words[i + 2 : i + 3] == ["and"] and words[i + 3 : i + 4] and _is_int(words[i + 3]):
            tail = (float(words[i + 3]), i + 4)
        if tail:
            return Number(value * scale + tail[0], tail[1])
        return Number(value * scale + more[0], more[1]) if more else Number(value * scale, i + 2)
    return Number(value, i + 1)


class NumberedPlace(NamedTuple):
    """``axle=2``, ``cylinder=3`` or ``bank=1`` with the words that say it."""

    begin: int
    end: int
    means: str


def find_quantities(
    words: list[Word], vocabulary: Vocabulary
) -> tuple[list[Quantity], list[NumberedPlace], list[tuple[int, int]]]:
    """Quantities, numbered places, and stretches whose numbers are no readings (money, miles, times, counts)."""
    folds = [w.fold for w in words]
    quantities: list[Quantity] = []
    places: list[NumberedPlace] = []
    other: list[tuple[int, int]] = []
    i = 0
    while i < len(words):
        numbered = _numbered_place(words, folds, i)
        if numbered:
            places.append(numbered)
            i = numbered.end
            continue
        if folds[i] == "$" and i + 1 < len(words) and _is_digits(folds[i + 1]):
            other.append((i, i + 2))
            i += 2
            continue
        if (
            _is_int(folds[i])
            and (i == 0 or folds[i - 1] == "\n")
            and i + 1 < len(folds)
            and folds[i + 1] in (".", ")")
            and words[i + 1].begin == words[i].end
        ):
            # The number of a list item.
            other.append((i, i + 2))
            i += 2
            continue
        pair = _pair(folds, i)
        if pair:
            quantities.append(Quantity(i, i + 3, pair, None, pair=True))
            i += 3
            continue
        corners = _four_corners(folds, i)
        if corners:
            quantities.append(Quantity(i, i + 7, corners, None))
            i += 7
            continue
        wheel_shake = _wheel_shake(folds, i)
        if wheel_shake:
            other.append((i, wheel_shake))
            i = wheel_shake
            continue
        found = _quantity_at(words, folds, i, vocabulary)
        if found is None:
            i += 1
            continue
        if found.unit in NO_READING:
            other.append((found.begin, found.end))
        else:
            quantities.append(found)
        i = found.end
    return quantities, places, other


def _four_corners(folds: list[str], i: int) -> tuple[float, ...] | None:
    """ "7/6/5/5": one reading a corner, left front, right front, left rear, right rear."""
    if not _is_digits(folds[i]) or (i and folds[i - 1] == "/"):
        return None
    run = folds[i : i + 7]
    if (
        len(run) < 7
        or run[1::2] != ["/"] * 3
        or not all(_is_digits(x) for x in run[::2])
        or folds[i + 7 : i + 8] == ["/"]
    ):
        return None
    values = tuple(float(x) for x in run[::2])
    return values if max(values) < 130 else None


def _pair(folds: list[str], i: int) -> tuple[float, ...] | None:
    """ "13/12", "8/8": left and right of one axle; a proper fraction such as 3/8 is none."""
    run = folds[i : i + 3]
    if (
        len(run) < 3
        or run[1] != "/"
        or not _is_int(run[0])
        or not _is_int(run[2])
        or folds[i + 3 : i + 4] == ["/"]
        or (i and folds[i - 1] in ("/", "-"))
    ):
        return None
    a, b = int(run[0]), int(run[2])
    if not (0 < a < 40 and 0 < b < 32) or run[2] in ("32", "64"):
        return None
    return (float(a), float(b)) if a >= b or run[2] not in ("2", "4", "8", "16") else None


def _wheel_shake(folds: list[str], i: int) -> int | None:
    """The end of "three and nine", "12 and 6" (or "3.9", run together): hands on the wheel, no reading."""
    three, nine = ("three", "3"), ("nine", "9")
    twelve, six = ("twelve", "12"), ("six", "6")
    a, b, c = folds[i], folds[i + 1] if i + 1 < len(folds) else "", folds[i + 2] if i + 2 < len(folds) else ""
    if b in ("and", "&", "+", "/") and (
        (a in three and c in nine)
        or (a in nine and c in three)
        or (a in twelve and c in six)
        or (a in six and c in twelve)
    ):
        return i + 3
    if a in ("3.9", "12.6") and i and folds[i - 1] == "at" and "wheel" in folds[max(0, i - 5) : i]:
        return i + 1
    return None


def _numbered_place(words: list[Word], folds: list[str], i: int) -> NumberedPlace | None:
    w = folds[i]
    nxt = folds[i + 1] if i + 1 < len(folds) else ""
    key = {"axle": "axle", "cylinder": "cylinder", "bank": "bank"}.get(w)
    if key and nxt:
        j = i + 2 if nxt in ("number", "no", "#") else i + 1
        if j < len(folds):
            if folds[j] == "." and j + 1 < len(folds):
                j += 1
            whole = _small(folds, j) if not _is_int(folds[j]) else (int(folds[j]), j + 1)
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
            whole = _small(folds, j) if not _is_int(folds[j]) else (int(folds[j]), j + 1)
            if (
                whole
                and whole[1] < len(folds)
                and folds[whole[1]] in ("axle", "cylinder", "bank", "injector", "plug", "coil")
                and 0 < whole[0] <= 16
            ):
                noun = folds[whole[1]]
                keyed = noun if noun in ("axle", "bank") else "cylinder"
                return NumberedPlace(i, whole[1] + (noun in ("axle", "cylinder", "bank")), f"{keyed}={whole[0]}")
    if w in ORDINALS and nxt == "axle" and not (i and folds[i - 1] == "side"):
        # "Driver side first, axle two": there the axle has its number behind it.
        return NumberedPlace(i, i + 2, f"axle={ORDINALS[w]}")
    if w == "a" and _is_int(nxt) and len(nxt) == 1 and words[i].end == words[i + 1].begin:
        return NumberedPlace(i, i + 2, f"axle={nxt}")
    if w == "ax" and _is_int(nxt) and len(nxt) == 1:
        return NumberedPlace(i, i + 2, f"axle={nxt}")
    if _is_int(w) and len(w) == 1 and nxt in ("st", "nd", "rd", "th") and i + 2 < len(folds) and folds[i + 2] == "axle":
        return NumberedPlace(i, i + 3, f"axle={w}")
    return None


def _unit_at(
    words: list[Word], folds: list[str], j: int, number: Number, vocabulary: Vocabulary
) -> tuple[str, int] | None:
    if j >= len(folds):
        return None
    if folds[j] in ("th", "ths") and not number.spoken:
        return "1/1000 in", j + 1
    for length in range(min(4, len(folds) - j), 0, -1):
        phrase = tuple(folds[j : j + length])
        unit = vocabulary.unit_phrases.get(phrase)
        if unit is None:
            continue
        against = words[j].begin == words[j - 1].end
        if length == 1 and phrase[0] in ONE_LETTER and not against:
            continue
        if phrase == ("in",) and not against:
            following = folds[j + 1] if j + 1 < len(folds) else ""
            if following in _AFTER_IN or number.spoken:
                continue
        if length == 1 and phrase[0] in ("32", "thirty", "foot") and phrase[0] != "foot":
            continue
        return unit, j + length
    return None


_ELECTRICAL = frozenset(
    {"volt", "v", "battery", "alternator", "charging", "resting", "loaded", "output", "cranking", "charge"}
)


def _volts_said_short(folds: list[str], i: int, number: Number) -> Number:
    """ "Eleven nine volts", "putting out fourteen four": the point is left out."""
    nxt = folds[number.end] if number.end < len(folds) else ""
    if (
        not number.spoken
        or not 10 <= number.value <= 15
        or number.value != int(number.value)
        or nxt not in ONES
        or ONES[nxt] > 9
    ):
        return number
    after = folds[number.end + 1] if number.end + 1 < len(folds) else ""
    if after in ("hundred", "point", "thirty") or not _ELECTRICAL & set(folds[max(0, i - 8) : number.end + 4]):
        return number
    return Number(float(f"{int(number.value)}.{ONES[nxt]}"), number.end + 1, spoken=True)


def _quantity_at(words: list[Word], folds: list[str], i: int, vocabulary: Vocabulary) -> Quantity | None:
    sign, start = 1, i
    if folds[i] in ("minus", "negative") or (folds[i] == "-" and (i == 0 or words[i - 1].end < words[i].begin)):
        if i + 1 >= len(folds) or (folds[i] == "-" and words[i + 1].begin > words[i].end):
            return None
        sign, i = -1, i + 1
    number = number_at(folds, i)
    if number is None:
        return None
    if (
        _is_digits(folds[i])
        and number.end == i + 1
        and folds[i + 1 : i + 2] in (["st"], ["nd"], ["rd"], ["th"])
        and words[i + 1].begin == words[i].end
        and number.value < 1000
    ):
        # "5th" counts and measures nothing.
        return Quantity(start, i + 2, (number.value,), "h")
    if start == i and i and folds[i - 1] == "mine" and folds[i : i + 1] == ["as"]:
        return None
    number = _volts_said_short(folds, i, number)
    values, j = [number.value], number.end
    thirty, of_inch = number.thirty_seconds, number.fraction_of_inch
    unit = _unit_at(words, folds, j, number, vocabulary)
    if folds[j : j + 1] == ["k"] and words[j].begin == words[j - 1].end:
        return Quantity(start, j + 1, tuple(values), "mi")
    joined = folds[j] if j < len(folds) else ""
    if (
        unit is None
        and not thirty
        and (joined in ("to", "-") or (joined == "and" and i and folds[i - 1] == "between"))
        and j + 1 < len(folds)
    ):
        second = number_at(folds, j + 1)
        if second and second.value > number.value and (joined != "to" or second.value < number.value * 4 + 4):
            values.append(second.value)
            thirty, of_inch, j = second.thirty_seconds, second.fraction_of_inch, second.end
            unit = _unit_at(words, folds, j, second, vocabulary)
    if unit is None and not thirty and folds[j : j + 2] in (["of", "a"], ["of", "an"]):
        unit = _unit_at(words, folds, j + 2, number, vocabulary)
    if thirty:
        name, end = "1/32 in", j
        if folds[j : j + 3] == ["of", "an", "inch"]:
            end = j + 3
        elif folds[j : j + 1] in (["in"], ["inch"], ['"']):
            end = j + 1
    elif unit:
        name, end = unit
    elif of_inch or (folds[i].startswith(".") and number.value < 0.3):
        # A bare ".016" is inches: no shop writes thousandths of anything else.
        name, end = "in", j
    else:
        name, end = "", j
    if name == "1/1000 in":
        values, name = [round(v / 1000, 6) for v in values], "in"
    if name in ("pound",):
        name = "psi"
    before = {
        w for k, w in enumerate(folds[max(0, start - 4) : start], max(0, start - 4)) if not (k and folds[k - 1] == "/")
    }
    limit = bool(_LIMIT_WORDS & before) and not _reading_between(folds, start)
    if (
        folds[end : end + 1]
        and folds[end] in ("limit", "minimum", "min", "max", "spec")
        and not (folds[end + 1 : end + 2] and _is_digits(folds[end + 1]))
    ):
        limit = True
    only = bool({"only", "just"} & set(folds[max(0, start - 2) : start]))
    return Quantity(start, end, tuple(sign * v for v in values), name or None, limit, sign < 0, only=only)


def _reading_between(folds: list[str], start: int) -> bool:
    """Whether another number or a mark already took the limit word before ``start``."""
    for k in range(start - 1, max(-1, start - 5), -1):
        if folds[k] in _LIMIT_WORDS:
            return folds[k] == "new" and folds[k + 1 : k + 2] != ["is"]
        if (
            folds[k] in (",", ".", ";", "\n")
            or _is_digits(folds[k])
            or folds[k] in ONES
            or folds[k] in ("good", "fine", "ok", "okay")
        ):
            return True
    return True
