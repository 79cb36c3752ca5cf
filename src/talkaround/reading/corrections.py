"""What a clause takes back, swaps or corrects of what was said before it.

Rules: ``correction.taken-back`` ("scratch that"), ``correction.place-to-come`` and ``correction.to-come`` (only the turn, the
right place or number follows), ``correction.replaced`` (the last finding is moved or measured again), ``correction.place``,
``correction.swap`` ("other way round") and ``correction.swap-of-nothing``.
"""

from __future__ import annotations

from talkaround.reading.clauses import has_predicate, is_predicate, kinds_in, names_part
from talkaround.reading.places import PlacesSaid
from talkaround.reading.readings import ReadingRules
from talkaround.reading.state import Heard
from talkaround.reading.types import Aside, Clause, Mention, Place, Why

_TURNS = frozenset({"correction", "negation"})
_LONGEST_TURN = 5


class CorrectionRules(ReadingRules):
    # ----- taken back -------------------------------------------------------------------------------------------------

    """The walk's rules for what is taken back, swapped or corrected."""

    def _take_back(self, c: Clause) -> str:
        if not names_part(c) and self.s.focus and self._only_place_follows(c):
            # "Scratch that, the right front": only the place is taken back.
            self.s.correcting = True
            self._aside(c, "taken-back")
            return "correction.place-to-come"
        if names_part(c):
            self._drop_topic()
        elif self.s.topic:
            self._drop_topic("taken-back")
        else:
            self._retract("taken-back")
        self._aside(c, "taken-back")
        return "correction.taken-back"

    def _only_place_follows(self, c: Clause) -> bool:
        """Whether the next clause of the sentence is a place and nothing else."""
        after = self._next_in_sentence(c)
        if after is None or names_part(after) or has_predicate(after):
            return False
        if any(self.words[q.begin].fold not in ("one", "1") for q in after.quantities):
            return False
        return any(m.tag("place") for m in after.mentions)

    def _retract(self, reason: str) -> None:
        """Take back what the last clause said: its findings go, their words are set aside."""
        gone = [f.component for f in self.s.focus]
        for f in self.s.focus:
            # What rests on more than that was said more than once.
            if f in self.out.findings and len(f.spans) <= 2:
                self.out.findings.remove(f)
                self.out.asides += [Aside(b, e, reason) for b, e in f.spans]
        self.s.focus = []
        if reason == "taken-back":
            # "Scrub that, it's the offside that's worn": the part is still what the talk is about.
            self.s.taken_back = gone

    # ----- swapped ----------------------------------------------------------------------------------------------------

    def _swap(self, c: Clause) -> str:
        """ "Other way round": two sibling findings trade what was said of them."""
        focus = self.s.focus
        pool = [f for f in self.s.recent if focus and f.component == focus[0].component] or focus
        pair = pool[-2:]
        if len(pair) < 2 and focus:
            last = focus[-1]
            alike = [f for f in self.out.findings if f.component == last.component and f.place.axle == last.place.axle]
            pair = alike[-2:]
        if len(pair) < 2:
            self._aside(c, "chatter")
            return "correction.swap-of-nothing"
        a, b = pair
        a.place, b.place = b.place, a.place
        for f in pair:
            f.spans.append(self._chars(c))
        return "correction.swap"

    # ----- corrected --------------------------------------------------------------------------------------------------

    def _moves_with_its_name(self, h: Heard, cue: Mention | None) -> bool:
        """ "Left front caliper is seized, no wait, right front needs a caliper": the finding moves, and more is said of it."""
        focus, groups = self.s.focus, h.places.complete()
        if len(focus) != 1 or len(groups) != 1 or not focus[0].conditions:
            return False
        f, place = focus[0], groups[0]
        first = next((m.begin for m in h.clause.mentions if m.tag("place")), -1)
        named = [*h.subjects, *h.objects]
        if (cue is not None and cue.end > first) or not named or any(t.component != f.component for t in named):
            return False
        if any(m.tag("good") for m in h.clause.mentions) or not place.side or place.side == f.place.side:
            return False
        f.place = self._fit(f.component, place.over(f.place))
        f.why.append(Why("position", "correction.place", "the note corrected the place"))
        self.s.place = Place(f.place.axle, f.place.side)
        h.subjects, h.objects, h.places = [], [], PlacesSaid()
        return True

    def _other_one_it_is(self, h: Heard) -> bool:
        """ "Left front bearing hums, right is fine. No, it's the right that hums": what was said is so of the other one."""
        groups = h.places.complete()
        if h.subjects or h.quantities or len(groups) != 1 or not groups[0].side or not self.s.focus:
            return False
        said = {t.value for m in h.predicates for t in m.of("condition")}
        component = self.s.focus[-1].component
        wrong = [
            f
            for f in self.out.findings
            if f.component == component and f.place.side and f.place.side != groups[0].side
            if said & {x.id for x in f.conditions}
        ]
        if len(wrong) != 1 or not said:
            return False
        f = wrong[0]
        meant = self._finding(component, self._fit(component, groups[0].over(f.place)), [])
        meant.conditions, meant.severity, meant.verb, meant.part = f.conditions, f.severity, f.verb, f.part
        meant.good = False
        meant.why.append(Why("position", "correction.place", "the note corrected the place"))
        self.out.asides += [Aside(begin, end, "taken-back") for begin, end in f.spans]
        f.conditions, f.severity, f.verb, f.part, f.spans = [], [], None, None, []
        self._rest_on(meant, self._chars(h.clause))
        self._focus_on([meant])
        return True

    def _only_correcting(self, c: Clause, has: set[str]) -> bool:
        """ "No,", "sorry,": nothing but the turn itself, with the place or number that is meant still to come."""
        if not self.s.focus or c.quantities or c.end - c.begin > _LONGEST_TURN:
            return False
        if not has & _TURNS or has - _TURNS - {"filler", "good", "pronoun"}:
            return False
        if "correction" in has:
            return True
        for after in self.clauses[c.number + 1 : c.number + 3]:
            if after.sentence != c.sentence:
                return False
            kinds = kinds_in(after)
            if "correction" in kinds and not kinds - _TURNS - {"filler"}:
                continue
            only_a_place = not kinds - {"place", "filler", "correction"} and bool(kinds or after.quantities)
            return only_a_place and self.words[c.begin].fold == "no"
        return False

    def _correct(self, h: Heard) -> bool:
        """ "No wait, right front", "sorry, rear", "correction, six": the last finding is moved or measured again."""
        s = self.s
        s.correcting = False
        mentions = h.clause.mentions
        cue = next((m for m in mentions if m.tag("correction")), None)
        if self._moves_with_its_name(h, cue):
            return False
        if self._other_one_it_is(h):
            return True
        says_more = any(m is not cue and is_predicate(m) and not m.tag("good") for m in mentions)
        if not s.focus or h.subjects or says_more:
            return False
        if any(m.tag("good") for m in mentions) and s.focus[-1].conditions:
            # "Seized. Sorry, the nearside one's free": a word on the other one, no correction of this one.
            return False
        groups = h.places.complete()
        f = s.focus[-1]
        if len(groups) == 1 and len(s.focus) == 1:
            f.place = self._fit(f.component, groups[0].over(f.place))
            f.why.append(Why("position", "correction.place", "the note corrected the place"))
            s.place = Place(f.place.axle, f.place.side)
        elif h.quantities and not groups:
            for q in h.quantities:
                unit = q.unit or (f.readings[-1].unit if f.readings else self._unit_of(f.component, q))
                if unit is not None:
                    f.readings = [r for r in f.readings if r.unit != unit] + self._as_readings(q, unit)
        else:
            return False
        self._rest_on(f, self._chars(h.clause))
        return True
