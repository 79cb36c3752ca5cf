"""Dates as written, kept as they stand: which of two numbers is the month differs between countries."""

from __future__ import annotations

import re
from collections.abc import Iterator

from talkaround.reading.types import Identifier
from talkaround.vocabulary.folding import Word

_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?)\.?"
)
_DAY = r"(?:3[01]|[12]\d|0?[1-9])"
_YEAR = r"(?:(?:19|20)\d\d)"
_NAMED = re.compile(
    rf"\b(?:{_DAY}(?:st|nd|rd|th)? (?:of )?{_MONTH}(?:,? {_YEAR})?|{_MONTH} {_DAY}(?:st|nd|rd|th)?,? {_YEAR}|{_MONTH} {_YEAR})"
    r"(?![\w/])",
    re.IGNORECASE,
)
_IN_DIGITS = re.compile(rf"(?<![\w/.-])(\d{{1,2}})([/.-])(\d{{1,2}})\2({_YEAR}|\d\d)(?![\w/]|[.-]\d)")
_YEAR_FIRST = re.compile(rf"(?<![\w/.-]){_YEAR}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])(?![\w/])")


def find_dates(text: str, words: list[Word]) -> Iterator[Identifier]:
    """Dates in digits and with the month's name; months before days and days before months alike."""
    for m in (*_NAMED.finditer(text), *_YEAR_FIRST.finditer(text)):
        yield Identifier("date", m.group(), *m.span())
    for m in _IN_DIGITS.finditer(text):
        a, b = int(m[1]), int(m[3])
        if 0 < min(a, b) < 13 and 0 < max(a, b) < 32:
            yield Identifier("date", m.group(), *m.span())


__all__ = ["find_dates"]
