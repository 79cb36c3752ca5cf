"""An order while it is worked on: its lines under keys that stay, what was set by hand, and what was answered.

A draft is also a flat table of paths (``line.ab12cd34.severity``) and values. What a change did is the difference of two
such tables, so it can be shown, undone, and held against what somebody else changed meanwhile.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict

from talkaround.judging import Asked, Judged
from talkaround.models import Line, Position, RepairOrder, Vehicle
from talkaround.order.revising import BY_HAND, Entry, revised
from talkaround.reading.types import ReadNote
from talkaround.vocabulary import Vocabulary

Flat = dict[str, Any]
Patch = list[list[Any]]
"""``[path, before, after]`` each; None where there is nothing."""


class HeldLine(BaseModel):
    """``origin`` is what the line was read as, so that it is found again; None where a person added it."""

    model_config = ConfigDict(extra="forbid")
    line: Line
    origin: str | None = None
    by_hand: list[str] = []
    struck: bool = False


class OpenQuestion(BaseModel):
    """A question of the order under an id that stays; ``line`` is a line's key."""

    id: str
    line: str | None
    field: str
    text: str
    choices: list[str]


class Draft(BaseModel):
    """An order under work: lines by their key, the keys in order, and what people set and answered."""

    model_config = ConfigDict(extra="forbid")
    lines: dict[str, HeldLine] = {}
    sequence: list[str] = []
    answers: dict[str, str] = {}
    vehicle: Vehicle = Vehicle()
    questions: list[OpenQuestion] = []

    def standing(self) -> list[tuple[str, HeldLine]]:
        """The lines that are on the order, as they come, with their keys."""
        return [(k, self.lines[k]) for k in self.sequence if not self.lines[k].struck]


def new_key() -> str:
    """Eight hexadecimal digits that no other line of the order will have."""
    return secrets.token_hex(4)


def first_draft(order: RepairOrder, judged: Iterable[Judged]) -> Draft:
    """The draft of an order as it was read; ``judged`` are the findings of its lines."""
    draft = Draft(vehicle=order.vehicle or Vehicle())
    for line, j in zip(order.lines, judged, strict=True):
        key = new_key()
        draft.lines[key] = HeldLine(line=line, origin=origin_of(j))
        draft.sequence.append(key)
    return draft


def origin_of(j: Judged) -> str:
    """What tells a finding of a note from its others: no two are of one component at one place."""
    return json.dumps([j.finding.component, *(x for x in j.finding.place)], separators=(",", ":"))


def put_together(
    draft: Draft, order: RepairOrder, found: ReadNote, judged: list[Judged], vocabulary: Vocabulary, touched: set[str]
) -> tuple[Draft, RepairOrder]:
    """The draft and its order with everything that follows from its lines; ``touched`` are the keys of changed lines."""
    at = {origin_of(j): n for n, j in enumerate(judged)}
    entries = [
        Entry(held.line, at.get(held.origin or ""), frozenset(held.by_hand), key in touched, held.struck)
        for key, held in ((k, draft.lines[k]) for k in draft.sequence)
    ]

    def is_answered(entry: int | None, asked: Asked) -> bool:
        return _question_id(None if entry is None else draft.sequence[entry], asked) in draft.answers

    order = order.model_copy(update={"vehicle": draft.vehicle})
    made, asked = revised(order, entries, found, judged, vocabulary, is_answered=is_answered)
    new = draft.model_copy(deep=True)
    for (key, _), line in zip(draft.standing(), made.lines, strict=True):
        new.lines[key].line = line
    keys = [None if a.judged is None else draft.sequence[a.judged] for a in asked]
    new.questions = [
        OpenQuestion(id=_question_id(key, a), line=key, field=a.field, text=a.text, choices=a.choices)
        for key, a in zip(keys, asked, strict=True)
    ]
    return new, made


def _question_id(key: str | None, asked: Asked) -> str:
    return hashlib.sha256(f"{key}|{asked.field}|{asked.text}".encode()).hexdigest()[:12]


# ----- paths ---------------------------------------------------------------------------------------------------------


