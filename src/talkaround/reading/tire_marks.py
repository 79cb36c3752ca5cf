"""What stands on a tire: size, load index and speed symbol (ISO 4000-1, 49 CFR 571.139), and date code (49 CFR 574.5)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from talkaround.reading.number_words import BEGINS_WHOLE, below_hundred, is_int, whole, word
from talkaround.reading.types import Identifier
from talkaround.vocabulary.folding import Word

_SIZE = re.compile(
    r"\b(?P<type>P|LT|ST|T)?(?P<width>\d{3})\s?[/\- ]\s?(?P<aspect>\d{2})\s?[/\- ]?\s?(?P<build>ZR|R|D|B)?\s?[/\- ]?\s?"
    r"(?P<rim>\d{2}(?:\.5)?)(?P<commercial>C)?\b(?:\s{0,2}(?P<load>\d{2,3})(?:/\d{2,3})?\s?(?P<speed>[A-HJ-NP-WYZ]))?\b",
    re.IGNORECASE,
)
# Written without a stroke, as a recogniser joins it: 2555020.
_RUN_TOGETHER = re.compile(r"\b(?P<width>\d{2}5)(?P<aspect>\d[05])(?P<rim>1[2-9]|2[0-4])\b")
_INCHES = re.compile(
    r"\b(?:\d{1,2}(?:\.\d{1,2})?R\d{2}(?:\.5)?|\d{2}x\d{1,2}(?:\.\d{1,2})?R?[ -]?\d{2}(?:\.5)?)\b", re.IGNORECASE
)
_DATE_CUE = re.compile(
    r"\b(?:(?:date|they|state|day|dot)\s+codes?|codes?(?=\s+all)|dot\b(?!\s*(?:[345](?:\.1)?\b|three|four|five))|dated)"
    r"(?:\s+(?:is|are|all|of|on|the|them|both|reads?|says?|code|it|at))*[\s:,]+(?=\d|[a-z])",
    re.IGNORECASE,
)
_TIN = re.compile(
    r"\b(?:dot|tin)[ :]+([A-HJ-NPR-Z0-9]{2,3}[ -]?[A-Z0-9]{2,6}[ -]?[A-Z0-9]{0,4}[ -]?)(\d{4})\b", re.IGNORECASE
)
_OF_ALL = re.compile(r"\b(?:t[iy]res|t[iy]re size)(?:\s+(?:are|is|all|on|it|of))*[\s:]+$", re.IGNORECASE)
_WEEKS = range(1, 54)

# ISO 4223-1: kilograms a tire by load index, from 50 on; as three open-source tables give them.
_LOADS = (
    190, 195, 200, 206, 212, 218, 224, 230, 236, 243, 250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365,
    375, 387, 400, 412, 425, 437, 450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730,
    750, 775, 800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320,
    1360, 1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850, 1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360,
    2430,
)  # fmt: skip
_FIRST_LOAD = 50
_SPEEDS = {
    "B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150,
    "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip


def load_of(index: int) -> int | None:
    """Kilograms that a tire of this load index carries, or None where the table has no such index."""
    at = index - _FIRST_LOAD
    return _LOADS[at] if 0 <= at < len(_LOADS) else None


def speed_of(symbol: str) -> int | None:
    """Kilometers an hour that a tire of this speed symbol bears; None for Z, which is only over 240."""
    return _SPEEDS.get(symbol.upper())


def find_sizes(text: str, words: list[Word]) -> Iterator[Identifier]:
    """Tire sizes, typed and spoken."""
    for found in (*_typed_sizes(text), *_spoken_sizes(words)):
        yield replace(found, of_all=_OF_ALL.search(text, 0, found.begin) is not None)


def _typed_sizes(text: str) -> Iterator[Identifier]:
    for m in _SIZE.finditer(text):
        if _is_size(int(m["width"]), int(m["aspect"]), float(m["rim"])):
            yield _size(m["type"] or "", m["width"], m["aspect"], m["build"], m["rim"], m["load"], m["speed"], m.span())
    for m in _RUN_TOGETHER.finditer(text):
        if _is_size(int(m["width"]), int(m["aspect"]), float(m["rim"])):
            yield _size("", m["width"], m["aspect"], None, m["rim"], None, None, m.span())
    for m in _INCHES.finditer(text):
        yield Identifier("tire-size", m.group().upper(), *m.span())


def _is_size(width: int, aspect: int, rim: float) -> bool:
    return 125 <= width <= 455 and width % 5 == 0 and 20 <= aspect <= 95 and aspect % 5 == 0 and 10 <= rim <= 26


def _size(
    kind: str,
    width: str,
    aspect: str,
    build: str | None,
    rim: str,
    load: str | None,
    speed: str | None,
    span: tuple[int, int],
) -> Identifier:
    value = f"{kind.upper()}{width}/{aspect}{(build or 'R').upper()}{rim}"
    known = []
    if load and speed:
        value += f" {load}{speed.upper()}"
        if (kilos := load_of(int(load))) is not None:
            known.append(f"load index {load}: {kilos} kg a tire")
        fastest = speed_of(speed)
        known.append(f"speed symbol {speed.upper()}: {f'{fastest} km/h' if fastest else 'over 240 km/h'}")
    return Identifier("tire-size", value, *span, meaning=", ".join(known) or None)


def _spoken_sizes(words: list[Word]) -> Iterator[Identifier]:
    """ "Two twenty five sixty R sixteen", "two oh five fifty five sixteen ninety one V"."""
    folds = [w.fold for w in words]
    i = 0
    while i < len(folds):
        # Asked of every word of a note, and nearly always in vain.
        width = whole(folds, i) if folds[i] in BEGINS_WHOLE else None
        found = _spoken_size(folds, width[0], width[1]) if width and 125 <= width[0] <= 455 else None
        if width is None or found is None:
            i += 1
            continue
        aspect, rim, load, speed, end = found
        span = words[i].begin, words[end - 1].end
        yield _size("", str(width[0]), str(aspect), None, str(rim), load, speed, span)
        i = end


def _spoken_size(folds: list[str], width: int, j: int) -> tuple[int, int, str | None, str | None, int] | None:
    j += word(folds, j) in ("/", "slash", ",")
    aspect = below_hundred(folds, j)
    if aspect is None:
        return None
    k = aspect[1] + (word(folds, aspect[1]) in (",", "zr", "r"))
    k += word(folds, k) == "r"
    rim = below_hundred(folds, k)
    if rim is None or not _is_size(width, aspect[0], rim[0]):
        return None
    load = below_hundred(folds, rim[1])
    letter = word(folds, load[1]) if load else ""
    if load and load[0] >= _FIRST_LOAD and len(letter) == 1 and (letter.upper() in _SPEEDS or letter == "z"):
        return aspect[0], rim[0], str(load[0]), letter, load[1] + 1
    return aspect[0], rim[0], None, None, rim[1]


def find_date_codes(text: str, words: list[Word]) -> Iterator[Identifier]:
    """Date codes behind a word that says so: "date code 2319", "DOT 36 19", "dated thirty-four thirteen"."""
    for m in _TIN.finditer(text):
        if int(m[2][:2]) in _WEEKS:
            yield _date_code(m[2], m.span())
    begins = {w.begin: n for n, w in reversed(list(enumerate(words)))}
    for m in _DATE_CUE.finditer(text):
        i = begins.get(m.end())
        found = _four_digits(words, i) if i is not None else None
        if found and int(found[0][:2]) in _WEEKS:
            of_all = re.search(r"\ball\b", m.group(), re.IGNORECASE) is not None
            yield _date_code(found[0], (m.start(), words[found[1] - 1].end), of_all)


def _four_digits(words: list[Word], i: int) -> tuple[str, int] | None:
    """Week and year: "2319", "23 19", "40 to 23", "thirty four thirteen", "oh five twenty", "two three one nine"."""
    digits, j = "", i
    folds = [w.fold for w in words[i : i + 8]]
    while len(digits) < 4 and j - i < len(folds):
        fold = word(folds, j - i)
        number = below_hundred(folds, j - i)
        if is_int(fold):
            digits, j = digits + fold, j + 1
        elif fold in ("oh", "o", "zero"):
            digits, j = digits + "0", j + 1
        elif number:
            digits, j = digits + str(number[0]), i + number[1]
        elif digits and fold in ("to", ",", "-", "/", "and", "of") and len(digits) == 2:
            j += 1
        else:
            break
    return (digits, j) if len(digits) == 4 else None


def _date_code(code: str, span: tuple[int, int], of_all: bool = False) -> Identifier:
    week, year = int(code[:2]), int(code[2:])
    # Four digits came in with 2000.
    return Identifier("date-code", code, *span, meaning=f"week {week} of {2000 + year}", of_all=of_all)


__all__ = ["find_date_codes", "find_sizes", "load_of", "speed_of"]
