"""Numbers with their units, as readings may stand in a note: one, a range, two with a stroke, a row of them.

Works on folded words; a number by itself is read in ``numbers``, what measures nothing in ``not_readings``. A unit may be
said behind, before ("millimeters, four"), once for all of a row, or not at all, where the part decides (``readings``).
"""

from __future__ import annotations

from talkaround.amounts import Bound
from talkaround.reading.not_readings import BEGINS_NO_READING, not_reading
from talkaround.reading.number_words import ONES, PARTS, TENS, Number, is_digits, is_int, word
from talkaround.reading.numbered_places import BEGINS_PLACE, NumberedPlace, numbered_place
from talkaround.reading.numbers import number_at
from talkaround.reading.types import Quantity
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

# A one-letter unit counts only where it stands against its number (190A).
_ONE_LETTER = frozenset({"a", "c", "f", "m", "s", "h", "l", "n"})
_LIMIT_WORDS = frozenset({
    "limit", "minimum", "min", "max", "maximum", "spec", "discard", "should", "supposed", "rated", "rating", "stamped",
    "allowed", "allowable", "against", "call", "new",
})  # fmt: skip
_AFTER_IN = frozenset(
    "the it a an there this that her his my our bay here them these those front back rear each every one both its "
    "good great fine nice perfect decent and".split()
)
_ELECTRICAL = frozenset("volt v battery alternator charging resting loaded output putting cranking charge".split())
_UNDER = (("less", "than"), ("under",), ("below",), ("not", "quite"), ("shy", "of"))
_OVER = (("more", "than"), ("over",), ("above",), ("greater", "than"))
# "No more than four" is four at most, and may be four.
_NO = frozenset({"no", "not", "nothing"})
# Units whose names are as often something else, and so say nothing before a number.
_NO_UNIT_BEFORE = frozenset({"in", "second", "32", "foot", "minute", "f", "c", "deg", "pound", "mill", "mil", "bar"})
_NEGATIVE = ("minus", "negative")
_MOST_IN_ROW = 16
# Behind these "left" is what remains, and no side.
_ENDS_IT = frozenset(["", ",", ".", ";", "\n", "on", "in", "and", "so", "but"])
_ADDED_UP = (["that", "make"], ["which", "make"])
_MOST_ADDED_UP = 8
# No other word begins a number of any kind, or a place that goes by a number; most of a note's words are others.
_BEGINS = frozenset({*BEGINS_NO_READING, *BEGINS_PLACE, *_NEGATIVE})
_LEAST_PSI, _MOST_PSI = 15, 150
# What a charging 24-volt system comes to.
_MOST_VOLTS = 30


def find_quantities(
    words: list[Word], vocabulary: Vocabulary, taken: list[tuple[int, int]] | None = None
) -> tuple[list[Quantity], list[NumberedPlace], list[tuple[int, int]]]:
    """Quantities, numbered places, and stretches whose numbers are no readings (money, miles, times, counts).

    ``taken`` are stretches of words that hold codes; they are passed over and given back among the last.
    """
    folds = [w.fold for w in words]
    quantities: list[Quantity] = []
    places: list[NumberedPlace] = []
    other: list[tuple[int, int]] = list(taken or ())
    code_ends = dict(other)
    i = 0
    while i < len(words):
        if folds[i].isalpha() and folds[i] not in _BEGINS and i not in code_ends:
            i += 1
            continue
        numbered = None if i in code_ends else numbered_place(words, folds, i)
        no_reading = code_ends.get(i) or (None if numbered else not_reading(words, folds, i))
        if numbered:
            places.append(numbered)
            i = numbered.end
        elif no_reading:
            if i not in code_ends:
                other.append((i, no_reading))
            i = no_reading
        else:
            found = _with_strokes(folds, i, vocabulary, words) or _quantity_at(words, folds, i, vocabulary)
            if found is None:
                i += 1
                continue
            unit = vocabulary.units.get(found.unit or "")
            if found.counts or (unit is not None and not unit.reading):
                other.append((found.begin, found.end))
            else:
                quantities.append(found)
            i = found.end
    return _rows(folds, quantities), places, other


# ----- several together -----------------------------------------------------------------------------------------------


