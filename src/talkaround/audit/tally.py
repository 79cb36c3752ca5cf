"""Counting: rows of orders -> a tally that is small whatever the number of orders, and that adds up with others.

Each order is held against the documentation points once; only counts, a few examples, the sample's candidates and what
concerns the vehicle's visits are kept.
"""

from __future__ import annotations

import hashlib
import heapq
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from talkaround.amounts import amount
from talkaround.audit.places import Row
from talkaround.audit.points import Occasion, Points, Written
from talkaround.audit.report import Example, Sampled
from talkaround.bulk.rows import RowError, row_of
from talkaround.intake import NoteError
from talkaround.models import SEVERITIES, Line, RepairOrder
from talkaround.order.written import OrderError, order_from
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

_EXAMPLES = 3
_KM_A_MILE = 1.609344
_MM_A_32ND = 25.4 / 32


@dataclass(frozen=True)
class Asked:
    """How an audit is narrowed and cut; days are inclusive, ``systems`` ids, ``since`` the first day of what is new."""

    first: date | None = None
    last: date | None = None
    period: str = "month"
    technicians: frozenset[str] = frozenset()
    shops: frozenset[str] = frozenset()
    systems: frozenset[str] = frozenset()
    since: date | None = None
    since_what: str = ""
    sample: int = 0
    seed: int = 1
    precision: float = 0.05
    confidence: float = 0.95


class Key(NamedTuple):
    """What occasions are counted by; ``after`` tells whether the order is from :attr:`Asked.since` on."""

    technician: str
    shop: str
    period: str
    after: bool
    system: str
    point: str


class Visit(NamedTuple):
    """A line of an order of a vehicle that is known by its VIN or plate; severity counts from 0, the gravest.

    A visit of which nothing is noted has one with no component. ``tread_mm`` is the least of the line's tread readings.
    """

    vehicle: str
    day: date
    row: int
    order: str
    miles: float | None
    component: str
    name: str
    axle: str
    side: str
    more: str
    severity: int
    verb: str
    work: str
    tread_mm: float | None
    reading: str


@dataclass
class Tally:
    """Counts of many orders. ``scores`` holds n, sum and sum of squares of the notes' scores by technician and shop."""

    orders: Counter[tuple[str, str]] = field(default_factory=Counter)
    lines: int = 0
    shares: dict[Key, list[int]] = field(default_factory=dict)
    scores: dict[tuple[str, str], list[float]] = field(default_factory=dict)
    agreement: dict[str, list[int]] = field(default_factory=dict)
    empty_words: Counter[str] = field(default_factory=Counter)
    examples: dict[tuple[str, str], list[tuple[str, int, Example]]] = field(default_factory=dict)
    """By technician and point, the latest occasions on which it was not kept: day, row and the example."""
    drawn: list[tuple[int, int, Sampled]] = field(default_factory=list)
    """Candidates for the sample: the lowest draws, as a heap of minus draw, row and order."""
    first: date | None = None
    last: date | None = None
    undated: int = 0
    unreadable: int = 0
    troubles: list[str] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    """Taken out after each batch by whoever adds tallies up."""

    def add(self, other: Tally, sample: int) -> None:
        """Take the counts of ``other`` in, and of its candidates enough to draw ``sample`` orders; its ``visits`` are left."""
        self.orders += other.orders
        self.lines += other.lines
        for key, (met, due) in other.shares.items():
            held = self.shares.setdefault(key, [0, 0])
            held[0] += met
            held[1] += due
        for who, sums in other.scores.items():
            self.scores[who] = [a + b for a, b in zip(self.scores.get(who, [0, 0, 0]), sums, strict=True)]
        for technician, counts in other.agreement.items():
            mine = self.agreement.get(technician, [0] * len(counts))
            self.agreement[technician] = [a + b for a, b in zip(mine, counts, strict=True)]
        self.empty_words += other.empty_words
        for what, examples in other.examples.items():
            self.examples[what] = _latest(self.examples.get(what, []) + examples)
        for candidate in other.drawn:
            _draw(self.drawn, candidate, sample)
        self.first = min((d for d in (self.first, other.first) if d), default=None)
        self.last = max((d for d in (self.last, other.last) if d), default=None)
        self.undated += other.undated
        self.unreadable += other.unreadable
        self.troubles = (self.troubles + other.troubles)[:_EXAMPLES]
        self.visits += other.visits


def tally_of(rows: Iterable[Row], first_row: int, points: Points, asked: Asked) -> Tally:
    """The tally of some rows; ``first_row`` is the number of the first among all."""
    tally = Tally()
    for number, row in enumerate(rows, first_row):
        _count(tally, row, number, points, asked)
    return tally


