"""Numbers that measure nothing: money, times, dates, clock positions, counts, oil grades, model years, list items.

``not_reading`` gives the end of such a stretch, so that its numbers are taken up and become no readings.
"""

from __future__ import annotations

from talkaround.reading.number_words import ONES, below_hundred, is_digits, is_int, ordinal, whole, word
from talkaround.reading.numbers import BEGINS, number_at
from talkaround.vocabulary.folding import Word

_CURRENCY = frozenset({"$", "£", "€"})
_MONEY = frozenset("dollar buck cent quid euro".split())
_MONTHS = frozenset(
    "january february march april may june july august september october november december "
    "jan feb mar apr jun jul aug sept oct nov dec".split()
)
_NO_MONTH_ALONE = frozenset({"may", "march", "mar", "dec"})
_PAIRS_OF_HANDS = frozenset({("3", "9"), ("9", "3"), ("12", "6"), ("6", "12"), ("10", "4"), ("10", "2"), ("9", "15")})
_HOURS = range(1, 13)
_MODEL_YEARS = range(1950, 2050)
_BEHIND_YEAR = frozenset(
    {"model", "year", "reg", "plate", "sedan", "truck", "van", "pickup", "suv", "hatchback", "wagon"}
)


BEGINS_NO_READING = frozenset({*BEGINS, *_CURRENCY, *_MONTHS})
"""Every word that such a stretch begins with, but for digits."""
_DIGITS = frozenset("0123456789.")


def not_reading(words: list[Word], folds: list[str], i: int) -> int | None:
    """The end of a stretch at ``i`` whose numbers are no readings, or None."""
    # Asked of every word of a note, and nearly always in vain.
    if folds[i] not in BEGINS_NO_READING and folds[i][:1] not in _DIGITS:
        return None
    for rule in (_list_item, _money, _hands_on_the_wheel, _clock, _time, _date, _oil_grade, _year, _engine):
        end = rule(words, folds, i)
        if end is not None:
            return end
    return None


def _against(words: list[Word], i: int) -> bool:
    """Whether word ``i`` follows the one before it without a gap."""
    return 0 < i < len(words) and words[i - 1].end == words[i].begin


def _count(folds: list[str], i: int) -> tuple[int, int] | None:
    """A whole number in digits or words."""
    return (int(folds[i]), i + 1) if is_int(word(folds, i)) else whole(folds, i)


def _list_item(words: list[Word], folds: list[str], i: int) -> int | None:
    starts_line = i == 0 or folds[i - 1] == "\n"
    marked = word(folds, i + 1) in (".", ")") and _against(words, i + 1)
    return i + 2 if starts_line and is_int(folds[i]) and marked else None


def _money(words: list[Word], folds: list[str], i: int) -> int | None:
    if folds[i] in _CURRENCY and is_digits(word(folds, i + 1)):
        return i + 2
    said = number_at(folds, i)
    return said.end + 1 if said and (word(folds, said.end) in _MONEY or word(folds, said.end) in _CURRENCY) else None


