"""Rows of notes or of orders, as they lie in JSON Lines and Parquet: read batch by batch, never whole.

Where a row lies is told in words (``notes.jsonl, line 7``), and a row that is broken is a row that says so.
"""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from pydantic import ValidationError

from talkaround.models import Note, RuleBook, Steering, Vehicle

JSON_LINES = (".jsonl", ".ndjson", ".jsonl.gz", ".ndjson.gz")
LONGEST_LINE = 16_000_000
"""Bytes of a line of JSON; a longer one is a broken row, and is passed over without being held whole."""
LONGEST_NOTE = 200_000
"""Characters of a note in a row: hours of talk. A longer one is no note, and would keep everybody waiting."""
COLUMNS = (
    "id", "technician", "shop", "date", "vin", "plate", "odometer", "odometer_unit", "steering", "rule_book", "kind",
    "utterances", "error", "order", "text",
)  # fmt: skip
"""The columns that are looked at; others are passed over."""

Row = dict[str, Any]
"""Columns by name: ``text`` a note to be read, or ``order`` an order as JSON text or object.

``broken`` stands in place of both where the row could not be taken up at all.
"""


class RowsError(Exception):
    """Rows that cannot be read; ``str`` is one line that says what, where and how to mend it."""


class BadRow(Exception):
    """Why a row holds no note; ``str`` is one line."""


def is_rows(path: Path) -> bool:
    """Whether ``path`` is a file of rows by its name."""
    return path.suffix == ".parquet" or path.name.endswith(JSON_LINES)


# ----- JSON Lines -----------------------------------------------------------------------------------------------------


def lines_of(path: Path) -> Iterator[bytes]:
    """The lines of a file that hold anything, packed with gzip or not. One that is too long comes cut, and so broken.

    Raises:
        RowsError: the file cannot be read.
    """
    try:
        with _opened(path) as f:
            while line := f.readline(LONGEST_LINE):
                if len(line) == LONGEST_LINE and not line.endswith(b"\n"):
                    while (rest := f.readline(LONGEST_LINE)) and not rest.endswith(b"\n"):
                        pass
                    line = line[:100]
                if line.strip():
                    yield line
    except (OSError, EOFError, zlib.error) as error:
        what = getattr(error, "strerror", None) or str(error)
        raise RowsError(f"{path}: cannot be read to its end ({what}). Check the file and its rights.") from None


@contextmanager
def _opened(path: Path) -> Iterator[IO[bytes]]:
    with path.open("rb") as f:
        if path.suffix == ".gz":
            with gzip.open(f) as unpacked:
                yield unpacked  # type: ignore[misc]
        else:
            yield f


def row_of_line(line: bytes) -> Row:
    """The row that a line of JSON holds: columns by name, or an order by itself."""
    try:
        found = json.loads(line)
    except (ValueError, RecursionError):
        return {"broken": "the line is no JSON"}
    return row_of(found)


def row_of(found: Any) -> Row:
    """The row that a JSON value is."""
    if not isinstance(found, dict):
        return {"broken": "is no object with columns"}
    if "schema_version" in found:
        note = found.get("note")
        return {"id": note.get("name") if isinstance(note, dict) else None, "order": found}
    return {k: found[k] for k in COLUMNS if k in found}


# ----- Parquet --------------------------------------------------------------------------------------------------------


def parquet_rows(files: list[Path], batch: int) -> Iterator[list[Row]]:
    """The rows of Parquet files in their order, in batches of up to ``batch``.

    Through DuckDB: it reads column by column and batch by batch, however many files and however large.

    Raises:
        RowsError: a file is no Parquet, or has neither notes nor orders.
    """
    import duckdb

    with duckdb.connect() as db:
        try:
            found = db.from_parquet([_literal(p) for p in files], union_by_name=True)
            wanted = [c for c in COLUMNS if c in found.columns]
            if not {"order", "text"} & set(wanted):
                raise RowsError(f"{files[0]}: has no column `text` and none `order`. Name the notes' column `text`.")
            reader = found.select(*(f'"{c}"' for c in wanted)).to_arrow_reader(batch)
            for part in reader:
                yield part.to_pylist()
        except (duckdb.Error, OSError, ValueError) as error:
            what = (str(error).splitlines() or [""])[0]
            raise RowsError(f"{files[0]}: cannot be read as Parquet ({what}). Write it anew.") from None


