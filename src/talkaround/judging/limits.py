"""Readings against the limits of a rule book: which limit holds for a reading, and how the reading stands to it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Literal

from talkaround.models import Measurement, RuleBook, Span, Steering, Verdict
from talkaround.reading.types import Finding, Reading
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import Limit, Unit

Bound = Literal["below", "above"]
LIMIT_AS_SAID = "as said in the note"
"""The source of a limit that the note itself names."""

# A converted number that differs from the limit by less than this share of it is the limit itself.
_SAME = 1e-6
# How far past its number a reading counts that was said to be under or over it.
_PAST = 0.01
_SMALL_IS_BAD = ("pad-thickness", "lining-thickness", "rotor-thickness", "tread-depth")
_LARGE_IS_BAD = ("play", "runout", "angle", "free-travel", "drum-diameter", "thickness-variation", "push-rod-stroke")
# What a reading past its limit shows where the note names no condition: under the lower bound, over the upper one.
_SHOWN_BELOW = {
    "pressure": "low", "voltage": "weak", "cold-cranking": "weak", "brake-force": "weak",
    "boiling-point": "contaminated",
}  # fmt: skip
_SHOWN_ABOVE = {
    "moisture": "contaminated", "concentration": "contaminated", "voltage": "high", "current": "high",
    "temperature": "high", "play": "loose", "runout": "bent", "thickness-variation": "unevenly-worn",
    "push-rod-stroke": "misadjusted", "free-travel": "misadjusted", "lever-travel": "misadjusted",
    "leak-rate": "leaking", "freeze-point": "weak",
}  # fmt: skip


# What only commercial vehicles have.
_COMMERCIAL = frozenset({"air-brakes", "coupling"})


def rule_book(steering: Steering, systems: Collection[str] = ()) -> RuleBook:
    """The rule book that a shop with this drive side goes by, unless it chooses another.

    ``systems`` are those that the note speaks of: one with air brakes or a coupling is of a commercial vehicle.
    """
    if steering == "right-hand":
        return "uk"
    return "us-commercial" if _COMMERCIAL & set(systems) else "us-light"


@dataclass(slots=True)
class Held:
    """A reading beside its limit: ``limit`` in the reading's unit, and which bound of it counts."""

    limit: float
    bound: Bound
    verdict: Verdict


@dataclass(slots=True)
class Dangerous:
    """A figure past which a part is dangerous: ``edge`` in the reading's unit."""

    edge: float
    source: str


@dataclass(slots=True)
class Measured:
    """A measurement for the order, with the bound that it was held against, if it was.

    ``published``: the limit is a published one or named in the note, and no habit. ``dangerous``: the reading is past
    that figure.
    """

    measurement: Measurement
    bound: Bound | None = None
    published: bool = False
    dangerous: Dangerous | None = None

    @property
    def shows(self) -> str:
        """The condition that a reading at or past its limit shows."""
        return (_SHOWN_ABOVE if self.bound == "above" else _SHOWN_BELOW).get(self.measurement.quantity, "worn")


def quantity_of(component: str, unit: str, vocabulary: Vocabulary, value: float | None = None) -> str:
    """Which of the component's quantities a reading in this unit is; ``reading`` where none fits.

    A quantity that can never be as small or as large as ``value`` is passed over.
    """
    units = vocabulary.units
    if unit not in units:
        return "reading"
    comp = vocabulary.components[component]
    for exact in (True, False):
        for name in comp.measured:
            quantity = vocabulary.quantities[name]
            if value is not None and quantity.usual is not None:
                first = units[quantity.units[0]]
                if first.dimension == units[unit].dimension:
                    low, high = quantity.usual
                    if not low <= _convert(value, units[unit], first) <= high:
                        continue
            for u in quantity.units:
                if u == unit or (not exact and u in units and units[u].dimension == units[unit].dimension):
                    return name
    dimension = units[unit].dimension
    return {"length": "length", "fraction": "percentage"}.get(dimension, dimension)


def limit_for(
    finding: Finding, quantity: str, vocabulary: Vocabulary, book: str, reading: Reading | None = None
) -> Limit | None:
    """The limit that holds for a finding's reading, or None where the rule book has none that certainly does.

    The one for the most exact component comes first, then the one for the axle, then the book's own before ``any``.
    ``reading`` rules out limits that are not for a reading of that size.
    """
    chain = list(_with_kinds(finding.component, vocabulary))
    best: tuple[tuple[int, bool, bool], Limit] | None = None
    for limit in vocabulary.limits.values():
        if limit.quantity != quantity or limit.book not in (book, "any") or limit.applies == "beside":
            continue
        told = _first(chain, limit.known_from)
        meant = _first(chain, limit.components)
        if told is None and (limit.applies == "named" or meant is None or limit.axle not in (None, finding.place.axle)):
            continue
        if reading is not None and not _of_its_sort(reading, limit, vocabulary):
            continue
        rank = (min(x for x in (told, meant) if x is not None), limit.axle is None, limit.book == "any")
        if best is None or rank < best[0]:
            best = rank, limit
    return best[1] if best else None


