"""Which components a clause speaks of, and as what.

A component is the subject, the object of a need ("needs a bulb") or context ("while I lean on the bumper"), told by the word
that leads it. A shared name ("the pads") goes to its owner in the clause, the focus, what was named before, else the
commonest; places may call for a more exact kind (ball joint + lower). Kinship between components is here as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from talkaround.reading.clauses import PREPOSITIONS, is_predicate, is_subject
from talkaround.reading.places import implied, plural
from talkaround.reading.state import Subject, WalkBase
from talkaround.reading.types import NOWHERE, Clause, Finding, Mention, Place, place_of_words

_DETERMINERS = frozenset(
    "the a an this that my his her its some any our their these those new another other one each every both all two four "
    "three 2 4 1 3 old original whole complete set pair of".split()
)
_BEFORE_CONTEXT = frozenset("while when with once whilst after before till until without".split())
# Behind these prepositions the part at fault may stand, also after what is wrong ("a leak at the rear main").
_BEFORE_SUBJECT = frozenset("of in on at from for to around round by through".split())
# Prepositions of direction: behind a part spoken of already, they say where something goes, not what is at fault.
_WHITHER = frozenset(
    "off onto down under over along across against near nr behind through inside into by with out beside above below "
    "where like via".split()
)
# "Running down the inside of the wheel": it runs along there, and comes from elsewhere.
_RUNS_ALONG = frozenset("inside outside down over along".split())
_LEAKS_FROM = frozenset("from at @ around round by out of off near".split())
_RUNS_DOWN = frozenset({"wheel", "tire", "wheel-rim", "undertray", "splash-shield", "subframe"})
_JOINS_A_LIST = frozenset({"and", "&", "+", "/", ",", "or", "nor", "plus", "with"})
_SAYS_NO_OWNER = frozenset({"the", "of", "and", "on", "in", "front", "rear", "left", "right", "a"})


# What must speak for a component, over and above its bare name, before a shared name is read as it.
_DECIDES = 1.0


@dataclass(slots=True)
class _Around:
    """What stands around a shared name and may tell which component it means."""

    said: tuple[str, ...]
    clause: str
    words: set[str]
    """Those of the clause, and a few before it, that may be an owner's."""
    near: list[str]
    """Components that the clause names in full."""
    owners: list[str]
    """Components named before it in the sentence or as the topic."""
    owners_kinds: set[str]
    """The owners and what they are kinds of."""
    owners_whole: set[str]
    """What the owners are parts of."""
    owners_systems: set[str]
    recent: list[str]
    earlier: set[str]
    dimensions: set[str]
    low: bool


