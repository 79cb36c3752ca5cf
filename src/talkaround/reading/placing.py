"""Which places hold for a component: those said, those carried over, both or all of them; and which place is in force next.

A place said holds; what it leaves open comes from the place in force where the component has that axis. Both, all four and
a plural without a side make several places of one. Rules, each the reason given for a place that was not said in full:
``place.in-force``, ``place.this-side``, ``place.other-side``, ``place.axle-in-force``, ``place.side-in-force``,
``place.of-its-owner``, ``place.all-of-them``, ``place.plural-means-both``, ``place.implied-by-part``, ``place.other-one``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import takewhile

from talkaround.reading.place_words import PlaceWords
from talkaround.reading.places import CORNERS, PlacesSaid, axes_of, implied
from talkaround.reading.state import Subject
from talkaround.reading.types import NOWHERE, Clause, Finding, Place, Said, Why

Spot = tuple[Place, list[Why]]
"""A place with the reasons for what of it was not said."""

# Systems that sit at the wheels: for their parts the place in force holds though it was no heading.
AT_THE_WHEELS = frozenset("brakes air-brakes suspension steering tires-and-wheels driveline running-gear".split())


_SIDE_WITHIN = 3
# "Needs four tires", "order me four shocks".
_NEEDS = frozenset("need want order me us quote fit rec recommend suggest replace".split())


class PlaceRules(PlaceWords):
    """The walk's rules for the places that hold, and the findings there."""

    def _findings(self, subjects: list[Subject], places: PlacesSaid) -> list[Finding]:
        """The findings of each component at each place that is meant; puts the place said in force."""
        targets: list[tuple[str, Place, list[Why]]] = []
        groups = places.complete()
        for t in subjects:
            for place, why in self._places_for(t, groups, places):
                component = self._refine(t.component, place)
                targets.append((component, self._fit(component, place), why))
        self._leave_at(groups, places)
        self._follow_to_its_axle(subjects, groups)
        return [self._finding(*target) for target in targets]

    def _follow_to_its_axle(self, subjects: list[Subject], groups: list[Place]) -> None:
        """ "Right steer tire ..., chamber on this side": a part that is always at one axle takes the talk there."""
        own = {implied(c).axle for c in (self.v.components[t.component] for t in subjects) if c.system in AT_THE_WHEELS}
        axle = next(iter(own)) if len(own) == 1 else None
        if axle and self.s.place.axle and self.s.place.axle.isdigit() and self.s.place.axle != "1":
            self.s.place = self.s.place._replace(axle=axle)
        if axle == "front" and self.s.walk_side and len(groups) == 1 and groups[0].side:
            # The walk begins anew at the front of the other side.
            self.s.walk_side = groups[0].side

    def _finding(self, component: str, place: Place, why: list[Why]) -> Finding:
        """The finding of this component at this place, an earlier one where there is one."""
        for f in reversed(self.out.findings):
            if f.component == component and (f.place == place or (place == NOWHERE and f in self.s.focus)):
                return f
        f = Finding(component, place, why=[Why(w.field, w.rule, w.text) for w in why])
        always_there = implied(self.v.components[component]) != NOWHERE
        if always_there and place.axle and not any(w.field == "position" for w in f.why):
            f.why.append(Why("position", "place.implied-by-part", "this part is always there"))
        self.out.findings.append(f)
        return f

    # ----- the places of one component --------------------------------------------------------------------------------

    def _places_for(self, t: Subject, groups: list[Place], places: PlacesSaid) -> list[Spot]:
        s = self.s
        axes = axes_of(self.v.components[t.component])
        if places.all_four:
            if not self._both_by_plural(t, Place("front")):
                return [(Place(axle), []) for axle in ("front", "rear")]
            return [(place, []) for place in _each_place(axes)]
        other = places.other_side or (places.this_side and s.moving)
        base = s.place.other_side() if other else self._here() if places.this_side else s.place
        if groups:
            return [spot for g in groups for spot in self._places_at(t, g, base, places, axes)]
        both_here = self._both_here(t, base, places, axes)
        if both_here:
            return [(place, [_why("place.this-side", _was_at(base))]) for place in both_here]
        if places.both or places.neither:
            return [(place, []) for place in self._both(t, base, places, axes)]
        pointed = places.this_side or places.other_side
        owners = self._owners_in_focus(t) if "side" in axes and not pointed else []
        there = self._where_owners_are(t, [f.place for f in owners])
        if there:
            name = self.v.components[owners[0].component].name
            why = [_why("place.of-its-owner", f"it belongs to the {name} just spoken of")]
            return [(place, why) for place in there]
        carried = self._carried(t, base, pointed)
        if t.plural and self._needs_four(t) and not pointed:
            carried = NOWHERE
        by_side = t.plural and carried.side and carried.axle and self._both_by_plural(t, carried)
        if by_side and not (s.kept or pointed) and self._spoke_of_both_sides(carried.axle):
            # "Left front pads 3 mm, right front 3 mm, rotors have a lip".
            carried = Place(carried.axle)
        if t.plural and not carried.side:
            by_corner = {"axle", "side"} <= axes and not (t.component == "tire" and self.duals)
            of_all = self._all_of(t) if not carried.axle else not (s.kept or pointed) and self._spoke_of_both_axles(t)
            if by_corner and of_all and self._both_by_plural(t, Place("front")):
                four = [_why("place.all-of-them", "all of them were spoken of")]
                return [(place, four) for place in CORNERS]
            if "side" in axes and not pointed and self._both_by_plural(t, carried):
                both = [_why("place.plural-means-both", "the part was named in the plural with no side")]
                return [(place, both) for place in _sides(carried)]
        if carried == NOWHERE:
            return [(carried, [])]
        rule = "place.other-side" if other else "place.this-side" if places.this_side else "place.in-force"
        return [(carried, [_why(rule, _was_at(carried))])]

    def _places_at(self, t: Subject, said: Place, base: Place, places: PlacesSaid, axes: set[str]) -> Iterable[Spot]:
        """The places meant by one place said."""
        place, why = self._completed(t, said, base, places, axes)
        both = places.both or places.neither
        if places.all_round and place.axle and not self._both_by_plural(t, place):
            return [(place, why)]
        if places.both and place.side and self.duals and t.component.endswith("tire"):
            return [(place._replace(depth=depth), why) for depth in ("outer", "inner")]
        if both and not place.side:
            return [(x, why) for x in _sides(place)]
        if both and "axle" in axes and not place.axle:
            return [(place._replace(axle=axle), why) for axle in ("front", "rear")]
        if both and "end" in axes:
            return [(place._replace(end=end), why) for end in ("forward", "rearward")]
        if t.plural and not place.side and "side" in axes and place.axle and self._both_by_plural(t, place):
            text = f"the part was named in the plural at the {place.axle}, with no side"
            return [(x, [_why("place.plural-means-both", text)]) for x in _sides(place)]
        return [(place, why)]

    def _completed(self, t: Subject, said: Place, base: Place, places: PlacesSaid, axes: set[str]) -> Spot:
        """A place said, with what it leaves open from the place in force where that holds for the component."""
        if places.other_side or places.this_side:
            return said.over(base), []
        if said.axle and said.side:
            return said, []
        carried = self._carried(t, base, False)
        if said.side and implied(self.v.components[t.component]).axle and not carried.axle:
            return said, []
        if said.side:
            if carried.axle and ("axle" in axes or carried.axle.isdigit()):
                why = _why("place.axle-in-force", f"the note was at the {carried.axle} when it said this")
                return said._replace(axle=carried.axle), [why]
            return said, []
        of_this_side = not t.plural or (self.duals and t.component.endswith("tire") and self._here().side)
        if said.axle and said.axle.isdigit() and self.s.walk_side and "side" in axes and of_this_side:
            why = _why("place.side-of-the-walk", f"the talk was walking down the {self.s.walk_side} side")
            return said._replace(side=self.s.walk_side), [why]
        if said.axle:
            side_holds = self.s.kept and base.side and "side" in axes and self.s.heading.axle in (None, said.axle)
            if side_holds and not t.plural and not self._indefinite(t):
                why = _why("place.side-in-force", f"the note was on the {base.side} when it said this")
                return said._replace(side=base.side), [why]
            return said, []
        if said.extra:
            return said, []
        return said.over(carried), [_why("place.in-force", _was_at(carried))] if carried != NOWHERE else []

    def _both(self, t: Subject, base: Place, places: PlacesSaid, axes: set[str]) -> list[Place]:
        """ "Both", "neither" with no place said: the two of whatever the component has two of."""
        if places.both and self.duals and base.side and self.s.kept and t.component.endswith("tire"):
            return [base._replace(depth=depth) for depth in ("outer", "inner")]
        if "side" in axes or not axes:
            return _sides(Place(base.axle if "axle" in axes else None))
        if "depth" in axes:
            return [base._replace(depth=depth) for depth in ("inner", "outer")]
        if "level" in axes:
            return [base._replace(level=level) for level in ("upper", "lower")]
        if "axle" in axes:
            return [Place(axle) for axle in ("front", "rear")]
        return [NOWHERE]

    def _both_here(self, t: Subject, base: Place, places: PlacesSaid, axes: set[str]) -> list[Place]:
        """ "Both ball joints over here": the upper and the lower one; "both calipers on this side": front and rear."""
        if not (
            places.both and places.this_side and base.side and t.plural and self._word(t.mention.begin - 1) == "both"
        ):
            return []
        kinds = [implied(self.v.components[o]) for o in self.v.kinds.get(t.component, ())]
        if {"upper", "lower"} <= {k.level for k in kinds}:
            return [base._replace(level=level) for level in ("upper", "lower")]
        if {"inner", "outer"} <= {k.depth for k in kinds}:
            return [base._replace(depth=depth) for depth in ("inner", "outer")]
        on_a_side = "side" in self._folds(t.mention.end, t.mention.end + _SIDE_WITHIN)
        return [Place(axle, base.side) for axle in ("front", "rear")] if on_a_side and {"axle", "side"} <= axes else []

    def _spoke_of_both_axles(self, t: Subject) -> bool:
        """ "Front pads 7, rears 6, hoses good": what was just said of one part at both ends holds for the next."""
        last = self.s.recent[-1].component if self.s.recent else ""
        run = list(takewhile(lambda f: f.component == last, reversed(self.s.recent)))
        alike = last and self.v.components[last].system == self.v.components[t.component].system
        return bool(alike) and {"front", "rear"} <= {f.place.axle for f in run}

    def _spoke_of_both_sides(self, axle: str | None) -> bool:
        return {"left", "right"} <= {f.place.side for f in self.s.recent if f.place.axle == axle}

    def _owners_in_focus(self, t: Subject) -> list[Finding]:
        """The parts at a side, just spoken of, that the component belongs to or that belong to it."""
        here = (f for f in self.s.focus if f in self.s.recent and f.place.side)
        owners = [f for f in here if self._belongs(t.component, f.component)]
        return [f for f in owners if f.component == owners[0].component]

    def _where_owners_are(self, t: Subject, places: list[Place]) -> list[Place]:
        """Where a part is whose owners are at these places; nowhere where one part may be at any of several."""
        if len(places) < 2:
            return places
        by_axle = {Place(p.axle) for p in places}
        if len(by_axle) == 1 and not self._both_by_plural(t, places[0]):
            # "Both front calipers are seized, pads are fine".
            return list(by_axle)
        return places if t.plural else []

    def _carried(self, t: Subject, base: Place, pointed: bool) -> Place:
        """What of the place in force holds for a component that was named without one; ``pointed``: "this side"."""
        comp = self.v.components[t.component]
        axes, own_axle = axes_of(comp), implied(comp).axle
        if not axes & {"axle", "side"} or (not pointed and self._indefinite(t)):
            return NOWHERE
        holds = pointed or self.s.kept
        at_front = {"front", "1"}
        elsewhere = base.axle and own_axle and (base.axle in at_front) != (own_axle in at_front)
        if elsewhere:
            return Place(None, base.side) if holds else NOWHERE
        if not holds and comp.system not in AT_THE_WHEELS:
            return NOWHERE
        has_axle = "axle" in axes or bool(own_axle) or (base.axle or "").isdigit()
        return Place(base.axle if has_axle else None, base.side if "side" in axes else None)

    def _indefinite(self, t: Subject) -> bool:
        """ "A tail lamp is out", "one of the calipers": it may be any, so the side in force does not hold for it."""
        folds = self._folds(max(0, t.mention.begin - 5), t.mention.begin)
        one_of = any(folds[n : n + 2] == ["one", "of"] for n in range(len(folds)))
        return one_of or "either" in folds or folds[-1:] in (["a"], ["an"])

    def _all_of(self, t: Subject) -> bool:
        """ "Tires are all 5/32", "all the tires", "needs four tires": each of them."""
        return self._needs_four(t) or "all" in self._folds(max(0, t.mention.begin - 3), t.mention.end + 3)

    def _needs_four(self, t: Subject) -> bool:
        counted = self._word(t.mention.begin - 1) in ("four", "4")
        return counted and self._word(t.mention.begin - 2) in _NEEDS

    def _both_by_plural(self, t: Subject, place: Place) -> bool:
        """Pads, shoes and linings are read for an axle; other parts named in the plural are one a side."""
        if any(w in t.component for w in ("pad", "shoe", "lining")):
            return False
        comp = self.v.components[t.component]
        return "axle" not in axes_of(comp) or bool(place.axle or implied(comp).axle)

    def _fit(self, component: str, place: Place) -> Place:
        """``place`` without the axes that the component does not have, with those that it implies."""
        comp = self.v.components[component]
        axes, own = axes_of(comp), implied(comp)
        axle = place.axle or None
        if axle in ("front", "rear") and not axes & {"axle", "side"} and axle != own.axle:
            axle = None
        side = None if place.side == "center" and "side" not in axes else place.side
        if comp.kind == "fluid" and not axes:
            # "Brake fluid ok, PS ...": a fluid is in one place.
            side = None
        level = place.level if "level" in axes or own.level else None
        has_depth = "depth" in axes or own.depth or (self.duals and component.endswith("tire"))
        depth = place.depth if has_depth else None
        end = place.end if "end" in axes or own.end else None
        return Place(axle, side, level, depth, end).over(own)._replace(extra=place.extra)

    # ----- places of findings that are there already ------------------------------------------------------------------

    def _siblings(self, before: list[Finding]) -> list[Finding]:
        """The other one of each finding: at the other side, or at the other end."""
        out = []
        for f in before:
            if f.place.side is None and "side" in axes_of(self.v.components[f.component]):
                # "Front pads four, same on the other side": one reading each.
                f.place = f.place._replace(side="left")
            place = f.place.other_side()
            if place.side is None and f.place.end:
                place = f.place._replace(end="forward" if f.place.end == "rearward" else "rearward")
            out.append(self._finding(f.component, place, [_why("place.other-one", "the note spoke of the other one")]))
        return out

    def _spread(self, c: Clause, places: PlacesSaid) -> bool:
        """A place said behind the statement: "loose over here, inner and outer", "four left on them, both sides"."""
        s = self.s
        if any(f not in s.recent for f in s.focus) or places.reset or places.other_side or c.sentence != s.sentence:
            return False
        groups = places.complete()
        new: list[Finding] = []
        for f in list(s.focus):
            spots = [g.over(f.place) for g in groups]
            if places.both:
                if _side_is_carried(f):
                    spots = [x._replace(side=None) for x in (spots or [f.place])]
                elif f.place.side is not None or "side" not in axes_of(self.v.components[f.component]):
                    return False
                spots = [place for x in (spots or [f.place]) for place in _sides(x)]
            elsewhere = any(
                (g.side and f.place.side and g.side != f.place.side)
                or (g.axle and f.place.axle and g.axle != f.place.axle)
                for g in groups
            )
            if elsewhere or not spots:
                return False
            general = self._general(f.component)
            for n, spot in enumerate(spots):
                component = self._refine(general, spot) if (spot.level or spot.depth) else f.component
                place = self._fit(component, spot)
                if n == 0:
                    f.component, f.place = component, place
                    new.append(f)
                else:
                    twin = _twin(f, component, place)
                    self.out.findings.append(twin)
                    new.append(twin)
        for f in new:
            self._rest_on(f, self._chars(c))
        self._focus_on(new)
        return bool(new)

    # ----- the place in force -----------------------------------------------------------------------------------------

    def _leave_at(self, groups: list[Place], places: PlacesSaid) -> None:
        """Where the walk stands after a statement that said places."""
        s = self.s
        if len(groups) == 1 and not places.both and not places.all_four:
            self._move(places, keep=s.kept and places.other_side)
        elif places.other_side or places.this_side:
            self._move(places, keep=s.kept)
        elif len(groups) > 1:
            last = groups[-1]
            if last.axle and last.side:
                # "Left front and right rear calipers ...": what comes next may be at either.
                axles = {g.axle for g in groups}
                here = Place(axles.pop() if len(axles) == 1 else None) if places.listed else last
                s.place, s.kept = Place(here.axle, here.side), False
        elif places.both or places.all_four:
            s.place = Place(groups[0].axle if groups else s.place.axle, None)

    def _here(self) -> Place:
        """ "Pads are at two, the other side's at six, rotor on this side is grooved": nobody has walked over there."""
        s = self.s
        stayed = s.stands_at.side and s.stands_at.axle == s.place.axle and not s.moving
        return s.stands_at if stayed else s.place

    def _move(self, places: PlacesSaid, *, keep: bool) -> bool:
        """Put the clause's place in force; True where that changed or confirmed one."""
        s = self.s
        groups = places.complete()
        if places.other_side:
            flipped = s.place.other_side()
            s.place = groups[0].over(flipped) if groups else flipped
            s.kept = s.kept or keep
            if keep and s.walk_side:
                s.walk_side = s.place.side
            s.moving = False
            return True
        if places.this_side:
            s.place, s.stands_at = self._here(), NOWHERE
            if groups:
                s.place = groups[0].over(s.place)
            elif s.moving:
                s.place = s.place.other_side()
            s.moving = False
            return True
        if len(groups) > 1:
            s.place, s.kept = NOWHERE, False
        if len(groups) != 1:
            return False
        g = groups[0]
        if keep and g.side and not g.axle:
            s.walk_side = g.side
        if g.axle and g.side:
            s.place = g
        elif g.side:
            s.place = Place(s.place.axle, g.side)
        elif g.axle and s.kept and not keep:
            # A heading for one side holds over both axles; one for a corner ends where the talk goes to the other axle.
            same_corner = s.place.axle in (None, g.axle) or s.heading.axle is None
            s.place = Place(g.axle, s.place.side if same_corner else None)
            s.kept = same_corner
            return True
        elif g.axle and g.axle.isdigit() and (s.walk_side or (keep and s.heading.side)):
            # Walking down one side of a truck, axle by axle.
            s.place = Place(g.axle, s.walk_side or s.heading.side)
            s.kept = s.kept or keep
            return True
        elif g.axle:
            s.place = Place(g.axle, None)
        else:
            return False
        s.kept = keep
        if keep:
            s.heading = s.place
        s.moving, s.stands_at = False, NOWHERE
        return True


def _why(rule: str, text: str) -> Why:
    return Why("position", rule, text)


def _side_is_carried(f: Finding) -> bool:
    """Whether nobody said the side of the finding: it is the one in force, and "both" behind it says otherwise."""
    return f.place.side is not None and any(w.rule in ("place.in-force", "place.side-in-force") for w in f.why)


def _sides(place: Place) -> list[Place]:
    return [place._replace(side=side) for side in ("left", "right")]


def _each_place(axes: set[str]) -> list[Place]:
    if {"axle", "side"} <= axes:
        return list(CORNERS)
    return _sides(NOWHERE) if "side" in axes else [NOWHERE]


def _twin(f: Finding, component: str, place: Place) -> Finding:
    """The same said of another component or place."""
    return replace(
        f,
        component=component,
        place=place,
        conditions=[Said(x.id, x.degree) for x in f.conditions],
        readings=[replace(r, copied=False) for r in f.readings],
        severity=list(f.severity),
        spans=list(f.spans),
        why=list(f.why),
    )


def _was_at(place: Place) -> str:
    axle = f"axle {place.axle}" if place.axle and place.axle.isdigit() else place.axle
    return f"the note was at the {' '.join(w for w in (place.side, axle) if w)} when it said this"
