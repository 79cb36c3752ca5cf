"""How far the vehicle has gone, told from distances since or until something, intervals and road tests."""

from __future__ import annotations

import re

from talkaround.reading.number_words import BEGINS_WHOLE, TENS, is_digits, whole, word
from talkaround.vocabulary.folding import Word

_WRITTEN = re.compile(
    r"(?<![\d.$£€/])(\d{1,3}(?:,\d{3})+|\d{4,6}|\d{2,3}(?:\.\d)?\s?[kK])\s*"
    r"(miles|mi|km|kms|kilomet(?:er|re)s|on the clock|on it|on the odo(?:meter)?)?\b"
)
_OF_SOMETHING = re.compile(
    r"(since|every|in|another|next|within|last|only|for|about|over|under|of|code|size|rpm|dot) *$"
)
_SINCE = re.compile(
    r"[ ,]*(since|ago)\b| *(left(?! (front|rear|hand|side|upper|lower|inner|outer))|more|service|inspection|interval|rpm|"
    r"mi(les)? (service|inspection|since|ago|left)|mile (service|inspection))\b"
)
_LEADS_IN = re.compile(r"(^|[.\n,;] *|\bodo\w* *|mileage *|clock *|at *|is *|reads *|says *|shows *|sedan, *|with *)$")
_DISTANCE = {"mile": "mi", "mi": "mi", "km": "km", "kilometer": "km", "k": "mi"}
_NAMES = frozenset({"odometer", "odo", "mileage", "clock", "speedo"})
_LEAST, _MOST = 100, 2_000_000


def find_odometer(
    text: str, words: list[Word], taken: list[tuple[int, int]]
) -> tuple[float, str, tuple[int, int]] | None:
    """Value, unit (``mi`` or ``km``) and characters, from the first number that is the vehicle's own distance."""
    for m in _WRITTEN.finditer(text):
        if not any(a <= m.start() < b for a, b in taken):
            found = _of_the_vehicle(m, text)
            if found:
                return (*found, m.span())
    return _spoken(text, words)


def _of_the_vehicle(m: re.Match[str], text: str) -> tuple[float, str] | None:
    said, unit = m.group(1), (m.group(2) or "").lower()
    thousands = said[-1] in "kK"
    value = float(said.rstrip("kK ").replace(",", "")) * (1000 if thousands else 1)
    near = text[max(0, m.start() - 24) : m.start()].lower()
    named = any(name in near for name in ("odo", "mileage", "clock"))
    if (_OF_SOMETHING.search(near) and not named) or _SINCE.match(text[m.end() : m.end() + 24].lower()):
        return None
    if not _LEAST <= value <= _MOST:
        return None
    if not thousands and not unit and "," not in said and not (named and _LEADS_IN.search(near)):
        return None
    if "," in said and not unit and not _LEADS_IN.search(near):
        return None
    return value, "km" if unit.startswith("k") else "mi"


def _spoken(text: str, words: list[Word]) -> tuple[float, str, tuple[int, int]] | None:
    """ "Eighty four thousand on the clock", "mileage is one twelve thousand four hundred", "84 thousand miles on it"."""
    folds = [w.fold for w in words]
    for i, fold in enumerate(folds):
        if fold not in BEGINS_WHOLE and not is_digits(fold):
            continue
        written = is_digits(fold) and word(folds, i + 1) in ("thousand", "grand")
        said = (round(float(fold) * 1000), i + 2) if written else whole(folds, i) if not is_digits(fold) else None
        if said is None or not _LEAST <= said[0] <= _MOST:
            continue
        value, end = _thousands_left_out(folds, said)
        named = bool(_NAMES & set(folds[max(0, i - 3) : i]))
        unit = _DISTANCE.get(word(folds, end))
        k = end + (unit is not None)
        on_it = folds[k : k + 2] == ["on", "it"] or (word(folds, k) == "on" and word(folds, k + 2) in _NAMES)
        if not (named or on_it) or value < 1000 or word(folds, i - 1) in ("since", "every", "last"):
            continue
        begin = next((n for n in range(max(0, i - 3), i) if folds[n] in _NAMES), i)
        last = k + (2 if folds[k : k + 2] == ["on", "it"] else 3) if on_it else k
        return float(value), unit or "mi", (words[begin].begin, words[last - 1].end)
    return None


def _thousands_left_out(folds: list[str], said: tuple[int, int]) -> tuple[int, int]:
    """ "Eighty four two hundred": 84,200, said without the word thousand."""
    value, end = said
    if 10 <= value < 1000 and word(folds, end) not in TENS:
        rest = whole(folds, end)
        if rest and 100 <= rest[0] < 1000:
            return value * 1000 + rest[0], rest[1]
    return value, end


__all__ = ["find_odometer"]