def _hands_on_the_wheel(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "Three and nine", "12 & 6" (or "3.9", run together)."""
    a, joint, b = folds[i], word(folds, i + 1), word(folds, i + 2)
    if joint in ("and", "&", "+", "/"):
        pair = tuple(str(ONES[w]) if w in ONES else w for w in (a, b))
        # Anything said of the two as readings has a unit, or is no grip.
        if pair in _PAIRS_OF_HANDS:
            return i + 3
    if a in ("3.9", "12.6") and i and folds[i - 1] == "at" and "wheel" in folds[max(0, i - 5) : i]:
        return i + 1
    return None


def _clock(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "Six o'clock", "at the 3 o'clock"."""
    said = _count(folds, i)
    if said is None or said[0] not in _HOURS:
        return None
    if word(folds, said[1]) == "oclock":
        return said[1] + 1
    return said[1] + 2 if folds[said[1] : said[1] + 2] == ["o", "clock"] else None


def _time(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "10:30", "2 pm", "two thirty p m", "quarter to one", "half past two"."""
    w = folds[i]
    if w in ("half", "quarter") and word(folds, i + 1) in ("past", "to"):
        said = _count(folds, i + 2)
        return said[1] if said and said[0] in _HOURS else None
    hour = below_hundred(folds, i) if not is_int(w) else (int(w), i + 1)
    if hour is None or not 0 <= hour[0] < 24:
        return None
    end = hour[1]
    on_a_clock = False
    minutes = word(folds, end + 1)
    if is_int(w) and word(folds, end) == ":" and len(minutes) == 2 and is_int(minutes) and _against(words, end + 1):
        on_a_clock = int(minutes) < 60 and word(folds, end + 2) not in ("second", "32nd")
        end += 2
    elif word(folds, end) in ("oh", "o") and word(folds, end + 1) in ONES:
        end += 2
    elif not is_int(w) and (said := below_hundred(folds, end)) and 10 <= said[0] < 60:
        end = said[1]
    if word(folds, end) in ("am", "pm"):
        return end + 1
    if folds[end : end + 2] in (["a", "m"], ["p", "m"]):
        return end + 2
    return end if on_a_clock else None


def _date(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "12/03/2024", "3-12-24", "14 June", "June 14th", "the 3rd of May 2024"."""
    w = folds[i]
    run = folds[i : i + 5]
    if len(run) == 5 and run[1] == run[3] and run[1] in ("/", "-", ".") and all(is_int(x) for x in run[::2]):
        if all(_against(words, k) for k in range(i + 1, i + 5)) and word(folds, i + 5) != run[1] and _is_date(run[::2]):
            return i + 5
        return None
    if w in _MONTHS:
        day = ordinal(folds, i + 1) or (_count(folds, i + 1) if i + 1 < len(folds) else None)
        if day is None or not 0 < day[0] < 32 or (w in _NO_MONTH_ALONE and not ordinal(folds, i + 1)):
            return None
        end = day[1] + (word(folds, day[1]) in ("st", "nd", "rd", "th"))
        return _with_year(folds, end)
    day = ordinal(folds, i) if not is_digits(w) else None
    day = day or (_count(folds, i) if is_int(w) else None)
    if day is None or not 0 < day[0] < 32:
        return None
    k = day[1] + (word(folds, day[1]) in ("st", "nd", "rd", "th"))
    k += word(folds, k) == "of"
    month = word(folds, k)
    if month not in _MONTHS or (month in _NO_MONTH_ALONE and k == day[1] and not is_int(word(folds, k + 1))):
        return None
    return _with_year(folds, k + 1)


def _is_date(parts: list[str]) -> bool:
    a, b, c = (int(x) for x in parts)
    year_last = len(parts[2]) in (2, 4) and 0 < a < 32 and 0 < b < 32 and min(a, b) < 13
    return year_last or (len(parts[0]) == 4 and 0 < b < 13 and 0 < c < 32)


def _with_year(folds: list[str], end: int) -> int:
    k = end + (word(folds, end) == ",")
    return _year_end(folds, k) or end


def _year_end(folds: list[str], k: int) -> int | None:
    """The end of a year: "2014", "twenty twelve", "nineteen oh five", "two thousand and eight"."""
    w = word(folds, k)
    if is_int(w):
        return k + 1 if int(w) in _MODEL_YEARS else None
    century = {"nineteen": 1900, "twenty": 2000}.get(w)
    if century is not None:
        if word(folds, k + 1) in ("oh", "o") and word(folds, k + 2) in ONES:
            return k + 3
        rest = below_hundred(folds, k + 1)
        return rest[1] if rest and rest[0] >= 10 else None
    said = whole(folds, k) if k < len(folds) else None
    return said[1] if said and said[0] in _MODEL_YEARS else None


def _oil_grade(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "5W-30", "0w20"."""
    if not is_int(folds[i]) or word(folds, i + 1) != "w" or not _against(words, i + 1):
        return None
    k = i + 3 if word(folds, i + 2) == "-" else i + 2
    return k + 1 if is_int(word(folds, k)) and words[k].begin - words[i + 1].end <= 1 else i + 2


def _year(words: list[Word], folds: list[str], i: int) -> int | None:
    """A model year: "2014 sedan", "a twenty sixteen", "since 2019"."""
    end = _year_end(folds, i)
    if end is None or words[i].end - words[i].begin > len(folds[i]):
        # With a comma it is a number: 2,014.
        return None
    before, behind = word(folds, i - 1), word(folds, end)
    return end if behind in _BEHIND_YEAR or before in ("year", "since", "in", "a", "model", "from") else None


def _engine(words: list[Word], folds: list[str], i: int) -> int | None:
    """ "V8", "M12": a letter with its number; "4x4", "6-speed", "2 of them", "12 a side"."""
    if folds[i] in ("v", "m") and is_int(word(folds, i + 1)) and _against(words, i + 1):
        return i + 2
    said = _count(folds, i)
    if said is None:
        return None
    if word(folds, said[1]) == "x" and is_int(word(folds, said[1] + 1)) and _against(words, said[1]):
        return said[1] + 2
    if word(folds, said[1]) == "of" and word(folds, said[1] + 1) in (
        "them",
        "these",
        "those",
        "em",
        "my",
        "his",
        "her",
    ):
        return said[1] + 2
    return said[1] + 1 if word(folds, said[1]) in ("speed", "pin", "door", "times", "pack", "ply") else None