def period_of(day: date | None, period: str) -> str:
    """The week, month, quarter or year of a day, in words that sort by time; empty where there is no day."""
    if day is None:
        return ""
    if period == "week":
        year, week, _ = day.isocalendar()
        return f"{year}-W{week:02d}"
    if period == "quarter":
        return f"{day.year}-Q{(day.month + 2) // 3}"
    return str(day.year) if period == "year" else f"{day.year}-{day.month:02d}"


# ----- one row --------------------------------------------------------------------------------------------------------


class _Counted(NamedTuple):
    """An order that counts, with who wrote it and when; ``number`` is its row."""

    order: RepairOrder
    number: int
    name: str
    technician: str
    shop: str
    day: date | None

    @property
    def date(self) -> str:
        return self.day.isoformat() if self.day else ""


def _count(tally: Tally, row: Row, number: int, points: Points, asked: Asked) -> None:
    technician, shop, day = _text(row.get("technician")), _text(row.get("shop")), _day(row.get("date"))
    if not _is_asked_for(technician, shop, day, asked):
        return
    try:
        order = order_of(row, points.vocabulary)
    except _Unreadable as trouble:
        tally.unreadable += 1
        tally.troubles = [*tally.troubles, str(trouble)][:_EXAMPLES]
        return
    name = _text(row.get("id")) or order.note.name or f"row {number + 1}"
    o = _Counted(order, number, name, technician, shop, day)
    tally.orders[technician, shop] += 1
    tally.undated += day is None
    if day is not None:
        tally.first, tally.last = min(tally.first or day, day), max(tally.last or day, day)
    written = Written(order, points, vin=bool(row.get("vin")), odometer=row.get("odometer") is not None)
    lines = [x for x in order.lines if not asked.systems or x.component.system in asked.systems]
    tally.lines += len(lines)
    occasions = [x for x in points.of(written) if not asked.systems or x.system in asked.systems]
    _count_occasions(tally, o, occasions, asked)
    _count_score(tally, o, occasions, points)
    _count_agreement(tally, technician, lines)
    if asked.sample:
        sampled = Sampled(order=name, date=o.date, technician=technician, shop=shop, text=order.note.text)
        _draw(tally.drawn, (-_draw_of(asked.seed, number, name), number, sampled), asked.sample)
    tally.visits += _visits(row, o, lines)


def _is_asked_for(technician: str, shop: str, day: date | None, asked: Asked) -> bool:
    if asked.technicians and technician not in asked.technicians or asked.shops and shop not in asked.shops:
        return False
    if not (asked.first or asked.last):
        return True
    return day is not None and (asked.first or day) <= day <= (asked.last or day)


def _count_occasions(tally: Tally, o: _Counted, occasions: Iterable[Occasion], asked: Asked) -> None:
    period, after = period_of(o.day, asked.period), bool(asked.since and o.day and o.day >= asked.since)
    for x in occasions:
        counts = tally.shares.setdefault(Key(o.technician, o.shop, period, after, x.system, x.point), [0, 0])
        counts[0] += x.met
        counts[1] += 1
        if not x.met:
            held = tally.examples.get((o.technician, x.point), [])
            # One an order is kept, the first.
            if all(row != o.number for _, row, _ in held):
                tally.examples[o.technician, x.point] = _latest([*held, (o.date, o.number, _example(x, o))])
        if x.said:
            tally.empty_words[x.said] += 1


def _count_score(tally: Tally, o: _Counted, occasions: Iterable[Occasion], points: Points) -> None:
    """The weighted share of points that the order keeps; an order on which no point was due has none."""
    score: dict[str, list[int]] = {}
    for x in occasions:
        counts = score.setdefault(x.point, [0, 0])
        counts[0] += x.met
        counts[1] += 1
    if score:
        weights = {p: points.points[p].weight for p in score}
        kept = sum(weights[p] * met / due for p, (met, due) in score.items()) / sum(weights.values())
        sums = tally.scores.setdefault((o.technician, o.shop), [0, 0, 0])
        tally.scores[o.technician, o.shop] = [sums[0] + 1, sums[1] + kept, sums[2] + kept * kept]


def _count_agreement(tally: Tally, technician: str, lines: Iterable[Line]) -> None:
    for line in lines:
        if line.severity_said and line.severity_by_book:
            table = tally.agreement.setdefault(technician, [0] * len(SEVERITIES) ** 2)
            table[SEVERITIES.index(line.severity_said) * len(SEVERITIES) + SEVERITIES.index(line.severity_by_book)] += 1


