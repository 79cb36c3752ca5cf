"""Trouble codes: five characters (SAE J2012), or the two numbers of a heavy vehicle (SAE J1939: SPN and FMI)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from talkaround.reading.spelled_out import run_at
from talkaround.reading.types import Identifier
from talkaround.vocabulary.folding import Word

_TYPED = re.compile(r"\b([PCBU])[- ]?([0-3][0-9A-F]{3})(?:-[0-9A-F]{2})?\b", re.IGNORECASE)
_HEAVY = re.compile(r"\bSPN[\s:]*(\d{1,6})[\s,/:-]*FMI[\s:]*(\d{1,2})\b", re.IGNORECASE)
_DIGITS = re.compile(r"[0-3][0-9A-F]{3}$")
_SYSTEMS = {"P": "powertrain", "B": "body", "C": "chassis", "U": "network"}
_LETTERS = frozenset("pbcu")
_BEHIND_LETTER = frozenset({"-", ","})


def find_trouble_codes(text: str, words: list[Word]) -> Iterator[Identifier]:
    """Trouble codes as typed, as recognisers write them ("P 0301", "p 03 01") and as spoken ("p oh three oh one")."""
    for m in _HEAVY.finditer(text):
        yield Identifier("trouble-code", f"SPN {m[1]} FMI {m[2]}", *m.span())
    for m in _TYPED.finditer(text):
        yield _code(m[1].upper(), m[2].upper(), m.span())
    for i, w in enumerate(words):
        if w.fold not in _LETTERS or text[w.end : w.end + 1] == "'":
            continue
        j = i + 2 if i + 1 < len(words) and words[i + 1].fold in _BEHIND_LETTER else i + 1
        said, end = _four(text, words, j)
        if said:
            yield _code(w.fold.upper(), said, (w.begin, words[end - 1].end))


def _four(text: str, words: list[Word], j: int) -> tuple[str, int]:
    """Exactly four characters at ``j``; "four twenty" behind a nought is 420, "three hundred" is 300."""
    said = ""
    for piece in run_at(text, words, j, announced=False, most=4):
        said += piece.characters
        j = piece.end
        if len(said) == 2 and j < len(words) and words[j].fold == "hundred":
            said, j = said + "00", j + 1
        if len(said) == 4:
            return (said, j) if _DIGITS.match(said) else ("", j)
    return "", j


def _code(letter: str, digits: str, span: tuple[int, int]) -> Identifier:
    return Identifier("trouble-code", letter + digits, *span, meaning=_SYSTEMS[letter])


__all__ = ["find_trouble_codes"]
