"""A repair order and the writer's prices -> the estimate. Decimal arithmetic throughout; pure."""

from __future__ import annotations

import decimal
import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from talkaround.estimating.keys import Key, fits, folded, key_of, place_key
from talkaround.estimating.prices import Entry, Prices, origin_of
from talkaround.models import (
    Estimate,
    Line,
    PartRow,
    Position,
    PricedLabor,
    PricedPart,
    RepairOrder,
    Shop,
    TearDown,
    Terms,
    Visit,
)

_CENT = Decimal("0.01")
_ROUNDING = {
    "half-up": decimal.ROUND_HALF_UP,
    "half-even": decimal.ROUND_HALF_EVEN,
    "up": decimal.ROUND_CEILING,
    "down": decimal.ROUND_FLOOR,
}
# Wide enough for any two numbers that a price file takes; the caller's own context is left alone.
_CONTEXT = decimal.Context(prec=60, traps=[decimal.InvalidOperation, decimal.DivisionByZero, decimal.Overflow])


@dataclass(frozen=True)
class WorkRow:
    """Labor that is charged once: a job, or a line that is in none. ``keys`` are those of its lines."""

    key: str
    name: str
    lines: tuple[int, ...]
    keys: tuple[str, ...]
    position: Position = field(default_factory=Position)


@dataclass
class Priced:
    """The estimate, and one line for each thing in the price files that the writer should look at."""

    estimate: Estimate
    remarks: list[str] = field(default_factory=list)


def charged_parts(order: RepairOrder) -> list[tuple[str, PartRow]]:
    """The rows of the parts list that cost something, each with its key; fitted ones too."""
    by_number = {line.number: line for line in order.lines}
    return [(place_key(row.part.id, row.position), row) for row in order.parts if not _part_left_out(row, by_number)]


def quantity_of(row: PartRow) -> Decimal | None:
    """How many of it; None where it is as much as it takes."""
    return None if row.unit == "fill" else Decimal(row.quantity)


def charged_work(order: RepairOrder) -> list[WorkRow]:
    """Jobs, then work that is in no job, such as what is done already."""
    by_number = {line.number: line for line in order.lines}
    rows: list[WorkRow] = []
    in_jobs: set[int] = set()
    taken: set[str] = set()
    for job in order.jobs:
        in_jobs.update(job.lines)
        lines = [line for n in job.lines if (line := by_number.get(n)) is not None and _is_work(line)]
        if not lines:
            continue
        keys = tuple(place_key(line.component.id, line.position) for line in lines)
        # One line goes by its part, which stays when more work joins the job and gives it another name. Two jobs of one
        # name are told apart by what they are about.
        key = folded(job.name) if len(lines) > 1 else keys[0]
        key = f"{folded(job.name)}: {keys[0]}" if key in taken else key
        taken.add(key)
        rows.append(WorkRow(key, job.name, tuple(line.number for line in lines), keys))
    for line in order.lines:
        if line.number not in in_jobs and _is_work(line):
            key = place_key(line.component.id, line.position)
            rows.append(WorkRow(key, line.component.name, (line.number,), (key,), line.position))
    return rows


def price(order: RepairOrder, prices: Prices) -> Priced:
    """The estimate of an order. What the files give no price for is listed as open, and the total is partial."""
    with decimal.localcontext(_CONTEXT):
        return _Pricing(order, prices).priced()


