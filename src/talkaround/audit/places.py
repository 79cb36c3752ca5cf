"""Where orders come from: a folder, a JSON Lines or Parquet file, or a desk's store -> rows, batch by batch.

Nothing is loaded whole: a file of any size passes through in batches of :data:`BATCH` rows.
"""

from __future__ import annotations

import csv
import json
import zlib
from collections.abc import Iterator
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from talkaround.bulk.job import MANIFEST
from talkaround.bulk.notes import FIELDS, JSON_LINES, lines_of
from talkaround.bulk.rows import RowError, data_of_line
from talkaround.quoting import clipped

if TYPE_CHECKING:
    from talkaround.desk.store import Store
    from talkaround.desk.store.tables import NoteRow

BATCH = 500
COLUMNS = (*FIELDS, "error", "order")
"""The columns that are looked at; others are passed over."""
JSON_LIMIT = 400_000_000
"""Bytes of a file of JSON that is no lines of it, which has to be held as a whole."""
ABOUT_LIMIT = 100_000_000
"""Bytes of the CSV file that tells who wrote what, and when."""
_WHO_AND_WHEN = ("technician", "shop", "date")
_SQLITE = b"SQLite format 3\x00"


Row = dict[str, Any]
"""Columns by name: ``order`` an order as JSON text or object, or ``text`` a note to be read.

``broken`` stands in place of both where the row could not be taken up at all.
"""


class PlaceError(Exception):
    """A place that cannot be audited; ``str`` is one line that says what, where and how to mend it."""


def rows_of(place: str, about: Path | None = None) -> Iterator[list[Row]]:
    """The rows of ``place``, batch by batch, in the order in which they lie there.

    ``about`` is a CSV file with the columns name, technician, shop and date for orders that do not say these.

    Raises:
        PlaceError: there is no such place, or nothing in it that could be audited.
    """
    told = _about(about)
    try:
        rows = _rows(place)
        while batch := list(islice(rows, BATCH)):
            yield [_with(row, told) for row in batch] if told else batch
    except (OSError, EOFError, zlib.error) as error:
        raise PlaceError(
            f"{place}: cannot be read to its end ({_first_line(error)}). Check that it is whole."
        ) from None


def is_desk(place: str) -> bool:
    """Whether ``place`` is the store of a desk."""
    if "://" in place:
        return True
    path = Path(place)
    if not path.is_file():
        return False
    with path.open("rb") as f:
        return f.read(len(_SQLITE)) == _SQLITE


def _rows(place: str) -> Iterator[Row]:
    path = Path(place)
    if is_desk(place):
        return _of_desk(place)
    if path.is_dir():
        return _of_folder(path)
    if not path.exists():
        raise PlaceError(f"{place}: there is no such folder or file. Check the name.")
    return _of_file(path)


def _of_folder(folder: Path) -> Iterator[Row]:
    """Parquet parts, else files of rows, else orders that `write` wrote, one a file."""
    files = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith("."))
    parquet = [p for p in files if p.suffix == ".parquet"]
    if parquet:
        return _of_parquet(parquet)
    rows = [p for p in files if p.name.endswith(JSON_LINES)]
    if rows:
        return chain.from_iterable(_of_lines(path) for path in rows)
    # A run that was ended before its first part has its manifest and no orders.
    orders = [p for p in files if p.suffix == ".json" and p.name != MANIFEST]
    if orders:
        return chain.from_iterable(_of_json(path) for path in orders)
    raise PlaceError(
        f"{folder}: holds no orders. Write them there with `talkaround write NOTE... --out {folder}` or `talkaround bulk`."
    )


def _of_file(path: Path) -> Iterator[Row]:
    if path.suffix == ".parquet":
        return _of_parquet([path])
    if path.name.endswith(JSON_LINES):
        return _of_lines(path)
    if path.suffix == ".json":
        return _of_json(path)
    raise PlaceError(
        f"{path}: is no kind of file that can be audited. Give a folder of orders, a .jsonl, .parquet or .json file, "
        "or a desk's store."
    )


def _of_lines(path: Path) -> Iterator[Row]:
    for number, line in enumerate(lines_of(path), 1):
        yield _row_of(data_of_line(line), f"{path}, row {number}")


def _of_json(path: Path) -> Iterator[Row]:
    """An order, or a list of orders, as `write` gives them."""
    try:
        with path.open("rb") as f:
            data = f.read(JSON_LIMIT + 1)
        if len(data) > JSON_LIMIT:
            size = f"{JSON_LIMIT / 1e6:g} MB"
            raise PlaceError(
                f"{path}: is larger than a file of JSON may be ({size}). Write it as .jsonl, an order a line."
            )
        found = json.loads(data)
    except OSError as error:
        raise PlaceError(f"{path}: cannot be read ({error.strerror}). Check the name and its rights.") from None
    except (RecursionError, ValueError):
        yield {"broken": f"{path}: is no JSON"}
        return
    for each in found if isinstance(found, list) else [found]:
        row = _row_of(each, str(path))
        yield row if isinstance(found, list) else {**row, "id": path.stem}