def count_parquet(files: list[Path]) -> int:
    """How many rows Parquet files hold. Raises ``RowsError`` where one is no Parquet."""
    import duckdb

    with duckdb.connect() as db:
        try:
            found = db.from_parquet([_literal(p) for p in files], union_by_name=True)
            count = found.shape[0]
        except (duckdb.Error, OSError) as error:
            what = (str(error).splitlines() or [""])[0]
            raise RowsError(f"{files[0]}: cannot be read as Parquet ({what}). Write it anew.") from None
    return int(count)


def _literal(path: Path) -> str:
    """The path as DuckDB takes it for one file and no pattern."""
    return "".join(f"[{c}]" if c in "*?[" else c for c in str(path))


# ----- a row as a note ------------------------------------------------------------------------------------------------


def note_of(row: Row) -> tuple[Note, Steering | None, RuleBook | None]:
    """The note of a row, with the drive side and the rule book where it names them.

    Raises:
        BadRow: it holds no note.
    """
    if row.get("broken"):
        raise BadRow(str(row["broken"]))
    text = row.get("text")
    if text is None:
        raise BadRow("has no text")
    if not isinstance(text, str):
        raise BadRow("its text is no text")
    if len(text) > LONGEST_NOTE:
        raise BadRow(f"its text has {len(text):,} characters, more than the {LONGEST_NOTE:,} of a note; cut it up")
    if not text.strip():
        raise BadRow("its text is empty")
    fields = {"name": name_of(row), "text": text} | {k: row[k] for k in ("kind", "utterances") if row.get(k)}
    try:
        note = Note.model_validate(fields)
    except ValidationError as error:
        raise BadRow(_first_of(error)) from None
    if any(u.end > len(text) for u in note.utterances):
        raise BadRow("its utterances go past the end of its text")
    return note, _one_of(row, "steering", Steering), _one_of(row, "rule_book", RuleBook)


def name_of(row: Row) -> str:
    """What the row calls itself; empty where it does not."""
    id = row.get("id")
    return "" if id is None else str(id).strip()


def with_facts(vehicle: Vehicle | None, row: Mapping[str, Any]) -> Vehicle | None:
    """The vehicle with what was typed beside the note laid over what the note says of it.

    Raises:
        BadRow: what was typed cannot be so.
    """
    given = {k: str(row[k]).strip() for k in ("vin", "plate") if row.get(k) not in (None, "")}
    facts: dict[str, Any] = dict(given)
    if row.get("odometer") not in (None, ""):
        facts["odometer"] = {"value": row["odometer"], "unit": row.get("odometer_unit") or "mi"}
    if not facts:
        return vehicle
    try:
        return Vehicle.model_validate({**(vehicle or Vehicle()).model_dump(), **facts})
    except ValidationError as error:
        raise BadRow(_first_of(error)) from None


def _one_of(row: Row, column: str, choices: Any) -> Any:
    value = row.get(column)
    if value in (None, ""):
        return None
    if value not in choices.__args__:
        raise BadRow(f"its {column} {value!r} is none of {', '.join(choices.__args__)}")
    return value


def _first_of(error: ValidationError) -> str:
    first = error.errors()[0]
    return f"its {'.'.join(map(str, first['loc']))}: {first['msg']}"


__all__ = [
    "COLUMNS", "JSON_LINES", "LONGEST_LINE", "LONGEST_NOTE", "BadRow", "Row", "RowsError", "count_parquet", "is_rows",
    "lines_of", "name_of", "note_of", "parquet_rows", "row_of", "row_of_line", "with_facts",
]  # fmt: skip