def _with_strokes(folds: list[str], i: int, vocabulary: Vocabulary, words: list[Word]) -> Quantity | None:
    """ "13/12": left and right of one axle. "7/6/5/5", "140/140/90/140": a row."""
    if not is_digits(folds[i]) or (i and folds[i - 1] in ("/", "-")):
        return None
    values, j = [float(folds[i])], i + 1
    while word(folds, j) == "/" and is_digits(word(folds, j + 1)) and len(values) < _MOST_IN_ROW:
        values.append(float(folds[j + 1]))
        j += 2
    if len(values) >= 4:
        unit = _unit_at(words, folds, j, False, vocabulary)
        return Quantity(i, unit[1] if unit else j, tuple(values), unit[0] if unit else None, row=True)
    if len(values) != 2:
        return None
    whole = is_int(folds[i]) and is_int(folds[i + 2])
    if whole and _is_pair(folds[i], folds[i + 2]):
        return Quantity(i, j, tuple(values), None, pair=True)
    unit = _unit_at(words, folds, j, False, vocabulary)
    if unit and vocabulary.units[unit[0]].dimension != "length" and (not whole or min(values) > 1):
        # "8.4 / 8.6 bar", "105/104 psi": two readings of one unit.
        return Quantity(i, unit[1], tuple(values), unit[0], pair=True)
    return None


def _is_pair(a: str, b: str) -> bool:
    """Two readings; a proper fraction such as 3/8 is none."""
    if not (0 < int(a) < 40 and 0 < int(b) < 32) or b == "32":
        return False
    return int(a) >= int(b) or b not in ("2", "4", "8", "16")


def _rows(folds: list[str], quantities: list[Quantity]) -> list[Quantity]:
    """Four or more bare numbers with at most a comma between are one row; a unit behind the last is that of all."""
    out: list[Quantity] = []
    k = 0
    while k < len(quantities):
        run = [quantities[k]]
        # A longer run is no row, so it is not followed to its end.
        while (
            _is_single(run[-1]) and run[-1].unit is None and k + len(run) < len(quantities) and len(run) <= _MOST_IN_ROW
        ):
            after = quantities[k + len(run)]
            if not _is_single(after) or folds[run[-1].end : after.begin] not in ([], [","], ["and"], [",", "and"]):
                break
            run.append(after)
        if 4 <= len(run) <= _MOST_IN_ROW:
            values = tuple(v for q in run for v in q.values)
            out.append(Quantity(run[0].begin, run[-1].end, values, run[-1].unit, row=True))
            k += len(run)
        else:
            out.append(quantities[k])
            k += 1
    return out


def _is_single(q: Quantity) -> bool:
    return len(q.values) == 1 and not q.limit and not q.signed and q.bound is None


# ----- units ----------------------------------------------------------------------------------------------------------


def _unit_at(
    words: list[Word], folds: list[str], j: int, spoken: bool, vocabulary: Vocabulary
) -> tuple[str, int] | None:
    """The unit that stands at ``j``, behind a number, and its end."""
    if j >= len(folds):
        return None
    for length in range(min(5, len(folds) - j), 0, -1):
        phrase = tuple(folds[j : j + length])
        unit = vocabulary.unit_phrases.get(phrase)
        if unit is None:
            continue
        against = j > 0 and words[j].begin == words[j - 1].end
        if length == 1 and phrase[0] in _ONE_LETTER and not against:
            continue
        after_in = word(folds, j + 1) in _AFTER_IN or is_digits(word(folds, j + 1))
        if phrase == ("in",) and not against and (after_in or spoken):
            # "Out 5 in 6" is outer and inner.
            continue
        if phrase in (("32",), ("thirty",)):
            continue
        return unit, j + length
    return None


def _volts_said_short(folds: list[str], i: int, number: Number) -> Number:
    """ "Eleven nine volts", "putting out fourteen four", "12. 6 volts": the point is left out or stands apart."""
    j = number.end
    by_unit = word(folds, j + 1) in ("volt", "v")
    if not 10 <= number.value <= (_MOST_VOLTS if by_unit else 15) or number.value != int(number.value):
        return number
    if word(folds, j) == "." and len(word(folds, j + 1)) == 1 and word(folds, j + 2) in ("volt", "v"):
        return Number(float(f"{int(number.value)}.{folds[j + 1]}"), j + 2) if is_int(folds[j + 1]) else number
    nxt, after = word(folds, j), word(folds, j + 1)
    if not number.spoken or not 0 <= ONES.get(nxt, 10) <= 9 or after in ("hundred", "point", "thirty"):
        return number
    if not _ELECTRICAL & set(folds[max(0, i - 16) : j + 4]):
        return number
    return Number(float(f"{int(number.value)}.{ONES[nxt]}"), j + 1, spoken=True)


