"""The parts list of the whole order: what is bought for which place, how many, and where it stands.

Left and right parts are bought by hand, and two of one hand do not make a pair (common practice). What is known to fit
either side is one row for both. Pads, shoes and linings are bought by the set for an axle.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from talkaround.judging import Judged
from talkaround.models import Because, Customer, Line, PartMake, PartRef, PartRow, PartState, Position
from talkaround.reading.types import Delivery
from talkaround.vocabulary import Vocabulary

_ORDER: tuple[PartState, ...] = ("to-order", "on-order", "at-hand", "to-return", "fitted")
# Words of the customer's that decide between original and aftermarket parts, where both are sold.
_ORIGINAL = ("original", "genuine", "oe", "oem", "main dealer", "dealer part")
_AFTERMARKET = ("aftermarket", "cheap", "pattern", "budget", "used", "second hand", "non original", "copy")
_KEEPS = ("keep", "long term", "years", "forever", "daughter", "son", "run it till")
_PARTS_WITH = (
    "sell",
    "selling",
    "sold",
    "trade",
    "trading",
    "auction",
    "scrap",
    "get rid",
    "part ex",
    "getting rid",
    "sale",
)


def parts_list(
    lines: Sequence[Line],
    judged: Sequence[Judged],
    deliveries: Sequence[Delivery],
    customer: Customer | None,
    vocabulary: Vocabulary,
) -> list[PartRow]:
    """Every row, what is still to be bought first. ``judged`` are the findings of ``lines``, in their order.

    Lines that the customer declined buy nothing; a wrong part that came is one row to return beside the one to order.
    """
    rows: list[PartRow] = []
    left_over = _Came(deliveries)
    for line, j in zip(lines, judged, strict=True):
        part = line.action.part
        if part is None or line.work == "declined" or line.severity == "good":
            continue
        places = _places(line)
        for position in places:
            state = left_over.state_of(j.finding.component, position, line, j.finding.at_hand)
            count = (line.action.quantity or 1) if len(places) == 1 else 1
            _add(rows, part, position, count, state, line.number, vocabulary)
        if line.work == "wrong-part" and not left_over.knows(j.finding.component):
            because = Because(
                field="state", rule="parts.wrong-one", text="the note says that the part that came is wrong"
            )
            rows.append(PartRow(part=part, quantity=1, state="to-return", lines=[line.number], because=[because]))
        if line.work in ("proposed", "ordered") and not j.finding.at_hand:
            _add_companions(rows, line, vocabulary)
    for component, side, count in left_over.to_return():
        of_it = [x for x in lines if x.component.id == component and x.action.part]
        if of_it:
            text = f"{count} more for the {side} side came than the order needs"
            rows.append(
                PartRow(
                    part=of_it[0].action.part or PartRef(id=component, name=of_it[0].component.name),
                    position=of_it[0].position.model_copy(update={"side": side}),
                    quantity=count,
                    state="to-return",
                    lines=[x.number for x in of_it],
                    because=[Because(field="state", rule="parts.wrong-hand", text=text)],
                )
            )
    make, why = _make(customer)
    for row in rows:
        if make and row.state == "to-order" and vocabulary.components[row.part.id].sold != "fill":
            row.make = make
            row.because.append(why)
    return sorted(rows, key=lambda r: _ORDER.index(r.state))


# ----- one line ------------------------------------------------------------------------------------------------------


def _places(line: Line) -> list[Position]:
    """The places that the line's part is bought for: one for each side, also where one failed and a pair is fitted."""
    pair = (line.action.quantity or 1) == 2 and line.position.side in ("left", "right")
    if line.position.side != "both" and not pair:
        return [line.position]
    return [line.position.model_copy(update={"side": side}) for side in ("left", "right")]


