"""Vehicle identification numbers (ISO 3779; 49 CFR 565): found as typed or spelled out, and held to their check digit.

The check digit binds vehicles of North America only, whose numbers begin with 1 to 5; any other number is never called wrong.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from talkaround.reading.spelled_out import Piece, run_at
from talkaround.vocabulary.folding import Word

LENGTH = 17
# 49 CFR 565.15, tables III and IV; I, O and Q are never used.
_VALUE = {
    **{str(n): n for n in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)), "P": 7, "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}  # fmt: skip
_WEIGHT = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_AT = 8
_NORTH_AMERICA = frozenset("12345")
# Read for what they are mistaken for.
_NEVER_USED = str.maketrans({"I": "1", "O": "0", "Q": "0"})
# Characters that are taken for each other: by their names as heard, by their shapes as read. Common practice, no source.
_SOUND_ALIKE = ("BCDEGPTVZ3", "AHJK8", "FSX", "MN", "59", "1", "UW2")
_LOOK_ALIKE = ("1L7", "0D", "5S", "2Z", "8B", "6G", "UV", "VY", "4A", "CG", "EF", "PR", "3B8", "MN", "KX")
_MOST_CHOICES = 8
# 49 CFR 565.15: what stands for the model year, and where only digits may stand.
_NO_YEAR = frozenset("IOQUZ0")
_YEAR_AT, _DIGITS_FROM = 9, 13
_TYPED = re.compile(r"(?<![A-Za-z0-9])(?=[A-Za-z0-9]*\d)(?=[A-Za-z0-9]*[A-Za-z])[A-Za-z0-9]{17}(?![A-Za-z0-9])")
_CUE_BEFORE = re.compile(r"\b(?:vin|chassis|frame)(?:[ .:#=]|number|no|is)*$", re.IGNORECASE)
_CUES = frozenset({"vin", "chassis", "frame"})
_BEHIND_CUE = frozenset({"number", "no", "#", ":", ".", "is", "of", "the", ",", "read", "end", "=", "plate", "it"})
# As long a run as is still taken for a number with characters lost or said twice.
_NEARLY = range(LENGTH - 2, LENGTH + 3)


class FoundVin(NamedTuple):
    """A number with the characters of the note that say it, and what there is to ask about it."""

    vin: str
    begin: int
    end: int
    question: str | None = None
    choices: tuple[str, ...] = ()


def check_digit(vin: str) -> str:
    """What position 9 of a 17-character number must be: a digit or X (49 CFR 565.15(c))."""
    remainder = sum(_VALUE[c] * w for c, w in zip(vin, _WEIGHT, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def holds(vin: str) -> bool:
    """Whether the check digit is right, or the number needs none."""
    return vin[0] not in _NORTH_AMERICA or check_digit(vin) == vin[_CHECK_AT]


def trouble_with(vin: str) -> str:
    """What is wrong with a VIN that somebody typed, to stand behind it; empty where it may be right."""
    if len(vin) != 17:
        return f"has {len(vin)} characters, and a VIN has 17"
    odd = [c for c in vin if not (c.isascii() and c.isalnum()) or c in "IOQ"]
    if odd:
        return f"has {odd[0]!r} in it, which stands in no VIN"
    return (
        ""
        if holds(vin)
        else f"does not agree with its check digit ({vin[_CHECK_AT]!r} where {check_digit(vin)!r} belongs)"
    )


def likely(vin: str, *, heard: bool) -> list[str]:
    """The sound numbers of North America that are one easily mistaken character away, most likely first.

    Heard, it is a letter that sounds alike; typed, one that looks alike, or two neighbours swapped.
    """
    sound, look = _with_one_changed(vin, _SOUND_ALIKE), _with_one_changed(vin, _LOOK_ALIKE)
    swaps = [vin[: i - 1] + vin[i] + vin[i - 1] + vin[i + 1 :] for i in range(1, LENGTH) if vin[i] != vin[i - 1]]
    near = [*sound, *look] if heard else [*look, *swaps, *sound]
    return [x for x in dict.fromkeys(near) if _is_sound(x)]


def _with_one_changed(vin: str, groups: tuple[str, ...]) -> list[str]:
    return [
        vin[:i] + x + vin[i + 1 :] for i, c in enumerate(vin) for group in groups if c in group for x in group if x != c
    ]


def _is_sound(vin: str) -> bool:
    return (
        vin[0] in _NORTH_AMERICA
        and check_digit(vin) == vin[_CHECK_AT]
        and vin[_YEAR_AT] not in _NO_YEAR
        and vin[_DIGITS_FROM:].isdigit()
    )


def find_vin(text: str, words: list[Word]) -> FoundVin | None:
    """The first number of the note, typed in one, typed in groups, or spelled out."""
    typed = _TYPED.search(text)
    if typed:
        begin = _CUE_BEFORE.search(text, 0, typed.start())
        return _told(typed.group(), begin.start() if begin else typed.start(), typed.end())
    i = 0
    while i < len(words):
        announced = words[i].fold in _CUES
        j = i + 1 if announced else i
        while announced and j < len(words) and words[j].fold in _BEHIND_CUE:
            j += 1
        pieces = run_at(text, words, j, announced=announced, most=LENGTH + 3)
        found = _spelled(words, j, pieces, announced=announced) if pieces else None
        if found:
            return found._replace(begin=words[i].begin) if announced else found
        i = pieces[-1].end if pieces else j + 1 - announced
    return None


def _spelled(words: list[Word], i: int, pieces: list[Piece], *, announced: bool) -> FoundVin | None:
    said = "".join(p.characters for p in pieces)
    full = next((n for n in range(1, len(pieces) + 1) if sum(len(p.characters) for p in pieces[:n]) == LENGTH), None)
    if full is not None and (announced or full == len(pieces)):
        vin = said[:LENGTH]
        one_by_one = all(len(p.characters) <= 2 for p in pieces)
        mixed = any(c.isalpha() for c in vin) and any(c.isdigit() for c in vin)
        if mixed and (announced or one_by_one or _is_sound(vin.translate(_NEVER_USED))):
            return _told(vin, words[i].begin, words[pieces[full - 1].end - 1].end, heard=True)
    if announced and len(said) in _NEARLY and any(c.isdigit() for c in said):
        begin, end = words[i].begin, words[pieces[-1].end - 1].end
        question = f"The VIN {said} has {len(said)} characters where {LENGTH} are needed. What is it on the vehicle?"
        return FoundVin(said, begin, end, question)
    return None


def _told(said: str, begin: int, end: int, *, heard: bool = False) -> FoundVin:
    vin = said.upper().translate(_NEVER_USED)
    if holds(vin):
        return FoundVin(vin, begin, end)
    choices = tuple(likely(vin, heard=heard)[:_MOST_CHOICES])
    question = (
        f"The VIN {vin} does not fit its check digit: position 9 is {vin[_CHECK_AT]}, the rest asks for {check_digit(vin)}. "
        f"One character was likely misheard or mistyped. "
        + ("Which of these is on the vehicle?" if choices else "What is it on the vehicle?")
    )
    return FoundVin(vin, begin, end, question, choices)


__all__ = ["LENGTH", "FoundVin", "check_digit", "find_vin", "holds", "likely"]
