"""Reads price files: the shop's terms and what the writer asks for each part and job. Nothing is invented here."""

from __future__ import annotations

import difflib
import re
import tomllib
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, cast, get_args

from talkaround.estimating.keys import folded, key_of
from talkaround.models import PartCondition, PartMake, Rounding, TaxOn, TaxRounded
from talkaround.quoting import clipped

FILE_LIMIT = 4_000_000
"""Bytes that a price file may have."""
ROWS_LIMIT = 20_000
"""Rows that a price file may have: several for each part of the trade."""
# A key where it is set or stands in a heading, quoted or bare.
_SET = re.compile(r"""(?:"([^"]*)"|'([^']*)'|(?<![\w-])([\w-]+))\s*[=.\]]""")
_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,6})?")
_TEXT = ("text",)
_NUMERIC = ("number",)
_FLAG = ("flag",)

_TABLES: dict[str, dict[str, tuple[str, ...]]] = {
    "shop": dict.fromkeys(("name", "registration", "address", "phone", "tax_number"), _TEXT),
    "visit": dict.fromkeys(("customer", "phone", "date", "year_and_make"), _TEXT),
    "terms": {
        "currency": _TEXT,
        "hourly_rate": _NUMERIC,
        "rate_basis": _TEXT,
        "tax_name": _TEXT,
        "tax_percent": _NUMERIC,
        "tax_on": ("choice", *get_args(TaxOn)),
        "tax_rounded": ("choice", *get_args(TaxRounded)),
        "rounding": ("choice", *get_args(Rounding)),
    },
    "tear_down": {"take_apart": _NUMERIC, "put_together": _NUMERIC, "parts_lost": _TEXT, "time": _TEXT},
}
_PART = {"price": _NUMERIC, "quantity": _NUMERIC, "origin": ("origin",), "taxed": _FLAG}
_LABOR = {"hours": _NUMERIC, "rate": _NUMERIC, "price": _NUMERIC, "taxed": _FLAG}
_LISTS = {"parts": _PART, "other_parts": _PART, "labor": _LABOR, "other_labor": _LABOR}
_BRITISH = {"labour": "labor", "other_labour": "other_labor", "parts and labour": "parts and labor"}
_ORIGINS = (*get_args(PartCondition), *get_args(PartMake))


