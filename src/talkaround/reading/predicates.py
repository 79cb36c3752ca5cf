"""What a clause says of its findings: conditions and their degree, what is ruled out, good, severity, action and work.

Negation reaches to the first predicate behind it and on over "or" and "and". An action is a need or done; words of need
before a participle make it a need ("needs to be replaced"). Rules: ``same.again``.
"""

from __future__ import annotations

from dataclasses import replace

from talkaround.reading.clauses import has_predicate, is_subject
from talkaround.reading.deliveries import DeliveryRules
from talkaround.reading.places import PlacesSaid
from talkaround.reading.state import Heard, Subject
from talkaround.reading.types import Aside, Clause, Doubt, Finding, Mention, Said, Why
from talkaround.vocabulary import Tag
from talkaround.vocabulary.schema import Component

# A thickness or depth said of the whole is one of its wearing part.
_MEASURED_ON = {"brake-system": "brake-pad", "wheel": "tire"}
# What a word of need says of the severity.
_MUST = frozenset({"need", "must", "got", "has", "have", "want"})
_WOULD = frozenset({"suggest", "recommend", "rec", "advise", "id", "quote", "offer"})
_NEED_LEADS = frozenset(
    "id ill wed would will could youd theyd going gonna ought need needs be get getting want must to should require "
    "have".split()
)
# "Replace" and "monitor" give way to these: they say more exactly what is done.
_MORE_EXACT = frozenset("diagnose flush repair align machine clean adjust fill lubricate tighten".split())
# "The tires are done": behind these words "done" means worn out.
_BEFORE_WORN = frozenset("is are they theyre about pretty well nearly almost".split())
_SAY_NO_PART = frozenset("it that this they them those these theyre one".split())
_BEFORE_CLEANING = frozenset({"to", "need", "a", "off", "car"})
_BEHIND_CLEANING = frozenset("it them up out off the when those needed".split())
_BEFORE_SUBSTANCE = frozenset("there of with throwing slinging losing got the leaking".split())
_BEHIND_SUBSTANCE = frozenset("all on out everywhere over inside in from coming down slung".split())
_FRICTION = ("brake-pad", "brake-shoe", "brake-lining", "brake-rotor", "brake-drum")
_NAMES_READING = ("runout", "thickness-variation")
# "Get it done": how far before "done" the word of wanting stands, and what says that it was got done.
_WANTS = frozenset("get getting want need like".split())
_WANTED_WITHIN = 6
# "The pads are done, torqued to 90": how far behind "done" the work may be told.
_WORK_WITHIN = 12
_ENDS = frozenset({".", ";", "!", "?", "\n"})
_MANAGED = frozenset("did managed able could".split())
WORKING = frozenset("work working operational functional functions".split())
_PAIR = frozenset({"pair", "both"})
_WORK_RANK = {None: 0, "done": 1, "ordered": 2, "declined": 3, "wrong-part": 4}


def _closeness(tag: Tag, component: Component) -> int:
    """How closely a phrase is meant for a component: 0 for any, 1 for those of its system, 2 for its sort or itself."""
    return 0 if not tag.scope else 1 if component.system in tag.scope else 2


