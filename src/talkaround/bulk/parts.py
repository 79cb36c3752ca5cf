"""A part as Parquet: one row a note, the order as JSON beside its lines as columns."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from talkaround.models import Line

_MEASUREMENT = pa.struct(
    [("quantity", pa.string()), ("value", pa.float64()), ("unit", pa.string()), ("verdict", pa.string())]
)
_LINE = pa.struct(
    [
        ("number", pa.int32()), ("component", pa.string()), ("system", pa.string()), ("axle", pa.string()),
        ("side", pa.string()), ("level", pa.string()), ("depth", pa.string()), ("end", pa.string()),
        ("place", pa.string()), ("conditions", pa.list_(pa.string())), ("measurements", pa.list_(_MEASUREMENT)),
        ("severity", pa.string()), ("severity_said", pa.string()), ("severity_by_book", pa.string()),
        ("verb", pa.string()), ("part", pa.string()), ("work", pa.string()), ("basis", pa.string()),
    ]
)  # fmt: skip
SCHEMA = pa.schema(
    [
        ("row", pa.int64()), ("id", pa.string()), ("technician", pa.string()), ("shop", pa.string()),
        ("date", pa.string()), ("vin", pa.string()), ("plate", pa.string()), ("odometer", pa.float64()),
        ("odometer_unit", pa.string()), ("steering", pa.string()), ("error", pa.string()), ("order", pa.string()),
        ("lines", pa.list_(_LINE)),
    ]
)  # fmt: skip
"""The same in every part. ``row`` counts the notes from 0 as they lie in the input; ``order`` or ``error`` is null."""

OutRow = dict[str, Any]


def line_columns(line: Line) -> dict[str, Any]:
    """A line as columns."""
    p, a = line.position, line.action
    return {
        "number": line.number, "component": line.component.id, "system": line.component.system,
        "axle": None if p.axle is None else str(p.axle), "side": p.side, "level": p.level, "depth": p.depth,
        "end": p.end, "place": p.place, "conditions": [c.id for c in line.conditions],
        "measurements": [
            {"quantity": m.quantity, "value": m.value, "unit": m.unit, "verdict": m.verdict} for m in line.measurements
        ],
        "severity": line.severity, "severity_said": line.severity_said, "severity_by_book": line.severity_by_book,
        "verb": a.verb, "part": a.part.id if a.part else None, "work": line.work, "basis": line.basis,
    }  # fmt: skip


def write_part(path: Path, rows: list[OutRow]) -> None:
    """Write a part, so that it is there whole or not at all. Raises ``OSError``."""
    draft = path.with_name(f".{path.stem}-{secrets.token_hex(6)}.tmp")
    try:
        pq.write_table(pa.Table.from_pylist(rows, SCHEMA), draft, compression="zstd")
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def count_part(path: Path) -> tuple[int, int] | None:
    """How many rows a part has, and how many of them are errors; None where it is no whole part."""
    try:
        with pq.ParquetFile(path) as part:
            if part.schema_arrow.names != SCHEMA.names:
                return None
            errors = part.read(["error"]).column(0)
            return part.metadata.num_rows, len(errors) - errors.null_count
    except (pa.ArrowException, OSError):
        return None


__all__ = ["SCHEMA", "OutRow", "count_part", "line_columns", "write_part"]