class PriceFileError(Exception):
    """Price files that cannot be used; ``problems`` holds one line each: file, key, what is wrong, how to mend it."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


@dataclass
class Entry:
    """What is asked for one row; ``where`` is the file and line that it stands in, for the reader."""

    key: str
    values: dict[str, Any]
    where: str
    standing: bool = False


@dataclass
class Prices:
    """All price files together. Tables of plain values by key; entries by their folded key, numbers as ``Decimal``."""

    tables: dict[str, dict[str, Any]] = field(default_factory=lambda: {name: {} for name in _TABLES})
    entries: dict[str, dict[object, Entry]] = field(default_factory=lambda: {name: {} for name in _LISTS})
    files: list[str] = field(default_factory=list)


def read_prices(paths: Iterable[Path]) -> Prices:
    """The price files laid one over the other: a later one's value stands, but an empty one hides nothing.

    Raises ``PriceFileError`` with every problem of every file.
    """
    prices, problems = Prices(), []
    for path in paths:
        prices.files.append(str(path))
        try:
            with path.open("rb") as file:
                data = file.read(FILE_LIMIT + 1)
            text = data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
        except FileNotFoundError:
            problems.append(f"{path}: there is no such price file; check the name after --prices.")
        except UnicodeDecodeError:
            problems.append(f"{path}: the price file is no UTF-8 text; save it as UTF-8.")
        except OSError as error:
            problems.append(f"{path}: the price file cannot be read ({error.strerror}); check the file.")
        else:
            if len(data) > FILE_LIMIT:
                size = f"{FILE_LIMIT / 1e6:g} MB"
                problems.append(f"{path}: the price file is larger than one may be ({size}); split it by system.")
                continue
            _add(prices, text, str(path), problems)
    if problems:
        raise PriceFileError(problems)
    return prices


def origin_of(words: str) -> tuple[PartCondition, PartMake | None]:
    """``"used original"`` as its condition and make; new where it names no condition."""
    said = words.split()
    condition = next((w for w in said if w in get_args(PartCondition)), "new")
    make = next((w for w in said if w in get_args(PartMake)), None)
    return cast(PartCondition, condition), cast("PartMake | None", make)


class _File:
    """One file while it is read: where things stand in it, and what is wrong with them."""

    def __init__(self, text: str, name: str, problems: list[str]) -> None:
        self.name = name
        self.problems = problems
        self._lines: dict[str, list[int]] = {}
        # TOML knows two line ends only; a text may hold others.
        for n, row in enumerate(text.split("\n")):
            for m in _SET.finditer(row):
                self._lines.setdefault(m[1] or m[2] or m[3], []).append(n)

    def where(self, *keys: str) -> str:
        """The file, and the line where the last key is set after the ones before it, if that can be found."""
        at = 0
        for key in keys:
            lines = self._lines.get(key, [])
            found = bisect_left(lines, at)
            if found == len(lines):
                break
            at = lines[found]
        else:
            return f"{self.name}, line {at + 1}"
        return f"{self.name}, line {at + 1}" if at else self.name

    def tell(self, keys: tuple[str, ...], problem: str, mend: str) -> None:
        said = ".".join(f'"{clipped(k)}"' if " " in k or "=" in k else clipped(k) for k in keys)
        self.problems.append(" ".join(f"{self.where(*keys)}: {said}: {problem}; {mend}.".split()))


def _add(prices: Prices, text: str, name: str, problems: list[str]) -> None:
    try:
        # Numbers without quotes are taken by their digits, never through a binary fraction.
        content = tomllib.loads(text, parse_float=_Written)
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+)", str(error))
        rows = text.splitlines()
        line = min(int(at[1]), len(rows)) if at else len(rows)
        row = rows[line - 1] if rows else ""
        mend = "put what you filled in between the quotes"
        if re.search(r"=\s*\d+,\d", row):
            mend = 'write the number with a point and in quotes, such as "74.50"'
        what = clipped(str(error).rpartition(" (at ")[0] or str(error), 200)
        problems.append(" ".join(f"{name}, line {line}: this is no TOML ({what}); {mend}.".split()))
        return
    except (RecursionError, ValueError):
        # Python refuses numbers of thousands of digits with another error than broken TOML.
        problems.append(f"{name}: holds lists as deep or numbers as long as no price file has; take them out.")
        return
    count = sum(len(values) for values in content.values() if isinstance(values, dict))
    if count > ROWS_LIMIT:
        told = f"{count:,} rows, more than a price file may have ({ROWS_LIMIT:,})"
        problems.append(f"{name}: {told}; leave out what is never fitted, or split it by system.")
        return
    file = _File(text, name, problems)
    standing = content.pop("standing", False)
    if not isinstance(standing, bool):
        file.tell(("standing",), "neither true nor false", "write true for a price list that serves many orders")
        standing = False
    for table, values in content.items():
        known = _BRITISH.get(table, table)
        if known not in (*_TABLES, *_LISTS):
            file.tell((table,), "no such table", _near(table, (*_TABLES, *_LISTS, "standing")))
        elif not isinstance(values, dict):
            file.tell((table,), "a table is wanted", f"head it [{table}] and put its keys below")
        elif known in _TABLES:
            found = _values(file, (table,), values, _TABLES[known])
            prices.tables[known].update({key: value for key, value in found.items() if value != ""})
        else:
            _entries(prices, file, table, values, standing)


def _entries(prices: Prices, file: _File, table: str, values: Mapping[str, Any], standing: bool) -> None:
    known = _BRITISH.get(table, table)
    here: dict[object, str] = {}
    for key, value in values.items():
        fields = value
        if not isinstance(value, dict):
            if known not in ("parts", "other_parts"):
                file.tell(
                    (table, key), "hours or a price are wanted", '{ hours = "1.5" } or { price = "90.00" } says it'
                )
                continue
            fields = {"price": value}
        found = _values(file, (table, key), fields, _LISTS[known])
        if known.endswith("labor") and found.get("hours", "") != "" and found.get("price", "") != "":
            file.tell((table, key), "both hours and a price", "keep the one that is charged")
        if found.get("quantity", "") == 0:
            file.tell((table, key, "quantity"), "none of it", "take the row out, or give how many")
        same = key_of(key) if known == "parts" else folded(key)
        if same in here:
            file.tell((table, key), f'the same as "{clipped(here[same])}"', "keep one of the two")
            continue
        here[same] = key
        given = {k: v for k, v in found.items() if v != ""}
        earlier = prices.entries[known].get(same)
        if earlier is None:
            prices.entries[known][same] = Entry(key, given, file.where(table, key), standing)
            continue
        if given:
            # Hours in a later file take the place of a fixed price in an earlier one, and the other way round.
            other = {"hours": "price", "price": "hours"}
            kept = {k: v for k, v in earlier.values.items() if not (known.endswith("labor") and other.get(k) in given)}
            prices.entries[known][same] = Entry(key, kept | given, file.where(table, key), standing)


class _Written(str):
    """A number as it is typed without quotes."""

    __slots__ = ()


def _values(file: _File, keys: tuple[str, ...], values: Mapping[str, Any], spec: Mapping[str, tuple[str, ...]]
            ) -> dict[str, Any]:  # fmt: skip
    found: dict[str, Any] = {}
    for key, value in values.items():
        if key not in spec:
            file.tell((*keys, key), "no such key", _near(key, spec))
            continue
        kind, *choices = spec[key]
        at = (*keys, key)
        if kind == "flag":
            if isinstance(value, bool):
                found[key] = value
            elif value != "":
                file.tell(at, "neither true nor false", "write true or false, without quotes")
        elif kind == "number":
            found[key] = _number(file, at, value)
        elif not isinstance(value, str) or isinstance(value, _Written):
            file.tell(at, "words are wanted", "put them in quotes")
        elif kind == "choice":
            word = folded(value)
            word = _BRITISH.get(word, word)
            if word and word not in choices:
                file.tell(
                    at, f'"{clipped(value)}" is none of its values', "write " + " or ".join(f'"{c}"' for c in choices)
                )
            else:
                found[key] = word
        elif kind == "origin":
            words = folded(value).split()
            if [w for w in words if w not in _ORIGINS] or any(
                sum(w in get_args(axis) for w in words) > 1 for axis in (PartCondition, PartMake)
            ):
                file.tell(at, f'"{clipped(value)}" is no origin', "write new, used, rebuilt or reconditioned, and original or "
                          'aftermarket if you know, such as "used original"')  # fmt: skip
            else:
                found[key] = " ".join(words)
        else:
            found[key] = value.strip()
    return found


def _number(file: _File, at: tuple[str, ...], value: object) -> Decimal | str:
    """The number, or nothing where it is still to be filled in or was refused."""
    if isinstance(value, bool) or not isinstance(value, str | int):
        file.tell(at, "no number", 'write digits with a point, such as "74.50"')
        return ""
    text = str(value).strip()
    if not text or _NUMBER.fullmatch(text):
        return Decimal(text) if text else ""
    # However long what was written is, the refusal is short.
    shown = clipped(text)
    if text.startswith(("-", "\N{MINUS SIGN}")):
        file.tell(at, f'"{shown}" is below nothing', "write 0 or more; what is not charged is 0")
    elif re.fullmatch(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?", text):
        # "1,200" may be meant either way, so it is not read at all.
        plain, point = clipped(text.replace(",", "")), clipped(text.replace(",", ".", 1))
        file.tell(at, f'"{shown}" has a comma', f'write "{plain}", or with a point "{point}", as meant')
    elif re.fullmatch(r"\d+,\d+", text):
        file.tell(at, f'"{shown}" has a comma', f'write it with a point: "{shown.replace(",", ".")}"')
    elif (bare := re.sub(r"^[^\d.]+|(?<![^\d.])[^\d.]+$", "", text)) != text and _NUMBER.fullmatch(bare):
        file.tell(at, f'"{shown}" is more than a number', f'write "{bare}" alone; the currency stands under [terms]')
    elif re.fullmatch(r"\d+(\.\d+)?", text):
        file.tell(at, f'"{shown}" is too long', "nine digits before the point and six behind it are the most")
    else:
        file.tell(at, f'"{shown}" is no number', 'write digits with a point, such as "74.50"')
    return ""


def _near(word: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    return f'"{near[0]}" comes near' if near else f"it may be {', '.join(names)}"
