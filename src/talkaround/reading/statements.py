"""What a clause of the writer's own is: a statement, a heading (place or topic), a need that follows, or talk.

Rules: ``place.reset``, ``place.set``, ``place.said-after``, ``place.same-to-come``, ``topic.named``, ``topic.place``,
``topic.all-but``, ``topic.all-but-there``, ``topic.all-of-them``, ``say.none-but``, ``say.rest-faulty``,
``say.of-both``, ``say.there-too``, ``say.one-of-them``, ``say.all-but-it``, ``say.needs-listed``,
``say.read-before-naming``, ``say.lamp-lit``, ``say.no-lamp-lit``, ``say.lamp-out``, ``ruled-out.twin``,
``aside.not-that``, ``vehicle.described``, ``say.so-needs``, ``aside.tally``, ``aside.nothing-said``; what says
something goes on to ``saying``, what corrects to ``corrections``.
"""

from __future__ import annotations

from dataclasses import replace

from talkaround.reading.clauses import PREPOSITIONS, has_predicate, is_predicate, is_subject, kinds_in, names_part
from talkaround.reading.corrections import CorrectionRules
from talkaround.reading.places import PlacesSaid, add_place, axes_of, clash, resolved
from talkaround.reading.placing import AT_THE_WHEELS
from talkaround.reading.predicates import WORKING
from talkaround.reading.saying import SayingRules
from talkaround.reading.state import Heard, Subject
from talkaround.reading.types import LAMP_LIT, NOWHERE, Aside, Clause, Doubt, Finding, Mention, Place, Said, Why

_JOINS_NEEDS = frozenset({"and", "plus", "+", "&"})
_JOINS = _JOINS_NEEDS | {"or", "nor"}
_NOT_IT = frozenset({"not", "isnt", "arent"})
_IS_NOT = frozenset("isnt doesnt not wasnt arent dont didnt hasnt havent".split())

_TOO = frozenset({"too", "also", "likewise"})
_IS = frozenset("is are was were does do did has have".split())
_SAY_NO_PART = frozenset("all of them they the is are was were and so but everything every one it four both".split())
_LEVELS = frozenset({"required", "suggested", "advised"})
_WORKS_OR_NOT = frozenset({"horn", "brake-system", "parking-brake"})
_WARNING_LAMP = "warning-lamp"
_LIT = frozenset("lit illuminated flashing flash blinking blink glowing".split())
_OUT = frozenset({"out", "off"})
_BEFORE_LIT = frozenset(
    "is are was were has have been came come went gone stay stayed keep still just also now intermittently".split()
)
_BEHIND_ON = frozenset(
    "with during while again as and for solid steady at all now code when but so after since due in the dash constantly "
    "permanently".split()
) | {",", ".", ";", "-", "\n", "(", "!"}
_STOPS = frozenset(",.;\n")
_AT_ALL = frozenset("at all on the either side whatsoever".split())


