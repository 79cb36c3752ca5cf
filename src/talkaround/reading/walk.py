"""The pass over the clauses of a note: one after the other, each decided once, with what is in force kept in ``State``.

Notes for a newcomer. Read :class:`Walk` from ``run`` down: ``_clause`` decides what a clause is (somebody's word, another
vehicle, taken back, a statement) and gives the name of the rule that did; the file that a rule lives in is named in the
docstring of ``state``. Rules of this file, given as reasons when the pass is over: ``component.in-focus``,
``place.implied-by-part``, ``place.in-force``.
"""

from __future__ import annotations

from bisect import bisect_left

from talkaround.reading.clauses import is_subject, kinds_in
from talkaround.reading.discourse import DiscourseRules
from talkaround.reading.places import axes_of, implied, resolved
from talkaround.reading.placing import AT_THE_WHEELS
from talkaround.reading.statements import StatementRules
from talkaround.reading.types import NOWHERE, Clause, Doubt, Finding, Place, ReadNote, Why

# A vehicle is described within this many words from the start.
_DESCRIBED_WITHIN = 60
_SEATED = frozenset({"driver", "passenger"})
# What leads a statement and says nothing of it.
_LEADING = frozenset("and then so but okay ok alright well anyway".split())


class Walk(StatementRules, DiscourseRules):
    """One pass over the clauses of a note; ``run`` it once, then ``out`` holds the result and ``trace`` the rules."""

    def run(self) -> ReadNote:
        """Go over all clauses, and then over what was found as a whole. Call it once."""
        for clause in self.clauses:
            self.trace.append((clause, self._clause(clause)))
        self._drop_topic()
        self._close_report()
        self._leak_found_after_all()
        self._seat_in_front()
        self._merge_said_twice()
        self._say_why()
        self._hold_tallies_against_lines()
        self._ask_where_taken()
        self._ask_whether_done()
        return self.out

    def _clause(self, c: Clause) -> str:
        """What the clause is; the name of the rule that decided."""
        s = self.s
        if c.sentence != s.sentence:
            self._new_sentence(c)
        has = kinds_in(c)
        self.out.customer_told = self.out.customer_told or "told" in has
        if has & {"plan", "parts-preference"} and not (has & {"hypothetical", "other-vehicle"} or s.mode):
            self._note_wish(c, has)
        answered = self._ask_and_answer(c, has) if s.reporting is None else None
        if answered is not None:
            return answered
        somebodys = self._heard_from_somebody(c, has)
        if somebodys is not None:
            return somebodys
        if self._clears_what_was_supposed(c, has):
            return self._not_so(c)
        beside = self._left_open(c, has) or self._delivered(c, has)
        if beside is not None:
            return beside
        mode = self._mode(c, has)
        if mode == "hypothetical":
            subjects = self._subjects(c)[0]
            s.supposed, s.supposed_in = subjects or list(s.topic) or s.supposed, c.sentence
            s.supposed_places = self._places_named(c, subjects)
        if mode:
            return self._set_aside(c, mode)
        if "taken-back" in has:
            return self._take_back(c)
        if "not-traced" in has and s.topic:
            self._drop_topic()
        if "swap" in has:
            return self._swap(c)
        if "moving" in has:
            s.moving = True
        if "vehicle" in has:
            self._describe(c)
        return self._statement(c, has)

    def _new_sentence(self, c: Clause) -> None:
        s = self.s
        if s.topic and s.topic_sentence < c.sentence - 1:
            self._drop_topic()
        indented, new_line = self._is_indented(c), c.line != s.line
        if not self.talk and (new_line or s.sentence >= 0) and not indented:
            # A place said along with a part holds for its own item of a typed list, no further.
            s.place = s.heading
        elif not s.kept and new_line and not indented:
            s.place = NOWHERE
        if new_line and not indented:
            s.unit = None
            if self._heads_a_line(c):
                # "Under: exhaust hanger missing": no longer at the corner of the line before.
                s.place, s.heading, s.kept, s.walk_side = NOWHERE, NOWHERE, False, None
        s.line, s.sentence = c.line, c.sentence
        s.recent, s.named, s.pending = [], [], []
        if s.focus or s.supposed_in < c.sentence - 1:
            s.supposed = []
        if s.mode and s.mode_until < c.sentence:
            s.mode = None

    def _heads_a_line(self, c: Clause) -> bool:
        named = any(m.tag("place", "component", "short") for m in c.mentions)
        return self.words[c.end - 1].fold == ":" and not named and not self.talk

    def _is_indented(self, c: Clause) -> bool:
        """Whether the clause starts a line that stands under the one before it."""
        at = self.words[c.begin].begin
        start = self.text.rfind("\n", 0, at) + 1
        return at - start >= 2 and not self.text[start:at].strip()

    def _describe(self, c: Clause) -> None:
        """What kind of vehicle it is, said once near the start."""
        facts = self.out.vehicle
        m = next(m for m in c.mentions if m.tag("vehicle"))
        if facts.description is None and m.begin < _DESCRIBED_WITHIN:
            facts.description = self._phrase(m)
            facts.spans.append((self.words[m.begin].begin, self.words[m.end - 1].end))

    def _note_wish(self, c: Clause, has: set[str]) -> None:
        """What the customer intends with the vehicle and wants fitted, in the note's own words, as first said."""
        facts = self.out.vehicle
        first = next((k for k in range(c.begin, c.end) if self.words[k].fold not in _LEADING), c.begin)
        begin, end = self.words[first].begin, self._chars(c)[1]
        said = " ".join(self.text[begin:end].split()).strip(" .,;:-")
        if "plan" in has and facts.plan is None:
            facts.plan = said
        elif "parts-preference" in has and facts.parts_preference is None:
            facts.parts_preference = said
        else:
            return
        facts.customer_spans.append((begin, end))

    # ----- when the pass is over --------------------------------------------------------------------------------------

    def _leak_found_after_all(self) -> None:
        """A fluid said to leak, from nobody knew where, belongs to what was then found leaking in the same system."""
        comps = self.v.components
        for f in self.from_nowhere:
            system = comps[f.component].system
            leaking = [
                x
                for x in self.out.findings
                if x is not f and comps[x.component].system == system
                if any(said.id in ("leaking", "seeping") for said in x.conditions)
            ]
            if leaking and f in self.out.findings:
                self.out.findings.remove(f)
                leaking[0].spans += f.spans

    def _seat_in_front(self) -> None:
        """ "Driver's seat belt", "passenger window": whoever is named without a row sits in front."""
        seats = sorted(
            self.words[m.begin].begin
            for m in self.starts.values()
            if m.tag("place") and m.end - m.begin == 1 and self.words[m.begin].fold in _SEATED
        )
        for f in self.out.findings:
            comp = self.v.components[f.component]
            if f.place.axle or "axle" not in axes_of(comp) or comp.system in AT_THE_WHEELS or not f.place.side:
                continue
            if any(begin <= at < end for begin, end in f.spans for at in seats):
                f.place = f.place._replace(axle="front")
                f.why.append(Why("position", "place.front-seat", "a driver or passenger without a row sits in front"))

    def _merge_said_twice(self) -> None:
        """What was said twice of one component at one place is one finding, resting on the words of both."""
        first: dict[tuple[str, Place], Finding] = {}
        for f in self.out.findings:
            known = first.setdefault((f.component, f.place), f)
            if known is f:
                continue
            known.conditions += [x for x in f.conditions if all(x.id != y.id for y in known.conditions)]
            known.readings += [
                r for r in f.readings if all((r.value, r.unit) != (k.value, k.unit) for k in known.readings)
            ]
            known.good = known.good or f.good
            known.severity += [x for x in f.severity if x not in known.severity]
            for doubt in self.out.doubts:
                doubt.finding = known if doubt.finding is f else doubt.finding
            known.ask_for += [x for x in f.ask_for if x not in known.ask_for]
            known.verb, known.part = known.verb or f.verb, known.part or f.part
            known.work, known.at_hand = known.work or f.work, known.at_hand or f.at_hand
            known.not_traced = known.not_traced or f.not_traced
            known.identifiers += [x for x in f.identifiers if x not in known.identifiers]
            known.spans += [x for x in f.spans if x not in known.spans]
            known.why += f.why
        self.out.findings = list(first.values())

    def _say_why(self) -> None:
        """Give a reason to every component and place that its own words do not name."""
        comps = self.v.components
        named = _Said()
        placed = _Said()
        for m in self.starts.values():
            at = self.words[m.begin].begin
            if is_subject(m):
                named.add(at, {t.value for t in m.tags if t.kind in ("component", "short")})
            for t in m.tags:
                if t.kind in ("place", "same", "other-one"):
                    placed.add(at, set(resolved(t.value, self.steering).replace("axle=", "").split()))
        for f in self.out.findings:
            family = {f.component, comps[f.component].kind_of, *self.v.kinds.get(f.component, ())}
            if not named.within(f) & family and not _explains(f, "component"):
                text = f"the note was still speaking of the {comps[f.component].name}"
                f.why.append(Why("component", "component.in-focus", text))
            unsaid = {x for x in f.place[:5] if x} - placed.within(f)
            if unsaid and not _explains(f, "position"):
                if unsaid <= {x for x in implied(comps[f.component])[:5] if x}:
                    f.why.append(Why("position", "place.implied-by-part", "this part is always there"))
                else:
                    f.why.append(Why("position", "place.in-force", "the note was there when it said this"))

    def _hold_tallies_against_lines(self) -> None:
        """Ask back where a count that was said is not the count of lines to replace."""
        for component, wanted, name in self.tallies:
            here = [f for f in self.out.findings if f.component == component and f.verb == "replace"]
            if here and len(here) != wanted:
                text = f"The note says {wanted} of the {name}, its lines say {len(here)}. Which ones?"
                self.out.doubts.append(Doubt("side", text, [], here[0]))

    def _ask_whether_done(self) -> None:
        """ "The bearing is done" and no more: worn out as the trade says it, or the work is done."""
        asked: set[str] = set()
        for f, said in self.maybe_done:
            if (
                said not in asked
                and f in self.out.findings
                and len(f.conditions) == 1
                and not (f.readings or f.verb or f.work or f.good)
            ):
                text = f"The note says “{said}”: worn out, or the work done?"
                self.out.doubts.append(Doubt("understanding", text, ["worn out", "work done"], f))
                asked.add(said)


class _Said:
    """What was said at which character, added in the order of the note."""

    def __init__(self) -> None:
        self.at: list[int] = []
        self.what: list[set[str]] = []

    def add(self, at: int, what: set[str]) -> None:
        self.at.append(at)
        self.what.append(what)

    def within(self, f: Finding) -> set[str]:
        """Everything said in the spans of a finding."""
        return {
            x
            for begin, end in f.spans
            for what in self.what[bisect_left(self.at, begin) : bisect_left(self.at, end)]
            for x in what
        }


def _explains(f: Finding, field: str) -> bool:
    return any(w.field == field for w in f.why)
