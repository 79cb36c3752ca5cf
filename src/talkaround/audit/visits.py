"""The same vehicle over its visits: what was deferred and came back, what got worse, what cannot be.

The visits of years do not fit in memory, so DuckDB keeps, sorts and joins them: in a file of its own, within a memory
limit.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType

import duckdb
import pyarrow as pa

from talkaround.audit.report import Seen, Visits
from talkaround.audit.tally import Visit
from talkaround.models import SEVERITIES

_EXAMPLES = 10
_MEMORY = "400MB"
_GAUGE_MM = 0.9
"""Tread that is deeper by no more than this may be the gauge or the spot: 1/32 in, and a little."""

_SCHEMA = pa.schema(
    [
        ("vehicle", pa.string()), ("day", pa.date32()), ("row", pa.int64()), ("order", pa.string()),
        ("miles", pa.float64()), ("component", pa.string()), ("name", pa.string()), ("axle", pa.string()),
        ("side", pa.string()), ("more", pa.string()), ("severity", pa.int8()), ("verb", pa.string()),
        ("work", pa.string()), ("tread_mm", pa.float64()), ("reading", pa.string()),
    ]
)  # fmt: skip

# Every line with the one before it: of the same part at the same place of the same vehicle, at an earlier visit.
_PAIRS = """
create temp table pair as
select * from (
  select *, lag("row") over w as was_row, lag("order") over w as was_order, lag(day) over w as was_day,
    lag(severity) over w as was_severity, lag(work) over w as was_work, lag(tread_mm) over w as was_tread,
    lag(reading) over w as was_reading, lag(verb) over w as was_verb
  from visit where component <> ''
  window w as (partition by vehicle, component, axle, side, more order by day, "row")
) where was_row is not null and was_row <> "row"
"""
_NUMBERED = """
create temp table numbered as
select *, dense_rank() over (partition by vehicle order by day, "row") as visit_number from visit
"""
_WHERE = "concat_ws(' ', nullif(side, ''), nullif(axle, ''), nullif(more, ''), name)"
_OF_PAIRS = f"""
      select vehicle, {_WHERE}, was_severity, was_work, was_reading, severity, work, reading, was_order, was_day, "order", day
      from pair"""
# Deferred: it was to be done, and was not done on that visit.
_KINDS = {
    "came-back": f"""{_OF_PAIRS} where was_severity < 4 and was_work in ('proposed', 'declined') and severity < 4""",
    "got-worse": f"""{_OF_PAIRS} where severity < was_severity and was_work <> 'done'""",
    "tread-grew": f"""{_OF_PAIRS} where tread_mm > was_tread + {_GAUGE_MM} and was_work <> 'done' and work <> 'done'""",
    "side-changed": """
      select a.vehicle, concat_ws(' ', nullif(a.axle, ''), nullif(a.more, ''), a.name), a.severity, a.work, a.side,
        b.severity, b.work, b.side, a."order", a.day, b."order", b.day
      from numbered a join numbered b using (vehicle, component, axle, more)
      where b.visit_number = a.visit_number + 1 and a.side in ('left', 'right') and b.side in ('left', 'right')
        and a.side <> b.side and a.severity < 4 and b.severity < 4 and a.work in ('proposed', 'declined')
        and not exists (select 1 from visit x where x."row" = b."row" and x.vehicle = b.vehicle
          and x.component = b.component and x.axle = b.axle and x.more = b.more and x.side in (a.side, 'both'))
        and not exists (select 1 from visit x where x."row" = a."row" and x.vehicle = a.vehicle
          and x.component = a.component and x.axle = a.axle and x.more = a.more and x.side in (b.side, 'both'))""",
    "odometer-fell": """
      select vehicle, 'odometer', null, null, format('{:.0f} mi', was_miles), null, null, format('{:.0f} mi', miles),
        was_order, was_day, "order", day
      from (select *, lag(miles) over w as was_miles, lag("order") over w as was_order, lag(day) over w as was_day
        from (select distinct vehicle, "row", "order", day, miles from visit where miles is not null)
        window w as (partition by vehicle order by day, "row"))
      where miles < was_miles - 1""",
}


class VisitsTable:
    """The visits of known vehicles, on disk; a context that takes its file away with it."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="talkaround-audit-")
        self._db = duckdb.connect(str(Path(self._folder.name) / "visits.duckdb"))
        self._db.execute(f"set memory_limit = '{_MEMORY}'; set temp_directory = '{self._folder.name}/spill'")
        self._db.register("none_yet", _SCHEMA.empty_table())
        self._db.execute("create table visit as select * from none_yet")

    def __enter__(self) -> VisitsTable:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._db.close()
        with suppress(OSError):
            self._folder.cleanup()

    def add(self, visits: Sequence[Visit]) -> None:
        """Put visits into the table, in any order."""
        if visits:
            columns = zip(*visits, strict=True)
            table = pa.Table.from_arrays(
                [pa.array(c, f.type) for c, f in zip(columns, _SCHEMA, strict=True)], schema=_SCHEMA
            )
            self._db.register("more_visits", table)
            self._db.execute("insert into visit select * from more_visits")
            self._db.unregister("more_visits")

    def told(self) -> Visits:
        """What the visits show, each kind counted, with the first few of it to look at."""
        vehicles, again = self._one(
            "select count(*), count(*) filter (visits > 1) from "
            '(select vehicle, count(distinct "row") as visits from visit group by vehicle)'
        )
        self._db.execute(_PAIRS)
        self._db.execute(_NUMBERED)
        counts, examples = {}, {}
        for kind, found in _KINDS.items():
            (counts[kind],) = self._one(f"select count(*) from ({found})")
            self._db.execute(f"select * from ({found}) order by 12 desc, 1, 2 limit {_EXAMPLES}")
            examples[kind] = [_seen(r) for r in self._db.fetchall()]
        return Visits(vehicles=vehicles, seen_again=again, counts=counts, examples=examples)

    def _one(self, query: str) -> tuple[int, ...]:
        return self._db.execute(query).fetchone() or ()


def _seen(r: tuple[object, ...]) -> Seen:
    vehicle, what, s1, w1, r1, s2, w2, r2, first, first_day, then, then_day = r
    return Seen(
        vehicle=str(vehicle), what=_once(str(what)), was=_state(s1, w1, r1), now=_state(s2, w2, r2),
        first=str(first), first_date=str(first_day), then=str(then), then_date=str(then_day),
    )  # fmt: skip


def _once(what: str) -> str:
    """ "front lower lower ball joint": a place that is in the part's own name is said once."""
    words = what.split()
    return " ".join(w for n, w in enumerate(words) if n == 0 or w != words[n - 1])


def _state(severity: object, work: object, reading: object) -> str:
    """ "suggested, declined, 3 1/32 in"."""
    words: list[str] = [SEVERITIES[severity]] if isinstance(severity, int) else []
    words += [str(x) for x in (work if work != "proposed" else None, reading) if x]
    return ", ".join(words)


__all__ = ["VisitsTable"]
