"""Which numbers are readings, in what unit, and which of the findings take them.

A bare number takes the unit of the heading, of what its component is measured in, or of readings that it has already. Rules:
``place.two-with-a-stroke``, ``place.four-in-a-row``, ``place.cylinders-in-a-row``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping

from talkaround.reading.clauses import is_subject
from talkaround.reading.places import CORNERS, PlacesSaid, axes_of
from talkaround.reading.placing import PlaceRules
from talkaround.reading.types import NOWHERE, Clause, Doubt, Finding, Place, Quantity, Reading, Said, Why
from talkaround.vocabulary.schema import Quantity as Measured
from talkaround.vocabulary.schema import Unit

# A bare number counts the noun behind it, unless that is one of these.
_NOT_COUNTED = frozenset(
    "on at in all both each across left right so now there here that it which and but front rear too even with to then "
    "as up is are over pretty still by or".split()
)
# Behind these a bare number is a count, a name or an order, no reading.
_BEFORE_NO_READING = frozenset(
    "need quote put do want bay type grade number no # dot of other these those next first last id any which this that "
    "recommend suggest advise rec adv order replace fit install "
    "the another code slip shift upshift downshift gear flare".split()
)
_BOUNDS = frozenset({"below", "under", "over", "above", "than"})
# Names of units that are as often something else.
_NO_UNIT_ALONE = frozenset({"in", "a", "c", "f", "m", "s", "h", "l", "second", "32"})
# Units that fit so few parts that a reading in them is dropped rather than given to one that does not take it.
_NARROW_UNITS = frozenset({"quart", "L", "clicks", "deg"})


# "Boils at 140", "freezes at".
_HEAT = frozenset({"boil", "boiling", "boiled", "freeze", "freezing", "protected"})
# The name of a quantity stands this many words before its number at most.
_NAMED_WITHIN = 5
# And a unit that is said once for a whole sentence this many: nobody keeps it in mind for longer.
_UNIT_WITHIN = 200


class ReadingRules(PlaceRules):
    """The walk's rules for numbers and who takes them."""

    def _readings_in(self, c: Clause) -> list[Quantity]:
        return [q for q in c.quantities if self._counts_as_reading(c, q)]

    def _counts_as_reading(self, c: Clause, q: Quantity) -> bool:
        if q.limit:
            return False
        if q.unit is not None:
            return not self._is_rating(c, q)
        behind = self._word(q.end, until=c.end)
        another = any(x.begin == q.end for x in c.quantities)
        if behind and behind.isalnum() and not another and behind not in _NOT_COUNTED:
            item = self.starts.get(q.end)
            if item is None or (is_subject(item) and item.begin < c.end) or item.tag("action"):
                return False
        if self._word(q.begin - 1) in _BEFORE_NO_READING:
            return False
        if self._word(q.begin - 1) in _BOUNDS and any(m.tag("negation") and m.end <= q.begin for m in c.mentions):
            # "None of the pads is below four": what it is not.
            return False
        return not (q.values == (1,) and self.words[q.begin].fold == "one")

    def _is_rating(self, c: Clause, q: Quantity) -> bool:
        """ "A 16 pound cap", "the 10 mm bolt": what sort of part it is, between its article and its name."""
        item = self.starts.get(q.end)
        named = item is not None and item.tag("component", "short") is not None
        return named and self._word(q.begin - 1, since=c.begin) in ("a", "an", "the")

    # ----- units ------------------------------------------------------------------------------------------------------

    def _unit_of_heading(self, c: Clause) -> str | None:
        """The unit that a heading says for the bare numbers below it ("tread in 32nds")."""
        named = {k for m in c.mentions for k in range(m.begin, m.end)}
        for k in range(c.begin, c.end):
            fold = self.words[k].fold
            unit = self.v.unit_phrases.get((fold,))
            if unit is not None and k not in named and fold not in _NO_UNIT_ALONE:
                return unit
        return "1/32 in" if self._says_thirty_seconds(c) else None

    def _says_thirty_seconds(self, c: Clause) -> bool:
        folds = self._folds(c.begin, c.end)
        return any(
            folds[k] in ("32nd", "32nds", "32s", "32") or folds[k : k + 2] == ["thirty", "second"]
            for k in range(len(folds))
        )

    def _unit_of(self, component: str, q: Quantity) -> str | None:
        """The unit of a quantity said of this component, or None where a bare number of that size means nothing of it."""
        comp = self.v.components[component]
        if q.signed and q.unit in (None, "deg"):
            return self._degrees() if self._measured_in(component, "degC") else q.unit
        if q.unit:
            return q.unit
        if self.s.unit and self._measured_in(component, self.s.unit):
            return self.s.unit
        book = "us" if self.steering == "left-hand" else "uk"
        units = self.v.units
        if _HEAT & set(self._folds(max(0, q.begin - _NAMED_WITHIN), q.begin)) and self._measured_in(component, "degC"):
            return self._degrees()
        measured, named = self._named_first(comp.measured, q)
        carried = self._unit_said_once(component, q) or (None if named else self._unit_carried_on(component, q))
        if carried:
            return carried
        said = [r.unit for f in self.out.findings if f.component == component for r in f.readings]
        for m in measured:
            quantity = self.v.quantities[m]
            bare = quantity.bare.get(book)
            if bare:
                alike = [u for u in said if u in units and units[u].dimension == units[bare].dimension]
                # A disc of 1.12 is no disc of that many millimetres, so inches are meant.
                tried = (u for u in (*alike, bare, *quantity.units) if can_be(quantity, q.values, u, units))
                unit = next(tried, None)
                if unit or "voltage" not in comp.measured:
                    return unit
        if "freeze-point" in comp.measured:
            return self._degrees()
        if "voltage" in comp.measured:
            return "V"
        return said[-1] if said else None

    def _unit_said_once(self, component: str, q: Quantity) -> str | None:
        """ "Tires psi LF 32 RF 33": a unit that stands by itself earlier in the sentence is that of all its numbers."""
        at = bisect_right(self.clauses, q.begin, key=lambda c: c.begin) - 1
        for c in reversed(self.clauses[: at + 1]):
            if c.sentence != self.clauses[at].sentence or q.begin - c.end > _UNIT_WITHIN:
                break
            for k in range(min(c.end, q.begin) - 1, c.begin - 1, -1):
                fold = self.words[k].fold
                unit = self.v.unit_phrases.get((fold,))
                if not unit or fold in _NO_UNIT_ALONE or any(x.begin <= k < x.end for x in c.quantities):
                    continue
                if self._measured_in(component, unit):
                    return unit
        return None

    def _unit_carried_on(self, component: str, q: Quantity) -> str | None:
        """ "LF 32 psi, RF 33, LR 30": a list goes on in the units that it began in, one after the other."""
        at = bisect_right(self.clauses, q.begin, key=lambda c: c.begin) - 1
        here, before = self.clauses[at], self.clauses[at - 1] if at > 0 else None
        if before is None or before.sentence != here.sentence or len(before.quantities) != len(here.quantities):
            return None
        alike = before.quantities[here.quantities.index(q)] if q in here.quantities else None
        if alike is None:
            return None
        span = self.words[alike.begin].begin, self.words[alike.end - 1].end
        said = (r.unit for f in self.out.findings if f.component == component for r in f.readings if r.span == span)
        return next(said, None)

    def _named_first(self, measured: tuple[str, ...], q: Quantity) -> tuple[list[str], bool]:
        """What is measured on a part, first what the words before the number name ("pressures are all 35"), if any."""
        before = set(self._folds(max(0, q.begin - _NAMED_WITHIN), q.begin))
        named = [m for m in measured if before & set(self.v.quantities[m].name.split())]
        return [*named, *(m for m in measured if m not in named)], bool(named)

    def _measured_in(self, component: str, unit: str) -> bool:
        """Whether one of the component's quantities is read in units of this dimension."""
        units = self.v.units
        return unit in units and units[unit].dimension in {units[u].dimension for u in self._units_of(component)}

    def _degrees(self) -> str:
        return "degF" if self.steering == "left-hand" else "degC"

    def _accepts(self, component: str, q: Quantity) -> bool:
        """Whether the component is measured in what the quantity is."""
        unit = self._unit_of(component, q)
        return unit is not None and (q.unit is None or self._measured_in(component, unit))

    def _units_of(self, component: str) -> set[str]:
        """The units that the component is measured in."""
        measured = self.v.components[component].measured
        return {u for m in measured for u in self.v.quantities[m].units if u in self.v.units}

    def _reads_like_tires(self, quantities: list[Quantity], places: PlacesSaid) -> bool:
        """A depth at a wheel position with no part named, as in the tire table of a truck's sheet."""
        groups = places.groups or ([NOWHERE] if places.both and self.duals else [])
        if not quantities or not groups or self.s.topic or self.s.header in ("brakes", "air-brakes"):
            return False
        if "tire" not in self.v.components:
            return False
        first = quantities[0]
        at_a_corner = any(g.side and g.axle for g in (g.over(self.s.place) for g in groups))
        like_a_depth = first.unit in (None, "mm") and self.duals and 1 <= first.values[0] < 25
        return at_a_corner and (first.unit in ("1/32 in", "psi") or like_a_depth)

    # ----- who takes them -----------------------------------------------------------------------------------------------

    def _bind_readings(self, c: Clause, targets: list[Finding], quantities: list[Quantity]) -> None:
        """Give each reading to the findings that take it; ``targets`` may become the places that a row of readings means."""
        if self._one_for_each(targets, quantities):
            return
        for q in quantities:
            if q.pair:
                self._left_and_right(targets, q)
        for q in quantities:
            if q.row and targets:
                self._one_a_place(targets, q)
        for q in quantities:
            if q.pair or q.row:
                continue
            for f in self._takers(targets, q):
                if f not in targets:
                    self._rest_on(f, self._chars(c))
                self._take(f, q)
        for q in c.quantities:
            if q.limit:
                self._bind_limit(targets, q)

    def _one_for_each(self, targets: list[Finding], quantities: list[Quantity]) -> bool:
        """ "OSF NSF OSR NSR 7 7 6 6": as many readings as places, in the same order."""
        if (
            not len(targets) == len(quantities) >= 2
            or len({f.component for f in targets}) != 1
            or len({q.unit for q in quantities}) != 1
            or any(q.pair for q in quantities)
        ):
            return False
        for f, q in zip(targets, quantities, strict=True):
            unit = self._unit_of(f.component, q)
            if unit is not None and self._accepts(f.component, q):
                f.readings += self._as_readings(q, unit)
        return True

    def _as_readings(self, q: Quantity, unit: str) -> list[Reading]:
        """The values of a quantity, each with the characters that say it."""
        span = self.words[q.begin].begin, self.words[q.end - 1].end
        return [Reading(v, unit, bound=q.bound, span=span) for v in q.values]

    def _takers(self, targets: list[Finding], q: Quantity) -> list[Finding]:
        """The targets that are measured in it, else the last finding of the sentence that is, else any target."""
        takers = [f for f in targets if self._accepts(f.component, q)]
        takers = takers or [f for f in reversed(self.s.recent) if self._accepts(f.component, q)][:1]
        if takers or q.unit is None or q.unit in _NARROW_UNITS:
            return takers
        return targets

    def _take(self, f: Finding, q: Quantity) -> None:
        unit = self._unit_of(f.component, q)
        if unit is None:
            return
        f.readings = [r for r in f.readings if not (r.copied and r.unit == unit and r.value not in q.values)]
        if q.only and unit in ("psi", "bar", "kPa") and not any(x.id == "low" for x in f.conditions):
            f.conditions.append(Said("low"))
        for reading in self._as_readings(q, unit):
            if not any((r.value, r.unit) == (reading.value, reading.unit) for r in f.readings):
                f.readings.append(reading)

    def _bind_limit(self, targets: list[Finding], q: Quantity) -> bool:
        """Put a limit that the note names to the readings it can be one of; False where it is none of theirs."""
        if "new" in self._folds(max(0, q.begin - 3), q.begin):
            # "Six millimeters, new is twelve": what it once was, and no limit.
            return False
        bound = False
        for r in (r for f in targets for r in f.readings if r.limit is None):
            limit = self._in_unit(q, r.unit)
            if limit is not None and q.unit is None and r.unit == "in" and limit >= 1 > abs(r.value) * 5:
                # "Sixty thousandths of play, limit is fifty".
                limit /= 1000
            # A limit without a unit must be of the reading's size.
            if limit is not None and (q.unit is not None or 0.2 < limit / (abs(r.value) or 1) < 5):
                r.limit, bound = limit, True
        return bound

    def _in_unit(self, q: Quantity, unit: str) -> float | None:
        """A limit in a reading's unit; None where the two are not of one dimension."""
        if q.unit in (None, unit):
            return q.values[0]
        here, there = self.v.units.get(q.unit or ""), self.v.units.get(unit)
        if here is None or there is None or here.dimension != there.dimension:
            return None
        return round((q.values[0] * here.factor + here.offset - there.offset) / there.factor, 6)

    def _left_and_right(self, targets: list[Finding], q: Quantity) -> None:
        """ "Steer 13/12": the first is the left one, the second the right one."""
        base = targets[0] if targets else None
        unit = self._unit_of(base.component, q) if base else None
        if base is None or unit is None:
            return
        sides = {f.place.side: f for f in targets}
        if len(targets) == len(q.values) == 2 and sides.keys() == {"left", "right"}:
            for side, reading in zip(("left", "right"), self._as_readings(q, unit), strict=True):
                sides[side].readings.append(reading)
            return
        if base.place.side or "side" not in axes_of(self.v.components[base.component]):
            base.readings += self._as_readings(q, unit)
            return
        places = [base.place._replace(side=side) for side in ("left", "right")]
        why = Why("position", "place.two-with-a-stroke", "two readings with a stroke between are left and right")
        spread = self._spread_readings(base, places, q, unit, why)
        if not base.says_something() and base in self.out.findings:
            self.out.findings.remove(base)
        targets[:] = spread

    def _one_a_place(self, targets: list[Finding], q: Quantity) -> None:
        """A row of readings goes to as many places: those named, the four corners, or the cylinders in their order."""
        base = targets[0]
        unit = self._unit_of(base.component, q)
        if unit is None or not self._measured_in(base.component, unit):
            return
        if len(targets) == len(q.values) and len({f.component for f in targets}) == 1:
            for f, reading in zip(targets, self._as_readings(q, unit), strict=True):
                f.readings.append(reading)
            return
        comp = self.v.components[base.component]
        count = len(q.values)
        if count == len(CORNERS) and {"axle", "side"} <= axes_of(comp) and base.place.side is None:
            order = "four readings in a row go left front, right front, left rear, right rear"
            why, places = Why("position", "place.four-in-a-row", order), list(CORNERS)
        elif "cylinder" in comp.places and not base.place.extra:
            order = "as many readings in a row as cylinders go from the first cylinder to the last"
            why = Why("position", "place.cylinders-in-a-row", order)
            places = [base.place._replace(extra=(f"cylinder={n}",)) for n in range(1, count + 1)]
        else:
            # Nothing tells which is which, so all stand with the one line, and the writer asks.
            base.readings += self._as_readings(q, unit)
            text = f"{count} readings in a row of the {comp.name}: which was taken where?"
            self.unplaced.append((base, text))
            return
        spread = self._spread_readings(base, places, q, unit, why)
        if not base.spans:
            # It is new in this clause, so what was said of it was said of each.
            for f in spread:
                f.good = f.good or base.good
                f.conditions += [x for x in base.conditions if all(x.id != y.id for y in f.conditions)]
                f.severity += [x for x in base.severity if x not in f.severity]
        if base in self.out.findings and not (base.spans and base.says_something()):
            self.out.findings.remove(base)
        targets[:] = spread

    def _ask_where_taken(self) -> None:
        """Ask back of rows of readings that no places were found for."""
        for f, text in self.unplaced:
            self.out.doubts.append(Doubt("measurement", text, [], f))

    def _spread_readings(self, base: Finding, places: list[Place], q: Quantity, unit: str, why: Why) -> list[Finding]:
        """One finding of the base's component at each place, each with its own reading."""
        out: list[Finding] = []
        for place, reading in zip(places, self._as_readings(q, unit), strict=True):
            f = next((x for x in self.out.findings if x.component == base.component and x.place == place), None)
            if f is None:
                f = Finding(base.component, place, why=[Why(why.field, why.rule, why.text)])
                self.out.findings.append(f)
            f.readings.append(reading)
            f.spans += [x for x in base.spans if x not in f.spans]
            out.append(f)
        return out


def can_be(quantity: Measured, values: tuple[float, ...], unit: str, units: Mapping[str, Unit]) -> bool:
    """Whether the quantity can be as small or as large as these values of a unit."""
    if quantity.usual is None or unit not in units:
        return quantity.usual is None
    first = units[quantity.units[0]]
    low, high = quantity.usual
    return all(
        low <= (v * units[unit].factor + units[unit].offset - first.offset) / first.factor <= high for v in values
    )
