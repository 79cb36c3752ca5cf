"""The audit as tidy tables for other programs: one row an observation, the same columns in CSV and Parquet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

from talkaround.audit.report import Report, Row
from talkaround.batch import OutputError, replace_whole
from talkaround.models import SEVERITIES
from talkaround.output.as_csv import guarded

Kind = Literal["csv", "parquet"]
Cell = str | int | float | bool | None
Cells = tuple[Cell, ...]

COLUMNS: dict[str, dict[str, type]] = {
    "shares": {"by": str, "who": str, "point": str, "met": int, "due": int, "share": float, "low": float, "high": float,
               "few": bool},
    "scores": {"by": str, "who": str, "orders": int, "mean": float, "low": float, "high": float, "few": bool},
    "stands-out": {"who": str, "point": str, "below": bool, "met": int, "due": int, "share": float, "low": float,
                   "high": float, "others_share": float, "others_low": float, "others_high": float, "sentence": str},
    "examples": {"who": str, "point": str, "order": str, "date": str, "words": str},
    "periods": {"who": str, "point": str, "period": str, "met": int, "due": int, "center": float, "lower": float,
                "upper": float, "outside": bool, "changed_from": str},
    "agreement": {"who": str, "lines": int, "kappa": float, "low": float, "high": float, "few": bool},
    "agreement-table": {"who": str, "said": str, "rule_book": str, "count": int},
    "before-after": {"point": str, "marked": str, "before_met": int, "before_due": int, "after_met": int,
                     "after_due": int, "difference": float, "low": float, "high": float, "tells": bool, "sentence": str},
    "visits": {"kind": str, "count": int, "vehicle": str, "what": str, "was": str, "now": str, "first": str,
               "first_date": str, "then": str, "then_date": str},
    "sample": {"seed": int, "order": str, "date": str, "technician": str, "shop": str, "text": str},
    "empty-words": {"words": str, "lines": int},
}  # fmt: skip
"""The tables and their columns. Shares and intervals are from 0 to 1; a name that is empty is everybody's. ``visits`` has a
row for each example and, with no vehicle, for a kind without one; ``count`` is of the kind."""


def as_files(report: Report, folder: Path, kind: Kind) -> list[Path]:
    """Write every table into ``folder``, which is made where it is not there; a file is at every moment whole.

    Parquet needs the extra ``audit`` (pyarrow).

    Raises:
        OutputError: the folder or a file cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: cannot be made ({error.strerror}). Mend that or choose another --out.") from None
    written = []
    for name, rows in tables(report).items():
        target = folder / f"{name}.{kind}"
        if kind == "csv":
            replace_whole(target, _csv(name, rows))
        else:
            _parquet(target, name, rows)
        written.append(target)
    return written


def tables(report: Report) -> dict[str, list[Cells]]:
    """The rows of each table of :data:`COLUMNS`, cells in the order of its columns."""
    charts, sample = report.charts, report.sample
    return {
        "shares": list(_shares(report)),
        "scores": [
            (by, r.who, r.score.orders, r.score.mean, r.score.low, r.score.high, r.score.few)
            for by, r in _everyone(report) if r.score
        ],
        "stands-out": [
            (s.who, s.point, s.below, s.own.met, s.own.due, s.own.share, s.own.low, s.own.high, s.others.share,
             s.others.low, s.others.high, s.sentence)
            for s in report.stands_out
        ],
        "examples": [(s.who, s.point, e.order, e.date, e.words) for s in report.stands_out for e in s.examples],
        "periods": [
            (c.who, c.point, p.period, p.met, p.due, c.center, p.lower, p.upper, p.outside, c.changed_from)
            for c in charts for p in c.periods
        ],
        "agreement": [(a.who, a.lines, a.kappa, a.low, a.high, a.few) for a in report.agreement],
        "agreement-table": [
            (a.who, said, book, n)
            for a in report.agreement
            for said, cells in zip(SEVERITIES, a.table, strict=True)
            for book, n in zip(SEVERITIES, cells, strict=True)
        ],
        "before-after": [
            (b.point, report.marked, b.before.met, b.before.due, b.after.met, b.after.due, b.difference, b.low, b.high,
             b.tells, b.sentence)
            for b in report.before_after
        ],
        "visits": list(_visits(report)),
        "sample": [(sample.seed, o.order, o.date, o.technician, o.shop, o.text) for o in sample.orders] if sample else [],
        "empty-words": list(report.empty_words),
    }  # fmt: skip


def _everyone(report: Report) -> Iterator[tuple[str, Row]]:
    yield "everybody", report.everybody
    for by, rows in (("technician", report.technicians), ("shop", report.shops), ("system", report.systems)):
        yield from ((by, row) for row in rows)


def _shares(report: Report) -> Iterator[Cells]:
    for by, row in _everyone(report):
        for point, s in row.points.items():
            yield by, row.who, point, s.met, s.due, s.share, s.low, s.high, s.few


def _visits(report: Report) -> Iterator[Cells]:
    v = report.visits
    for kind, count in v.counts.items():
        for s in v.examples.get(kind, []):
            yield kind, count, s.vehicle, s.what, s.was, s.now, s.first, s.first_date, s.then, s.then_date
        if not v.examples.get(kind):
            yield kind, count, *("",) * 8


def _csv(name: str, rows: list[Cells]) -> str:
    out = io.StringIO()
    columns = list(COLUMNS[name])
    writer = csv.DictWriter(out, columns, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        cells = dict(zip(columns, row, strict=True))
        words = guarded({c: x for c, x in cells.items() if isinstance(x, str)})
        writer.writerow({c: words.get(c, _plain(x)) for c, x in cells.items()})
    return out.getvalue()


def _plain(cell: Cell) -> Cell:
    """True and false as other programs write them; numbers as they are, since none of them is run as a formula."""
    return str(cell).lower() if isinstance(cell, bool) else cell


def _parquet(target: Path, name: str, rows: list[Cells]) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    types: dict[type, Any] = {str: pa.string(), int: pa.int64(), float: pa.float64(), bool: pa.bool_()}
    schema = pa.schema([(column, types[kind]) for column, kind in COLUMNS[name].items()])
    table = pa.Table.from_pylist([dict(zip(schema.names, row, strict=True)) for row in rows], schema)
    out = pa.BufferOutputStream()
    pq.write_table(table, out)
    replace_whole(target, out.getvalue().to_pybytes())


__all__ = ["COLUMNS", "Kind", "as_files", "tables"]