# ----- one ------------------------------------------------------------------------------------------------------------


def _quantity_at(words: list[Word], folds: list[str], i: int, vocabulary: Vocabulary) -> Quantity | None:
    sign, start = 1, i
    if folds[i] in _NEGATIVE or (folds[i] == "-" and (i == 0 or words[i - 1].end < words[i].begin)):
        if i + 1 >= len(folds) or (folds[i] == "-" and words[i + 1].begin > words[i].end):
            return None
        sign, i = -1, i + 1
    number = number_at(folds, i)
    if number is None:
        return _half(folds, i)
    adds_up = folds[max(0, i - 2) : i] in _ADDED_UP and number.value in range(1, _MOST_ADDED_UP + 1)
    if adds_up and _unit_of(words, folds, number, vocabulary) is None:
        # "So that makes two shocks".
        return Quantity(start, number.end, (number.value,), None, counts=True)
    if is_int(folds[i]) and number.end == i + 1 and _is_ordinal(words, folds, i):
        return Quantity(start, i + 2, (number.value,), None, counts=True)
    if number.of_inch and _is_share(folds, number.end):
        return Quantity(start, number.end + 1, (number.value,), None, counts=True)
    number = _volts_said_short(folds, i, number)
    if word(folds, number.end) == "k" and words[number.end].begin == words[number.end - 1].end:
        return Quantity(start, number.end + 1, (number.value,), None, counts=True)
    values = [number.value]
    unit = _unit_of(words, folds, number, vocabulary)
    if unit is None:
        upper = _upper_end(folds, i, number)
        if upper is not None:
            number = upper
            values.append(number.value)
            unit = _unit_of(words, folds, number, vocabulary)
        else:
            unit = _unit_of_the_whole(words, folds, number, vocabulary)
    name, end = unit or ("", number.end)
    small = folds[i].startswith(".") and number.value < 0.3 and not _after_millimeters(folds, i)
    if not unit and (number.of_inch or small):
        # A bare ".016" is inches: where no millimeters were said, nobody writes thousandths of anything else.
        name = "in"
    name = name or _unit_before(folds, start, vocabulary) or ""
    if name == "1/1000 in":
        values, name = [round(v / 1000, 6) for v in values], "in"
    if name == "pound":
        name = "psi"
    return Quantity(
        start,
        end,
        tuple(sign * v for v in values),
        name or None,
        _is_limit(folds, start, end),
        sign < 0,
        only=bool({"only", "just"} & set(folds[max(0, start - 2) : start])),
        bound=_bound(folds, start),
    )


def _half(folds: list[str], i: int) -> Quantity | None:
    """ "Pads are about half", "half left": so much of what there was when new."""
    behind = word(folds, i + 1)
    if folds[i] != "half" or behind in ("of", "way", "a", "an", "past", "to", "turn", "worn", "gone", "full", "tank"):
        return None
    left_over = behind in ("remaining", "life") or (behind == "left" and word(folds, i + 2) in _ENDS_IT)
    if not left_over and word(folds, i - 1) not in ("about", "at", "around", "roughly"):
        return None
    return Quantity(i, i + 1 + left_over, (50.0,), "%")


def _is_ordinal(words: list[Word], folds: list[str], i: int) -> bool:
    """ "5th" counts and measures nothing."""
    stands_against = i + 1 < len(words) and words[i + 1].begin == words[i].end
    return stands_against and folds[i + 1] in ("st", "nd", "rd", "th") and float(folds[i]) < 1000


def _after_millimeters(folds: list[str], i: int) -> bool:
    """Whether millimeters were said earlier in the sentence."""
    for k in range(i - 1, -1, -1):
        if folds[k] in (".", "\n", ";"):
            return False
        if folds[k] in ("mm", "millimeter"):
            return True
    return False


def _is_share(folds: list[str], j: int) -> bool:
    """ "Three quarters of the way", "half worn": a part of what is there, no length."""
    return folds[j : j + 2] == ["of", "the"] or word(folds, j) in (
        "way",
        "worn",
        "gone",
        "full",
        "tank",
        "through",
        "turn",
    )


