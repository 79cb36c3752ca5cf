"""An order whose lines people changed, put together anew: what follows from a line follows again, what was set by hand stays.

A line that a person touched is judged again with what it says now; ``by_hand`` names the fields that he set, and those
are never overwritten. Lines that nobody touched stand as they were, but for the parts that go along: those hang on what
else the order has a line for. Pure, like the reading.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from talkaround.judging import (
    CONCLUDED_CONDITION,
    CONCLUDED_GOOD,
    LIMIT_AS_SAID,
    SHOWN,
    Asked,
    Judged,
    add_companions,
    ask,
    judge,
)
from talkaround.models import (
    SEVERITIES,
    Because,
    Condition,
    Evidence,
    Line,
    Measurement,
    PartRef,
    Position,
    RepairOrder,
    SetAside,
    Span,
    Vehicle,
)
from talkaround.order.cautions import cautions_for
from talkaround.order.coverage import less, merged, set_aside_rest
from talkaround.order.jobs import jobs_of
from talkaround.order.parts import parts_list
from talkaround.order.sentences import Sentences
from talkaround.order.shared import part_refs, questions_shown
from talkaround.order.summary import summary_of
from talkaround.quoting import clipped
from talkaround.reading.types import Aside, Finding, Place, Reading, ReadNote, Said
from talkaround.vocabulary import Vocabulary

SENTENCES = ("concern", "cause", "correction")
_ALONG = ("also", "look_at")
BY_HAND = "by-hand"
"""The rule that stands behind a field which a person set."""


class UnknownPart(ValueError):
    """A line is of a part that the lexicon does not have, or fits one; ``str`` says which, and how to mend it."""


@dataclass(slots=True)
class Entry:
    """A line of a revised order. ``read_as`` is the index of the finding it came from, None where a person added it.

    ``touched`` lines are judged again; ``struck`` ones are kept, and their words are set aside.
    """

    line: Line
    read_as: int | None = None
    by_hand: frozenset[str] = frozenset()
    touched: bool = False
    struck: bool = False


def revised(
    order: RepairOrder,
    entries: Sequence[Entry],
    found: ReadNote,
    judged: Sequence[Judged],
    vocabulary: Vocabulary,
    *,
    is_answered: Callable[[int | None, Asked], bool] = lambda line, asked: False,
) -> tuple[RepairOrder, list[Asked]]:
    """The order with ``entries`` for its lines, numbered as they come, and every question that is open on it.

    ``found`` and ``judged`` are what the note was read as; they are not changed. ``is_answered`` gets the index of an
    entry (or None for the whole order) and what would be asked. Raises ``UnknownPart``.
    """
    for entry in entries:
        _check_known(entry, vocabulary)
    # Each entry has a finding to itself, though two lines may have been one (split).
    found, judged = copy.deepcopy((found, list(judged)))
    met: set[int] = set()
    steering = order.vehicle.steering if order.vehicle else "left-hand"
    again: list[Judged] = []
    lines: list[Line] = []
    index: list[int] = []
    for n, entry in enumerate(entries):
        if entry.struck:
            continue
        first = judged[entry.read_as] if entry.read_as is not None and entry.read_as < len(judged) else None
        if first is not None and entry.read_as in met:
            first = copy.deepcopy(first)
        met |= {entry.read_as} if entry.read_as is not None else set()
        j = _judged(entry, first, vocabulary, order.rule_book)
        again.append(j)
        index.append(n)
        lines.append(
            _written(entry, j, len(lines) + 1, vocabulary) if entry.touched else _numbered(entry, len(lines) + 1)
        )
    for j in again:
        j.also, j.look_at = [], []
    add_companions(again, vocabulary)
    sentences = Sentences(vocabulary, steering)
    for entry_at, line, j in zip(index, lines, again, strict=True):
        entry = entries[entry_at]
        along = _goes_along(line) != (j.also, j.look_at)
        if not (entry.touched or along):
            continue
        line.action.also = part_refs(j.also, vocabulary)
        line.action.look_at = part_refs(j.look_at, vocabulary)
        if entry.touched:
            line.because = _because(line, j, entry.read_as is not None)
        else:
            others = [b for b in line.because if b.field not in _ALONG]
            line.because = others + [b for b in _reasons(j) if b.field in _ALONG]
        concern, cause, correction = sentences.three_cs(line)
        said = {"concern": entry.line.concern or concern, "cause": cause, "correction": correction}
        for name in SENTENCES if entry.touched else ("correction",):
            setattr(line, name, getattr(entry.line, name) if name in entry.by_hand else said[name])
    kept = {id(j.finding) for j in again}
    found.doubts = [d for d in found.doubts if d.finding is None or id(d.finding) in kept]
    asked = [
        a
        for a in ask(again, vocabulary, found)
        if not _place_is_known(a, lines) and not is_answered(None if a.judged is None else index[a.judged], a)
    ]
    customer = order.customer
    return (
        order.model_copy(
            update={
                "summary": summary_of(lines, sentences),
                "lines": lines,
                "parts": parts_list(lines, again, found.deliveries, customer, vocabulary),
                "jobs": jobs_of(lines, vocabulary),
                "estimate": None,
                "questions": questions_shown(asked, lambda judged: lines[judged].number),
                "questions_left": max(0, len(asked) - SHOWN),
                "set_aside": _set_aside(order, entries, found.asides),
                "cautions": cautions_for(lines, vocabulary, sentences.spelled),
            }
        ),
        [Asked(None if a.judged is None else index[a.judged], a.field, a.text, a.choices, a.cost) for a in asked],
    )


# ----- one line ------------------------------------------------------------------------------------------------------


def place_of(p: Position) -> Place:
    """The position as the reading writes it."""
    axle = None if p.axle is None else str(p.axle)
    return Place(axle, p.side, p.level, p.depth, p.end, tuple((p.place or "").split()))


def _check_known(entry: Entry, v: Vocabulary) -> None:
    """A shop may switch a part off, or name it otherwise, while an order is under work."""
    line = entry.line
    if entry.struck:
        return
    for part in (line.component, line.action.part):
        if part is not None and part.id not in v.components:
            raise UnknownPart(
                f"the lexicon has no {clipped(part.name)} [{clipped(part.id)}]: put it back into the lexicon, or strike line "
                f"{line.number}"
            )


def _judged(entry: Entry, first: Judged | None, v: Vocabulary, book: str) -> Judged:
    """What the entry says, as a judged finding; judged afresh where a person touched it. ``first`` is as it was read."""
    line, hand = entry.line, entry.by_hand
    rules = {b.rule for b in line.because} | ({w.rule for w in first.why} if first else set())
    f = first.finding if first else Finding(line.component.id)
    said_good = f.good if first else line.severity == "good" and CONCLUDED_GOOD not in rules
    f.component, f.place = line.component.id, place_of(line.position)
    f.conditions = [Said(c.id, c.degree) for c in line.conditions]
    f.readings = [_reading(m) for m in line.measurements]
    f.work = None if line.work == "proposed" else line.work
    f.quantity = line.action.quantity
    if not entry.touched:
        f.good = line.severity == "good" and not f.conditions
        part = line.action.part.id if line.action.part else None
        return Judged(f, line.severity, line.action.verb, part, line.measurements, line.basis)
    if "conditions" not in hand and rules & CONCLUDED_CONDITION:
        # It was never said: what stands there now concludes it again, or does not.
        f.conditions = []
    f.good = line.severity == "good" if "severity" in hand else said_good and "measurements" not in hand
    f.good = f.good and not f.conditions
    f.verb = line.action.verb if "action" in hand else f.verb
    if "component" in hand:
        # What was said to be fitted belonged to the other part.
        f.part = None
    f.why = [w for w in f.why if w.field not in hand] if first else []
    j = judge(f, v, book)
    if "severity" in hand:
        j.severity = line.severity
    if "action" in hand:
        j.verb = line.action.verb
        j.part = line.action.part.id if line.action.part else j.part
        if j.verb in ("none", "monitor"):
            j.part = None
    j.basis = line.basis if "basis" in hand else j.basis
    return j


def _reading(m: Measurement) -> Reading:
    span = (m.evidence.begin, m.evidence.end) if m.evidence else None
    limit = m.limit if m.limit_source == LIMIT_AS_SAID else None
    return Reading(m.value, m.unit, limit, bound=m.bound, span=span)


def _numbered(entry: Entry, number: int) -> Line:
    return entry.line.model_copy(update={"number": number}, deep=True)


def _written(entry: Entry, j: Judged, number: int, v: Vocabulary) -> Line:
    """The touched line with what its judgement gives now."""
    line = _numbered(entry, number)
    comp = v.components[j.finding.component]
    line.component.name, line.component.system = comp.name, comp.system
    line.measurements, line.severity, line.basis = j.measurements, j.severity, j.basis
    shown = [Condition(id=c.id, degree=c.degree) for c in j.finding.conditions]  # type: ignore[arg-type]
    line.conditions = shown if j.severity != "good" else []
    line.action.verb = j.verb  # type: ignore[assignment]
    line.action.part = PartRef(id=j.part, name=v.components[j.part].name) if j.part else None
    return line


def _goes_along(line: Line) -> tuple[list[str], list[str]]:
    return [p.id for p in line.action.also], [p.id for p in line.action.look_at]


def _because(line: Line, j: Judged, was_read: bool) -> list[Because]:
    """Why the touched line says what it does: by hand, by how the note was read, by how it is judged now."""
    hand = [b for b in line.because if b.rule == BY_HAND]
    by_hand = {b.field for b in hand}
    # Of a line that is not in the note as it was read, only the line itself still knows how its words were taken.
    taken = [] if was_read else [b for b in line.because if b.field in ("component", "position") and b.rule != BY_HAND]
    why = [*taken, *_reasons(j)]
    return [*hand, *(b for b in why if b.field not in by_hand)]


def _reasons(j: Judged) -> list[Because]:
    return [Because(field=w.field, rule=w.rule, text=w.text) for w in j.why]


# ----- the whole order -----------------------------------------------------------------------------------------------


def _place_is_known(a: Asked, lines: Sequence[Line]) -> bool:
    """Whether it asks for a side or an axle that the line has by now."""
    if a.judged is None or a.field not in ("side", "axle"):
        return False
    return getattr(lines[a.judged].position, a.field) is not None


def _set_aside(order: RepairOrder, entries: Sequence[Entry], asides: Sequence[Aside]) -> list[SetAside]:
    """What the note set aside less what stands on a line now; the words of struck lines are among it."""
    text = order.note.text
    kept = [(e.begin, e.end) for x in entries if not x.struck for e in x.line.evidence]
    kept += [(e.begin, e.end) for c in order.concerns for e in c.evidence]
    facts = [(e.begin, e.end) for e in (*_spans(order.vehicle), *(order.customer.evidence if order.customer else []))]
    read = [SetAside(begin=a.begin, end=a.end, reason=a.reason, note=a.note) for a in asides]  # type: ignore[arg-type]
    taken_back = [(e.begin, e.end) for x in entries if x.read_as is None and not x.struck for e in x.line.evidence]
    struck = [
        SetAside(begin=e.begin, end=e.end, reason="taken-back", note="struck from the order")
        for x in entries
        if x.struck
        for e in x.line.evidence
    ]
    asides_now = less(text, read, facts + taken_back) + less(text, struck, kept + facts)
    return set_aside_rest(text, kept + facts, asides_now)


def _spans(vehicle: Vehicle | None) -> list[Span]:
    return vehicle.evidence if vehicle else []


def joined(lines: Sequence[Line]) -> Line:
    """One line of several: the first, with the words, conditions, readings and codes of all. Its severity is the gravest."""
    first = lines[0].model_copy(deep=True)
    spans = merged([(e.begin, e.end) for x in lines for e in x.evidence])
    starts = {e.begin: e.start_s for x in lines for e in x.evidence}
    first.evidence = [Evidence(begin=b, end=e, start_s=starts.get(b)) for b, e in spans]
    for x in lines[1:]:
        first.conditions += [c for c in x.conditions if c.id not in {k.id for k in first.conditions}]
        first.measurements += [m for m in x.measurements if m not in first.measurements]
        first.identifiers += [i for i in x.identifiers if i not in first.identifiers]
    first.severity = min((x.severity for x in lines), key=SEVERITIES.index)
    return first


__all__ = ["BY_HAND", "SENTENCES", "Entry", "UnknownPart", "joined", "place_of", "revised"]
