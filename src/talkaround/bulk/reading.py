"""One batch of rows to one part; what a worker does, on this machine or another."""

from __future__ import annotations

import gc
import threading
from typing import Any, NamedTuple

from talkaround.bulk.job import BulkError, Job, Raw, this_version
from talkaround.bulk.parts import OutRow, line_columns, write_part
from talkaround.models import RepairOrder
from talkaround.pipeline import write_order
from talkaround.rows import BadRow, Row, name_of, note_of, row_of_line, with_facts
from talkaround.vocabulary import Vocabulary, lexicon_digest, load_vocabulary

# A worker reads one note at a time: the matcher is not made for several threads, and Python gains nothing by them.
_ONE_AT_A_TIME = threading.Lock()
_loaded: tuple[str, Vocabulary] | None = None


class Counted(NamedTuple):
    """How many rows a part has, and how many of them are errors."""

    rows: int
    errors: int


def read_part(job: Job, number: int, raw: Raw) -> Counted:
    """Read batch ``number`` and write its part.

    Raises:
        BulkError: this process has another lexicon or program than the one that gives the work.
        OSError: the part cannot be written.
    """
    rows = read_rows(job, number * job.rows_a_part, raw)
    write_part(job.part(number), rows)
    return Counted(len(rows), sum(r["error"] is not None for r in rows))


def read_rows(job: Job, first: int, raw: Raw) -> list[OutRow]:
    """The rows of a part, the first of which is number ``first`` of all. A bad note is a row with its error."""
    with _ONE_AT_A_TIME:
        vocabulary = _vocabulary(job)
        return [_read(job, first + n, one, vocabulary) for n, one in enumerate(raw)]


def failed_row(number: int, one: object, error: str) -> OutRow:
    """The row of a note that gave no order."""
    return _out(number, row_of_line(one) if isinstance(one, bytes) else dict(one), error)  # type: ignore[call-overload]


def begin(job: Job) -> None:
    """Make a fresh process ready. What it loads stays for good, so the collector need not look at it again."""
    _vocabulary(job)
    gc.collect()
    gc.freeze()


def _vocabulary(job: Job) -> Vocabulary:
    global _loaded
    if _loaded is None or _loaded[0] != job.lexicon:
        mine = this_version()
        if mine != job.talkaround:
            raise BulkError(f"a worker runs talkaround {mine}, not {job.talkaround}. Install the same everywhere.")
        if lexicon_digest(job.lexicon_folder) != job.lexicon:
            raise BulkError("a worker has another lexicon. Give every machine the same files under the same path.")
        _loaded = (job.lexicon, load_vocabulary(job.lexicon_folder))
    return _loaded[1]


def _read(job: Job, number: int, one: Any, vocabulary: Vocabulary) -> OutRow:
    row: Row = row_of_line(one) if isinstance(one, bytes) else one
    try:
        note, steering, book = note_of(row)
        if not note.name:
            note = note.model_copy(update={"name": f"row {number + 1}"})
        order = write_order(
            note, vocabulary=vocabulary, steering=steering or job.steering, rule_book=book or job.rule_book
        )
        order.vehicle = with_facts(order.vehicle, row)
    except BadRow as error:
        return _out(number, row, f"row {number + 1}: {error}")
    except Exception as error:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        fault = "Report this fault of the program with the note"
        return _out(number, row, f"row {number + 1}: nothing could be made of it ({what}). {fault}.")
    return _out(number, row, None, order, steering or job.steering)


def _out(
    number: int, row: Row, error: str | None, order: RepairOrder | None = None, steering: str | None = None
) -> OutRow:
    vehicle = order.vehicle if order else None
    odometer = vehicle.odometer if vehicle else None
    return {
        "row": number, "id": name_of(row) or None,
        **{k: _text(row.get(k)) for k in ("technician", "shop", "date")},
        "vin": vehicle.vin if vehicle else None, "plate": vehicle.plate if vehicle else None,
        "odometer": odometer.value if odometer else None, "odometer_unit": odometer.unit if odometer else None,
        "steering": steering, "error": None if error is None else _clean(error),
        "order": order.model_dump_json() if order else None,
        "lines": [line_columns(x) for x in order.lines] if order else None,
    }  # fmt: skip


def _text(value: object) -> str | None:
    return None if value is None else _clean(str(value))


def _clean(text: str) -> str:
    """Half a surrogate pair, which JSON can hold and UTF-8 cannot, as its escape."""
    return text.encode("utf-8", "backslashreplace").decode()


__all__ = ["Counted", "begin", "failed_row", "read_part", "read_rows"]
