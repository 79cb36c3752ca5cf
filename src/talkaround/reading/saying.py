"""Of what a clause says what it says: its subject, the topic, what is in focus, the other one, or nothing yet.

``_say`` settles the parts that are to be fitted, finds the findings meant, and hands them to ``predicates``. Rules:
``say.subject``, ``say.topic``, ``say.those-listed``, ``say.focus``, ``say.other-one``, ``say.tires-by-reading`` (reason
``component.tires-by-reading``), ``say.focus-elsewhere``, ``say.alignment-follows``, ``say.before-naming``,
``say.consequence``, ``say.the-rest``, ``say.asked-about``, ``ruled-out.not-it``, ``aside.no-subject``.
"""

from __future__ import annotations

from dataclasses import replace

from talkaround.reading.clauses import PREPOSITIONS, has_predicate, is_place_and_number, is_subject, names_part
from talkaround.reading.places import CORNERS, PlacesSaid, axes_of, clash, implied
from talkaround.reading.predicates import PredicateRules
from talkaround.reading.state import Heard, Subject
from talkaround.reading.types import NOWHERE, Clause, Doubt, Finding, Mention, Place, Said, Why

_JOINS = frozenset({"and", "&", "+", "/", "plus"})
_ALIGNMENT = "wheel-alignment"
_PADS = "brake-pad"
# Clauses back in which brakes were spoken of.
_BRAKES_BACK = 4


