"""The output: a Parquet part for each batch, in one schema, there whole or not at all."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from talkaround.bulk.job import BulkError
from talkaround.models import Line, RepairOrder

_PART = re.compile(r"part-\d{6,}\.parquet")
_DRAFT = re.compile(r"\.part-\d{6,}-[0-9a-f]{12}\.tmp")
_RUN, _ERRORS = b"talkaround.run", b"talkaround.errors"

_MEASUREMENT = pa.struct(
    [("quantity", pa.string()), ("value", pa.float64()), ("unit", pa.string()), ("verdict", pa.string())]
)
_LINE = pa.struct(
    [
        ("number", pa.int32()),
        *((n, pa.string()) for n in ("component", "system", "axle", "side", "level", "depth", "end", "place")),
        ("conditions", pa.list_(pa.string())),
        ("measurements", pa.list_(_MEASUREMENT)),
        *((n, pa.string()) for n in ("severity", "verb", "part", "work", "basis")),
    ]
)
SCHEMA = pa.schema(
    [
        pa.field("row", pa.int64(), nullable=False),
        *((n, pa.string()) for n in ("id", "technician", "shop", "date", "vin", "plate")),
        ("odometer", pa.float64()),
        *((n, pa.string()) for n in ("odometer_unit", "steering", "error", "order")),
        ("lines", pa.list_(_LINE)),
    ]
)


def columns_of(order: RepairOrder) -> dict[str, Any]:
    """The columns that an order fills."""
    vehicle = order.vehicle
    odometer = vehicle.odometer if vehicle else None
    return {
        "vin": vehicle.vin if vehicle else None,
        "plate": vehicle.plate if vehicle else None,
        "odometer": odometer.value if odometer else None,
        "odometer_unit": odometer.unit if odometer else None,
        "steering": vehicle.steering if vehicle else None,
        "order": order.model_dump_json(),
        "lines": [_line(line) for line in order.lines],
    }


def _line(line: Line) -> dict[str, Any]:
    place = line.position.model_dump()
    return {
        **place,
        "number": line.number,
        "component": line.component.id,
        "system": line.component.system,
        # An axle is a word, or the number of one of several.
        "axle": None if place["axle"] is None else str(place["axle"]),
        "conditions": [c.id for c in line.conditions],
        "measurements": [m.model_dump(include={"quantity", "value", "unit", "verdict"}) for m in line.measurements],
        "severity": line.severity,
        "verb": line.action.verb,
        "part": line.action.part.id if line.action.part else None,
        "work": line.work,
        "basis": line.basis,
    }


def path_of(folder: Path, number: int) -> Path:
    """Where part ``number`` lies, or will."""
    return folder / f"part-{number:06d}.parquet"


def write(folder: Path, number: int, rows: list[dict[str, Any]], run: str, wanted: Callable[[], bool]) -> None:
    """Write part ``number``; nothing where it is no longer ``wanted``. Raises ``BulkError``."""
    errors = sum(row.get("error") is not None for row in rows)
    table = pa.Table.from_pylist(rows, schema=SCHEMA.with_metadata({_RUN: run, _ERRORS: str(errors)}))
    target = path_of(folder, number)
    draft = folder / f".{target.stem}-{secrets.token_hex(6)}.tmp"
    try:
        with draft.open("wb") as file:
            pq.write_table(table, file, compression="zstd")
            file.flush()
            # Else a power cut could leave the new name on an empty file.
            os.fsync(file.fileno())
        if wanted():
            draft.replace(target)
    except OSError as error:
        raise BulkError(
            f"{target}: cannot be written ({error.strerror or error}). Mend that, and the same command goes on."
        ) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def found(folder: Path, number: int, run: str) -> tuple[int, int] | None:
    """Rows and errors of part ``number``; None where it is not there, not whole or of another run."""
    try:
        about = pq.read_metadata(path_of(folder, number))
    except (OSError, pa.ArrowException):
        return None
    marks = about.metadata or {}
    if marks.get(_RUN) != run.encode():
        return None
    return about.num_rows, int(marks[_ERRORS])


def drafts_in(folder: Path) -> list[Path]:
    """Parts that a worker did not finish, of this run or one before it."""
    return [p for p in folder.iterdir() if _DRAFT.fullmatch(p.name)]


def parts_in(folder: Path) -> list[Path]:
    """Finished parts, in no certain order."""
    return [p for p in folder.iterdir() if _PART.fullmatch(p.name)]