class PredicateRules(DeliveryRules):
    """The walk's rules for what is said of its findings."""

    def _predicate(self, h: Heard, targets: list[Finding], parts: list[Subject]) -> None:
        """Say of ``targets`` what the clause says; ``parts`` are what is to be fitted to them."""
        negated = self._negated(h.clause, h.places)
        conditions, ruled_out = self._conditions(h.clause, negated, targets[0].component)
        good = self._is_good(h, negated, targets[0].component)
        if not conditions and not h.subjects and any(m.value("ruled-out") == "fault" for m in h.predicates):
            # "Leaks at the rear main: none seen".
            ruled_out += [x.id for f in targets if f in self.s.recent for x in f.conditions]
        verb, form = self._action(h.clause, h.predicates, targets[0].component)
        if any(self._is_done_for(m, targets[0].component) for m in h.predicates):
            self.maybe_done += [(f, self._phrase_of(h.clause)) for f in targets if not f.says_something()]
        if verb == "lubricate" and good and not conditions:
            # "Pins were dry, greased them": dry is what was wrong with them.
            good = False
        replaced = all(f.verb == "replace" or (f.work == "done" and not f.conditions) for f in targets)
        if verb == "tighten" and form == "done" and not h.subjects and replaced:
            # "Needs a battery. Torqued to spec": how other work was finished, and not what this part had.
            verb = form = None
        work = self._work(h.clause, form, self.v.components[targets[0].component])
        severity = self._severity(h.predicates, negated, form, targets[0].component)
        if not severity and not work and self._wants_it_done(h.clause):
            severity = ["required"]
        untraced = any(m.tag("not-traced") for m in h.predicates)
        if good and any(self._is_new(h.clause, m) for m in h.predicates):
            for f in targets:
                f.why.append(Why("severity", "good.new", "the note says that it is new"))
        if h.clause.number in self.denied and not good and any(m.tag("good") for m in h.predicates):
            self._add_denied_good(h, conditions, severity)
        if good and not conditions:
            self._settle_contradiction(h, targets)
        for f in targets:
            self._move_to_part_meant(f, h, conditions, verb)
            self._add_conditions(f, conditions, ruled_out, good)
            f.severity += [x for x in severity if x not in f.severity]
            f.not_traced = f.not_traced or untraced
        acting = self._acted_on(targets, verb)
        if (verb == "diagnose" or untraced) and not conditions and all(f.good and not f.conditions for f in targets):
            # "The other fan is fine. Haven't chased it yet": what is still to be found is the fault, not the good one.
            faulty = next((f for f in reversed(self.out.findings[-4:]) if f.conditions), None)
            if faulty is not None:
                acting = [faulty]
                faulty.not_traced = True
                for f in targets:
                    f.not_traced = False
        if not conditions and any(q.values == (0,) for q in h.quantities):
            # "Left's at zero": no play.
            for f in targets:
                f.good = f.good or "play" in self.v.components[f.component].measured
        for f in acting:
            if f not in targets:
                self._rest_on(f, self._chars(h.clause))
            if verb and (f.verb in (None, "monitor") or (form == "done" and f.work != "done")):
                f.verb = verb
            if work:
                self._set_work(f, work)
            pair = _PAIR & set(self._folds(h.clause.begin, h.clause.end))
            if (verb == "replace" or severity) and len(acting) == 1 and pair:
                twin = self._twin_just_read(f)
                if twin is not None:
                    # "LF 3/32 RF 3/32 replace both".
                    twin.verb, twin.severity = twin.verb or verb, twin.severity or list(severity)
                    self._rest_on(twin, self._chars(h.clause))
                else:
                    # "Left shock is leaking, replace the pair": two are bought, one failed.
                    f.quantity = 2
            if parts:
                f.part = self._part_for(f, parts, "served" in h.has) or f.part
                if f.verb is None and verb is None and (severity or "served" in h.has):
                    f.verb = "replace"
            served_as = self.v.components[f.component].served_as
            if "not-alone" in h.has and served_as and f.part is None:
                f.part = served_as[0].part
        self._bind_readings(h.clause, targets, h.quantities)

    def _twin_just_read(self, f: Finding) -> Finding | None:
        """The other one of the pair, where it was just read or found at fault as well."""
        other = f.place.other_side()
        twins = (x for x in self.s.recent if x.component == f.component and x.place == other and other.side)
        return next((x for x in twins if x.readings or x.conditions), None)

    def _add_denied_good(self, h: Heard, conditions: list[Said], severity: list[str]) -> None:
        """ "Washer working? No.", "brakes ok? no": it does not work, or something is wrong with it."""
        told = self.clauses[h.clause.number + 1]
        more = self._next_in_sentence(told)
        if any(self.words[m.begin].fold in WORKING for m in h.predicates):
            conditions.append(Said("inoperative"))
        elif not has_predicate(told) and (more is None or not has_predicate(more)):
            # Where the answer goes on, it says itself what is wrong.
            severity.append("doubtful")

    def _move_to_part_meant(self, f: Finding, h: Heard, conditions: list[Said], verb: str | None) -> None:
        """ "Brakes are 3 mm" is said of the pads, "reservoir is low" of what it holds."""
        wearing = _MEASURED_ON.get(f.component)
        as_thick = any(q.unit == "1/32 in" or (q.unit in (None, "mm") and q.values[0] >= 1) for q in h.quantities)
        if wearing in self.v.components and as_thick:
            f.component = wearing
        holds = self.v.components[f.component].holds
        of_the_fluid = any(x.id in ("low", "contaminated", "high", "due") for x in conditions)
        if holds and (of_the_fluid or verb in ("fill", "flush")):
            f.component = holds

    # ----- contradictions ---------------------------------------------------------------------------------------------

    def _settle_contradiction(self, h: Heard, targets: list[Finding]) -> None:
        """A part that was found faulty is later said to be fine: the later word stands where it corrects, else both do."""
        f = targets[0]
        named_again = bool(h.subjects) or bool(h.places.groups)
        if len(targets) != 1 or not f.conditions or not named_again or f.work is not None:
            return
        if f in self.s.focus and not h.corrects:
            return
        if h.corrects:
            self.out.asides += [Aside(begin, end, "taken-back") for begin, end in f.spans]
            f.conditions, f.severity, f.verb, f.part, f.spans = [], [], None, None, []
            f.why.append(Why("severity", "correction.taken-back", "the note took back what it said of it before"))
            return
        name = self.v.components[f.component].name
        place = " ".join(x for x in (f.place.side, f.place.axle) if x)
        said = " and ".join(x.id for x in f.conditions)
        text = f"The note calls the {' '.join(x for x in (place, name) if x)} {said}, and later fine. Which holds?"
        choices = [said, "fine"]
        self.out.doubts.append(Doubt("understanding", text, choices, f))

    # ----- conditions -----------------------------------------------------------------------------------------------

    def _negated(self, c: Clause, places: PlacesSaid) -> set[int]:
        """Where mentions stand that a "no" or "not" reaches, before or behind them."""
        if c.number in self.denied:
            return {m.begin for m in c.mentions}
        out, opening = self._ruled_out_behind(c)
        scope_until = -1
        open_scope = places.neither
        for m in c.mentions:
            if m in opening or (m.tag("negation") and not m.tag("condition", "good")):
                open_scope, scope_until = True, m.end + 7
                continue
            if not open_scope:
                continue
            if scope_until >= 0 and m.begin > scope_until:
                open_scope = False
                continue
            if m.tag("condition", "good", "severity", "action", "work") and not m.tag("component"):
                out.add(m.begin)
                if self._word(m.end, until=c.end) in ("or", "nor", "and", "/"):
                    scope_until = m.end + 4
                else:
                    open_scope = places.neither
        return out

    def _ruled_out_behind(self, c: Clause) -> tuple[set[int], list[Mention]]:
        """Where faults stand that "was ruled out" or "none seen" reaches back to, and those words with no fault before them."""
        out: set[int] = set()
        opening: list[Mention] = []
        for m in c.mentions:
            if m.value("ruled-out") != "fault":
                continue
            faults = {x.begin for x in c.mentions if x.begin < m.begin and x.tag("condition")}
            if faults:
                # "Play ... was absent": that is then no fault of its own.
                out |= {*faults, m.begin}
            elif not m.tag("condition"):
                opening.append(m)
        return out, opening

    def _conditions(self, c: Clause, negated: set[int], component: str) -> tuple[list[Said], list[str]]:
        """The conditions said, each with its degree, and those ruled out."""
        said: list[Said] = []
        ruled_out: list[str] = []
        degree_before: str | None = None
        for m in c.mentions:
            condition = self._condition_for(m, component) if not m.tag("component") else None
            if condition is not None and self._how_bad(c, m, component):
                # "Leaking real bad", "a bad leak": how much of it.
                degree_before = "severe"
                if said and said[-1].degree is None:
                    said[-1].degree, degree_before = "severe", None
                continue
            if self._becomes(m) and any(x.begin == m.end and self._condition_for(x, component) for x in c.mentions):
                continue
            if condition is not None and self._names_reading(c, m, component):
                condition = None
            if condition is not None:
                if m.begin in negated:
                    ruled_out.append(condition.value)
                else:
                    bad = "severe" if condition.value == "worn" and self.words[m.end - 1].fold == "bad" else None
                    said.append(Said(condition.value, condition.more or degree_before or bad))
                degree_before = None
                continue
            degree = m.value("degree")
            if degree is not None:
                if said and said[-1].degree is None and not self._more_to_come(c, m):
                    said[-1].degree = degree
                else:
                    degree_before = degree
        return said, ruled_out

    def _how_bad(self, c: Clause, m: Mention, component: str) -> bool:
        """Whether "bad" stands at another condition, and is none itself."""
        if m.end - m.begin > 1 or self.words[m.begin].fold != "bad":
            return False
        others = [x for x in c.mentions if x is not m and x.begin != m.begin and self._condition_for(x, component)]
        return any(0 <= m.begin - x.end <= 2 or 0 <= x.begin - m.end <= 1 for x in others)

    def _becomes(self, m: Mention) -> bool:
        """ "Gone rusty": what it became is the condition."""
        return m.end - m.begin == 1 and self.words[m.begin].fold in ("gone", "going", "went")

    def _condition_for(self, m: Mention, component: str) -> Tag | None:
        """The condition that a mention means of this component, the most exact where there are several."""
        comp = self.v.components[component]
        best: Tag | None = None
        for t in m.of("condition"):
            if t.scope and self.v.scopes_of(component).isdisjoint(t.scope):
                continue
            if m.tag("work") and m.end - m.begin == 1 and not self._means_worn_out(m, comp):
                continue
            closer = best is None or _closeness(t, comp) > _closeness(best, comp)
            if best is None or closer or (t.more and not best.more and t.value == best.value):
                best = t
        if best is None:
            return None
        if best.value == "loose" and "free-travel" in comp.measured and self.words[m.end - 1].fold == "play":
            return None
        if m.tag("good") and not best.scope and m.end - m.begin == 1:
            return None
        if best.value in ("leaking", "seeping") and component.endswith(_FRICTION):
            # Pads and shoes do not leak: what is wet on them has soiled them.
            return best._replace(value="contaminated")
        return best

    def _names_reading(self, c: Clause, m: Mention, component: str) -> bool:
        """ "Runout .002, in spec": beside its number the name of what is measured says nothing of the state."""
        name = " ".join(self._folds(m.begin, m.end)).replace(" ", "-")
        return name in _NAMES_READING and name in self.v.components[component].measured and bool(c.quantities)

    def _more_to_come(self, c: Clause, m: Mention) -> bool:
        """Whether a condition follows the degree word closely, so that it belongs to that one."""
        return any(x.tag("condition") and 0 <= x.begin - m.end <= 1 for x in c.mentions)

    def _is_good(self, h: Heard, negated: set[int], component: str) -> bool:
        return any(
            (
                m.tag("good")
                and m.begin not in negated
                and not self._is_cleaning(h.clause, m)
                and not self._condition_for(m, component)
            )
            or self._is_new(h.clause, m)
            for m in h.predicates
        )

    def _add_conditions(self, f: Finding, conditions: list[Said], ruled_out: list[str], good: bool) -> None:
        for x in conditions:
            known = [y for y in f.conditions if y.id == x.id]
            if not known:
                f.conditions.append(Said(x.id, x.degree))
            for y in known:
                y.degree = y.degree or x.degree
        if f.work == "done" and not conditions:
            # "Noisy, replaced. Test drove after, no noise": the check of the work takes back nothing of what was found.
            return
        if ruled_out and not conditions:
            f.conditions = [y for y in f.conditions if y.id not in ruled_out]
            if not f.conditions:
                f.good = True
        if good:
            f.good = True

    # ----- severity, action and work ----------------------------------------------------------------------------------

    def _severity(self, predicates: list[Mention], negated: set[int], form: str | None, component: str) -> list[str]:
        """What is said outright of the severity, in words of severity or of need."""
        said = [
            t.value
            for m in predicates
            for t in m.of("severity")
            if m.begin not in negated
            and not (t.value == "required" and (form == "done" or self._is_a_level(m, component)))
        ]
        if "required" not in said and any(self._is_done_for(m, component) for m in predicates):
            said.append("required")
        for m in predicates if form == "need" else ():
            if m.tag("action") and m.begin not in negated and not m.tag("severity"):
                lead = self.words[m.begin].fold
                # "I'd put one on": what somebody would do is suggested, as where "I'd" opens the words of work.
                would = lead in _WOULD or self._word(m.begin - 1) in ("id", "wed")
                level = "required" if lead in _MUST else "suggested" if would else None
                if level and level not in said:
                    said.append(level)
        return said

    def _is_a_level(self, m: Mention, component: str) -> bool:
        """ "Below minimum" fails what wears; of a fluid it is only its level."""
        condition = self._condition_for(m, component) if self.v.components[component].kind == "fluid" else None
        return condition is not None and condition.value == "low"

    def _action(self, c: Clause, predicates: list[Mention], component: str) -> tuple[str | None, str | None]:
        """The action said in the clause, and whether as ``need`` or as ``done``."""
        verb = form = None
        for m in predicates:
            said = self._condition_for(m, component) if m.tag("action") else None
            if said is not None and said.scope:
                # "The brake hose blew out": of this part the words say what is wrong, and no work.
                continue
            for t in m.of("action"):
                if (m.tag("good") and not self._is_cleaning(c, m)) or self._is_substance(c, m) or self._is_new(c, m):
                    continue
                said_as = self._form(c, m, t)
                if (
                    verb is None
                    or (form == "need" and said_as == "done")
                    or (verb in ("replace", "monitor") and t.value in _MORE_EXACT and said_as == form)
                ):
                    verb, form = t.value, said_as
        if verb is None and any(m.tag("not-traced") for m in predicates):
            return "diagnose", "need"
        if verb is None and self._put_one_in(c):
            return "replace", "done"
        return verb, form

    def _is_new(self, c: Clause, m: Mention) -> bool:
        """ "Pads are new", "11 mm, new": a verdict, no need."""
        if self.words[m.begin].fold != "new" or m.end - m.begin > 1:
            return False
        lead = self._word(m.begin - 1, since=c.begin)
        if lead in ("is", "are", "look", "nearly", "almost", "still") or any(q.end == m.begin for q in c.quantities):
            return True
        # A typed list's "air filter new".
        return m.end >= c.end - 1 and any(is_subject(x) and x.end == m.begin for x in c.mentions)

    def _put_one_in(self, c: Clause) -> bool:
        """ "Put a core in it": a part that was fitted, unless it would be."""
        for k in range(c.begin, c.end - 1):
            if self.words[k].fold == "put" and self._word(k + 1) in ("a", "an", "some", "two", "another", "new", "one"):
                lead = self._word(k - 1, since=c.begin)
                return lead not in _NEED_LEADS and any(is_subject(m) and m.begin > k for m in c.mentions)
        return False

    def _form(self, c: Clause, m: Mention, t: Tag) -> str | None:
        """Whether an action is a need or done, by what leads it."""
        lead = self._word(m.begin - 1, since=c.begin)
        lead2 = self._word(m.begin - 2, since=c.begin)
        needed = lead in _NEED_LEADS or any(
            x.value("severity") in ("required", "suggested", "advised") and x.end <= m.begin <= x.end + 2
            for x in c.mentions
        )
        form = t.more
        if form == "done" and c.opened_by in ("till", "until"):
            form = "need"
        if form == "done" and (needed or (lead2 in _NEED_LEADS and lead in ("be", "it", "them"))):
            return "need"
        if form == "need" and any(x.value == t.value and x.more == "done" for x in m.of("action")) and not needed:
            return "done"
        return form

    def _is_cleaning(self, c: Clause, m: Mention) -> bool:
        """ "Clean it", "clean when the battery goes in": the verb, not the verdict."""
        if self.words[m.begin].fold != "clean" or m.end - m.begin > 1:
            return False
        behind, before = self._word(m.end, until=c.end), self._word(m.begin - 1, since=c.begin)
        return behind in _BEHIND_CLEANING or before in _BEFORE_CLEANING

    def _is_substance(self, c: Clause, m: Mention) -> bool:
        """ "There's grease all over it": the stuff, not the work."""
        if m.end - m.begin > 1 or self.words[m.begin].fold not in ("grease", "oil", "lube"):
            return False
        return self._word(m.begin - 1, since=c.begin) in _BEFORE_SUBSTANCE or self._word(m.end) in _BEHIND_SUBSTANCE

    def _work(self, c: Clause, form: str | None, comp: Component) -> str | None:
        """What became of the work: done, ordered, declined, or the wrong part came."""
        said = [t.value for m in c.mentions for t in m.of("work")]
        past = any(m.tag("history") for m in c.mentions)
        for value in ("wrong-part", "declined", "ordered"):
            if value in said and not (past and value == "declined"):
                return value
        if form == "done":
            return "done"
        done = [m for m in c.mentions if m.value("work") == "done"]
        if any(not self._tells_no_work(m, comp) and not self._is_wanted(c, m) for m in done):
            return "done"
        return None

    def _wants_it_done(self, c: Clause) -> bool:
        return any(m.value("work") == "done" and self._is_wanted(c, m) for m in c.mentions)

    def _is_wanted(self, c: Clause, m: Mention) -> bool:
        """ "Get it done soon", "needs the belt done": still to do; but "did get it done"."""
        for k in range(m.begin - 1, max(c.begin, m.begin - _WANTED_WITHIN) - 1, -1):
            before = self._word(k - 1, since=c.begin)
            if self.words[k].fold in _WANTS:
                return before not in _MANAGED and not (before == "to" and self._word(k - 2) in _MANAGED)
            if self.words[k].fold == "have":
                return k == c.begin or before in _NEED_LEADS
        return False

    def _means_worn_out(self, m: Mention, comp: Component) -> bool:
        """ "The bearing is done": worn out; but "it's done" may be either, and "until it's done" is still to come."""
        if not self._tells_no_work(m, comp):
            return False
        named = (self._word(k) for k in range(m.begin - 1, max(m.begin - 4, -1), -1))
        subject = next((w for w in named if w not in _BEFORE_WORN), "")
        return subject not in _SAY_NO_PART and "until" not in self._folds(max(0, m.begin - 4), m.begin)

    def _tells_no_work(self, m: Mention, comp: Component) -> bool:
        """Whether "done" is said of a part's state; not "the oil change is done", "the pads are done, torqued to 90"."""
        if m.end - m.begin > 1 or not m.tag("condition") or comp.kind in ("fluid", "service"):
            return False
        return self._is_said_to_be(m) and not self._work_follows(m)

    def _is_done_for(self, m: Mention, component: str) -> bool:
        return m.value("work") == "done" and self._means_worn_out(m, self.v.components[component])

    def _work_follows(self, m: Mention) -> bool:
        """Whether the sentence goes on to say what work was done, or when."""
        for k in range(m.end, min(m.end + _WORK_WITHIN, len(self.words))):
            if self.words[k].fold in _ENDS:
                return False
            behind = self.starts.get(k)
            if behind is not None and (behind.tag("already") or any(t.more == "done" for t in behind.of("action"))):
                return True
        return False

    def _is_said_to_be(self, m: Mention) -> bool:
        """Whether "is" or the like stands before it, also as the end of "tire's"."""
        if m.begin == 0:
            return False
        before = self.words[m.begin - 1]
        return before.fold in _BEFORE_WORN or self.text[before.begin : before.end].lower().endswith(("'s", "’s", "'re"))

    def _set_work(self, f: Finding, work: str) -> None:
        if _WORK_RANK[work] >= _WORK_RANK[f.work]:
            f.work = work
        if work in ("ordered", "wrong-part") and f.verb is None:
            f.verb = "replace"

    def _acted_on(self, targets: list[Finding], verb: str | None) -> list[Finding]:
        """Which findings an action is for: filling suits fluids and tires, so it may reach back past a part named since."""
        if verb != "fill":
            return targets

        def fits(f: Finding) -> bool:
            comp = self.v.components[f.component]
            return comp.kind in ("fluid", "system") or "tire" in (f.component, comp.kind_of) or bool(comp.holds)

        fitting = [f for f in targets if fits(f)]
        if fitting:
            return fitting
        back = [f for f in reversed(self.s.recent) if fits(f)]
        return back[:1] or targets

    def _part_for(self, f: Finding, parts: list[Subject], served: bool) -> str | None:
        """The part to be fitted where it is another than what was found at fault."""
        own = self.v.components[f.component]
        for o in parts:
            served_with = self._served_with(o.mention, f)
            if served_with is not None:
                return served_with
            if o.component == f.component or any(t.value == f.component for t in o.mention.of("short")):
                return None
            if any(x.part == o.component for x in own.served_as):
                return o.component
            alike = self.v.components[o.component].system == own.system
            if self._kin(o.component, f.component) or (served and alike):
                more_or_less_exact = own.kind_of == o.component or self.v.components[o.component].kind_of == f.component
                return None if more_or_less_exact else self._assembly_named(o.mention, f, False) or o.component
        return None

    def _copy_same(self, targets: list[Finding], before: list[Finding]) -> None:
        """ "Same on the other side": what was said of the twin is said again."""
        for f in targets:
            twins = (
                b
                for b in [*before, *reversed(self.out.findings)]
                if b is not f and b.component == f.component and b.says_something()
            )
            twin = next(twins, None)
            if twin is None or f.conditions or f.readings or f.good:
                continue
            f.conditions = [Said(x.id, x.degree) for x in twin.conditions]
            f.readings = [replace(r, copied=True) for r in twin.readings]
            f.good = twin.good
            f.severity = list(twin.severity)
            f.verb = f.verb or (twin.verb if twin.work != "done" else None)
            text = "the note says it is the same as its twin"
            fields = ("conditions", "measurements", "severity", "action")
            f.why += [Why(field, "same.again", text) for field in fields]
            for span in twin.spans[:1]:
                self._rest_on(f, span)