def flat(draft: Draft) -> Flat:
    """The draft as paths and values, without what only follows from it."""
    out: Flat = {"sequence": list(draft.sequence)}
    for name, value in draft.vehicle.model_dump(mode="json").items():
        out[f"vehicle.{name}"] = value
    for id, answer in draft.answers.items():
        out[f"answer.{id}"] = answer
    for key, held in draft.lines.items():
        data = held.model_dump(mode="json")
        out.update({f"line.{key}.{name}": value for name, value in data.pop("line").items() if name != "number"})
        out.update({f"line.{key}.{name}": value for name, value in data.items()})
    return out


def from_flat(table: Mapping[str, Any]) -> Draft:
    """The draft that ``table`` is of."""
    lines: dict[str, dict[str, Any]] = {}
    vehicle: dict[str, Any] = {}
    answers: dict[str, str] = {}
    for path, value in table.items():
        kind, _, rest = path.partition(".")
        if kind == "vehicle":
            vehicle[rest] = value
        elif kind == "answer":
            if value is not None:
                answers[rest] = value
        elif kind == "line":
            key, _, name = rest.partition(".")
            held = lines.setdefault(key, {"line": {"number": 0}})
            (held if name in ("origin", "by_hand", "struck") else held["line"])[name] = value
    return Draft(
        lines={k: HeldLine.model_validate(v) for k, v in lines.items()},
        sequence=table["sequence"],
        answers=answers,
        vehicle=Vehicle.model_validate(vehicle),
    )


def difference(before: Flat, after: Flat) -> Patch:
    """What has to be set to come from ``before`` to ``after``."""
    paths = sorted(before.keys() | after.keys())
    return [[p, before.get(p), after.get(p)] for p in paths if before.get(p) != after.get(p)]


def taken_back(table: Flat, patch: Patch, wrote: set[str]) -> Flat:
    """``table`` without what a change did: what it wrote, and what followed from that and still stands as it left it."""
    out = dict(table)
    gone: set[str] = set()
    for path, before, after in patch:
        line = path.split(".")[1] if path.startswith("line.") else ""
        if path.endswith(".struck") and before is None:
            gone.add(line)
        elif path.endswith(".by_hand"):
            added, dropped = set(after or []) - set(before or []), set(before or []) - set(after or [])
            out[path] = sorted((set(out[path]) - added) | dropped)
        elif path == "sequence":
            out[path] = [*(k for k in before if k in out[path]), *(k for k in out[path] if k not in before)]
        elif path in wrote or out.get(path) == after:
            out[path] = before
        elif path.endswith(".because") and path in out:
            out[path] = _set_by_before(out[path], before or [], after or [])
    out = {p: v for p, v in out.items() if p.partition(".")[0] != "answer" or v is not None}
    out["sequence"] = [k for k in out["sequence"] if k not in gone]
    return {p: v for p, v in out.items() if not (p.startswith("line.") and p.split(".")[1] in gone)}


def _set_by_before(now: list[Any], before: list[Any], after: list[Any]) -> list[Any]:
    """Reasons that were judged anew since: of who set what, it is as it was before wherever it still stands as it was left."""
    hand, was, left = ({b["field"]: b for b in rows if b["rule"] == BY_HAND} for rows in (now, before, after))
    back = {f for f in was.keys() | left.keys() if hand.get(f) == left.get(f)}
    rows = [b for f, b in was.items() if f in back] + [b for f, b in hand.items() if f not in back]
    return rows + [b for b in now if b["rule"] != BY_HAND]


def where_of(line: Line) -> str:
    """ "left front lower ball joint", for the history."""
    more = (line.position.place or "").split()
    return " ".join([*place_words(line.position), line.component.name, *(w.replace("=", " ") for w in more)])


def place_words(p: Position) -> list[str]:
    """The words of a position, but for what ``place`` holds."""
    axle = f"axle {p.axle}" if isinstance(p.axle, int) else p.axle
    return [w for w in (p.side, axle, p.level, p.depth, p.end) if w]


__all__ = [
    "Draft", "Flat", "HeldLine", "OpenQuestion", "Patch", "difference", "first_draft", "flat", "from_flat", "new_key",
    "origin_of", "place_words", "put_together", "taken_back", "where_of",
]  # fmt: skip
