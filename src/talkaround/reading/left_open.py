"""What the technician says he left open: a reading not taken, a side not noted, a choice between two ways to mend it.

None of it is said of a new finding; it stands with the faulty part spoken of and is asked back. Rules: ``open.not-measured``,
``open.place-not-noted``, ``open.undecided``, ``open.one-or-the-other``.
"""

from __future__ import annotations

from talkaround.reading.clauses import is_subject
from talkaround.reading.fitting import FittingRules
from talkaround.reading.types import Clause, Doubt, Finding

_AXLE_WORDS = frozenset({"front", "rear", "back", "axle"})
# What stands behind "forgot" or "couldn't tell" where a place, or a reading, is what is not known.
_ASKS_WHERE = frozenset({"which", "what", "whether", "if", "front", "rear", "left", "right", "side", "axle"})
_READINGS = frozenset(
    "reading measurement number figure mic depth length size thickness gap pressure voltage diameter".split()
)
# How far behind.
_WITHIN = 4
_MENDS = ("replace", "repair")


class LeftOpenRules(FittingRules):
    """The walk's rules for what the technician says he left open."""

    def _left_open(self, c: Clause, has: set[str]) -> str | None:
        """Ask back what the clause says is open; the rule's name, or None where it says no such thing of a faulty part."""
        kind = self._open_kind(c, has)
        if kind is None:
            return None
        if self._finds_fault(c):
            if kind == "unnoted":
                self.unnoted_in.append(c)
            return None
        f = self._fault_meant(c)
        if f is None and not any(is_subject(m) for m in c.mentions):
            f = next((x for x in reversed(self.s.recent) if self._at_fault(x)), None)
        if f is None:
            return None
        if any(self._names(t.mention, f) for t in self.s.topic):
            self._drop_topic()
        self._rest_on(f, self._chars(c))
        if kind == "unmeasured":
            self._doubt_reading(f)
            return "open.not-measured"
        if kind == "unnoted":
            f.ask_for += [x for x in self._places_open(c) if x not in f.ask_for]
            return "open.place-not-noted"
        verbs = self._ways_named(c)
        name = self._named_at(f)
        self.out.doubts.append(Doubt("action", f"What is to be done to the {name}?", verbs or list(_MENDS), f))
        return "open.undecided"

    def _open_kind(self, c: Clause, has: set[str]) -> str | None:
        for m in c.mentions if has & {"unmeasured", "unsure"} else ():
            behind = self._folds(m.end, min(m.end + _WITHIN, c.end))
            if m.tag("unmeasured") or (m.tag("unsure") and _READINGS & set(behind)):
                return "unmeasured"
            if m.tag("unsure") and _ASKS_WHERE & set(behind):
                return "unnoted"
        return "undecided" if "undecided" in has else None

    def _doubt_reading(self, f: Finding) -> None:
        text = f"The {self._named_at(f)} was not measured. What does it measure?"
        self.out.doubts.append(Doubt("measurement", text, [], f))

    def _places_open(self, c: Clause) -> list[str]:
        """Whether the clause leaves the side or the axle open: "forgot if it was front or rear"."""
        said = set(self._folds(c.begin, c.end))
        if said & _AXLE_WORDS and not said & {"side", "left", "right"}:
            return ["axle"]
        return ["side"]

    def _ways_named(self, c: Clause) -> list[str]:
        """The ways to mend it that this sentence names up to here, in its order."""
        sentence = [x for x in self.clauses[max(0, c.number - 3) : c.number + 1] if x.sentence == c.sentence]
        verbs = [t.value for x in sentence for m in x.mentions for t in m.of("action")]
        part_named = any(is_subject(m) and self._lead(x, m) == "or" for x in sentence for m in x.mentions)
        verbs += ["replace"] if part_named else []
        ways = list(dict.fromkeys(verbs))
        return ways if len(ways) > 1 else []

    def _named_at(self, f: Finding) -> str:
        """The part with its place, for a question."""
        axle = f"axle {f.place.axle}" if f.place.axle and f.place.axle.isdigit() else f.place.axle
        return " ".join(x for x in (f.place.side, axle, self.v.components[f.component].name) if x)
