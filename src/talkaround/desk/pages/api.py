"""The few things that scripts ask for, as JSON; described at ``/api/openapi.json``."""

from __future__ import annotations

import hmac
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Path, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, Field, ValidationError
from sqlalchemy import select
from starlette.datastructures import FormData

from talkaround.desk.accounts import Seat
from talkaround.desk.changes import CannotChange
from talkaround.desk.orders import NotThere
from talkaround.desk.pages.common import SeatDep, StaleForm, TakerDep, form_of, opened, orders_of, reader_of
from talkaround.desk.pages.taking import taken
from talkaround.desk.store.tables import NoteRow, OrderRow
from talkaround.intake import NoteError
from talkaround.models import RepairOrder

router = APIRouter(prefix="/api", tags=["desk"])
Id = Annotated[int, Path(ge=1, le=2_000_000_000)]


class Trouble(BaseModel):
    """What went wrong, and how to mend it."""

    what: str
    mend: str


class Part(BaseModel):
    """A component: ``called`` is the name that was met."""

    id: str
    name: str
    called: str


class Taken(BaseModel):
    """A note that is kept.

    ``again``: it was there already; ``order`` is null while a recording waits for its words, and ``trouble`` says why they
    are missing.
    """

    note: int
    state: str
    order: int | None
    again: bool
    trouble: str = ""


class Sent(BaseModel):
    """The fields of a note that is sent, beside its ``file``."""

    key: str = Field(min_length=16, max_length=64, pattern=r"^[A-Za-z0-9_-]+$")
    name: str = Field("", max_length=80)
    text: str = Field("", max_length=1_000_000)
    vin: str = Field("", max_length=30)
    description: str = Field("", max_length=80)
    plate: str = Field("", max_length=20)
    odometer: str = Field("", max_length=15)
    unit: str = Field("mi", max_length=2)
    steering: str = Field("left-hand", max_length=10)


def _answers(*statuses: int) -> dict[int | str, dict[str, Any]]:
    return {n: {"model": Trouble} for n in (400, 401, 422, 503, *statuses)}


_SENT = Sent.model_json_schema()
_BODY = {
    "required": True,
    "content": {
        "multipart/form-data": {
            "schema": {**_SENT, "properties": {**_SENT["properties"], "file": {"type": "string", "format": "binary"}}}
        }
    },
}


def sender(seat: TakerDep, x_form_key: Annotated[str, Header(max_length=64)] = "") -> Seat:
    """Who sends a note from a page of this desk."""
    if not hmac.compare_digest(x_form_key.encode(), seat.form_key.encode()):
        raise StaleForm
    return seat


def sent_note(seat: Annotated[Seat, Depends(sender)], form: Annotated[FormData, Depends(form_of)]) -> FormData:
    """The form of a note; nothing of it is read before its sender is known."""
    try:
        Sent.model_validate({k: v for k, v in form.items() if k != "file"})
    except ValidationError as error:
        wrong = error.errors(include_url=False, include_input=False, include_context=False)
        raise RequestValidationError([{**e, "loc": ("body", *e["loc"])} for e in wrong]) from error
    if isinstance(form.get("file"), str):
        raise RequestValidationError([{"loc": ("body", "file"), "msg": "Must be a file", "type": "file"}])
    return form


@router.get("/parts", responses=_answers())
def parts(request: Request, seat: SeatDep, q: Annotated[str, Query(max_length=80)] = "") -> list[Part]:
    """Components by any name that the trade or the shop has for them, the likeliest first."""
    return [Part(id=k.id, name=k.name, called=k.called) for k in reader_of(request).find(q)]


@router.get("/notes/{note_id}", responses=_answers(404))
def note(request: Request, note_id: Id, seat: SeatDep) -> Taken:
    """How far a note has come."""
    with orders_of(request).store.reading() as s:
        row = s.get(NoteRow, note_id)
        if row is None or not seat.may_see(row.by_id):
            raise NotThere(f"there is no note {note_id}")
        order = s.scalar(select(OrderRow.id).where(OrderRow.note_id == note_id))
        return Taken(note=row.id, state=row.state, order=order, again=True, trouble=row.trouble)


@router.post("/notes", status_code=201, response_model=Taken, openapi_extra={"requestBody": _BODY},
             responses={**_answers(403, 413), 200: {"model": Taken}})  # fmt: skip
def take(request: Request, seat: TakerDep, form: Annotated[FormData, Depends(sent_note)]) -> Response:
    """Keep a note under the key that its sender made: 201 where it is new, 200 where it was there already."""
    try:
        note_id, again = taken(request, seat, form)
    except NoteError as error:
        raise CannotChange(str(error).rstrip(".")) from error
    made = note(request, note_id, seat)
    made.again = again
    return JSONResponse(made.model_dump(), 200 if again else 201)


@router.get("/orders/{order_id}", responses=_answers(404))
def order(request: Request, order_id: Id, seat: SeatDep) -> RepairOrder:
    """The order as it stands."""
    return opened(request, seat, order_id).document


__all__ = ["router"]
