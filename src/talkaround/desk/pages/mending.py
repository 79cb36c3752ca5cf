"""Mend the order: the note on one side, its lines on the other, and everything that can be done to a line."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, get_args
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import ValidationError
from starlette.datastructures import FormData

from talkaround.amounts import amount
from talkaround.desk import changes
from talkaround.desk.accounts import Seat
from talkaround.desk.changes import CannotChange, Do
from talkaround.desk.drafts import OpenQuestion, where_of
from talkaround.desk.orders import Open
from talkaround.desk.pages.common import (
    FormDep,
    NotForYou,
    SeatDep,
    WriterDep,
    number_of,
    opened,
    orders_of,
    page,
    reader_of,
    text_of,
    told_of,
)
from talkaround.desk.pages.taking import facts_of
from talkaround.desk.reader import Known
from talkaround.desk.teach import note_mended_word
from talkaround.models import (
    Action,
    ActionVerb,
    Condition,
    ConditionId,
    Degree,
    Evidence,
    Line,
    Position,
    Severity,
    Work,
)
from talkaround.order.revising import SENTENCES
from talkaround.output import in_words

router = APIRouter(include_in_schema=False)

CHOICES: dict[str, tuple[Any, ...]] = {
    "severity": get_args(Severity), "work": get_args(Work), "verb": get_args(ActionVerb), "condition": get_args(ConditionId),
    "degree": get_args(Degree), "axle": ("front", "rear", *range(1, 7)), "side": ("left", "right", "both", "center"),
    "level": ("upper", "lower"), "depth": ("inner", "outer"), "end": ("forward", "rearward"),
}  # fmt: skip
_AXLES = tuple(str(x) for x in CHOICES["axle"] if isinstance(x, int))
_CONDITIONS_SHOWN = 3
LEFT_OPEN = "left open"
"""What settles a question that nobody can answer; the order says so in its history."""


@dataclass(slots=True)
class Piece:
    """A stretch of the note: plain, on lines (their keys), or set aside with a reason."""

    text: str
    begin: int
    end: int
    keys: list[str] = field(default_factory=list)
    aside: str = ""
    concern: bool = False


def pieces_of(o: Open) -> Iterator[Piece]:
    """The whole note in stretches, each with what it stands for."""
    text = o.note.text
    marks = [(e.begin, e.end, key) for key, held in o.draft.standing() for e in held.line.evidence]
    told = [(e.begin, e.end) for c in o.document.concerns for e in c.evidence]
    aside = [(a.begin, a.end, a.note or a.reason.replace("-", " ")) for a in o.document.set_aside]
    spans = [m[:2] for m in marks] + told + [a[:2] for a in aside]
    cuts = sorted({0, len(text), *(x for b, e in spans for x in (min(b, len(text)), min(e, len(text))))})
    for b, e in itertools.pairwise(cuts):
        yield Piece(
            text[b:e], b, e,
            [k for mb, me, k in marks if mb <= b and e <= me],
            next((r for ab, ae, r in aside if ab <= b and e <= ae), ""),
            any(tb <= b and e <= te for tb, te in told),
        )  # fmt: skip


@router.get("/orders/{order_id}")
def order(
    request: Request,
    order_id: int,
    seat: SeatDep,
    edit: str = "",
    at: str = "",
    told: str = "",
    take: str = "",
    saved: str = "",
) -> Response:
    """The order beside its note.

    ``edit`` is the line to open and ``take`` the set-aside passage, by its characters; behind a change ``at`` is its line,
    ``saved`` what was done and ``told`` what others did meanwhile.
    """
    o = opened(request, seat, order_id)
    return _order_page(request, seat, o, edit=edit, at=at, told=told, take=take, saved=saved[:60])


def _order_page(
    request: Request,
    seat: Seat,
    o: Open,
    status: int = 200,
    *,
    edit: str = "",
    at: str = "",
    told: str = "",
    take: str = "",
    saved: str = "",
    trouble: str = "",
    entered: FormData | None = None,
    offered: list[Known] | None = None,
) -> Response:
    standing = o.draft.standing()
    worded = in_words(o.document)
    entries = {e.number: e for g in worded.groups for e in g.entries} | {e.number: e for e in worded.good}
    rows = [(key, held, entries[held.line.number]) for key, held in standing]
    asks: dict[str | None, list[OpenQuestion]] = {}
    for q in o.draft.questions:
        asks.setdefault(q.line, []).append(q)
    history = orders_of(request).history(o.id, 1) if seat.writes else []
    return page(
        request, "order.html", status, o=o, rows=rows, asks=asks, pieces=list(pieces_of(o)), doc=o.document, words=worded,
        edit=edit if seat.writes and not o.frozen else "", at=at, told=told[:300], take=take, saved=saved, trouble=trouble,
        entered=entered or {}, offered=offered or [], choices=CHOICES, struck=_struck(o), last=history[0] if history else None,
        stale=o.lexicon != reader_of(request).lexicon, readings=_readings, where=where_of, shown=_CONDITIONS_SHOWN,
        has_sound=o.note_row.kind == "audio",
    )  # fmt: skip


def _struck(o: Open) -> list[tuple[str, Line]]:
    return [(k, o.draft.lines[k].line) for k in o.draft.sequence if o.draft.lines[k].struck]


def _readings(line: Line) -> str:
    return "; ".join(amount(m.value, m.unit, m.bound) for m in line.measurements)


# ----- doing something -----------------------------------------------------------------------------------------------


def done(request: Request, seat: Seat, order_id: int, form: FormData, do: Do, at: str = "") -> Response:
    """Do it to an order that this person may see, and go back to the line ``at``; says what others did meanwhile."""
    # ``over`` is the version at which somebody looked at what others wrote, and still wants his own.
    seen = max(number_of(form, "seen"), number_of(form, "over"))
    kept = orders_of(request).change(order_id, seen, text_of(form, "token", 64), seat.account, do)
    told = " · ".join(kept.meanwhile)[:300]
    saved = request.url.path.removeprefix(f"/orders/{order_id}/")
    query = "&".join(f"{k}={v}" for k, v in (("at", at), ("told", quote(told)), ("saved", saved)) if v)
    return RedirectResponse(
        f"/orders/{order_id}" + (f"?{query}" if query else "") + (f"#line-{at}" if at else "#order"), 303
    )


@router.post("/orders/{order_id}/line/{key}")
def act(request: Request, order_id: int, key: str, seat: WriterDep, form: FormDep) -> Response:
    """What a button of a line does."""
    what = text_of(form, "do")
    by = seat.account.name
    doing: dict[str, Do] = {
        "strike": changes.strike(key),
        "back": changes.put_back(key),
        "up": changes.move(key, -1),
        "down": changes.move(key, 1),
        "split": changes.split(key, by),
        "join": changes.join(key, text_of(form, "other"), by),
    }
    if what not in doing:
        raise CannotChange("that button is not known here: reload the page")
    o = opened(request, seat, order_id)
    at = key
    if what == "strike":
        keys = [k for k, _ in o.draft.standing()]
        at = next((k for k in keys[keys.index(key) + 1 :] if k != key), "") if key in keys else ""
    return done(request, seat, order_id, form, doing[what], at)


@router.post("/orders/{order_id}/edit/{key}")
def edit(request: Request, order_id: int, key: str, seat: WriterDep, form: FormDep) -> Response:
    """Save the fields of a line; what cannot be understood is shown again with what was typed."""
    o = opened(request, seat, order_id)
    # What was changed is what differs from the line that the form was made of, not from what others made of it since.
    held = orders_of(request).draft_at(o, number_of(form, "seen")).lines.get(key)
    if held is None:
        raise CannotChange("that line is not on the order any more; look at the order as it is now")
    offered: list[Known] = []
    try:
        values = _values(request, o, held.line, form, offered)
    except CannotChange as error:
        trouble = told_of(error)
        return _order_page(request, seat, o, 400, edit=key, at=key, trouble=trouble, entered=form, offered=offered)
    response = done(request, seat, order_id, form, changes.set_fields(key, values, seat.account.name), key)
    if "component" in values:
        note_mended_word(
            request.app.state.store, reader_of(request), o, held.line, values["component"].id, seat.account
        )
    return response


def _values(request: Request, o: Open, line: Line, form: FormData, offered: list[Known]) -> dict[str, Any]:
    """The fields that the form changes."""
    v = reader_of(request).vocabulary
    out: dict[str, Any] = {}
    named = text_of(form, "component", 80)
    component = line.component.id
    if named and named.lower() != line.component.name.lower():
        component = _component(request, text_of(form, "component_id", 80) or named, offered)
        out["component"] = changes.component_ref(component, v)
    try:
        axle: Any = text_of(form, "axle") or None
        out["position"] = Position.model_validate(
            {
                "axle": int(axle) if axle in _AXLES else axle,
                **{n: text_of(form, n) or None for n in ("side", "level", "depth", "end")},
                "place": text_of(form, "place", 60) or None,
            }
        )
        out["conditions"] = [
            Condition.model_validate({"id": id, "degree": text_of(form, f"degree{n}") or None})
            for n in range(_CONDITIONS_SHOWN)
            if (id := text_of(form, f"condition{n}"))
        ]
        out["conditions"] += line.conditions[_CONDITIONS_SHOWN:]
        part_named = text_of(form, "part", 80)
        action = line.action.model_copy(deep=True)
        action.verb = text_of(form, "verb") or line.action.verb  # type: ignore[assignment]
        action.quantity = number_of(form, "quantity") or None
        before = line.action.part.name if line.action.part else ""
        if part_named.lower() != before.lower():
            action.part = changes.part_ref(_component(request, part_named, offered), v) if part_named else None
        out["action"] = Action.model_validate(action.model_dump())
        if out["action"].verb == line.action.verb and "component" in out and action.part == line.action.part:
            # What is fitted follows from the new component, unless the writer named it.
            out["action"] = line.action
        for name in ("severity", "work"):
            out[name] = text_of(form, name) or getattr(line, name)
        Line.model_validate({**line.model_dump(), "severity": out["severity"], "work": out["work"]})
    except ValidationError as error:
        raise CannotChange(f"{error.errors()[0]['loc'][-1]} has a value that is not on its list; choose one") from error
    said = text_of(form, "readings", 200)
    if said != _readings(line):
        found = reader_of(request).readings_of(component, said, o.draft.vehicle.steering) if said else []
        if said and not found:
            raise CannotChange(
                f"the reading {said!r} could not be made out for {v.components[component].name}: write a number with its "
                "unit, such as 4/32, 6 mm or 32 psi"
            )
        out["measurements"] = found
    for name in SENTENCES:
        typed = text_of(form, name, 1000)
        if typed != getattr(line, name):
            out[name] = typed
    return {name: value for name, value in out.items() if value != getattr(line, name)}


def _component(request: Request, named: str, offered: list[Known]) -> str:
    reader = reader_of(request)
    id = reader.named(named)
    if id is None:
        found = reader.find(named)
        offered += found
        if not found:
            raise CannotChange(f"no part is known by {named!r}: type another name for it")
        raise CannotChange(f"{named!r} may mean several parts: choose one of those below it")
    return id


@router.post("/orders/{order_id}/answer/{question}")
def answer(request: Request, order_id: int, question: str, seat: SeatDep, form: FormDep) -> Response:
    """Answer a question; a technician may, for his own note."""
    if not seat.takes_notes:
        raise NotForYou("Only a technician or a writer may answer a question.")
    o = opened(request, seat, order_id)
    said = text_of(form, "answer", 200) or text_of(form, "typed", 200)
    if not said:
        raise CannotChange("no answer came with it: choose one, or type it")
    q = next((q for q in o.draft.questions if q.id == question), None)
    fields = _answered(request, o, q, said) if q and said != LEFT_OPEN else {}
    lines = _twin(request, o, q, said) if q and said != LEFT_OPEN else []
    return done(
        request,
        seat,
        order_id,
        form,
        changes.answer(question, said, fields, seat.account.name, lines),
        q.line or "" if q else "",
    )


def _answered(request: Request, o: Open, q: OpenQuestion, said: str) -> dict[str, Any]:
    """What an answer sets on its line."""
    if q.line is None:
        return {}
    line = o.draft.lines[q.line].line
    if q.field in ("side", "axle"):
        try:
            value: Any = int(said) if said in _AXLES else said
            return {"position": Position.model_validate({**line.position.model_dump(), q.field: value})}
        except ValidationError as error:
            raise CannotChange(f"{said!r} is no {q.field}: answer with {', '.join(q.choices)}") from error
    if q.field == "measurement":
        found = reader_of(request).readings_of(line.component.id, said, o.draft.vehicle.steering)
        return {"measurements": found} if found and not line.measurements else {}
    if q.field == "component" and (id := reader_of(request).named(said)):
        return {"component": changes.component_ref(id, reader_of(request).vocabulary)}
    if q.field == "action":
        if said == "both" and line.position.side in ("left", "right"):
            return {"position": line.position.model_copy(update={"side": "both"})}
        if said in get_args(ActionVerb):
            return {"action": line.action.model_copy(update={"verb": said})}
    return {}


def _twin(request: Request, o: Open, q: OpenQuestion, said: str) -> list[Line]:
    """The line of the other side, where what that measures was asked for beside a line that has its reading."""
    if q.field != "measurement" or q.line is None:
        return []
    line = o.draft.lines[q.line].line
    other = {"left": "right", "right": "left"}.get(line.position.side or "")
    if other is None or not line.measurements:
        return []
    axle = f"axle {line.position.axle}" if isinstance(line.position.axle, int) else line.position.axle or ""
    return reader_of(request).lines_of(f"{other} {axle} {line.component.name} {said}", o.draft.vehicle.steering)


@router.post("/orders/{order_id}/add")
def add(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Add lines in words, from memory or for words that were set aside."""
    o = opened(request, seat, order_id)
    said = text_of(form, "words", 500)
    begin, end = number_of(form, "begin"), number_of(form, "end")
    text = o.note.text
    evidence: list[Evidence] = []
    if 0 <= begin < end <= len(text):
        start = next((u.start_s for u in o.note.utterances if u.begin <= begin < u.end), None)
        evidence = [Evidence(begin=begin, end=end, start_s=start)]
        said = said or text[begin:end]
    lines = reader_of(request).lines_of(said, o.draft.vehicle.steering)
    if not lines:
        trouble = "No part could be made out in that. Name one and what it is like: “left front tire is worn, replace”."
        return _order_page(
            request, seat, o, 400, trouble=trouble, entered=form, take=f"{begin}-{end}" if evidence else ""
        )
    how = "Taken back from what was set aside" if evidence else "Added"
    return done(request, seat, order_id, form, changes.add(lines, evidence, seat.account.name, how))


@router.post("/orders/{order_id}/vehicle")
def vehicle(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Set what is known of the vehicle."""
    opened(request, seat, order_id)
    return done(request, seat, order_id, form, changes.set_vehicle(facts_of(form)))


__all__ = ["router"]