def _unit_of(words: list[Word], folds: list[str], number: Number, vocabulary: Vocabulary) -> tuple[str, int] | None:
    j = number.end
    if word(folds, j) == "side" and not number.spoken and _LEAST_PSI <= number.value <= _MOST_PSI:
        # What recognisers make of "psi"; a number has no side.
        return "psi", j + 1
    if number.thirty_seconds or number.thousandths:
        name = "1/32 in" if number.thirty_seconds else "1/1000 in"
        if folds[j : j + 3] == ["of", "an", "inch"]:
            return name, j + 3
        return name, j + 1 if word(folds, j) in ("in", "inch", '"') else j
    if word(folds, j) in ("th", "ths") and not number.spoken:
        return "1/1000 in", j + 1
    found = _unit_at(words, folds, j, number.spoken, vocabulary)
    if found is None and folds[j : j + 2] in (["of", "a"], ["of", "an"]):
        found = _unit_at(words, folds, j + 2, number.spoken, vocabulary)
    return found


def _unit_of_the_whole(
    words: list[Word], folds: list[str], number: Number, vocabulary: Vocabulary
) -> tuple[str, int] | None:
    """ "Eight out of twelve millimeters", "480 of 650 cold cranking amps": the unit said with what it was when new."""
    j = number.end + (word(folds, number.end) == "out")
    if word(folds, j) != "of" or j + 1 >= len(folds):
        return None
    new = number_at(folds, j + 1)
    return _unit_of(words, folds, new, vocabulary) if new and new.value >= number.value else None


def _upper_end(folds: list[str], i: int, number: Number) -> Number | None:
    """The other end of a range: "between four and five", "3 to 4 mm", "4-5", "four or five"."""
    j = number.end
    joint = word(folds, j)
    between = word(folds, i - 1) == "between"
    falling = joint == "to" and word(folds, i - 1) == "from"
    if (
        number.thirty_seconds
        or not (joint in ("to", "-", "or", "—") or (joint == "and" and between))
        or j + 1 >= len(folds)
    ):
        return None
    second = number_at(folds, j + 1)
    if second is None or (second.value <= number.value and not falling):
        return None
    if joint == "to" and second.value >= number.value * 4 + 4:
        return None
    return second if joint not in ("or", "—") or second.value <= number.value * 1.5 + 1 else None


def _is_limit(folds: list[str], start: int, end: int) -> bool:
    """Whether the number is what something should be, not what it is."""
    before = {folds[k] for k in range(max(0, start - 4), start) if not (k and folds[k - 1] == "/")}
    if _LIMIT_WORDS & before and not _reading_between(folds, start):
        return True
    if word(folds, end) not in ("limit", "minimum", "min", "max", "spec"):
        return False
    # "25.1, minimum is 24": the number behind the word is the limit.
    k = end + 2 if word(folds, end + 1) in ("is", "of", "at", ":", "=") else end + 1
    return not is_digits(word(folds, k)) and word(folds, k) not in ONES and word(folds, k) not in TENS


def _reading_between(folds: list[str], start: int) -> bool:
    """Whether another number or a mark already took the limit word before ``start``."""
    for k in range(start - 1, max(-1, start - 5), -1):
        if folds[k] in _LIMIT_WORDS:
            return folds[k] == "new" and folds[k + 1 : k + 2] != ["is"]
        if is_digits(folds[k]) or folds[k] in ONES or folds[k] in (",", ".", ";", "\n", "good", "fine", "ok", "okay"):
            return True
    return True


def _bound(folds: list[str], start: int) -> Bound | None:
    """Whether the value was said to be less or more than the number: "a hair under three", "more than 5"."""
    bounds: tuple[tuple[Bound, tuple[tuple[str, ...], ...]], ...] = (("under", _UNDER), ("over", _OVER))
    for said, phrases in bounds:
        for phrase in phrases:
            k = start - len(phrase)
            if k >= 0 and tuple(folds[k:start]) == phrase:
                return None if word(folds, k - 1) in _NO else said
    return None


def _unit_before(folds: list[str], start: int, vocabulary: Vocabulary) -> str | None:
    """The unit said in front of its number: "psi 32", "volts, 12.6"."""
    k = start - 1
    while k >= 0 and folds[k] in (",", ":", "="):
        k -= 1
    name = vocabulary.unit_phrases.get((word(folds, k),))
    if name is None or len(folds[k]) < 2 or folds[k] in _NO_UNIT_BEFORE or not vocabulary.units[name].reading:
        return None
    # Behind a number it is the unit of that one.
    before = word(folds, k - 1)
    return None if is_digits(before) or before in ONES or before in TENS or before in PARTS else name
