"""The reading with a record of what each clause did, for whoever wants to know why an order is as it is.

:class:`RecordedWalk` reads as :class:`Walk` does and looks, after each clause, at what has changed. No rule knows of it, so
a note reads the same with it and without.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any, Literal

from talkaround.models import Note, Steering
from talkaround.reading import walked
from talkaround.reading.types import (
    NOWHERE,
    Aside,
    Clause,
    Doubt,
    Finding,
    Place,
    ReadNote,
    Reported,
    Said,
    Why,
)
from talkaround.reading.walk import Walk
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

How = Literal["new", "changed", "gone"]

# So many findings back are looked at after each clause, and what is in focus; a clause reaches no further in practice, and
# looking at all of them would make the time for a long note grow with its square.
_LOOKED_AT = 200
# What a clause may say of a finding; spans only tell that it was spoken of, reasons are kept apart.
_SAID = [f.name for f in dataclasses.fields(Finding) if f.name not in ("spans", "why")]


@dataclass(slots=True)
class Touched:
    """A finding that a clause made, changed, spoke of again or took away."""

    finding: Finding
    """The finding itself, as the end of the note leaves it."""
    then: Finding
    """A copy of it as it stood after the clause."""
    how: How
    changed: tuple[str, ...]
    """The fields that the clause filled or changed; empty where it only spoke of it again."""
    why: list[Why]
    """The reasons that the clause gave."""


@dataclass(slots=True)
class Step:
    """One clause and what came of it. ``begin`` and ``end`` are characters of the note."""

    clause: Clause
    begin: int
    end: int
    rule: str
    """The rule that decided what the clause is."""
    touched: list[Touched] = field(default_factory=list)
    report: Reported | None = None
    """Whose word the clause is kept in, where it is somebody's."""
    asides: list[Aside] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    topic: tuple[str, ...] = ()
    """Components that the clause named and of which something is still to be said."""
    place: Place | None = None
    """The place in force from here on, where the clause changed it."""


@dataclass(slots=True)
class Recorded:
    """A note as read, its folded words, and every clause with what came of it."""

    read: ReadNote
    words: list[Word]
    steps: list[Step]


class RecordedWalk(Walk):
    """The walk, with ``steps`` beside its result."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.steps: list[Step] = []
        self._last: dict[int, Finding] = {}
        """How each finding stood when it was last looked at, by its identity; ``_kept`` keeps identities from reuse."""
        self._kept: list[Finding] = []

    def _clause(self, c: Clause) -> str:
        s, out = self.s, self.out
        there = self._at_hand()
        asides, doubts, place, topic = len(out.asides), len(out.doubts), s.place, list(s.topic)
        rule = super()._clause(c)
        begin, end = self._chars(c)
        step = Step(c, begin, end, rule, asides=out.asides[asides:], doubts=out.doubts[doubts:])
        alive = {id(f) for f in out.findings}
        step.touched = [
            Touched(f, self._last[id(f)], "gone", (), []) for f in there if id(f) not in alive and id(f) in self._last
        ]
        step.touched += [t for f in self._at_hand() if id(f) in alive and (t := self._look_at(f)) is not None]
        step.report = next((r for r in (s.reporting, *out.reported[-1:]) if r and (begin, end) in r.spans), None)
        if s.topic != topic:
            step.topic = tuple(t.component for t in s.topic)
        if s.place != place:
            step.place = s.place
        self.steps.append(step)
        return rule

    def _at_hand(self) -> list[Finding]:
        """The findings that a clause may change, in the order of the note, each once."""
        return list(dict.fromkeys([*self.s.focus, *self.out.findings[-_LOOKED_AT:]]))

    def _look_at(self, f: Finding) -> Touched | None:
        known = self._last.get(id(f))
        if known is not None and known.spans == f.spans and known.why == f.why and not _differences(known, f):
            return None
        then = _copy(f)
        if known is None:
            self._kept.append(f)
        self._last[id(f)] = then
        earlier = known or Finding(f.component, NOWHERE)
        why = [w for w in then.why if w not in earlier.why]
        return Touched(f, then, "new" if known is None else "changed", _differences(earlier, f), why)


def read_and_record(note: Note, vocabulary: Vocabulary, steering: Steering) -> Recorded:
    """Read a note as ``reading.read`` does, with a record of it."""
    walk = walked(note, vocabulary, steering, RecordedWalk)
    return Recorded(walk.out, walk.words, walk.steps)


def _differences(a: Finding, b: Finding) -> tuple[str, ...]:
    return tuple(name for name in _SAID if getattr(a, name) != getattr(b, name))


def _copy(f: Finding) -> Finding:
    return dataclasses.replace(
        f,
        conditions=[Said(x.id, x.degree) for x in f.conditions],
        readings=[dataclasses.replace(r) for r in f.readings],
        severity=list(f.severity),
        spans=list(f.spans),
        why=list(f.why),
    )


__all__ = ["Recorded", "RecordedWalk", "Step", "Touched", "read_and_record"]
