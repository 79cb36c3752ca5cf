"""What a person can do to an order. Each takes a draft and gives the changed one, what it wrote, and words for the history."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from talkaround.desk.drafts import Draft, HeldLine, new_key, place_words, where_of
from talkaround.models import (
    SEVERITIES,
    Action,
    Because,
    ComponentRef,
    Condition,
    Evidence,
    Line,
    Measurement,
    PartRef,
    Position,
    Vehicle,
)
from talkaround.order.revising import BY_HAND, SENTENCES, joined
from talkaround.vocabulary import Vocabulary

_SAID_AS = {"conditions": "condition", "measurements": "reading", "position": "place", "action": "what to do"}


class CannotChange(Exception):
    """The change makes no sense on this order; the text says what, and how to mend it."""


@dataclass(slots=True)
class Change:
    """``wrote`` are the paths that the person asked for, ``touched`` the keys of lines to be judged again."""

    draft: Draft
    words: str
    wrote: list[str]
    touched: set[str]


Do = Callable[[Draft], Change]


def set_fields(key: str, values: Mapping[str, Any], by: str) -> Do:
    """Set fields of a line; ``values`` are as ``Line`` has them. A sentence of "" is written by the program again."""

    def do(draft: Draft) -> Change:
        held = _line(draft, key)
        new = held.model_copy(deep=True)
        said = []
        wrote = []
        for name, value in values.items():
            before = getattr(held.line, name)
            if value == before and (name in held.by_hand or name in SENTENCES):
                continue
            if name in SENTENCES and not value:
                new.by_hand = [f for f in new.by_hand if f != name]
                said.append(f"{name} written by the program again")
            else:
                if value == before:
                    continue
                setattr(new.line, name, value)
                new.by_hand = sorted({*new.by_hand, name})
                said.append(f"{_SAID_AS.get(name, name)} {shown(name, before)} → {shown(name, value)}")
                new.line.because = [b for b in new.line.because if b.field != name] + [
                    Because(field=name, rule=BY_HAND, text=f"set by {by}")
                ]
            wrote.append(f"line.{key}.{name}")
        if not wrote:
            raise CannotChange("nothing is different: change a field before you save")
        draft.lines[key] = new
        return Change(draft, f"{_at(held)}: {'; '.join(said)}", wrote, {key})

    return do


def answer(question_id: str, said: str, fields: Mapping[str, Any], by: str, lines: Sequence[Line] = ()) -> Do:
    """Answer a question; ``fields`` are what the answer sets on its line, ``lines`` what it adds to the order."""

    def do(draft: Draft) -> Change:
        q = next((q for q in draft.questions if q.id == question_id), None)
        if q is None:
            raise CannotChange("that question is answered already, or no longer asked; look at the order as it is now")
        wrote, touched = [f"answer.{q.id}"], set[str]()
        if fields and q.line:
            try:
                made = set_fields(q.line, fields, by)(draft)
                wrote, touched = wrote + made.wrote, made.touched
            except CannotChange:
                pass
        if lines:
            more = add(lines, (), by, "")(draft)
            wrote, touched = wrote + more.wrote, touched | more.touched
        draft.answers[q.id] = said
        return Change(draft, f"“{q.text}” {said}", wrote, touched)

    return do


def split(key: str, by: str) -> Do:
    """Make two lines of one: left and right where it is both, else its last condition or reading apart, else a copy."""

    def do(draft: Draft) -> Change:
        held = _line(draft, key)
        # Both are from the same words: what was said of the one was said of the other.
        second = held.model_copy(deep=True)
        first = held.model_copy(deep=True)
        a, b = first.line, second.line
        moved: tuple[str, ...] = ()
        if a.position.side == "both":
            a.position.side, b.position.side, moved = "left", "right", ("position",)
        elif len(a.conditions) > 1:
            b.conditions, a.conditions, moved = a.conditions[-1:], a.conditions[:-1], ("conditions",)
        elif len(a.measurements) > 1:
            b.measurements, a.measurements, moved = a.measurements[-1:], a.measurements[:-1], ("measurements",)
        first.by_hand = sorted({*first.by_hand, *moved})
        # What was said outright belongs to both, and the copy has no finding of its own to say it.
        second.by_hand = sorted({*second.by_hand, *moved, "severity", "action"})
        new = new_key()
        draft.lines[key], draft.lines[new] = first, second
        draft.sequence.insert(draft.sequence.index(key) + 1, new)
        wrote = ["sequence", *(f"line.{key}.{m}" for m in moved)]
        return Change(draft, f"{_at(held)}: split in two", wrote, {key, new})

    return do


def join(key: str, other: str, by: str) -> Do:
    """Put the words, conditions and readings of ``other`` to ``key`` and strike ``other``."""

    def do(draft: Draft) -> Change:
        if key == other:
            raise CannotChange("a line cannot be joined to itself; choose another line")
        held, taken = _line(draft, key), _line(draft, other)
        new = held.model_copy(deep=True)
        new.line = joined([held.line, taken.line])
        changed = [
            f for f in ("conditions", "measurements", "severity") if getattr(new.line, f) != getattr(held.line, f)
        ]
        new.by_hand = sorted({*new.by_hand, "evidence", *changed})
        draft.lines[key] = new
        draft.lines[other] = taken.model_copy(update={"struck": True})
        wrote = [f"line.{other}.struck", f"line.{key}.evidence", *(f"line.{key}.{f}" for f in changed)]
        return Change(draft, f"{_at(held)}: joined with {where_of(taken.line)}", wrote, {key})

    return do


def strike(key: str) -> Do:
    """Take a line off the order; it can be put back."""

    def do(draft: Draft) -> Change:
        held = _line(draft, key)
        draft.lines[key] = held.model_copy(update={"struck": True})
        return Change(draft, f"{_at(held)}: struck", [f"line.{key}.struck"], set())

    return do


def put_back(key: str) -> Do:
    """Take a struck line back. Raises ``CannotChange`` if it was not struck."""

    def do(draft: Draft) -> Change:
        held = draft.lines.get(key)
        if held is None or not held.struck:
            raise CannotChange("that line is on the order already")
        draft.lines[key] = held.model_copy(update={"struck": False})
        return Change(draft, f"{where_of(held.line)}: put back", [f"line.{key}.struck"], set())

    return do


def move(key: str, places: int) -> Do:
    """Move a line by so many places among those that stand; down is positive."""

    def do(draft: Draft) -> Change:
        held = _line(draft, key)
        standing = [k for k, _ in draft.standing()]
        at = standing.index(key)
        to = max(0, min(len(standing) - 1, at + places))
        if to == at:
            raise CannotChange(f"the line is {'first' if places < 0 else 'last'} already")
        beside = standing[to]
        draft.sequence.remove(key)
        draft.sequence.insert(draft.sequence.index(beside) + (1 if to > at else 0), key)
        return Change(draft, f"{_at(held)}: moved {'down' if places > 0 else 'up'}", ["sequence"], set())

    return do


def add(lines: Sequence[Line], evidence: Sequence[Evidence], by: str, words: str) -> Do:
    """Add lines; ``evidence`` are the words of the note that they rest on, none where a person added them from memory."""

    def do(draft: Draft) -> Change:
        if not lines:
            raise CannotChange("no part could be made out: name one, such as “left front tire is worn, replace”")
        keys = []
        for line in lines:
            new = line.model_copy(deep=True)
            new.evidence = list(evidence)
            new.because = [*new.because, Because(field="component", rule=BY_HAND, text=f"added by {by}")]
            for m in new.measurements:
                m.evidence = None
            for i in new.identifiers:
                i.evidence = evidence[0] if evidence else i.evidence
            said = [f for f in ("component", "severity", "action") if f != "severity" or new.severity != "suggested"]
            keys.append(new_key())
            draft.lines[keys[-1]] = HeldLine(line=new, by_hand=sorted(said))
            draft.sequence.insert(_place_by_rank(draft, new), keys[-1])
        what = ", ".join(where_of(x) for x in lines)
        return Change(draft, f"{words}: {what}", ["sequence", *(f"line.{k}.component" for k in keys)], set(keys))

    return do


def _place_by_rank(draft: Draft, line: Line) -> int:
    """Where a new line stands: behind the last that is as grave or graver."""
    at = 0
    for n, key in enumerate(draft.sequence):
        held = draft.lines.get(key)
        if held is not None and SEVERITIES.index(held.line.severity) <= SEVERITIES.index(line.severity):
            at = n + 1
    return at


def set_vehicle(values: Mapping[str, Any]) -> Do:
    """Set fields of the vehicle. Raises ``CannotChange`` for an odometer that is no number with a unit."""

    def do(draft: Draft) -> Change:
        old = draft.vehicle
        try:
            draft.vehicle = Vehicle.model_validate({**old.model_dump(), **values})
        except ValidationError as error:
            raise CannotChange("the vehicle's odometer is a number of miles or kilometers") from error
        wrote = [f"vehicle.{n}" for n in values if getattr(old, n) != getattr(draft.vehicle, n)]
        if not wrote:
            raise CannotChange("nothing is different: change a field before you save")
        said = "; ".join(f"{w.partition('.')[2]} {_v(old, w)} → {_v(draft.vehicle, w)}" for w in wrote)
        return Change(draft, f"Vehicle: {said}", wrote, set(draft.lines) if "vehicle.steering" in wrote else set())

    return do


# ----- values --------------------------------------------------------------------------------------------------------


def component_ref(id: str, v: Vocabulary) -> ComponentRef:
    """A component of the lexicon as an order names it. Raises ``KeyError`` for an unknown id."""
    return ComponentRef(id=id, name=v.components[id].name, system=v.components[id].system)


def part_ref(id: str, v: Vocabulary) -> PartRef:
    """A part of the lexicon as an order names it. Raises ``KeyError`` for an unknown id."""
    return PartRef(id=id, name=v.components[id].name)


def shown(name: str, value: Any) -> str:
    """A field's value in a word or two, for the history."""
    from talkaround.amounts import amount

    if isinstance(value, ComponentRef | PartRef):
        return value.name
    if isinstance(value, Position):
        return " ".join([*place_words(value), *([value.place] if value.place else [])]) or "none"
    if isinstance(value, Action):
        part = f" {value.part.name}" if value.part else ""
        return f"{value.verb}{part}" + (f" × {value.quantity}" if value.quantity else "")
    if isinstance(value, Condition):
        return f"{value.degree} {value.id}" if value.degree else value.id
    if isinstance(value, Measurement):
        return amount(value.value, value.unit, value.bound)
    if isinstance(value, list):
        return ", ".join(shown(name, x) for x in value) or "none"
    return f"“{value}”" if name in SENTENCES else str(value) if value not in (None, "") else "none"


def _v(vehicle: Vehicle, path: str) -> str:
    value = getattr(vehicle, path.partition(".")[2])
    if value is None or value == "":
        return "none"
    return f"{value.value:g} {value.unit}" if hasattr(value, "unit") else str(value)


def _line(draft: Draft, key: str) -> HeldLine:
    held = draft.lines.get(key)
    if held is None or held.struck:
        raise CannotChange("that line is not on the order any more; look at the order as it is now")
    return held


def _at(held: HeldLine) -> str:
    return f"Line {held.line.number}, {where_of(held.line)}"


__all__ = [
    "CannotChange", "Change", "Do", "add", "answer", "component_ref", "join", "move", "part_ref", "put_back",
    "set_fields", "set_vehicle", "shown", "split", "strike",
]  # fmt: skip
