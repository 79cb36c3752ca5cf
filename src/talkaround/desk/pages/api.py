"""The few things that scripts ask for, as JSON; described at ``/api/openapi.json``."""

from __future__ import annotations

import hmac
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Header, Path, Query, Request, UploadFile
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel
from sqlalchemy import select
from starlette.datastructures import FormData

from talkaround.desk.changes import CannotChange
from talkaround.desk.orders import NotThere
from talkaround.desk.pages.common import SeatDep, StaleForm, TakerDep, opened, orders_of, reader_of
from talkaround.desk.pages.taking import taken
from talkaround.desk.store.tables import NoteRow, OrderRow
from talkaround.intake import NoteError
from talkaround.models import RepairOrder

router = APIRouter(prefix="/api", tags=["desk"])
Id = Annotated[int, Path(ge=1, le=2_000_000_000)]


class Trouble(BaseModel):
    what: str
    mend: str


class Part(BaseModel):
    """A component: ``called`` is the name that was met."""

    id: str
    name: str
    called: str


class Taken(BaseModel):
    """A note that is kept. ``again``: it was there already; ``order`` is null while a recording waits for its words, and
    ``trouble`` says why they are missing."""

    note: int
    state: str
    order: int | None
    again: bool
    trouble: str = ""


_ALL: dict[int | str, dict[str, Any]] = {401: {"model": Trouble}, 503: {"model": Trouble}}
_WRONG: dict[int | str, dict[str, Any]] = {n: {"model": Trouble} for n in (400, 403, 413)}


@router.get("/parts", responses=_ALL)
def parts(request: Request, seat: SeatDep, q: Annotated[str, Query(max_length=80)] = "") -> list[Part]:
    """Components by any name that the trade or the shop has for them, the likeliest first."""
    return [Part(id=k.id, name=k.name, called=k.called) for k in reader_of(request).find(q)]


@router.get("/notes/{note_id}", responses={**_ALL, 404: {"model": Trouble}})
def note(request: Request, note_id: Id, seat: SeatDep) -> Taken:
    """How far a note has come."""
    with orders_of(request).store.reading() as s:
        row = s.get(NoteRow, note_id)
        if row is None or not seat.may_see(row.by_id):
            raise NotThere(f"there is no note {note_id}")
        order = s.scalar(select(OrderRow.id).where(OrderRow.note_id == note_id))
        return Taken(note=row.id, state=row.state, order=order, again=True, trouble=row.trouble)


@router.post("/notes", status_code=201, responses={**_ALL, **_WRONG, 200: {"model": Taken}})
def take(
    request: Request,
    seat: TakerDep,
    key: Annotated[str, Form(min_length=16, max_length=64, pattern=r"^[A-Za-z0-9_-]+$")],
    name: Annotated[str, Form(max_length=80)] = "",
    text: Annotated[str, Form(max_length=1_000_000)] = "",
    vin: Annotated[str, Form(max_length=30)] = "",
    description: Annotated[str, Form(max_length=80)] = "",
    plate: Annotated[str, Form(max_length=20)] = "",
    odometer: Annotated[str, Form(max_length=15)] = "",
    unit: Annotated[str, Form(max_length=2)] = "mi",
    steering: Annotated[str, Form(max_length=10)] = "left-hand",
    file: Annotated[UploadFile | None, File()] = None,
    x_form_key: Annotated[str, Header(max_length=64)] = "",
) -> Response:
    """Keep a note under the key that its sender made: 201 where it is new, 200 where it was there already."""
    if not hmac.compare_digest(x_form_key.encode(), seat.form_key.encode()):
        raise StaleForm
    given: list[tuple[str, Any]] = [
        ("key", key), ("name", name), ("text", text), ("vin", vin), ("description", description), ("plate", plate),
        ("odometer", odometer), ("unit", unit), ("steering", steering), *([("file", file)] if file else []),
    ]  # fmt: skip
    try:
        note_id, again = taken(request, seat, FormData(given))
    except NoteError as error:
        raise CannotChange(str(error).rstrip(".")) from error
    made = note(request, note_id, seat)
    made.again = again
    return JSONResponse(made.model_dump(), 200 if again else 201)


@router.get("/orders/{order_id}", responses={**_ALL, 404: {"model": Trouble}})
def order(request: Request, order_id: Id, seat: SeatDep) -> RepairOrder:
    """The order as it stands."""
    return opened(request, seat, order_id).document


__all__ = ["router"]