class SubjectRules(WalkBase):
    """The walk's rules for the components that a clause names."""

    def _subjects(self, c: Clause) -> tuple[list[Subject], list[Subject], list[Subject]]:
        """Subjects, objects (what is to be fitted) and context (where, with what) among the clause's components."""
        subjects: list[Subject] = []
        objects: list[Subject] = []
        context: list[Subject] = []
        said_before = served = False
        head_of, first_of = self._compounds(c)
        for m in c.mentions:
            served = served or m.tag("served") is not None
            if not is_subject(m):
                said_before = said_before or is_predicate(m)
                continue
            if id(m) in head_of:
                continue
            lead = self._lead(c, first_of.get(id(m), m))
            if said_before and lead in ("not", "isnt", "wasnt", "arent"):
                self.not_it.add(m.begin)
            target = Subject("", m, self._is_plural(c, m))
            if lead == "and" and context and self._lead(c, context[-1].mention) == "between":
                lead = "between"
            if self._damaged(c, m):
                # "It has cut into the rotor": what is said stands behind, of the part that it was done to.
                context, subjects = [*context, *subjects], [target]
            elif served or self._led_by_need(c, m):
                objects.append(target)
            elif (
                lead in _BEFORE_CONTEXT
                or lead in PREPOSITIONS
                and (
                    subjects
                    or objects
                    or self._goes_on_about_focus(c, m, lead)
                    or (said_before and lead not in _BEFORE_SUBJECT)
                )
            ):
                context.append(target)
            else:
                # "no leaks at the rear main": without a subject before it, what stands behind a preposition is meant.
                subjects.append(target)
        owners = self._owners()
        for t in (*subjects, *objects, *context):
            t.component = t.mention.value("component") or ""
        near = [t.component for t in (*subjects, *objects, *context) if t.component]
        for m in c.mentions:
            if id(m) in head_of:
                near += [t.value for t in m.of("component")] or [t.value for t in m.of("short")][:4]
        near = near or self._one_at_place_said(c)
        for a, b in list(zip(subjects, subjects[1:], strict=False)):
            between = set(self._folds(a.mention.end, b.mention.begin))
            if not between & _JOINS_A_LIST and b.mention.begin - a.mention.end >= 1:
                # "Steering now the outer tie rods": the first is a heading, not one of a list.
                subjects.remove(a)
                context.append(a)
        if len(subjects) == 1 and context and subjects[0].mention.begin < context[0].mention.begin:
            subjects, context = self._leak_at(c, subjects, context)
        for t in (*subjects, *objects, *context):
            if not t.component:
                meant = self._resolve_short(t.mention, c, near, owners)
                owner = self._named_before(t.mention, c, head_of)
                t.component = owner if owner and not self._part_fits(meant, owner) else meant
            if t.component and t.component not in self.s.named:
                self.s.named.append(t.component)
        self.unknown = [t.mention for t in subjects if not t.component]
        known = ([t for t in some if t.component] for some in (subjects, objects, context))
        return next(known), next(known), next(known)

    # ----- one name among the others of its clause ----------------------------------------------------------------------

    def _compounds(self, c: Clause) -> tuple[dict[int, Mention], dict[int, Mention]]:
        """Names side by side are one noun: its last word is the part, those before it the owner ("oil sump plug").

        Gives, by identity, the next noun of each name but the last, and the first noun of each name but the first.
        """
        head_of: dict[int, Mention] = {}
        first_of: dict[int, Mention] = {}
        nouns = [m for m in c.mentions if is_subject(m)]
        for a, b in zip(nouns, nouns[1:], strict=False):
            if a.end == b.begin and not plural(self.text, self.words[a.begin].begin, self.words[a.end - 1].end):
                head_of[id(a)] = b
                first_of[id(b)] = first_of.get(id(a), a)
        return head_of, first_of

    def _named_before(self, m: Mention, c: Clause, head_of: dict[int, Mention]) -> str:
        """ "Crank pulley rubber": where nobody listed such a part of it, the listed part that is named before it."""
        owner = next((x for x in c.mentions if head_of.get(id(x)) is m), None)
        return (owner.value("component") or "") if owner is not None else ""

    def _part_fits(self, part: str, owner: str) -> bool:
        """Whether a component can be the part of ``owner`` that a shared name behind it means."""
        if not part:
            return False
        known = self.v.components
        return part == owner or self._kin(part, owner) or known[part].system == known[owner].system

    def _lead(self, c: Clause, m: Mention) -> str:
        """The word before a mention, past determiners, places and numbers."""
        k = m.begin - 1
        covered = {i: x for x in c.mentions for i in range(x.begin, x.end)}
        while k >= c.begin:
            x = covered.get(k)
            if x is not None and x.tag("except"):
                return ""
            if x is not None and self.words[x.begin].fold in _BEFORE_CONTEXT:
                return self.words[x.begin].fold
            if x is not None and x is not m and x.tag("place", "degree", "filler") and not x.tag("action"):
                if x.tag("filler") and self.words[k].fold in PREPOSITIONS:
                    # "Wheel off, the caliper is sticking": nothing hangs on that "off".
                    return "" if self.words[k].fold == "off" and x.begin < k else self.words[k].fold
                if x.tag("place") and x.end == m.begin and self.words[x.begin].fold == "on" and x.begin > c.begin:
                    # "Brake line on the left frame rail": the place is the rail's, and the line is on it.
                    return "on"
                k = x.begin - 1
                continue
            if self.words[k].fold == "it" and self.text[self.words[k].begin : self.words[k].end].lower() == "its":
                # "Held by its pin": the owner's word, folded like a plural.
                k -= 1
                continue
            if self.words[k].fold in _DETERMINERS and not (x and x.tag("action", "severity")):
                k -= 1
                continue
            break
        return self._word(k, since=c.begin)

    def _damaged(self, c: Clause, m: Mention) -> bool:
        """Whether a word of damage done to something else stands right before the mention."""
        return any(
            x.tag("damages") and all(w in _DETERMINERS for w in self._folds(x.end, m.begin))
            for x in c.mentions
            if x.end <= m.begin
        )

    def _led_by_need(self, c: Clause, m: Mention) -> bool:
        """Whether an action or a word of need governs the mention ("needs a bulb", "replace the hose")."""
        for x in reversed([x for x in c.mentions if x.end <= m.begin]):
            if x.tag("place", "degree", "filler", "pronoun", "already") and not x.tag("action", "severity"):
                continue
            covered = {k for y in c.mentions for k in range(y.begin, y.end)}
            if any(self.words[k].fold not in _DETERMINERS for k in range(x.end, m.begin) if k not in covered):
                return False
            needed = x.tag("action") is not None or x.value("severity") in ("required", "suggested", "advised")
            return needed and not x.tag("component")
        return False

    def _goes_on_about_focus(self, c: Clause, m: Mention, lead: str) -> bool:
        """Whether the clause is about what was spoken of before, so that the mention only says where."""
        if self._pronoun_before(c, m):
            return True
        if lead in ("at", "on") and c.opened_by and self.s.recent and any(q.end <= m.begin for q in c.quantities):
            # "Kingpin loose, 0.060 in at the tire": where it was read.
            return bool(self.s.focus) and not any(is_predicate(x) for x in c.mentions)
        joined = bool(self.s.recent or self.s.topic) and bool(c.opened_by)
        return joined and (lead in _WHITHER or self._opens_with_fault(c, m))

    def _pronoun_before(self, c: Clause, m: Mention) -> bool:
        """Whether the clause has a pronoun for its subject: "it keeps bouncing when I lean on the bumper"."""
        for x in c.mentions:
            if x.begin >= m.begin:
                return False
            if (
                x.tag("pronoun")
                and not x.tag("place")
                and self.words[x.begin].fold in ("it", "they", "them", "that", "those", "these", "this")
            ):
                behind = next((y for y in c.mentions if y.begin == x.end), None)
                if behind is None or not is_subject(behind):
                    return bool(self.s.focus or self.s.topic)
        return False

    def _opens_with_fault(self, c: Clause, m: Mention) -> bool:
        """ "..., whines on DC charging": the clause opens with what is wrong, and it is no leak of a fluid."""
        first = next((x for x in c.mentions if is_predicate(x)), None)
        if first is None or first.begin > m.begin or not first.tag("condition") or c.mentions[0] is not first:
            return False
        focus = self.s.focus
        return not (_is_leak(first) and focus and self.v.components[focus[-1].component].kind == "fluid")

    def _is_plural(self, c: Clause, m: Mention) -> bool:
        if self._word(m.end) in ("is", "was", "has") or self._one_of(c, m):
            return False
        return plural(self.text, self.words[m.begin].begin, self.words[m.end - 1].end)

    def _one_of(self, c: Clause, m: Mention) -> bool:
        """ "One of the front seat heaters": a single one, nobody knows which."""
        folds = self._folds(max(c.begin, m.begin - 5), m.begin)
        return any(folds[k : k + 2] == ["one", "of"] for k in range(len(folds)))

    def _leak_at(
        self, c: Clause, subjects: list[Subject], context: list[Subject]
    ) -> tuple[list[Subject], list[Subject]]:
        """ "Oil leaking from the valve cover": what leaks is the part, the fluid only comes out of it."""
        fluid = subjects[0]
        ids = [t.value for t in fluid.mention.tags if t.kind in ("component", "short")]
        leak = next((m for m in c.mentions if _is_leak(m) and m.begin >= fluid.mention.end), None)
        if leak is None or not any(self.v.components[i].kind == "fluid" for i in ids[:3]):
            return subjects, context
        behind = (
            t
            for t in context
            if t.mention.begin >= leak.end
            and self._lead(c, t.mention) in _LEAKS_FROM
            # "Brake fluid dripping off the wheel": it runs down there, and leaks above.
            and not any(x.kind == "component" and x.value in _RUNS_DOWN for x in t.mention.tags)
            and not _RUNS_ALONG & set(self._folds(leak.end, t.mention.begin))
        )
        part = next(behind, None)
        if part is None:
            return subjects, context
        return [part], [fluid, *[t for t in context if t is not part]]

    def _one_at_place_said(self, c: Clause) -> list[str]:
        """ "Tie rods are tight, right outer has a torn boot": the outer one of what the talk is about."""
        first = next((m for m in c.mentions if is_subject(m) or is_predicate(m)), None)
        if first is None or first is c.mentions[0] or not self.s.focus:
            return []
        said = place_of_words(" ".join(m.value("place") or "" for m in c.mentions if m.begin < first.begin))
        if not (said.depth or said.level) or self.s.focus[-1] not in self.s.recent:
            return []
        component = self.s.focus[-1].component
        exact = self._refine(self._general(component), said)
        return [exact] if exact != component else []

    # ----- shared names -------------------------------------------------------------------------------------------------

    def _owners(self) -> list[str]:
        """Components that a shared name may belong to: the topic, those named in the sentence, the focus."""
        s = self.s
        return [
            *(t.component for t in s.topic),
            *(n for n in s.named if n != "vehicle"),
            *(f.component for f in s.focus if f in s.recent),
        ]

    def _resolve_short(self, m: Mention, c: Clause, near: list[str], owners: list[str]) -> str:
        """Which component a shared name means here; empty where nothing decides."""
        said = tuple(self._folds(m.begin, m.end))
        options = [t.value for t in m.of("short")]
        guessed: set[str] = set()
        for known in (*owners, *(f.component for f in reversed(self.out.findings[-8:]))):
            if known not in options and self._ends_like(known, said):
                options.append(known)
                guessed.add(known)
        units = self.v.units
        of_owners = [self.v.components[o] for o in owners if o in self.v.components]
        around = _Around(
            said=said,
            clause=" " + " ".join(self._folds(c.begin, c.end)) + " ",
            words=set(self._folds(max(c.begin - 8, 0), c.end)) - _SAYS_NO_OWNER - set(said),
            near=near,
            owners=owners,
            owners_kinds={*owners, *(o.kind_of for o in of_owners if o.kind_of)},
            owners_whole={whole for o in of_owners for whole in o.part_of},
            owners_systems={o.system for o in of_owners},
            recent=[f.component for f in [*self.out.findings[-6:], *self.s.focus]],
            earlier={f.component for f in self.out.findings},
            dimensions={units[q.unit].dimension for q in c.quantities if q.unit and q.unit in units},
            low=any(t.value == "low" for x in c.mentions for t in x.of("condition")),
        )
        best, best_score = options[0], -1.0
        for rank, option in enumerate(options):
            score = self._likelihood(option, rank, option in guessed and option not in owners, around)
            if score > best_score:
                best, best_score = option, score
        support = best_score - (0.6 if self._ends_like(best, said) else 0)
        return best if support >= _DECIDES or len(options) == 1 and len(said) > 1 else ""

    def _ends_like(self, component: str, said: tuple[str, ...]) -> bool:
        return said in self.v.known_by(component).endings

    def _likelihood(self, option: str, rank: int, guessed: bool, around: _Around) -> float:
        """How well a component fits what a shared name means; the weights rank its owner over memory over the commonest."""
        comps = self.v.components
        comp = comps[option]
        known_by = self.v.known_by(option)
        kin = known_by.kin
        near, owners, recent = around.near, around.owners, around.recent
        score = -0.005 * rank
        known_as = self.v.ambiguous.get(around.said)
        if known_as is not None:
            if option == known_as.usual:
                score += 2.2
            if any(f" {n} " in around.clause for n in known_as.near.get(option, ())):
                score += 3.0
        if guessed:
            score -= 0.8
        if around.said in known_by.endings:
            score += 0.6
        if option in near or not kin.isdisjoint(near):
            score += 6
        elif near and any(n.endswith(k.split("-")[-1]) for n in near for k in kin):
            score += 1
        if option in owners:
            score += 5
        elif not kin.isdisjoint(around.owners_kinds):
            score += 4
        elif not around.owners_whole.isdisjoint(comp.part_of):
            score += 1.5
        if option in recent:
            score += 2.5
        elif option in around.earlier:
            score += 1.5
        if not kin.isdisjoint(recent):
            score += 1.2
        if comp.system in around.owners_systems:
            score += 1
        elif recent and comps[recent[-1]].system == comp.system:
            score += 0.6
        if self.s.header == comp.system:
            score += 1.4
        if around.dimensions & known_by.dimensions:
            score += 1
        own_words = known_by.words & around.words
        score += 0.8 * min(len(own_words), 2)
        if comp.kind == "fluid" and around.low:
            score += 0.5
        return score

    # ----- more exact, more general, of one family ----------------------------------------------------------------------

    def _refine(self, component: str, place: Place) -> str:
        """The more exact kind that the place words or what was said before call for."""
        comps = self.v.components
        # No steer tire at the rear.
        options = tuple(
            o for o in self.v.kinds.get(component, ()) if not place.axle or implied(comps[o]).axle in (None, place.axle)
        )
        if options and not place.level and not place.depth:
            spoken_of = [f.component for f in self.s.recent if f.component in options]
            if spoken_of:
                return spoken_of[-1]
            before = {f.component for f in self.out.findings if f.component in options}
            named = {*self.s.named} - {component}
            known = _only(o for o in before if implied(comps[o]) != NOWHERE) or _only(
                o for o in options if o != component and named.intersection(comps[o].part_of)
            )
            if known is not None:
                return known
        parent = comps[component].kind_of
        if not options and parent:
            own = implied(comps[component])
            other_level = place.level and own.level and place.level != own.level
            other_depth = place.depth and own.depth and place.depth != own.depth
            if other_level or other_depth:
                options = self.v.kinds.get(parent, ())
        for option in options:
            need = implied(comps[option])
            if need.level is None and need.depth is None:
                continue
            fits = need.level in (None, place.level) and need.depth in (None, place.depth)
            if fits and comps[option].system == comps[component].system:
                return option
        return component

    def _general(self, component: str) -> str:
        """The kind that a component is of, where it is told apart by upper and lower or inner and outer."""
        parent = self.v.components[component].kind_of
        own = implied(self.v.components[component])
        return parent if parent and (own.level or own.depth) else component

    def _kin(self, a: str, b: str) -> bool:
        """Whether one of two components is, is a kind of, or belongs to the other, or they are served for each other."""
        if a == b or self._belongs(a, b):
            return True
        ca, cb = self.v.components[a], self.v.components[b]
        if ca.kind_of == b or cb.kind_of == a or (ca.kind_of and ca.kind_of == cb.kind_of):
            return True
        if ca.holds == b or cb.holds == a:
            return True
        return any(x.part == b for x in ca.served_as) or any(x.part == a for x in cb.served_as)

    def _is_kind_of(self, component: str, kind: str) -> bool:
        return kind in (component, self.v.components[component].kind_of)

    def _at_fault(self, f: Finding) -> bool:
        return bool(f.conditions) or (not f.good and bool(f.severity or f.verb or f.readings))

    def _kin_of_topic(self, subjects: list[Subject]) -> bool:
        return any(self._kin(t.component, x.component) for t in self.s.topic for x in subjects)

    def _belongs(self, a: str, b: str) -> bool:
        """Whether one of two components is a part of the other."""
        return b in self.v.components[a].part_of or a in self.v.components[b].part_of

    def _same_head(self, o: Subject, known: str) -> bool:
        """ "Needs a bulb" said of a low-beam bulb: the object is a shared name that ends like the focus does."""
        return any(self._kin(t.value, known) for t in o.mention.of("short"))


def _is_leak(m: Mention) -> bool:
    return any(t.value in ("leaking", "seeping") for t in m.of("condition"))


def _only(ids: Iterable[str]) -> str | None:
    """The one of ``ids``, or None where there is none or more than one."""
    found = list(ids)
    return found[0] if len(found) == 1 else None