def _add(
    rows: list[PartRow], part: PartRef, position: Position, count: int, state: PartState, line: int, v: Vocabulary
) -> None:
    """Add a row, or add to the one that buys the same thing."""
    sold, alike = v.components[part.id].sold, v.components[part.id].alike
    where = _where(position, sold, alike)
    for row in rows:
        if row.part.id != part.id or row.state != state or _where(row.position, sold, alike) != where:
            continue
        same_line = line in row.lines
        if not same_line:
            row.lines.append(line)
        if sold == "each":
            row.quantity += count
            if row.position.side != position.side:
                row.position = row.position.model_copy(update={"side": "both"})
        return
    kept = position if sold == "each" else _only_axle(position) if sold == "axle-set" else Position()
    rows.append(PartRow(part=part, position=kept, quantity=count, unit=_UNITS[sold], state=state, lines=[line]))


_UNITS: dict[str, Literal["each", "set", "fill"]] = {"each": "each", "axle-set": "set", "set": "set", "fill": "fill"}


def _where(p: Position, sold: str, alike: bool) -> tuple[object, ...]:
    """What tells two rows of one part apart."""
    if sold in ("set", "fill"):
        return ()
    if sold == "axle-set":
        return (p.axle,)
    return (p.axle, p.place) if alike else (p.axle, p.side, p.level, p.depth, p.end, p.place)


def _only_axle(p: Position) -> Position:
    return Position(axle=p.axle)


def _add_companions(rows: list[PartRow], line: Line, v: Vocabulary) -> None:
    """What goes along with the part and is a thing to buy, no work."""
    for also in line.action.also:
        comp = v.components[also.id]
        if comp.kind == "service" or any(r.part.id == also.id and line.number in r.lines for r in rows):
            continue
        place = line.position if comp.places else Position()
        before = len(rows)
        _add(rows, also, place, 1, "to-order", line.number, v)
        for row in rows[before:]:
            text = (
                f"goes with the {line.action.part.name if line.action.part else line.component.name}, common practice"
            )
            row.because.append(Because(field="part", rule="parts.goes-with", text=text))


# ----- what came -----------------------------------------------------------------------------------------------------


class _Came:
    """Parts that came for one side, handed out to the lines that need them."""

    def __init__(self, deliveries: Sequence[Delivery]):
        self._left: dict[tuple[str, str], int] = {}
        for d in deliveries:
            self._left[d.component, d.side] = self._left.get((d.component, d.side), 0) + d.many

    def knows(self, component: str) -> bool:
        return any(known == component for known, _ in self._left)

    def state_of(self, component: str, position: Position, line: Line, at_hand: bool) -> PartState:
        if line.work == "done":
            return "fitted"
        key = component, position.side or ""
        if self._left.get(key, 0) > 0:
            self._left[key] -= 1
            return "at-hand"
        if at_hand and not self.knows(component):
            return "at-hand"
        return "on-order" if line.work == "ordered" else "to-order"

    def to_return(self) -> list[tuple[str, str, int]]:
        return [(component, side, count) for (component, side), count in self._left.items() if count > 0]


# ----- original or aftermarket ---------------------------------------------------------------------------------------


def _make(customer: Customer | None) -> tuple[PartMake | None, Because]:
    """What the customer wants fitted, or what how long the vehicle is kept speaks for, where both are sold."""
    said = f" {(customer.parts_preference or '') if customer else ''} ".lower().replace("-", " ")
    plan = f" {(customer.plan or '') if customer else ''} ".lower().replace("-", " ")
    none = Because(field="make", rule="parts.make-said", text="")
    wants_original = any(f" {w} " in said or f" {w}" in said for w in _ORIGINAL)
    wants_other = any(f" {w}" in said for w in _AFTERMARKET)
    if wants_original != wants_other:
        make: PartMake = "original" if wants_original else "aftermarket"
        return make, Because(field="make", rule="parts.make-said", text=f"the note says: {said.strip()}")
    keeps, parts_with = any(f" {w}" in plan for w in _KEEPS), any(f" {w}" in plan for w in _PARTS_WITH)
    if not said.strip() and keeps != parts_with:
        make = "original" if keeps else "aftermarket"
        text = f"where both are sold, for the note says: {plan.strip()}"
        return make, Because(field="make", rule="parts.make-by-plan", text=text)
    return None, none
