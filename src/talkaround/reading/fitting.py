"""What is fitted where the part found at fault is not served alone: the knuckle for its ball joint, the hub for its bearing.

Three ways to say it: that the part comes as or with another; that it cannot be had alone, and the other then named; or the
other named as a whole right behind the fault ("so the whole arm"). None of them is a finding of its own. Rules:
``fit.comes-with``, ``fit.not-alone``, ``fit.named-for-it``.
"""

from __future__ import annotations

from talkaround.reading.clauses import is_subject
from talkaround.reading.readings import ReadingRules
from talkaround.reading.types import Clause, Finding, Mention, Why

# How many clauses behind "not sold alone" the assembly may be named.
_REACH = 3
# How far back the fault may lie that it is said of.
_FAULTS_BACK = 4


class FittingRules(ReadingRules):
    """The walk's rules for what is fitted in place of the faulty part."""

    def _fitted_instead(self, c: Clause, has: set[str]) -> str | None:
        """Read a clause that says what a faulty part is served with; the rule's name, or None where it says no such thing."""
        s = self.s
        comes_with = "served" in has
        alone = "not-alone" in has or "unsold" in has or {"alone", "negation"} <= has
        waited_for = s.unserved is not None and c.number <= s.unserved_at + _REACH
        if not (comes_with or alone or waited_for or "whole" in has or has & {"short", "component"}):
            return None
        if has & {"good", "ruled-out", "hypothetical", "other-vehicle"} or self._finds_fault(c):
            return None
        f = s.unserved if waited_for else self._fault_meant(c)
        if f is None:
            return None
        named = [m for m in c.mentions if is_subject(m)]
        others = [m for m in named if not self._names(m, f)]
        outright = comes_with or alone or (waited_for and f.part is None)
        tries = ((m, loosely) for loosely in (False, outright) for m in reversed(others))
        whole = next((a for m, loosely in tries if (a := self._assembly_named(m, f, loosely))), None)
        if others and whole is None:
            return None
        if whole is None and not alone:
            return None
        if not (comes_with or alone or waited_for) and not self._named_for_it(c, f, whole or ""):
            return None
        if "unsold" in has and not named and not comes_with and "alone" not in has:
            return None
        return self._fit_whole(c, f, whole, comes_with)

    def _fit_whole(self, c: Clause, f: Finding, whole: str | None, comes_with: bool) -> str:
        s = self.s
        if s.topic and s.topic_sentence == c.sentence:
            self._drop_topic()
        alike = [x for x in s.focus if x.component == f.component and x.conditions] if f in s.focus else [f]
        for x in alike:
            self._rest_on(x, self._chars(c))
            if x.verb in (None, "monitor", "repair"):
                x.verb = "replace"
                x.why.append(Why("action", "fit.comes-with", "what is fitted in its place is named"))
            self._set_part(x, whole)
        rule = "fit.not-alone" if whole is None else "fit.comes-with" if comes_with else "fit.named-for-it"
        s.focus, s.unserved, s.unserved_at = alike, f, c.number
        return rule

    def _set_part(self, f: Finding, whole: str | None) -> None:
        served_as = self.v.components[f.component].served_as
        if whole is not None:
            f.part = whole
        elif f.part is None and served_as:
            f.part = served_as[0].part
            text = f"not served alone, the note says; this is what it usually comes with: {served_as[0].source}"
            f.why.append(Why("part", "fit.not-alone", text))

    def _finds_fault(self, c: Clause) -> bool:
        """Whether the clause says a fault of something, of its own."""
        return any(m.tag("condition") is not None and m.tag("served", "not-alone") is None for m in c.mentions) or any(
            q.unit is not None for q in c.quantities
        )

    def _fault_meant(self, c: Clause) -> Finding | None:
        """The faulty part spoken of: that of a name in the clause, else the one in focus."""
        lately = [f for f in self.out.findings[-_FAULTS_BACK:] if f.conditions and f.work in (None, "ordered")]
        for m in c.mentions:
            if is_subject(m):
                of_it = [f for f in lately if self._names(m, f)]
                if of_it:
                    return of_it[-1]
        in_focus = [f for f in self.s.focus if f in lately]
        return in_focus[-1] if in_focus else None

    def _names(self, m: Mention, f: Finding) -> bool:
        """Whether a name may mean the faulty part itself."""
        comps = self.v.components
        exact = m.value("component")
        if f.part is not None and f.part in (exact, *(t.value for t in m.of("short"))):
            return False
        if exact is not None:
            return self._is_kind_of(f.component, exact) or comps[exact].kind_of == f.component
        return any(t.value == f.component or comps[f.component].kind_of == t.value for t in m.of("short")) and not any(
            x.part == t.value for t in m.of("short")[:1] for x in comps[f.component].served_as
        )

    def _assembly_named(self, m: Mention, f: Finding, said_outright: bool) -> str | None:
        """The component that ``m`` names as what ``f``'s part sits in; without a word that says so only a known one."""
        comps = self.v.components
        own = comps[f.component]
        around = self._around(f.component)
        exact = m.value("component")
        meant = [exact] if exact else [t.value for t in m.of("short")]
        if f.part in meant:
            return f.part
        for known in around:
            if known in meant or any(self._is_kind_of(known, x) for x in meant):
                return known
            if any(self._is_kind_of(x, known) for x in meant):
                return next(x for x in meant if self._is_kind_of(x, known))
        if not said_outright:
            return None
        near = [x for x in meant if comps[x].system == own.system] or (meant if exact else [])
        level = own.implies.split()
        agree = [
            x for x in near if set(level) & {"upper", "lower"} <= set(comps[x].implies.split()) | {x.split("-")[0]}
        ]
        return next(iter(agree or near), None)

    def _served_with(self, m: Mention, f: Finding) -> str | None:
        """What ``f``'s part is served with, where ``m`` has a word of its name that the part's own name has not: "a hub"."""
        comps = self.v.components
        meant = {t.value for t in m.tags if t.kind in ("component", "short")}
        said = set(self._folds(m.begin, m.end))
        own = said & {w for phrase in self._own_names(f.component) for w in phrase}
        for served in () if own else comps[f.component].served_as:
            if served.part in meant and any(said <= set(phrase) for phrase in self._own_names(served.part)):
                return served.part
        return None

    def _own_names(self, component: str) -> list[list[str]]:
        """The words of the name that the lexicon gives a part first."""
        return [list(self.v.name_phrases[component][0])] if self.v.name_phrases.get(component) else []

    def _around(self, component: str) -> list[str]:
        """What a part is served with or sits in, the most likely first."""
        comps = self.v.components
        own = comps[component]
        general = comps.get(own.kind_of or "")
        out = [x.part for x in own.served_as] + ([x.part for x in general.served_as] if general else [])
        out += [*own.part_of, *(general.part_of if general else ())]
        return list(dict.fromkeys(x for x in out if x in comps))

    def _named_for_it(self, c: Clause, f: Finding, whole: str) -> bool:
        """ "Cheaper to put a whole axle in", "bolt-on hub", "so the arm gets replaced": named for the fault just said."""
        near = f in self.s.focus and self.s.sentence >= c.sentence - 1
        if not near or f.verb not in (None, "replace") or f.part is not None or self._again(c):
            return False
        served_with = whole in {x.part for x in self.v.components[f.component].served_as}
        says = any(m.tag("action", "severity") for m in c.mentions)
        return "whole" in {t.kind for m in c.mentions for t in m.tags} or (
            f.verb is None and served_with and (c.opened_by == "so" or says or not c.quantities)
        )

    def _again(self, c: Clause) -> bool:
        return any(self.words[k].fold in ("too", "also", "as") for k in range(c.begin, c.end))