class SayingRules(PredicateRules):
    """The walk's rules for what a clause speaks of."""

    def _say(self, h: Heard) -> str:
        """Say of its findings what the clause says; the rule by which they were found."""
        c, s = h.clause, self.s
        if self.unknown and not h.subjects and not h.objects and not h.context:
            return self._of_unknown(h)
        if "unnamed" in h.has and not h.subjects and not h.objects:
            return self._of_unnamed(h)
        asks_for = bool(h.objects)
        self._reach_back_for_object(h)
        parts = self._parts_to_fit(h)
        before = list(s.focus)
        self._bulb_of_lamp(h.subjects)
        if h.subjects and self._topic_is_open(c) and c.opened_by in _JOINS and not self._kin_of_topic(h.subjects):
            h.subjects = [*s.topic, *h.subjects]
        if h.subjects and all(t.mention.begin in self.not_it for t in h.subjects):
            return self._clear(h)
        targets, rule = self._spoken_of(h)
        if not targets:
            return self._of_nothing(h)
        if c.opened_by == "so" and h.subjects and len(before) == 1 and before[0] not in targets:
            self._explained(before[0], targets)
        walks_on = self._next_place_trails(h)
        self._settle_topic(h, targets, rule, walks_on)
        if rule == "say.subject" and self._is_consequence(h, before, targets):
            self.out.findings.remove(targets[0])
            for f in before:
                self._rest_on(f, self._chars(c))
            s.focus = before
            return "say.consequence"
        listed_as = self._work_leads(h)
        if asks_for or parts or listed_as:
            s.needing, s.needing_work = c.sentence, listed_as
        if h.subjects:
            for earlier in s.pending:
                self._predicate(replace(earlier, places=PlacesSaid()), targets, [])
                for f in targets:
                    self._rest_on(f, self._chars(earlier.clause))
            s.pending = []
        if "same" in h.has:
            self._copy_same(targets, before)
        self._predicate(h, targets, parts)
        for f in targets:
            self._rest_on(f, self._chars(c))
        if self._goes_on_listing(h, before, targets):
            targets = [*[f for f in before if f not in targets], *targets]
        if walks_on:
            s.focus, s.recent, s.header = [], [], None
            return rule
        self._focus_on(targets)
        return rule

    def _work_leads(self, h: Heard) -> str | None:
        """ "Ordered a strut and ...", "replaced the strut and ...": what became of the parts is said before them all."""
        named = min((t.mention.begin for t in (*h.subjects, *h.objects)), default=-1)
        for m in h.clause.mentions:
            if m.begin < named and m.value("work") in ("ordered", "declined"):
                return m.value("work")
            action = m.tag("action")
            if m.begin < named and action is not None and action.more == "done":
                return "done"
        return None

    # ----- what is to be fitted ---------------------------------------------------------------------------------------

    def _reach_back_for_object(self, h: Heard) -> None:
        """ "Needs a regulator", said of one named a moment ago though something else came between."""
        s = self.s
        if "served" in h.has or h.places.groups or h.subjects:
            return
        ids = {o.component for o in h.objects}
        again = [
            f for o in h.objects for f in self.out.findings[-8:] if f.component == o.component and f not in s.focus
        ]
        # "Offside, needs a cable": not the nearside one that was spoken of last.
        again = [f for f in again if not clash(f.place, s.place)] or ([] if s.place.side else again)
        if again and not any(f.component in ids for f in s.focus):
            s.focus, h.objects = again[-1:], []

    def _parts_to_fit(self, h: Heard) -> list[Subject]:
        """Objects that are parts for what is spoken of; any other object becomes a subject."""
        s = self.s
        kin_to = [f.component for f in s.focus] + [t.component for t in (*h.subjects, *s.topic)]
        elsewhere = bool(h.places.groups) and not h.subjects and all(self._is_elsewhere(f, h) for f in s.focus)
        parts: list[Subject] = []
        for o in h.objects:
            fits = any(self._kin(o.component, k) or self._same_head(o, k) for k in kin_to) and not elsewhere
            if fits or ("served" in h.has and kin_to):
                parts.append(o)
            else:
                h.subjects = [*h.subjects, o]
        return parts

    def _is_elsewhere(self, f: Finding, h: Heard) -> bool:
        """ "Need two front struts and a pair of rear shocks": what is named at another place is no part for this one."""
        # Upper and lower are of one corner.
        return all(clash(Place(g.axle, g.side), f.place) for g in h.places.complete())

    def _bulb_of_lamp(self, subjects: list[Subject]) -> None:
        """ "Low beam is out, bulb's blown": the lamp just said to be out becomes its bulb, one finding and not two."""
        if len(subjects) != 1 or not subjects[0].component.endswith("-bulb"):
            return
        bulb = subjects[0].component
        for f in self.s.focus:
            out = any(x.id in ("inoperative", "weak") for x in f.conditions)
            if out and f.component in self.v.components[bulb].part_of:
                f.component = bulb
                f.place = self._fit(bulb, f.place)

    # ----- which findings are meant -----------------------------------------------------------------------------------

    def _spoken_of(self, h: Heard) -> tuple[list[Finding], str]:
        """The findings that the clause speaks of, and the rule that found them."""
        faulty = self._faulty_meant(h)
        if faulty:
            return faulty, "say.the-faulty-one"
        targets, rule = self._by_name_or_context(h)
        if self._wants_alignment(h, targets):
            alignment = self._finding(_ALIGNMENT, NOWHERE, [])
            if not alignment.conditions:
                alignment.conditions.append(Said("due"))
                text = "an alignment was named as work that follows"
                alignment.why.append(Why("conditions", "say.alignment-follows", text))
            return [alignment], "say.alignment-follows"
        tires = not h.subjects and self._reads_like_tires(h.quantities, h.places) and not self._read_so(targets, h)
        if tires and not self._named_at_the_end(h.clause):
            for f in targets:
                if not (f.spans or f.says_something()) and f in self.out.findings:
                    self.out.findings.remove(f)
            text = "a reading at each wheel position with no part named is the tread"
            return self._tires(h, text), "say.tires-by-reading"
        return targets, rule

    def _read_so(self, targets: list[Finding], h: Heard) -> bool:
        """Whether what is spoken of is read in such a unit itself."""
        return any((h.quantities[0].unit or "mm") in self._units_of(f.component) for f in targets)

    def _by_name_or_context(self, h: Heard) -> tuple[list[Finding], str]:
        s, places = self.s, h.places
        first = s.focus[0] if s.focus else None
        two_or_four = (places.both or places.all_four) and not places.groups
        if h.subjects:
            others = self._the_others(h) if len(h.subjects) == 1 and not places.anything() else []
            return (others, "say.the-rest") if others else (self._of_subjects(h), "say.subject")
        if not h.places.anything() and self._equals_a_part(h.clause):
            return [], "say.before-naming"
        rest = self._the_rest() if "rest" in h.has and not places.anything() else []
        if rest:
            return rest, "say.the-rest"
        if "rest" in h.has and not places.anything() and not s.topic and any(m.tag("severity") for m in h.predicates):
            # "Pads are metal to metal, the rest can wait": no word of urgency for the pads.
            return [], "say.the-rest"
        if s.topic and not places.anything() and self._is_of_topic(s.focus):
            return list(s.focus), "say.focus"
        if s.topic and self._next_place_trails(h):
            targets = self._findings(s.topic, s.topic_places or PlacesSaid())
            self._move(places, keep=False)
            return targets, "say.topic"
        if s.topic and not places.other_side:
            return self._findings(s.topic, self._places_of_topic(places)), "say.topic"
        if two_or_four and len(s.focus) >= 2 and any(f in s.recent for f in s.focus):
            # "... outer seven, inner seven, both fine": the ones just listed.
            return list(s.focus), "say.those-listed"
        pair = first is not None and self.duals and bool(first.place.side) and self._is_any_tire(first.component)
        if two_or_four and places.both and len(s.focus) == 1 and pair:
            # "Axle three left four and four, both okay": the two wheels of that side.
            return list(s.focus), "say.focus"
        if two_or_four and places.both and first is not None and len(s.focus) == 1 and self._is_read_by_axle(first):
            return [first], "say.focus"
        if "other-one" in h.has or (places.other_side and not places.groups):
            siblings = self._siblings(s.focus)
            if places.other_side:
                s.stands_at = s.place
                self._move(places, keep=s.kept)
            return siblings, "say.other-one"
        q = h.quantities[0] if h.quantities else None
        in_32nds = q is not None and (q.unit == "1/32 in" or (q.unit in (None, "mm") and 1 <= q.values[0] <= 26))
        at_dual = self.duals and "tire" in self.v.components and any(g.depth for g in places.groups)
        if at_dual and in_32nds and first is not None and not self._is_any_tire(first.component):
            text = "a depth in 32nds at an inner or outer wheel is the tread"
            return self._tires(h, text), "say.tires-by-reading"
        if not s.focus and s.taken_back and (h.predicates or h.quantities):
            ids, s.taken_back = s.taken_back, []
            return self._findings(
                [_unnamed(i, c_begin) for i, c_begin in ((i, h.clause.begin) for i in ids)], places
            ), "say.in-its-stead"
        if not s.focus and s.supposed and "pronoun" in h.has:
            asked, s.supposed = s.supposed, []
            return self._findings(asked, places if places.anything() else s.supposed_places), "say.asked-about"
        if places.anything() and (s.focus or s.recent):
            # "Left front I can rock the wheel, that's the ball joint": the name comes behind what was felt.
            if self._names_later(h.clause):
                return [], "say.before-naming"
            return self._at_another_place(h)
        return list(s.focus), "say.focus"

    def _of_subjects(self, h: Heard) -> list[Finding]:
        s = self.s
        itself = self._itself(h)
        if itself is not None:
            return [itself]
        heading = s.topic_places if self._topic_is_open(h.clause) and self._kin_of_topic(h.subjects) else None
        if heading is None:
            return self._findings(h.subjects, h.places)
        self._ends_of_arm(h.subjects, h.places, heading)
        targets = self._findings(h.subjects, h.places)
        groups = heading.complete()
        if len(groups) == 1 and not h.places.anything():
            for f in targets:
                f.place = self._fit(f.component, groups[0].over(f.place))
        return targets

    def _itself(self, h: Heard) -> Finding | None:
        """ "Toe is out, needs an alignment, the tire itself can ride": the one spoken of a moment ago."""
        if len(h.subjects) != 1 or h.subjects[0].plural or h.places.anything():
            return None
        t = h.subjects[0]
        if self._word(t.mention.end) != "itself":
            return None
        return next((f for f in reversed(self.out.findings[-6:]) if f.component == t.component and f.spans), None)

    def _next_place_trails(self, h: Heard) -> bool:
        """ "Axle two right lining: three eighths, that's good axle three left ...": behind the verdict, the next place."""
        heading = self.s.topic_places.complete() if self.s.topic_places else []
        said = h.places.groups
        if len(heading) != 1 or not (heading[0].axle and heading[0].side) or len(said) != 1 or not said[0].axle:
            return False
        told = [m.end for m in h.predicates] + [q.end for q in h.quantities]
        first = next((m.begin for m in h.clause.mentions if m.tag("place")), -1)
        return said[0].axle != heading[0].axle and bool(told) and first >= max(told)

    def _is_of_topic(self, focus: list[Finding]) -> bool:
        """ "Ball joints: left's loose, replace": the topic at the place that was just said."""
        ids = {t.component for t in self.s.topic}
        return bool(focus) and all(f in self.s.recent and f.component in ids for f in focus)

    def _places_of_topic(self, places: PlacesSaid) -> PlacesSaid:
        """The places said of a topic, completed by those of its heading."""
        heading = self.s.topic_places
        if heading is None or not places.anything():
            return places if heading is None else heading
        groups = heading.complete()
        return replace(
            places,
            groups=[g.over(groups[0]) for g in places.groups] if len(groups) == 1 else [*places.groups],
            both=places.both or heading.both,
            reset=False,
        )

    def _the_rest(self) -> list[Finding]:
        """ "Left front's at four, the rest are six": the other corners of what is read at its corners."""
        base = self.s.focus[-1] if self.s.focus else None
        if base is None or not (base.place.axle and base.place.side) or base not in self.s.recent:
            return []
        return self._other_corners(base.component, self.s.recent, base.place)

    def _the_others(self, h: Heard) -> list[Finding]:
        """ "Left front tire is cut. All the other tires are fine": the corners of which nothing was said."""
        t = h.subjects[0]
        if not t.plural or "other" not in self._folds(max(0, t.mention.begin - 3), t.mention.begin):
            return []
        return self._other_corners(t.component, [f for f in self.out.findings if f.says_something()], NOWHERE)

    def _other_corners(self, component: str, said: list[Finding], base: Place) -> list[Finding]:
        """The findings at the corners that none of ``said`` is at; nothing where none is at a corner."""
        corners = [f.place for f in said if f.component == component and f.place.axle and f.place.side]
        if not corners or not {"axle", "side"} <= axes_of(self.v.components[component]):
            return []
        others = [p.over(base) for p in CORNERS if not any(p[:2] == x[:2] for x in corners)]
        text = "the note spoke of the other ones"
        return [self._finding(component, p, [Why("position", "say.the-rest", text)]) for p in others]

    def _is_read_by_axle(self, f: Finding) -> bool:
        """Whether "both" said of the finding means the one that is there, as with pads."""
        return f.place.side is None and not self._both_by_plural(_unnamed(f.component, 0, True), f.place)

    def _is_any_tire(self, component: str) -> bool:
        """Whether it is a tire that may sit at any axle, as a steer tire may not."""
        return component.endswith("tire") and not implied(self.v.components[component]).axle

    def _tires(self, h: Heard, text: str) -> list[Finding]:
        targets = self._findings([_unnamed("tire", h.clause.begin)], h.places)
        for f in targets:
            f.why.append(Why("component", "component.tires-by-reading", text))
        return targets

    def _at_another_place(self, h: Heard) -> tuple[list[Finding], str]:
        """ "... the rear ones are fine": what is in focus, at the place said."""
        c, places, focus = h.clause, h.places, self.s.focus
        base = focus or self.s.recent
        if "same" in h.has and focus:
            # "Disc is scored and pads 3 mm, offside is the same": all that was said of the place.
            base = [f for f in self.s.recent if f.place == focus[-1].place] or base
        general = any(g.level or g.depth for g in places.groups)
        ids = dict.fromkeys(self._may_sit_at(f.component, places, general) for f in base)
        named = c.mentions[0] if c.mentions else Mention(c.begin, c.end, ())
        several = any(
            w.fold in ("both", "rear", "front") and self.text[w.begin : w.end].lower().endswith("s")
            for w in self.words[c.begin : c.end]
        )
        # "Tires 6/32 front, 4/32 rear": of each of the two there.
        several = several or len({f.place.side for f in focus if f.place.axle == base[-1].place.axle} - {None}) == 2
        places.groups = [_completed_from(g, base[-1].place) for g in places.groups]
        same_place = len(places.groups) == 1 and all(
            f.component in ids and self._fit(f.component, places.groups[0].over(f.place)) == f.place for f in focus
        )
        if focus and same_place:
            return list(focus), "say.focus"
        return self._findings([Subject(i, named, several) for i in ids], places), "say.focus-elsewhere"

    def _may_sit_at(self, component: str, places: PlacesSaid, general: bool) -> str:
        """What is in focus as it is called at another place: no steer tire sits at the rear."""
        own = implied(self.v.components[component]).axle
        kind = self.v.components[component].kind_of
        elsewhere = own and any(g.axle and g.axle not in (own, "1") for g in places.groups)
        if kind and elsewhere:
            return kind
        at_rear = f"rear-{component.split('-')[-1]}"
        if elsewhere and own == "front" and at_rear in self.v.components:
            # "Wipers front fine, rear torn": no windshield wiper sits at the rear.
            return at_rear
        return self._general(component) if general else component

    def _faulty_meant(self, h: Heard) -> list[Finding]:
        """ "Owner declined the ramp spring", "pads and rotors are on order": of those that were read, the ones at fault."""
        work = {m.value("work") for m in h.clause.mentions}
        if not work & {"declined", "ordered", "wrong-part"} or not h.subjects or h.places.anything():
            return []
        if any(m.tag("condition") for m in h.predicates):
            return []
        meant: list[Finding] = []
        for t in h.subjects:
            found = [f for f in self.out.findings if self._at_fault(f) and self._is_kind_of(f.component, t.component)]
            if not found:
                return []
            meant += found if t.plural else found[-1:]
        return meant

    def _wants_alignment(self, h: Heard, targets: list[Finding]) -> bool:
        """ "It'll need an alignment when it's back together": a line of its own, whatever was in focus."""
        if _ALIGNMENT not in self.v.components:
            return False
        if any(self.v.components[t.component].kind == "service" for t in h.subjects):
            return False
        if any(f.component == _ALIGNMENT for f in targets):
            return False
        verbs = [t.value for m in h.predicates for t in m.of("action")]
        return bool(verbs) and all(v == "align" for v in verbs)

    def _clear(self, h: Heard) -> str:
        """ "The leak is not the pan": the fault is not there."""
        for f in self._findings(h.subjects, h.places):
            f.good = f.good or not f.conditions
            f.why.append(Why("severity", "ruled-out.not-it", "the note says that the fault is not there"))
            self._rest_on(f, self._chars(h.clause))
        return "ruled-out.not-it"

    def _of_unknown(self, h: Heard) -> str:
        """A name that several parts share and nothing decides: asked back where work hangs on it, never guessed."""
        m = self.unknown[0]
        # "Dripping steady": a bare word behind what is said is no part.
        trails = any(x.end == m.begin for x in h.predicates) and self._lead(h.clause, m) not in PREPOSITIONS
        if not trails and any(x.tag("condition", "severity", "action") for x in h.predicates):
            options = [self.v.components[t.value].name for t in m.of("short")][:4]
            name = self._phrase(m)
            self.out.doubts.append(
                Doubt("component", f"What is the “{name}” in “{self._phrase_of(h.clause)}”?", options)
            )
            self._aside(h.clause, "not-understood", f"which {name}")
        else:
            self._aside(h.clause, "chatter")
        self.s.focus = []
        return "aside.unknown-part"

    def _of_unnamed(self, h: Heard) -> str:
        """ "The thing on the back is rattling": what is said of it is of no part that was named before."""
        if any(x.tag("condition", "severity", "action") for x in h.predicates):
            self.out.doubts.append(Doubt("component", f"What part is meant in “{self._phrase_of(h.clause)}”?"))
        self._aside(h.clause, "not-understood", "a part without a name")
        self.s.focus = []
        return "aside.unnamed-part"

    def _of_nothing(self, h: Heard) -> str:
        """Nothing was named that the clause could speak of: it waits for a name, or is set aside."""
        c = h.clause
        condition = any(m.tag("condition") for m in c.mentions)
        if (h.quantities or any(m.tag("condition") for m in h.predicates)) and self._names_later(c):
            self.s.pending.append(h)
            if h.places.anything():
                self._move(h.places, keep=False)
            return "say.before-naming"
        leak = next((m for m in h.predicates if m.value("leak-of") and m.begin not in self._negated(c, h.places)), None)
        if leak is not None and not h.subjects:
            # "There's a fuel leak back here": where it comes from is not known, but that it leaks is.
            h.subjects = [Subject(leak.value("leak-of") or "", leak, False)]
            rule = self._say(h)
            for f in self.s.focus:
                f.not_traced = True
                self.from_nowhere.append(f)
            return rule
        text = self._like_pads(h)
        if text:
            h.subjects = [_unnamed(_PADS, c.begin, True)]
            rule = self._say(h)
            for f in self.s.focus:
                f.why.append(Why("component", "component.pads-by-words", text))
            return rule
        lost = condition and c.end - c.begin > 1 and "pronoun" not in h.has
        if any(m.value("severity") == "unsafe" for m in h.predicates) and c.number not in self.denied:
            # "I wouldn't drive this thing", and no part named yet: too grave to be lost as talk.
            lost = True
            said = self.text[slice(*self._chars(c))].strip(" ,.")
            self.out.doubts.append(
                Doubt("understanding", f"The note says “{said}”, and of no part. What is it said of?")
            )
        self._aside(c, "not-understood" if lost else "chatter")
        return "aside.no-subject"

    def _like_pads(self, h: Heard) -> str:
        """Why what is said with no part named is said of brake pads: worn to the metal, or as thick as they are; or nothing."""
        c = h.clause
        if _PADS not in self.v.components or not any(g.axle or g.side for g in h.places.groups):
            return ""
        negated = self._negated(c, h.places)
        if any(m.value("severity") == "metal" and m.begin not in negated for m in h.predicates):
            return "no part is named; what wears to the metal is the pads"
        lately = [m for x in self.clauses[max(0, c.number - _BRAKES_BACK) : c.number] for m in x.mentions]
        of_brakes = any(self.v.components[t.value].system == "brakes" for m in lately for t in m.of("component"))
        if of_brakes and h.quantities and all(q.unit == "mm" for q in h.quantities):
            return "no part is named; millimeters at an axle, where brakes are spoken of, are the pads"
        return ""

    def _names_later(self, c: Clause) -> bool:
        """Whether a later clause of the sentence points back with "that" or "this" and a part's name."""
        if self._named_at_the_end(c) or self._equals_a_part(c):
            return True
        for later in self.clauses[c.number + 1 : c.number + 4]:
            if later.sentence != c.sentence:
                return False
            named = next((m for m in later.mentions if is_subject(m)), None)
            if named is not None:
                # "That tire has to go", and "that's the ball joint" with nothing more said of it.
                lead = self._folds(max(later.begin, named.begin - 2), named.begin)
                one_of_them = "either" in lead and not any(m.tag("leak-of") for m in c.mentions)
                points = one_of_them or self.words[named.begin - 1].fold in ("that", "this", "those", "these")
                return points or (later.number == c.number + 1 and self._says_what_it_is(later))
        return False

    def _equals_a_part(self, c: Clause) -> bool:
        """ "Rear noise = right rear wheel bearing": the mark tells where what was noticed comes from."""
        after = self._next_in_sentence(c)
        marks = ("=", ">", ":") if all(m.tag("condition") for m in c.mentions) else ("=", ">")
        return self.words[c.end - 1].fold in marks and after is not None and names_part(after)

    def _named_at_the_end(self, c: Clause) -> bool:
        """ "LF 5 RF 5 LR 3 RR 3 pads": places with a number each, and what was read there named behind them all."""
        row = len([x for x in self.s.pending if is_place_and_number(x.clause)])
        at: Clause | None = c
        while at is not None and is_place_and_number(at):
            row, at = row + 1, self._next_in_sentence(at)
        if row < 2 or at is None or len(at.mentions) != 1 or at.quantities or any(f.readings for f in self.s.recent):
            return False
        # "LF tire 4/32 RF 4/32 ... rotate": what was read is named before it, and work is not read.
        ids = [t.value for t in at.mentions[0].tags if t.kind in ("component", "short")]
        return any(self.v.components[i].kind != "service" for i in ids)

    def _says_what_it_is(self, c: Clause) -> bool:
        """ "That's the lower ball joint": a pointing word, a name, and nothing more."""
        return self.words[c.begin].fold in ("that", "it") and c.end - c.begin <= 7 and not has_predicate(c)

    # ----- topic, cause and consequence -------------------------------------------------------------------------------

    def _topic_is_open(self, c: Clause) -> bool:
        return bool(self.s.topic) and self.s.topic_sentence == c.sentence

    def _settle_topic(self, h: Heard, targets: list[Finding], rule: str, walks_on: bool) -> None:
        """What was said of the topic rests on its words too; a topic that something else follows is set aside."""
        s = self.s
        of_topic = rule == "say.topic"
        if s.topic_span is None or not (of_topic or h.subjects):
            return
        if not (of_topic or self._kin_of_topic(h.subjects) or any(t in h.subjects for t in s.topic)):
            self._drop_topic()
            return
        for f in targets:
            self._rest_on(f, s.topic_span)
        if not of_topic or s.topic_sentence < h.clause.sentence - 1 or walks_on:
            s.topic, s.topic_span, s.topic_places = [], None, None

    def _explained(self, system: Finding, parts: list[Finding]) -> None:
        """ "The air con blows warm, so the compressor's weak": the part is the finding, the symptom its evidence."""
        comps = self.v.components
        whole, part = comps[system.component], comps[parts[0].component]
        if system not in self.s.recent or system not in self.out.findings:
            return
        if whole.kind != "system" or whole.system != part.system:
            return
        self.out.findings.remove(system)
        for f in parts:
            f.readings += [r for r in system.readings if r not in f.readings]
            f.spans += [x for x in system.spans if x not in f.spans]

    def _is_consequence(self, h: Heard, before: list[Finding], targets: list[Finding]) -> bool:
        """ "The roller's flat spotted, door drags", "caliper seized, piston won't move": no second fault."""
        if len(targets) != 1 or len(h.subjects) != 1 or not before or h.places.groups or not h.clause.opened_by:
            return False
        effect, cause = targets[0], before[-1]
        if effect.spans or effect.says_something() or effect in before:
            return False
        if cause not in self.s.recent or not cause.conditions:
            return False
        if any(m.tag("action", "severity", "good", "work", "degree") for m in h.predicates):
            return False
        if not any(m.tag("condition", "negation") for m in h.clause.mentions):
            return False
        whole, part = self.v.components[cause.component], self.v.components[effect.component]
        owned = any(effect.component in (o, self.v.components[o].kind_of) for o in whole.part_of)
        inside = cause.component in part.part_of and any(x.part == cause.component for x in part.served_as)
        return owned or inside

    def _goes_on_listing(self, h: Heard, before: list[Finding], targets: list[Finding]) -> bool:
        """ "LR 5/16 and RR 5/16, getting close": readings one place after another; what comes next is of them all."""
        if not before or not h.clause.quantities or h.predicates:
            return False
        return all(
            f.component == targets[0].component
            and f in self.s.recent
            and f.readings
            and not (f.conditions or f.good or f.severity or f.verb or f.work)
            for f in before
        )


def _unnamed(component: str, at: int, several: bool = False) -> Subject:
    """A component that no words name."""
    return Subject(component, Mention(at, at, ()), several)


def _completed_from(g: Place, shared: Place) -> Place:
    """A place said of what is in focus, with axle and side of where that is, as far as they are left open."""
    if not g.axle and not g.extra and shared.axle:
        g = g._replace(axle=shared.axle)
    if g.side or not shared.side:
        return g
    if not g.axle:
        return g._replace(side=shared.side, axle=shared.axle)
    if (g.level or g.depth or g.end) and g.axle == shared.axle:
        return g._replace(side=shared.side)
    return g
