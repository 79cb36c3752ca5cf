"""Which places a clause names in words: what "left" means, edges of a tire, numbers of cylinders, the places of "same".

Whether those places hold, and what is carried over from before, is decided in ``placing``.
"""

from __future__ import annotations

from collections.abc import Iterable

from talkaround.reading.places import PlacesSaid, axes_of, places_said
from talkaround.reading.state import Subject
from talkaround.reading.subjects import SubjectRules
from talkaround.reading.types import NOWHERE, Clause, Mention, Quantity

# Behind these "left" means remaining.
_LEFT_OVER = frozenset(
    "mm inch millimeter plenty nothing meat tread percent % life much pad bit lot some any lining 32 32nd second".split()
)
_BEFORE_CYLINDER = frozenset({"#", "no", ".", "number", "&", "and", "+", ",", "on", "in", "cylinder"})
_BEFORE_PLACE = frozenset({"the", "on", "at"})
_NUMBERED = frozenset({"number", "no", "#", "cylinder", "cyl"})
# Clauses behind the word "edge" in which inner and outer are still edges though there may be two tires a side.
_EDGES_REACH = 2
_MOST_CYLINDERS = 16
# Carpet and the like: what drips on it is no part of it.
_TRIM_SYSTEM = "body"


class PlaceWords(SubjectRules):
    """The walk's rules for the places that a clause names."""

    def _only_beside(self, subjects: list[Subject], context: list[Subject]) -> list[Subject]:
        """ "Heater core leaking on the passenger carpet": the side is the carpet's where the part itself has none."""
        own = any("side" in axes_of(self.v.components[t.component]) for t in subjects)
        if own or not subjects:
            return []
        # A hose on the right ramp is on the right; a drip on the right carpet comes from wherever the part is.
        return [t for t in context if self.v.components[t.component].system == _TRIM_SYSTEM]

    def _places_named(self, c: Clause, subjects: list[Subject], beside: Iterable[Subject] = ()) -> PlacesSaid:
        """The places that a clause names, but those of parts ``beside`` and edges of one part."""
        last = self.s.edges
        near = last is not None and last.sentence == c.sentence
        if near and self.duals and last is not None:
            near = c.number - last.number <= _EDGES_REACH
        edges = near or self._speaks_of_edges(subjects)
        others = {t.mention.begin for t in beside}
        skipped = self._left_over(c) | self._not_there(c) | {m.begin for m in c.mentions if m.end in others}
        return places_said(c, self.steering, edges, skipped, self.axles_numbered)

    def _not_there(self, c: Clause) -> set[int]:
        """ "The right strut is leaking, not the left": places that are named only as not meant."""
        out: set[int] = set()
        if not any("negation" in m.first for m in c.mentions):
            return out
        for m in c.mentions:
            k = m.begin - 1
            while m.tag("place") and self._word(k, since=c.begin) in _BEFORE_PLACE:
                k -= 1
            if m.tag("place") and self._word(k, since=c.begin) == "not":
                out.add(m.begin)
        return out

    def _left_over(self, c: Clause) -> set[int]:
        """Mentions of "left" that mean remaining: behind a unit or an amount."""
        out = set()
        for m in c.mentions:
            if not m.tag("place") or m.begin == 0 or self._folds(m.begin, m.end) != ["left"]:
                continue
            before, after = self._word(m.begin - 1), self._word(m.end)
            if before in _LEFT_OVER and self._right_is_next(c, m):
                continue
            if before in _LEFT_OVER and before != "second" and after not in ("front", "rear", "side"):
                out.add(m.begin)
                continue
            follows_quantity = any(q.end == m.begin and q.unit for q in c.quantities)
            nothing_behind = after in ("on", "in") or not after.isalnum()
            if follows_quantity and nothing_behind and self._word(m.end + 1) != "left":
                out.add(m.begin)
        return out

    def _right_is_next(self, c: Clause, left: Mention) -> bool:
        """ "22.4 millimeters left, 22.1 right": the two sides of a list, and nothing that remains."""
        after = self._next_in_sentence(c)
        quantities = [q for x in (c, after) if x is not None for q in x.quantities if q.begin > left.end]
        return bool(quantities) and self._word(quantities[0].end) == "right"

    def _speaks_of_edges(self, subjects: list[Subject]) -> bool:
        """Inner and outer of a tire are its edges, unless the vehicle has duals."""
        if self.duals:
            return False
        ids = (
            [t.component for t in subjects]
            or [t.component for t in self.s.topic]
            or [f.component for f in self.s.focus]
        )
        return bool(ids) and all("tire" in (i, self.v.components[i].kind_of) for i in ids)

    def _number_cylinders(self, c: Clause, subjects: list[Subject], places: PlacesSaid) -> None:
        """ "Glow plugs 1 & 4", "coil 3": numbers right behind such a part are places, no readings."""
        numbers = self._cylinders(c, subjects) or self._cylinder_meant(c, subjects) or self._on_cylinder(c, subjects)
        if numbers:
            c.quantities = [q for q in c.quantities if q not in numbers]
            places.groups = [
                g._replace(extra=(f"cylinder={int(q.values[0])}",))
                for q in numbers
                for g in (places.groups or [NOWHERE])
            ]

    def _cylinder_meant(self, c: Clause, subjects: list[Subject]) -> list[Quantity]:
        """ "Ignition coils: number two is cracked": of a part that was named before."""
        known = self.v.components
        ids = [t.component for t in self.s.topic] or [f.component for f in self.s.focus]
        if subjects or not ids or not all("cylinder" in known[i].places for i in ids):
            return []
        return [
            q
            for q in c.quantities
            if q.unit is None and len(q.values) == 1 and self._word(q.begin - 1, since=c.begin) in _NUMBERED
        ]

    def _on_cylinder(self, c: Clause, subjects: list[Subject]) -> list[Quantity]:
        """ "One forty on cylinder one ... ninety on three": the number behind "on" is the cylinder."""
        of = [t.component for t in subjects] or [f.component for f in self.s.focus]
        if len(c.quantities) != 2 or not any("cylinder" in self.v.components[x].places for x in of):
            return []
        reading, last = c.quantities
        whole = last.unit is None and len(last.values) == 1 and last.values[0] in range(1, _MOST_CYLINDERS + 1)
        return [last] if whole and self._folds(reading.end, last.begin)[-1:] == ["on"] else []

    def _cylinders(self, c: Clause, subjects: list[Subject]) -> list[Quantity]:
        for t in subjects:
            if "cylinder" not in self.v.components[t.component].places:
                continue
            at = t.mention.end
            numbers: list[Quantity] = []
            for q in c.quantities:
                may_be_one = q.unit is None and len(q.values) == 1 and q.values[0] in range(1, _MOST_CYLINDERS + 1)
                if not may_be_one or not _BEFORE_CYLINDER.issuperset(self._folds(at, q.begin)):
                    break
                numbers.append(q)
                at = q.end
            if numbers:
                return numbers
        return []

    def _where_same(self, c: Clause, places: PlacesSaid) -> None:
        """ "Same on this side", "same on the other": the place inside the words of sameness."""
        for m in c.mentions:
            if not m.tag("same"):
                continue
            folds = self._folds(m.begin, m.end)
            if "as" in folds:
                continue
            if "other" in folds and not m.tag("other-one"):
                places.other_side = True
            elif "here" in folds or ("this" in folds and "side" in folds):
                places.this_side = True

    def _ends_of_arm(self, subjects: list[Subject], places: PlacesSaid, heading: PlacesSaid) -> None:
        """Under a heading that names the axle, "front bush" and "rear bush" are the ends of the arm."""
        axle = next((g.axle for g in heading.complete() if g.axle), None)
        if axle is None or not all("end" in axes_of(self.v.components[t.component]) for t in subjects):
            return
        ends = {"front": "forward", "rear": "rearward"}
        places.groups = [g._replace(axle=axle, end=ends[g.axle]) if g.axle in ends else g for g in places.groups]