class _Unreadable(Exception):
    """Why a row gives no order."""


def order_of(row: Row, vocabulary: Vocabulary) -> RepairOrder:
    """The order of a row: the one that it holds, or its note read now."""
    where = _text(row.get("id")) or "a row"
    if row.get("broken"):
        raise _Unreadable(str(row["broken"]))
    if row.get("error"):
        raise _Unreadable(f"{where}: {row['error']}")
    held = row.get("order")
    try:
        if held is not None:
            return order_from(held)
        given = row_of(row)
        return write_order(
            given.note(where),
            vocabulary=vocabulary,
            steering=given.steering or "left-hand",
            rule_book=given.rule_book,
        )
    except (OrderError, RowError, NoteError) as error:
        raise _Unreadable(f"{where}: {error}") from None


def _example(x: Occasion, o: _Counted) -> Example:
    words = " ".join(o.order.note.text[x.begin : x.end].split())
    return Example(order=o.name, date=o.date, who=o.technician, words=words[:160])


def _latest(examples: list[tuple[str, int, Example]]) -> list[tuple[str, int, Example]]:
    return sorted(examples, key=lambda e: e[:2], reverse=True)[:_EXAMPLES]


# ----- the sample -----------------------------------------------------------------------------------------------------


def _draw_of(seed: int, row: int, name: str) -> int:
    """A number that only the seed and the order decide: whatever the batches or the machine, the same are drawn."""
    return int.from_bytes(hashlib.sha256(f"{seed}|{row}|{name}".encode()).digest()[:8], "big")


def _draw(drawn: list[tuple[int, int, Sampled]], candidate: tuple[int, int, Sampled], size: int) -> None:
    """Keep the ``size`` lowest draws; no two have one row, so that texts are never compared."""
    if len(drawn) < size:
        heapq.heappush(drawn, candidate)
    elif candidate[:2] > drawn[0][:2]:
        heapq.heapreplace(drawn, candidate)


# ----- visits ---------------------------------------------------------------------------------------------------------


def _visits(row: Row, o: _Counted, lines: list[Line]) -> list[Visit]:
    known = o.order.vehicle
    vin = _text(row.get("vin")) or (known.vin if known else None)
    plate = _text(row.get("plate")) or (known.plate if known else None)
    vehicle = f"VIN {vin.upper()}" if vin else f"plate {plate.upper()}" if plate else ""
    if not vehicle or o.day is None:
        return []
    at = (vehicle, o.day, o.number, o.name, _miles(row, o.order))
    return [_visit(at, x) for x in lines] or [Visit(*at, "", "", "", "", "", 4, "", "", None, "")]


def _visit(at: tuple[str, date, int, str, float | None], line: Line) -> Visit:
    p = line.position
    more = " ".join(w for w in (p.level, p.depth, p.end, p.place) if w)
    treads = [
        m.value * (_MM_A_32ND if m.unit == "1/32 in" else 1)
        for m in line.measurements
        if m.quantity == "tread-depth" and m.unit in ("1/32 in", "mm")
    ]
    return Visit(
        *at, line.component.id, line.component.name, str(p.axle or ""), p.side or "", more,
        SEVERITIES.index(line.severity), line.action.verb, line.work, min(treads, default=None),
        "; ".join(amount(m.value, m.unit, m.bound) for m in line.measurements),
    )  # fmt: skip


def _miles(row: Row, order: RepairOrder) -> float | None:
    value, unit = row.get("odometer"), row.get("odometer_unit") or "mi"
    if value is None and order.vehicle and order.vehicle.odometer:
        value, unit = order.vehicle.odometer.value, order.vehicle.odometer.unit
    if not isinstance(value, int | float):
        return None
    return value / _KM_A_MILE if unit == "km" else float(value)


# ----- cells ----------------------------------------------------------------------------------------------------------


def _text(value: Any) -> str:
    return "" if value is None else str(value).strip()


def _day(value: Any) -> date | None:
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(str(value)[:10]) if value else None
    except ValueError:
        return None


def sums_of(scores: Mapping[tuple[str, str], list[float]], keep: Iterable[tuple[str, str]]) -> list[float]:
    """n, sum and sum of squares over some technicians and shops."""
    sums = [0.0, 0.0, 0.0]
    for key in keep:
        sums = [a + b for a, b in zip(sums, scores.get(key, [0, 0, 0]), strict=True)]
    return sums


__all__ = ["Asked", "Key", "Tally", "Visit", "order_of", "period_of", "sums_of", "tally_of"]