class _Pricing:
    def __init__(self, order: RepairOrder, prices: Prices) -> None:
        self.order = order
        self.prices = prices
        self.terms = Terms.model_validate(prices.tables["terms"])
        self.remarks: list[str] = []
        self.open: list[str] = []
        self.used: set[int] = set()

    def priced(self) -> Priced:
        parts = [self._part(key, row) for key, row in charged_parts(self.order)]
        parts += [self._other_part(entry) for entry in self.prices.entries["other_parts"].values() if entry.values]
        labor = [self._work(row) for row in charged_work(self.order)]
        labor += [self._other_work(entry) for entry in self.prices.entries["other_labor"].values() if entry.values]
        self._tell_what_fits_nothing()
        tax = self._tax(parts, labor)
        of_parts = sum((p.amount for p in parts if p.amount is not None), Decimal(0))
        of_labor = sum((w.amount for w in labor if w.amount is not None), Decimal(0))
        # Every subtotal with its two places, also where it is nothing.
        of_parts, of_labor = self._rounded(of_parts), self._rounded(of_labor)
        estimate = Estimate(
            shop=Shop.model_validate(self.prices.tables["shop"]),
            visit=Visit.model_validate(self.prices.tables["visit"]),
            terms=self.terms,
            parts=parts,
            labor=labor,
            parts_subtotal=of_parts,
            labor_subtotal=of_labor,
            tax=tax,
            total=of_parts + of_labor + tax,
            open=self.open,
            left_out=_left_out(self.order),
            tear_down=TearDown.model_validate(self.prices.tables["tear_down"]),
        )
        return Priced(estimate, self.remarks)

    def _rounded(self, value: Decimal) -> Decimal:
        return value.quantize(_CENT, rounding=_ROUNDING[self.terms.rounding])

    def _part(self, key: str, row: PartRow) -> PricedPart:
        entry = self._entry("parts", (key,), key)
        made = self._part_of(key, row.part.name, row.position, quantity_of(row), entry, row.lines)
        if made.make is None:
            made.make = row.make
        elif entry is not None and row.make is not None and made.make != row.make:
            self.remarks.append(
                f'{entry.where}: parts."{entry.key}": the order asks for {row.make} and the price is for '
                f"{made.make}; change the origin, or ask the customer."
            )
        return made

    def _other_part(self, entry: Entry) -> PricedPart:
        return self._part_of(entry.key, entry.key, Position(), Decimal(1), entry, [])

    def _part_of(
        self, key: str, name: str, position: Position, quantity: Decimal | None, entry: Entry | None, lines: list[int]
    ) -> PricedPart:
        values = entry.values if entry else {}
        condition, make = origin_of(values.get("origin", ""))
        quantity = values.get("quantity", quantity)
        each: Decimal | None = values.get("price")
        if each is None:
            self.open.append(key)
        return PricedPart(
            key=key,
            name=name,
            position=position,
            quantity=quantity,
            price=each,
            amount=None if each is None else self._rounded(each if quantity is None else each * quantity),
            condition=condition,
            make=make,
            taxed=values.get("taxed", True),
            lines=lines,
        )

    def _work(self, row: WorkRow) -> PricedLabor:
        named = self.prices.entries["labor"].get(folded(row.name))
        entry = self._entry("labor", row.keys, row.key if named is None else row.name)
        return self._labor_of("labor", row.key, row.name, row.position, entry, list(row.lines))

    def _other_work(self, entry: Entry) -> PricedLabor:
        return self._labor_of("other_labor", entry.key, entry.key, Position(), entry, [])

    def _labor_of(
        self, table: str, key: str, name: str, position: Position, entry: Entry | None, lines: list[int]
    ) -> PricedLabor:
        values = entry.values if entry else {}
        hours: Decimal | None = values.get("hours")
        amount: Decimal | None = values.get("price")
        rate = None if hours is None else values.get("rate", self.terms.hourly_rate)
        if hours is not None and rate is not None:
            amount = hours * rate
        elif hours is not None and entry is not None:
            self.remarks.append(
                f'{entry.where}: {table}."{entry.key}": hours and no rate for them; '
                "give hourly_rate under [terms], or a rate or price here."
            )
        if amount is None:
            self.open.append(key)
        return PricedLabor(
            key=key,
            name=name,
            position=position,
            hours=hours,
            rate=rate,
            amount=None if amount is None else self._rounded(amount),
            taxed=values.get("taxed", self.terms.tax_on == "parts and labor"),
            lines=lines,
        )

    def _entry(self, table: str, keys: Sequence[str], name: str) -> Entry | None:
        """What the files give for a row: under its own name, else under the closest key that fits its place."""
        entries = self.prices.entries[table]
        own = entries.get(key_of(name) if table == "parts" else folded(name))
        if own is not None:
            self.used.add(id(own))
            if own.values:
                return own
        rows = [key_of(key) for key in keys]
        fitting = [
            (len(wanted.words), entry)
            for entry in entries.values()
            if entry.values and any(fits(wanted := _key(entry), row) for row in rows)
        ]
        self.used.update(id(entry) for _, entry in fitting)
        closest = [entry for size, entry in fitting if size == max(s for s, _ in fitting)]
        if len(closest) > 1:
            first, second = closest[:2]
            self.remarks.append(
                f'{second.where}: {table}."{second.key}": "{first.key}" fits "{name}" as well; '
                f'give the price under "{name}" itself.'
            )
            return None
        return closest[0] if closest else None

    def _tell_what_fits_nothing(self) -> None:
        known = {"parts": [key for key, _ in charged_parts(self.order)],
                 "labor": [row.key for row in charged_work(self.order)]}  # fmt: skip
        for table, names in known.items():
            for entry in self.prices.entries[table].values():
                if id(entry) in self.used or entry.standing:
                    continue
                near = difflib.get_close_matches(folded(entry.key), names, n=1, cutoff=0.5)
                mend = f'"{near[0]}" comes near' if near else "take it out, or put it under other_" + table
                self.remarks.append(
                    f'{entry.where}: {table}."{entry.key}": nothing that is charged on the order '
                    f'"{self.order.note.name}" goes by this; {mend}.'
                )

    def _tax(self, parts: Sequence[PricedPart], labor: Sequence[PricedLabor]) -> Decimal:
        percent = self.terms.tax_percent
        name = self.terms.tax_name or "tax"
        if percent is None:
            self.open.append(name)
            return self._rounded(Decimal(0))
        if percent and self.terms.tax_on is None:
            self.remarks.append(
                f"{self.prices.files[-1] if self.prices.files else 'prices'}: terms.tax_on: a tax_percent and not what "
                'it is on; write "parts" or "parts and labor" under [terms].'
            )
            self.open.append(name)
            return self._rounded(Decimal(0))
        rows: list[PricedPart | PricedLabor] = [*parts, *labor]
        taxed = [row.amount for row in rows if row.taxed and row.amount is not None]
        if self.terms.tax_rounded == "each-row":
            return sum((self._rounded(amount * percent / 100) for amount in taxed), self._rounded(Decimal(0)))
        return self._rounded(sum(taxed, Decimal(0)) * percent / 100)


def _key(entry: Entry) -> Key:
    return key_of(entry.key)


def _is_work(line: Line) -> bool:
    return line.severity != "good" and line.work != "declined" and line.action.verb not in ("none", "monitor")


def _part_left_out(row: PartRow, by_number: Mapping[int, Line]) -> str:
    """Why a part costs nothing; empty where it is charged."""
    if row.state == "to-return":
        return "wrong part, goes back"
    lines = [by_number[n] for n in row.lines if n in by_number]
    if lines and all(line.work == "declined" for line in lines):
        return "declined"
    return "found good" if lines and all(line.severity == "good" for line in lines) else ""


def _left_out(order: RepairOrder) -> list[str]:
    by_number = {line.number: line for line in order.lines}
    said = [f"line {line.number}, {line.component.name} (declined)" for line in order.lines if line.work == "declined"]
    said += [f"{row.part.name} ({why})" for row in order.parts
             if (why := _part_left_out(row, by_number)) == "wrong part, goes back"]  # fmt: skip
    return said