def _row_of(found: Any, where: str) -> Row:
    """The row that a JSON value is: columns by name, or an order by itself."""
    if isinstance(found, RowError):
        return {"broken": f"{where}: {found}"}
    if not isinstance(found, dict):
        return {"broken": f"{where}: is no object with columns"}
    if "schema_version" in found:
        note = found.get("note")
        return {"id": note.get("name") if isinstance(note, dict) else None, "order": found}
    return {k: found[k] for k in COLUMNS if k in found}


def _of_parquet(files: list[Path]) -> Iterator[Row]:
    """Through DuckDB: it reads column by column and batch by batch, however many files and however large."""
    import duckdb

    with duckdb.connect() as db:
        try:
            found = db.from_parquet([_literal(p) for p in files], union_by_name=True)
            wanted = [c for c in COLUMNS if c in found.columns]
            if not {"order", "text"} & set(wanted):
                raise PlaceError(
                    f"{files[0]}: has no column `order` and none `text`. Give what `bulk` wrote, or notes."
                )
            for part in found.select(*(f'"{c}"' for c in wanted)).to_arrow_reader(BATCH):
                yield from part.to_pylist()
        except duckdb.Error as error:
            raise PlaceError(f"{files[0]}: cannot be read as Parquet ({_first_line(error)}). Write it anew.") from None


def _literal(path: Path) -> str:
    """The path as DuckDB takes it for one file and no pattern."""
    return "".join(f"[{c}]" if c in "*?[" else c for c in str(path))


def _of_desk(place: str) -> Iterator[Row]:
    try:
        from talkaround.desk.store import Store, StoreError
    except ModuleNotFoundError as error:
        raise PlaceError(
            f'a desk\'s store needs {error.name}: install it with pip install "talkaround[desk]".'
        ) from None
    try:
        store = Store(place)
    except StoreError as error:
        raise PlaceError(f"{error}.") from None
    try:
        yield from rows_of_store(store)
    finally:
        store.close()


def rows_of_store(store: Store) -> Iterator[Row]:
    """The notes of a desk as they were taken, with who took them; to be read again, as the technician left them."""
    from sqlalchemy import select

    from talkaround.desk.store.tables import Account, NoteRow, OrderRow

    with store.reading() as s:
        query = select(NoteRow, Account.name, OrderRow.id).join(Account, Account.id == NoteRow.by_id)
        query = query.join(OrderRow, OrderRow.note_id == NoteRow.id).order_by(NoteRow.id)
        for note, name, order in s.execute(query.execution_options(yield_per=BATCH)):
            yield _desk_row(note, name, order)


def _desk_row(note: NoteRow, technician: str, order: int) -> Row:
    """A note of the desk (``NoteRow``) as a row."""
    given = {k: v for k, v in note.facts.items() if v not in (None, "")}
    odometer = given.get("odometer")
    if isinstance(odometer, dict):
        given["odometer"], given["odometer_unit"] = odometer.get("value"), odometer.get("unit")
    return {
        **{k: v for k, v in given.items() if k in COLUMNS},
        "id": str(order),
        "technician": technician,
        "date": note.at.date().isoformat(),
        "kind": note.kind,
        "text": note.text,
        "utterances": note.utterances or None,
    }


# ----- who and when ---------------------------------------------------------------------------------------------------


def _about(path: Path | None) -> dict[str, Row]:
    if path is None:
        return {}
    try:
        if path.stat().st_size > ABOUT_LIMIT:
            raise PlaceError(
                f"{path}: is larger than such a file may be ({ABOUT_LIMIT / 1e6:g} MB). Keep its four columns."
            )
        with path.open(encoding="utf-8-sig", newline="") as f:
            reader = csv.DictReader(f)
            if "name" not in (reader.fieldnames or ()):
                raise PlaceError(f"{path}: has no column `name`. Its first line is name,technician,shop,date.")
            return {row["name"]: {k: row.get(k) or None for k in _WHO_AND_WHEN} for row in reader}
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise PlaceError(f"{path}: cannot be read ({_first_line(error)}). Give a CSV file in UTF-8.") from None


def _with(row: Row, told: dict[str, Row]) -> Row:
    more = told.get(str(row.get("id") or ""), {})
    return {**row, **{k: v for k, v in more.items() if v and not row.get(k)}}


def _first_line(error: BaseException) -> str:
    said = str(getattr(error, "strerror", None) or error)
    return clipped((said.splitlines() or [type(error).__name__])[0], 200)


__all__ = ["BATCH", "PlaceError", "Row", "is_desk", "rows_of", "rows_of_store"]