class StatementRules(SayingRules, CorrectionRules):
    """The walk's rules for what kind of clause it is."""

    def _statement(self, c: Clause, has: set[str]) -> str:
        s = self.s
        if "edge" in has:
            s.edges = c
        if self._heads_needs(c):
            self._aside(c, "chatter", "heads what is needed")
            return "say.needs-listed"
        fitted = self._fitted_instead(c, has)
        if fitted is not None:
            return fitted
        subjects, objects, context = self._subjects(c)
        if c.opened_by == "which" and not subjects:
            subjects = self._last_named(c)
        h = Heard(
            clause=c,
            has=has,
            places=self._places_named(c, subjects, self._only_beside(subjects, context)),
            subjects=subjects,
            objects=objects,
            context=context,
            predicates=[m for m in c.mentions if is_predicate(m)],
            quantities=[],
            corrects="correction" in has or s.correcting,
        )
        if h.places.reset:
            s.place, s.heading, s.kept, s.walk_side = NOWHERE, NOWHERE, False, None
            if not h.subjects and not h.predicates:
                self._drop_topic()
                self._aside(c, "chatter")
                return "place.reset"
        if self._is_tally(h):
            self._aside(c, "chatter", "a tally")
            return "aside.tally"
        if "delivered" in has and s.focus:
            h.subjects, h.objects, h.places = [], [], PlacesSaid()
        left_out = self._left_out(h)
        if left_out:
            return self._none_but(h, left_out) or self._all_but(h, left_out)
        if "except" in has and self._but_at_a_place(h):
            return "topic.all-but-there" if s.topic else "say.rest-faulty"
        self._number_cylinders(c, h.subjects or h.objects, h.places)
        h.quantities = self._readings_in(c)
        if "same" in has:
            self._where_same(c, h.places)
            if not h.subjects and not h.quantities and "other-one" not in has and self._subject_follows(c):
                self._move(h.places, keep=s.kept)
                self._aside(c, "chatter", "sets the place")
                return "place.same-to-come"
        if self._only_correcting(c, has):
            s.correcting = True
            self._aside(c, "taken-back", "corrects what was just said")
            return "correction.to-come"
        if ("correction" in has or s.correcting) and self._correct(h):
            return "correction.replaced"
        if self._follows_as_need(h):
            return self._needs(h)
        twin = self._twin_not_so(h) or self._shares(h)
        if twin:
            return twin
        if self._none_works(h):
            return "say.none-works"
        lamp = self._warns(h)
        if lamp:
            return lamp
        if self._limit_alone(h):
            return "say.limit-named"
        says = bool(h.predicates or h.quantities) and not self._only_filler(h)
        return self._say(h) if says or "same" in has else self._heading(h)

    def _last_named(self, c: Clause) -> list[Subject]:
        """The part that a "which" points back to."""
        named = [m for m in self.clauses[c.number - 1].mentions if is_subject(m)]
        if not named or not self.s.named:
            return []
        last = self.s.named[-1]
        return [Subject(last, named[-1], False)] if last in {t.value for t in named[-1].tags} else []

    def _none_works(self, h: Heard) -> bool:
        """ "No brake lights": of what only works or does not, none is as much as none that works."""
        c = h.clause
        if h.predicates or h.quantities or h.objects or h.context or len(h.subjects) != 1:
            return False
        t = h.subjects[0]
        lights = self.v.components[t.component].system == "lamps" and t.component.endswith(("lamp", "flashers"))
        if not (lights or t.component in _WORKS_OR_NOT) or self._lead(c, t.mention) != "no":
            return False
        there = {k for m in c.mentions if m.tag("place") for k in range(m.begin, m.end)}
        behind = (k for k in range(t.mention.end, c.end) if k not in there)
        if any(self.words[k].fold.isalnum() and self.words[k].fold not in _AT_ALL for k in behind):
            return False
        targets = self._of_subjects(h)
        for f in targets:
            f.conditions.append(Said("inoperative"))
            f.why.append(Why("conditions", "say.none-works", "the note says that there is none, so it does not work"))
            self._rest_on(f, self._chars(c))
        self._focus_on(targets)
        return True

    def _warns(self, h: Heard) -> str:
        """ "ABS light is on", "no warning lights": a lit lamp is no fault of its own, but tells of one to be looked for."""
        c = h.clause
        if h.objects or len(h.subjects) != 1:
            return ""
        t = h.subjects[0]
        if not self._is_kind_of(t.component, _WARNING_LAMP):
            return ""
        k = t.mention.end
        while self._word(k, until=c.end) in _BEFORE_LIT:
            k += 1
        said, behind = self._word(k, until=c.end), self._word(k + 1, until=c.end)
        lit = said in _LIT or (said == "on" and (behind in _BEHIND_ON or not behind))
        none = self._lead(c, t.mention) == "no" and (lit or not said or said in _STOPS)
        # "Stays on" is said of a lamp that is stuck, too; of one that warns it says no more than "on".
        elsewhere = any(m.begin < t.mention.begin or m.end > k + 1 for m in h.predicates)
        if said in _OUT and not elsewhere and self._goes_out(c, t.component):
            return "say.lamp-out"
        if not (lit or none) or elsewhere:
            return ""
        targets = self._of_subjects(h)
        for f in targets:
            if none:
                f.good = True
            elif f.verb is None:
                f.verb = "diagnose"
                f.why.append(Why("action", LAMP_LIT, "the warning lamp is lit: its cause is to be found"))
            self._rest_on(f, self._chars(c))
        self._focus_on(targets)
        return "say.no-lamp-lit" if none else LAMP_LIT

    def _goes_out(self, c: Clause, component: str) -> bool:
        """ "I plugged it back in and the lamp's out": what was lit before is seen to."""
        lit = [f for f in self.out.findings if f.component == component and any(w.rule == LAMP_LIT for w in f.why)]
        for f in lit:
            self.out.findings.remove(f)
            self.s.focus = [x for x in self.s.focus if x is not f]
            self.s.recent = [x for x in self.s.recent if x is not f]
            self.out.asides += [Aside(begin, end, "chatter", "the lamp went out again") for begin, end in f.spans]
        if lit:
            self._aside(c, "chatter", "the lamp went out again")
        return bool(lit)

    def _limit_alone(self, h: Heard) -> bool:
        """ "Rotor 24.1, minimum is 24.5": a clause of its own that says what was read should be."""
        c = h.clause
        limits = [q for q in c.quantities if q.limit]
        read = [f for f in self.s.focus if any(r.limit is None for r in f.readings)]
        if len(limits) != 1 or h.predicates or h.quantities or h.subjects or h.objects or h.places.anything():
            return False
        if not self._bind_limit(read, limits[0]):
            return False
        for f in read:
            self._rest_on(f, self._chars(c))
        return True

    # ----- counts, exceptions, fillers --------------------------------------------------------------------------------

    def _is_tally(self, h: Heard) -> bool:
        """ "Quote 3 tires": a count of what was said, to be held against the lines."""
        numbers = h.clause.quantities
        if len(h.objects) != 1 or not h.objects[0].plural or len(numbers) != 1 or numbers[0].unit is not None:
            return False
        counted = h.objects[0]
        orders = self.words[h.clause.begin].fold in ("quote", "total", "order")
        if not orders or numbers[0].end != counted.mention.begin:
            return False
        name = self.v.components[counted.component].name
        self.tallies.append((counted.component, int(numbers[0].values[0]), name))
        return True

    def _left_out(self, h: Heard) -> list[Subject]:
        barred = next((m for m in h.clause.mentions if m.tag("except")), None)
        return [t for t in h.subjects if barred is not None and t.mention.begin > barred.begin]

    def _but_at_a_place(self, h: Heard) -> bool:
        """ "All working bar the offside outer": that one comes next, of the others nothing is named."""
        s = self.s
        barred = next(m for m in h.clause.mentions if m.tag("except"))
        if any(m.begin > barred.begin for m in self.unknown):
            return False
        behind = [m for m in h.clause.mentions if m.begin >= barred.end and m.tag("place")]
        meant = h.subjects or s.topic
        if not meant and self._speaks_of_them(h.clause, barred):
            meant = [Subject(f.component, barred, False) for f in s.focus[:1]]
        if not behind or not meant:
            return False
        heading = s.topic_places.complete() if s.topic_places else []
        there = PlacesSaid()
        for m in behind:
            add_place(there, resolved(m.value("place") or "", self.steering), False)
        if len(heading) == 1:
            there.groups = [g.over(heading[0]) for g in there.groups]
        if len(meant) == 1 and len(there.groups) == 1 and self._rest_faulty(h, barred, meant[0], there.groups[0]):
            return True
        if len(meant) == 1 and self._praised_before(h, barred):
            self._rest_is_good(h, meant[0], there)
            if self._nothing_more(h.clause):
                self._is_not_so(h, self._findings(meant, there))
                return True
        span = self._chars(h.clause)
        s.topic_span = (min(s.topic_span[0], span[0]), span[1]) if s.topic_span else span
        s.topic, s.topic_places, s.topic_sentence = list(meant), there, h.clause.sentence
        return True

    def _speaks_of_them(self, c: Clause, barred: Mention) -> bool:
        """Whether what stands before "except" names nothing: "all fine", and not "all lights fine"."""
        covered = {k for m in c.mentions for k in range(m.begin, m.end)}
        rest = {self.words[k].fold for k in range(c.begin, barred.begin) if k not in covered}
        return not {w for w in rest if w.isalpha()} - _SAY_NO_PART

    def _rest_faulty(self, h: Heard, barred: Mention, meant: Subject, there: Place) -> bool:
        """ "All the tires are worn but not the left front": the fault is at every other place."""
        before = [m for m in h.clause.mentions if m.begin < barred.begin]
        conditions = [t for m in before for t in [self._condition_for(m, meant.component)] if t is not None]
        axes = axes_of(self.v.components[meant.component])
        axle = next((w for m in before for w in (m.value("place") or "").split() if w in ("front", "rear")), None)
        if axle:
            everywhere, there = PlacesSaid([Place(axle)], both=True), there.over(Place(axle))
        else:
            everywhere = PlacesSaid(all_four="axle" in axes, both="axle" not in axes)
        if not conditions or any(m.tag("negation") for m in before) or "side" not in axes:
            return False
        targets = self._findings([meant], everywhere)
        spared = [f for f in targets if there.over(f.place) == f.place]
        for f in targets:
            if f not in spared:
                self._add_conditions(f, [Said(t.value, t.more) for t in conditions], [], False)
            elif not f.conditions:
                f.good = True
                f.why.append(Why("severity", "say.rest-faulty", "the note leaves it out of what it says of the others"))
            self._rest_on(f, self._chars(h.clause))
        self._focus_on(targets)
        self.s.focus = spared or targets
        return True

    def _rest_is_good(self, h: Heard, meant: Subject, there: PlacesSaid) -> None:
        """ "All the tires are good except the right rear": each of the others is."""
        axes = axes_of(self.v.components[meant.component])
        if not {"axle", "side"} <= axes or not h.subjects or not meant.plural:
            return
        left_out = there.complete()
        for f in self._findings([meant], PlacesSaid(all_four=True)):
            if not any(g.over(f.place) == f.place for g in left_out):
                f.good = f.good or not f.conditions
                self._rest_on(f, self._chars(h.clause))

    def _none_but(self, h: Heard, left_out: list[Subject]) -> str | None:
        """ "No leaks except at the water pump": what is denied of the rest is so there."""
        negated = self._negated(h.clause, h.places)
        denied = [m for m in h.clause.mentions if m.begin in negated and m.begin < left_out[0].mention.begin]
        if not denied:
            return None
        conditions = [t for m in denied for t in [self._condition_for(m, left_out[0].component)] if t is not None]
        if not conditions:
            return None
        targets = self._findings(left_out, h.places)
        for f in targets:
            self._add_conditions(f, [Said(t.value, t.more) for t in conditions], [], False)
            self._rest_on(f, self._chars(h.clause))
        self._focus_on(targets)
        return "say.none-but"

    def _all_but(self, h: Heard, left_out: list[Subject]) -> str:
        """ "Everything on this side is fine except the spring": the spring comes next, of the rest nothing is named."""
        self._drop_topic()
        s = self.s
        if self._nothing_more(h.clause) and self._praised_before(h, left_out[0].mention):
            self._is_not_so(h, self._findings(left_out, h.places))
            return "say.all-but-it"
        s.topic, s.topic_span, s.topic_sentence = left_out, self._chars(h.clause), h.clause.sentence
        s.topic_places = h.places if h.places.anything() else None
        return "topic.all-but"

    def _nothing_more(self, c: Clause) -> bool:
        """Whether the note says no more of the one left out ("..., it's torn")."""
        if c.number + 1 >= len(self.clauses):
            return True
        after = self.clauses[c.number + 1]
        pointing = "pronoun" in kinds_in(after) and not names_part(after)
        return after.sentence != c.sentence and not pointing

    def _praised_before(self, h: Heard, barred: Mention) -> bool:
        before = [m for m in h.clause.mentions if m.begin < barred.begin]
        return any(m.tag("good") for m in before) and not any(m.tag("negation") for m in before)

    def _is_not_so(self, h: Heard, targets: list[Finding]) -> None:
        """ "All the lights work except the plate lamp", and no more: that one does not."""
        works = any(m.tag("good") and self.words[m.begin].fold in WORKING for m in h.clause.mentions)
        text = "the note leaves it out of what it says is all right"
        for f in targets:
            self._add_conditions(f, [Said("inoperative")] if works else [], [], False)
            f.severity += [] if works else ["doubtful"]
            f.why.append(Why("conditions" if works else "severity", "say.all-but-it", text))
            self._rest_on(f, self._chars(h.clause))
        self._focus_on(targets)

    def _only_filler(self, h: Heard) -> bool:
        """ "Okay" and the like at the head of a clause, with nothing in focus that they could speak of."""
        if h.subjects or h.objects or h.places.anything() or h.clause.quantities or self.s.topic:
            return False
        okay = all(
            m.tag("good") and m.end - m.begin == 1 and self.words[m.begin].fold in ("okay", "ok", "good")
            for m in h.predicates
        )
        focus = self.s.focus
        return okay and (not focus or any(f.conditions or f.good or f.work for f in focus))

    def _twin_not_so(self, h: Heard) -> str | None:
        """ "N/S knocks, O/S doesn't", "the pump leaks but the radiator doesn't": the other has not got what was just said."""
        s = self.s
        if h.predicates or h.quantities or "negation" not in h.has or not any(f.conditions for f in s.focus):
            return None
        if h.clause.sentence != s.sentence or not (h.subjects or h.places.groups or h.places.other_side):
            return None
        said = [w for w in self._folds(h.clause.begin, h.clause.end) if w not in (",", ".", ";")]
        if said[-1:] == [] or said[-1] not in _IS_NOT:
            return None
        if h.subjects:
            targets = self._findings(h.subjects, h.places)
        else:
            targets = self._at_another_place(h)[0] if h.places.groups else self._siblings(s.focus)
        for f in targets:
            if not f.conditions:
                f.good = True
                f.why.append(
                    Why("severity", "ruled-out.twin", "the note says that this one has not got the fault of the other")
                )
            self._rest_on(f, self._chars(h.clause))
        self._focus_on(targets)
        return "ruled-out.twin"

    def _shares(self, h: Heard) -> str | None:
        """ "No leaks at the water pump or the radiator": what stood before the first part is said of the second too."""
        c, s = h.clause, self.s
        if h.predicates or h.quantities or not h.subjects or c.opened_by not in _JOINS or not s.focus:
            return None
        before = self.clauses[c.number - 1]
        part = next((m for m in before.mentions if is_subject(m)), None)
        told = [m for m in before.mentions if m.tag("condition") and not m.tag("component")]
        if part is None or not told or told[-1].begin > part.begin or not s.focus[-1].says_something():
            return None
        led = self._lead(before, part)
        if c.opened_by not in ("or", "nor") and led not in PREPOSITIONS or self._said_of_it_next(c):
            return None
        first = s.focus[-1]
        targets = self._findings(h.subjects, h.places)
        for f in targets:
            self._share(first, f)
            self._rest_on(f, self._chars(c))
        self._focus_on([*s.focus, *targets])
        return "say.of-both"

    def _share(self, first: Finding, f: Finding) -> None:
        if f.conditions or f.good:
            return
        f.conditions = [Said(x.id, x.degree) for x in first.conditions]
        f.good = first.good
        text = "it was said of this part along with the one before it"
        f.why.append(Why("conditions" if f.conditions else "severity", "say.of-both", text))
        for span in first.spans[-1:]:
            self._rest_on(f, span)

    # ----- needs that follow ------------------------------------------------------------------------------------------

    def _follows_as_need(self, h: Heard) -> bool:
        """ "So a set of front pads", "... and a hose": named without a word said of it, where needs are listed."""
        c = h.clause
        if h.predicates or h.quantities or not h.subjects or h.context:
            return False
        # "So one rear hub": what follows from what was just said.
        so = self.words[c.begin].fold == "so" and bool(self.s.focus)
        listed = self.s.needing == c.sentence and (
            c.opened_by in _JOINS_NEEDS or self._ends_the_list(h) or self.s.needs_listed == c.sentence
        )
        # "Wheel cyl weeping, shoes contaminated. Fail, cyl + shoes": a typed line names the faulty again to order them.
        again = not self.talk and "served" not in h.has and all(self._failed_in_line(t, c) for t in h.subjects)
        return (so or listed or again) and not self._said_of_it_next(c)

    def _ends_the_list(self, h: Heard) -> bool:
        """ "Needs caliper, discs and pads on the rear": the last two behind the comma."""
        pairs = zip(h.subjects, h.subjects[1:], strict=False)
        joined = any(self._word(b.mention.begin - 1) in _JOINS_NEEDS for _, b in pairs)
        return h.clause.opened_by == "," and joined and self._next_in_sentence(h.clause) is None

    def _heads_needs(self, c: Clause) -> bool:
        """ "Needs:", "Rec:" at the head of a list: of the parts that follow, and of none before."""
        s = self.s
        heads = self.words[c.end - 1].fold == ":" and bool(c.mentions) and not c.quantities
        levels = [m.value("severity") for m in c.mentions if m.tag("severity", "action")]
        if not heads or len(levels) != len(c.mentions) or any(x not in _LEVELS for x in levels):
            return False
        s.needs_listed, s.needs_are = c.sentence, "suggested" if levels[0] in ("suggested", "advised") else "required"
        s.focus, s.needing, s.needing_work = [], c.sentence, None
        return True

    def _failed_in_line(self, t: Subject, c: Clause) -> bool:
        start = self.text.rfind("\n", 0, self._chars(c)[0]) + 1
        return any(b >= start for f in self._lately_at_fault(t) for b, _ in f.spans)

    def _lately_at_fault(self, t: Subject) -> list[Finding]:
        return [f for f in self.out.findings[-6:] if self._is_kind_of(f.component, t.component) and f.conditions]

    def _said_of_it_next(self, c: Clause) -> bool:
        after = self._next_in_sentence(c)
        if after is None or not after.mentions or not has_predicate(after) or self._subject_follows(c):
            return False
        # "... and two rotors and order me a headlight": work that has an object of its own.
        return not (after.opened_by in _JOINS_NEEDS and after.mentions[0].tag("action") and names_part(after))

    def _needs(self, h: Heard) -> str:
        s = self.s
        if s.needing != h.clause.sentence:
            s.needing_work = None
        parts = [
            t
            for t in h.subjects
            if not self._ends_the_list(h)
            and any(self._kin(t.component, f.component) or self._same_head(t, f.component) for f in s.focus)
        ]
        rest = [t for t in h.subjects if t not in parts]
        for f in s.focus if parts else ():
            if f.verb == "monitor":
                f.verb = None
            f.part = f.part or self._part_for(f, parts, False)
            self._need(f, h.clause)
        for t in rest:
            for f in self._found_at_fault(t, h) or self._findings([t], self._place_in_list(t, h)):
                self._need(f, h.clause)
        s.needing = h.clause.sentence
        return "say.so-needs"

    def _found_at_fault(self, t: Subject, h: Heard) -> list[Finding]:
        """The finding of this part a moment ago that what is needed is for."""
        found = self._lately_at_fault(t)
        if not h.places.anything():
            return found[-1:]
        return [f for f in found if any(g.over(f.place) == f.place for g in h.places.complete())]

    def _place_in_list(self, t: Subject, h: Heard) -> PlacesSaid:
        """ "Right front needs pads and a rotor": what sits at a wheel is needed where the list is."""
        there = {f.place for f in self.s.focus}
        listed = self.s.needing == h.clause.sentence and not h.places.anything() and len(there) == 1
        if listed and self.v.components[t.component].system in AT_THE_WHEELS:
            return PlacesSaid(groups=[x for x in there if x != NOWHERE])
        return h.places

    def _need(self, f: Finding, c: Clause) -> None:
        text = "it was named among what is needed"
        if f.verb is None:
            f.verb = "replace"
            f.why.append(Why("action", "say.so-needs", text))
        if self.s.needing == c.sentence and self.s.needing_work:
            f.work = f.work or self.s.needing_work
        elif not f.severity and not (self._only_recommended(c) and f.conditions):
            f.severity.append("suggested" if self._only_recommended(c) else "required")
            f.why.append(Why("severity", "say.so-needs", text))
        self._rest_on(f, self._chars(c))

    def _only_recommended(self, c: Clause) -> bool:
        """Whether "Rec:" heads the list; what was found at fault before is then no less serious for it."""
        return self.s.needs_listed == c.sentence and self.s.needs_are == "suggested"

    # ----- headings ---------------------------------------------------------------------------------------------------

    def _heading(self, h: Heard) -> str:
        """Nothing is said of anything: a place to keep in force, a topic, or talk."""
        c, s, places = h.clause, self.s, h.places
        named = h.subjects or h.objects
        if len(named) > 1 and "either" in self._folds(c.begin, named[0].mention.begin) and self._one_of_them(h, named):
            return "say.one-of-them"
        if len(named) == 1 and s.pending and all(_is_read_at_a_place(x) for x in s.pending):
            return self._read_at_each(h, named)
        if named:
            if any(m.tag("vehicle") for m in c.mentions) and not s.topic:
                self._aside(c, "chatter", "the vehicle")
                return "vehicle.described"
            if all(self._lead(c, t.mention) in _NOT_IT for t in named) and s.focus:
                self._aside(c, "chatter", "not that one")
                return "aside.not-that"
            if s.pending and h.subjects and (self._says_what_it_is(c) or self._equals_a_part(s.pending[-1].clause)):
                return self._say(h)
            if self._on_what_it_does(c, named, places):
                for f in s.focus:
                    self._rest_on(f, self._chars(c))
                return "say.consequence"
            return self._name_topic(c, named, places)
        if places.anything() and s.focus and self.words[c.begin].fold in _NOT_IT:
            # "Sorry, inner, not outer".
            self._aside(c, "chatter", "not that one")
            return "aside.not-that"
        if places.anything() and c.opened_by != "=":
            walks = self.words[c.end - 1].fold == "first"
            if self._topic_is_open(c) and c.opened_by == "," and not walks:
                return self._place_topic(c, places)
            if c.opened_by in ("but", "except") and self._but_there(c, places):
                return "place.but-there"
            if self._there_too(h):
                return "say.there-too"
            if s.focus and c.opened_by and self._spread(c, places):
                return "place.said-after"
            all_of_them = (places.all_four or places.both) and not places.groups and not self._topic_is_open(c)
            if all_of_them and len({f.component for f in s.focus}) == 1 and s.focus[0].place.side:
                # "All four date code 2316, sidewalls cracking": what comes next is of them all.
                whole = Subject(s.focus[0].component, Mention(c.begin, c.begin, ()), True)
                self._focus_on(self._findings([whole], places))
                for f in s.focus:
                    self._rest_on(f, self._chars(c))
                return "topic.all-of-them"
            by_depth = self.duals and "tire" in self.v.components
            if by_depth and not self._topic_is_open(c) and any(g.depth and (g.axle or g.side) for g in places.groups):
                # "Axle two nearside outer, cut to the cords": of two wheels side by side it is the tire.
                return self._name_topic(c, [Subject("tire", Mention(c.begin, c.begin, ()), False)], places)
            if self._move(places, keep=True):
                if s.topic_sentence != c.sentence:
                    self._drop_topic()
                self._aside(c, "chatter", "sets the place")
                if not places.other_side:
                    s.focus = []
                return "place.set"
        if s.topic and self._says_thirty_seconds(c):
            s.unit = "1/32 in"
        self._aside(c, "chatter")
        return "aside.nothing-said"

    def _read_at_each(self, h: Heard, named: list[Subject]) -> str:
        """ "LF 5 RF 5 LR 3 RR 3 pads": the readings before it, each at its place."""
        pending, self.s.pending = self.s.pending, []
        for earlier in pending:
            self._say(replace(earlier, subjects=list(named)))
            for f in self.s.focus:
                self._rest_on(f, self._chars(h.clause))
        return "say.read-before-naming"

    def _one_of_them(self, h: Heard, named: list[Subject]) -> bool:
        """ "Left front knocks, it's either the ball joint or the tie rod": one of them, and nobody knows which."""
        s = self.s
        faulty = [f for f in s.focus if f in s.recent and f.conditions]
        if not s.pending and not faulty:
            return False
        self._drop_topic()
        names = [self.v.components[t.component].name for t in named]
        told_at = next((x.places for x in s.pending if x.places.groups), h.places)
        targets = faulty or self._findings(named, h.places if h.places.groups else told_at)
        for earlier in s.pending:
            self._predicate(replace(earlier, places=PlacesSaid()), targets, [])
            for f in targets:
                self._rest_on(f, self._chars(earlier.clause))
        s.pending = []
        for f in targets:
            f.verb = f.verb or "diagnose"
            self._rest_on(f, self._chars(h.clause))
        self.out.doubts.append(Doubt("component", f"Is it the {' or the '.join(names)}?", names, targets[0]))
        self._focus_on(targets)
        return True

    def _on_what_it_does(self, c: Clause, named: list[Subject], places: PlacesSaid) -> bool:
        """ "Sliding door roller flat-spotted, door drags": a word on what the fault does to the thing that the part is of."""
        if len(named) != 1 or places.anything() or c.opened_by != "," or not self.s.focus or c.end - c.begin < 2:
            return False
        whole = named[0].component
        owners = {o for f in self.s.focus if f.conditions for o in self.v.components[f.component].part_of}
        general = {self.v.components[o].kind_of for o in owners}
        return whole in owners | general and named[0].mention.end < c.end

    def _there_too(self, h: Heard) -> bool:
        """ "Left front strut leaks, the right rear too", "replaced both fronts and the left rear": the same said there."""
        s, c = self.s, h.clause
        told = [f for f in s.focus if f.says_something()]
        if len({f.component for f in told}) != 1 or h.places.this_side or "moving" in h.has:
            return False
        if not self._says_too(c) and not (self._ends_a_list_of_places(c) and all(f in s.recent for f in told)):
            return False
        targets = self._at_another_place(h)[0] if h.places.groups else self._siblings(told)
        targets = [f for f in targets if f not in told]
        if not targets:
            return False
        for f in targets:
            if f.says_something() and f.spans:
                continue
            self._share(told[-1], f)
            f.readings = [replace(r, copied=True) for r in told[-1].readings]
            f.severity, f.verb, f.part, f.work = list(told[-1].severity), told[-1].verb, told[-1].part, told[-1].work
            self._rest_on(f, self._chars(c))
        self._focus_on([*told, *targets])
        if not s.kept:
            # The talk is at several places now, so what is named next is at none of them.
            s.place = NOWHERE
        return True

    def _says_too(self, c: Clause) -> bool:
        folds = self._folds(c.begin, c.end)
        pairs = set(zip(folds, folds[1:], strict=False))
        return bool(_TOO & set(folds)) or ("as", "well") in pairs or any(a == "so" and b in _IS for a, b in pairs)

    def _ends_a_list_of_places(self, c: Clause) -> bool:
        """Whether the sentence ends with places and nothing else, "and" before the last."""
        joined = c.opened_by in _JOINS_NEEDS
        after = self._next_in_sentence(c)
        while after is not None:
            if kinds_in(after) - {"place", "filler"} or not after.mentions or after.quantities:
                return False
            joined = after.opened_by in _JOINS_NEEDS
            after = self._next_in_sentence(after)
        return joined

    def _but_there(self, c: Clause, places: PlacesSaid) -> bool:
        """ "All the shocks are fine but the left rear": that one is not, and what comes next is said of it."""
        groups = places.complete()
        if len(groups) != 1:
            return False
        there = [
            f for f in self.s.focus if f.good and not clash(f.place, groups[0]) and groups[0].over(f.place) == f.place
        ]
        if len(there) != 1 or len(self.s.focus) < 2:
            return False
        there[0].good = False
        self._rest_on(there[0], self._chars(c))
        self.s.focus = there
        return True

    def _name_topic(self, c: Clause, named: list[Subject], places: PlacesSaid) -> str:
        """Keep what was named until something is said of it; next to a topic of the sentence it joins or narrows that."""
        s = self.s
        begin, end = self._chars(c)
        # A topic of which something was said is done with when the next part is named.
        open_topic = s.topic_span is not None and self._topic_is_open(c) and not self._is_of_topic(s.focus)
        open_since = s.topic_span[0] if s.topic_span and open_topic else None
        if open_since is None:
            self._drop_topic()
            s.topic, s.topic_span = named, (begin, end)
        else:
            # "SUSPENSION: LR air spring, ...": the heading of a section is no part of its list.
            section = self.words[c.begin - 1].fold == ":" and all(
                self.v.components[t.component].kind == "system" for t in s.topic
            )
            s.topic = named if section or self._kin_of_topic(named) else s.topic + named
            s.topic_span = (open_since, end)
        s.topic_sentence = c.sentence
        s.topic_places = places if places.anything() else None
        if len(named) == 1:
            s.header = self.v.components[named[0].component].system
        if places.anything():
            self._move(places, keep=self._heads_a_section(c, named))
        s.unit = self._unit_of_heading(c) or s.unit
        return "topic.named"

    def _heads_a_section(self, c: Clause, named: list[Subject]) -> bool:
        """ "Front suspension: ...": a place with a system and no more holds for what stands below."""
        of_a_system = len(named) == 1 and self.v.components[named[0].component].kind == "system"
        last = self.words[c.end - 1].fold
        return (
            of_a_system
            and not c.opened_by
            and (last in (":", "\n") or (last == "." and self._next_in_sentence(c) is None))
        )

    def _place_topic(self, c: Clause, places: PlacesSaid) -> str:
        """ "Lower ball joint, left front": the place of the topic just named."""
        s = self.s
        groups = [*s.topic_places.groups] if s.topic_places else []
        for g in places.groups:
            if groups and not clash(groups[-1], g):
                groups[-1] = g.over(groups[-1])
            else:
                groups.append(g)
        s.topic_places = PlacesSaid(
            groups,
            both=places.both,
            all_four=places.all_four,
            this_side=places.this_side,
            other_side=places.other_side,
        )
        if s.topic_span:
            s.topic_span = (s.topic_span[0], self._chars(c)[1])
        return "topic.place"


def _is_read_at_a_place(h: Heard) -> bool:
    return bool(h.quantities) and bool(h.places.groups) and not h.predicates