def hold_against(reading: Reading, limit: Limit, vocabulary: Vocabulary) -> Held | None:
    """How the reading stands to the limit; None where the two are not of one dimension, or not of one sort."""
    units = vocabulary.units
    if not _of_its_sort(reading, limit, vocabulary):
        return None
    here, there = units[reading.unit], units[limit.unit]
    value = _convert(_as_said(reading), here, there)
    edges: list[tuple[Bound, float]] = []
    if limit.below is not None:
        edges.append(("below", limit.below))
    if limit.above is not None:
        edges.append(("above", limit.above))
    # Of two bounds, the one that the reading lies nearer to.
    bound, edge = min(edges, key=lambda e: abs(value - e[1]))
    low = bound == "below"
    verdict: Verdict = "pass"
    if _same(value, edge):
        verdict = "fail" if limit.inclusive else "pass"
    elif value < edge if low else value > edge:
        verdict = "fail"
    near = limit.near
    if verdict == "pass" and near is not None and (_same(value, near) or (value < near if low else value > near)):
        verdict = "near"
    return Held(_shown(_convert(edge, there, here)), bound, verdict)


def measure(reading: Reading, finding: Finding, vocabulary: Vocabulary, book: str) -> Measured:
    """The measurement that a reading makes, held against the limit that the note names, else the rule book's."""
    quantity = quantity_of(finding.component, reading.unit, vocabulary, reading.value)
    m = Measurement(
        quantity=quantity,
        value=reading.value,
        unit=reading.unit,
        bound=reading.bound,
        evidence=Span(begin=reading.span[0], end=reading.span[1]) if reading.span else None,
    )
    dangerous = _dangerous(reading, finding, quantity, vocabulary, book)
    if reading.limit is not None:
        m.limit, m.limit_source = reading.limit, LIMIT_AS_SAID
        if quantity in _SMALL_IS_BAD:
            m.verdict = "fail" if _as_said(reading) < reading.limit else "pass"
            return Measured(m, "below", published=True, dangerous=dangerous)
        if quantity in _LARGE_IS_BAD:
            m.verdict = "fail" if _as_said(reading) > reading.limit else "pass"
            return Measured(m, "above", published=True, dangerous=dangerous)
        return Measured(m)
    limit = limit_for(finding, quantity, vocabulary, book, reading)
    held = hold_against(reading, limit, vocabulary) if limit is not None else None
    if limit is None or held is None:
        return Measured(m, dangerous=dangerous)
    m.limit, m.limit_source, m.verdict = _as_written(held.limit), limit.source, held.verdict
    return Measured(m, held.bound, limit.mark != "habit", dangerous)


def _as_written(limit: float) -> float:
    """A limit in the reading's unit to four figures, as nobody writes 0.07874 in for 2 mm."""
    return float(f"{limit:.4g}")


def margin(value: float, limit: float) -> float:
    """How far a reading is from its limit, rounded as the two are written."""
    return round(abs(value - limit), 4)


def _dangerous(
    reading: Reading, finding: Finding, quantity: str, vocabulary: Vocabulary, book: str
) -> Dangerous | None:
    """The dangerous figure of the rule book that the reading is past, if there is one for this part."""
    chain = list(_with_kinds(finding.component, vocabulary))
    for limit in vocabulary.limits.values():
        if not limit.dangerous or limit.quantity != quantity or limit.book not in (book, "any"):
            continue
        if _first(chain, limit.components) is None or limit.axle not in (None, finding.place.axle):
            continue
        held = hold_against(reading, limit, vocabulary)
        if held is not None and held.verdict == "fail":
            return Dangerous(held.limit, limit.source)
    return None


def _with_kinds(component: str, vocabulary: Vocabulary) -> Iterator[str]:
    """The component, what it is a kind of, and so on up."""
    seen: set[str] = set()
    at: str | None = component
    while at is not None and at not in seen and at in vocabulary.components:
        seen.add(at)
        yield at
        at = vocabulary.components[at].kind_of


def _first(chain: list[str], wanted: tuple[str, ...]) -> int | None:
    return next((n for n, c in enumerate(chain) if c in wanted), None)


def _of_its_sort(reading: Reading, limit: Limit, vocabulary: Vocabulary) -> bool:
    units = vocabulary.units
    if reading.unit not in units or limit.unit not in units:
        return False
    here, there = units[reading.unit], units[limit.unit]
    if here.dimension != there.dimension:
        return False
    if limit.only_between is None:
        return True
    low, high = limit.only_between
    return low <= _convert(reading.value, here, there) <= high


def _convert(value: float, here: Unit, there: Unit) -> float:
    return (value * here.factor + here.offset - there.offset) / there.factor


def _as_said(reading: Reading) -> float:
    """The value, put a little past the number where it was said to be under or over it."""
    past = {"under": -1, "over": 1}.get(reading.bound or "", 0)
    return reading.value + past * abs(reading.value) * _PAST


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= _SAME * max(abs(a), abs(b), 1e-9)


def _shown(value: float) -> float:
    """The limit as it is printed: three decimals, and four figures where it is smaller than that."""
    return round(value, 3) if abs(value) >= 1 else float(f"{value:.4g}")


__all__ = [
    "Bound",
    "Dangerous",
    "Held",
    "Measured",
    "hold_against",
    "limit_for",
    "margin",
    "measure",
    "quantity_of",
    "rule_book",
]
