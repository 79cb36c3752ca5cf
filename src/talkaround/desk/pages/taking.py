"""Take a note: type it, give a file, or record it in the page; and the list of notes with their orders."""

from __future__ import annotations

import re
import secrets
from pathlib import Path, PurePath
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, RedirectResponse, Response
from sqlalchemy import select
from starlette.datastructures import FormData, UploadFile

from talkaround.desk.changes import CannotChange
from talkaround.desk.orders import A_PAGE, NotThere, note_of
from talkaround.desk.pages.common import FormDep, SeatDep, TakerDep, orders_of, page, text_of
from talkaround.desk.store.tables import NoteRow, OrderRow, Sound
from talkaround.intake import NOTE_LIMIT, NoteError, note_from_bytes
from talkaround.models import Note
from talkaround.reading.vins import trouble_with

router = APIRouter(include_in_schema=False)

SOUNDS = {
    ".wav": "audio/wav", ".mp3": "audio/mpeg", ".m4a": "audio/mp4", ".mp4": "audio/mp4", ".ogg": "audio/ogg",
    ".oga": "audio/ogg", ".webm": "audio/webm", ".flac": "audio/flac",
}  # fmt: skip
TEXTS = (".txt", ".srt", ".vtt", ".json")
# How each kind of sound file begins: an ending alone says nothing.
_BEGINS = {
    ".wav": (b"RIFF",), ".mp3": (b"ID3", b"\xff\xfb", b"\xff\xf3", b"\xff\xf2"), ".ogg": (b"OggS",), ".oga": (b"OggS",),
    ".webm": (b"\x1aE\xdf\xa3",), ".flac": (b"fLaC",),
}  # fmt: skip
_GIVEN = ("name", "vin", "description", "odometer", "unit", "plate", "steering")
_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")


@router.get("/")
def listed(request: Request, seat: SeatDep, at: int = 0, find: str = "") -> Response:
    only = seat.account.id if seat.account.role == "technician" else None
    at = max(0, min(at, 100_000))
    rows, many = orders_of(request).listed(only, at, find.strip()[:80])
    return page(request, "orders.html", rows=rows, many=many, at=at, find=find.strip()[:80], a_page=A_PAGE)


@router.get("/offline.js")
def offline() -> Response:
    """The script that opens ``/take`` without a connection; from the root, so that it may."""
    return FileResponse(Path(__file__).parent.parent / "static" / "offline.js", media_type="text/javascript")


@router.get("/take")
def form(request: Request, seat: TakerDep) -> Response:
    return page(request, "take.html", trouble="", given=dict.fromkeys(_GIVEN, ""), key=secrets.token_urlsafe(24), text="")


@router.post("/take")
def take(request: Request, seat: TakerDep, form: FormDep) -> Response:
    key = text_of(form, "key", 64)
    try:
        note_id, _ = taken(request, seat, form)
    except (NoteError, CannotChange) as error:
        given = {n: text_of(form, n) for n in _GIVEN}
        text = str(form.get("text", "")) if isinstance(form.get("text", ""), str) else ""
        return page(request, "take.html", 400, trouble=_one_line(error), given=given, key=key, text=text)
    return RedirectResponse(f"/notes/{note_id}", 303)


def _one_line(error: Exception) -> str:
    said = str(error)
    return said[:1].upper() + said[1:] + ("" if said.endswith(".") else ".")


def taken(request: Request, seat: TakerDep, form: FormData) -> tuple[int, bool]:
    """Keep the note of a form; gives its id, and whether it was there already.

    Raises:
        NoteError, CannotChange: what is wrong with it, in a line.
    """
    key = text_of(form, "key", 65)
    if not _KEY.fullmatch(key):
        raise CannotChange("the note came without its key: reload the page and send it again")
    facts = facts_of(form)
    upload = form.get("file")
    if isinstance(upload, UploadFile) and upload.filename:
        suffix = PurePath(upload.filename).suffix.lower()
        data = upload.file.read()
        name = text_of(form, "name", 80) or PurePath(upload.filename).stem[:80]
        if suffix in SOUNDS:
            _refuse_if_not_sound(suffix, data, upload.filename)
            note_id, again = orders_of(request).take(
                key, seat.account.id, name, facts, sound=(SOUNDS[suffix], suffix, data)
            )
            if not again:
                request.app.state.listening.add(note_id)
            return note_id, again
        if suffix not in TEXTS:
            kinds = ", ".join((*TEXTS, *SOUNDS))
            raise CannotChange(f"{upload.filename}: is of no kind that can be read; give one of {kinds}")
        note = note_from_bytes(data, source=upload.filename, name=name, suffix=suffix)
        return orders_of(request).take(key, seat.account.id, name, facts, note)
    text = form.get("text", "")
    # A browser sends CR LF for each line end that was typed.
    data = (text if isinstance(text, str) else "").replace("\r\n", "\n").encode()
    name = text_of(form, "name", 80) or facts.get("description") or "Typed note"
    note = note_from_bytes(data, source="The note", name=name, suffix=".txt", limit=NOTE_LIMIT)
    return orders_of(request).take(key, seat.account.id, name, facts, note)


def facts_of(form: FormData) -> dict[str, Any]:
    """What was typed beside the note.

    Raises:
        CannotChange: the VIN or the odometer cannot be right.
    """
    vin = text_of(form, "vin", 30).upper().replace(" ", "")
    if vin and (trouble := trouble_with(vin)):
        raise CannotChange(f"the VIN {vin} {trouble}: read it again from the plate, or leave it empty")
    odometer = text_of(form, "odometer", 15).replace(",", "").replace(" ", "")
    if odometer and not re.fullmatch(r"\d{1,7}(\.\d)?", odometer):
        raise CannotChange(f"the odometer {odometer!r} is no number of miles or kilometers: write it as 84210")
    unit = "km" if text_of(form, "unit") == "km" else "mi"
    facts: dict[str, Any] = {
        "vin": vin or None,
        "description": text_of(form, "description", 80) or None,
        "plate": text_of(form, "plate", 20) or None,
        "odometer": {"value": float(odometer), "unit": unit} if odometer else None,
        "steering": "right-hand" if text_of(form, "steering") == "right-hand" else "left-hand",
    }
    return facts


def _refuse_if_not_sound(suffix: str, data: bytes, name: str) -> None:
    begins = _BEGINS.get(suffix)
    looks = data[4:8] == b"ftyp" if begins is None else data.startswith(begins)
    if not data:
        raise CannotChange(f"{name}: is empty; record it again")
    if not looks:
        raise CannotChange(f"{name}: is no {suffix} recording inside; save it anew from the recorder")


# ----- one note ------------------------------------------------------------------------------------------------------


def _note(request: Request, seat: SeatDep, note_id: int) -> tuple[NoteRow, int | None]:
    with orders_of(request).store.reading() as s:
        row = s.get(NoteRow, note_id)
        if row is None or not seat.may_see(row.by_id):
            raise NotThere(f"there is no note {note_id}")
        return row, s.scalar(select(OrderRow.id).where(OrderRow.note_id == note_id))


@router.get("/notes/{note_id}")
def note(request: Request, note_id: int, seat: SeatDep) -> Response:
    """The order of the note, or how far it has come."""
    row, order_id = _note(request, seat, note_id)
    if order_id is not None:
        return RedirectResponse(f"/orders/{order_id}", 303)
    return page(request, "waiting.html", note=row, trouble="")


@router.post("/notes/{note_id}/words")
def words(request: Request, note_id: int, seat: TakerDep, form: FormDep) -> Response:
    """What was said in a recording that could not be written down, typed by hand."""
    row, order_id = _note(request, seat, note_id)
    if order_id is None:
        text = str(form.get("text", "")).replace("\r\n", "\n")
        try:
            typed = note_from_bytes(text.encode(), source="The note", name=row.name, suffix=".txt")
        except NoteError as error:
            return page(request, "waiting.html", 400, note=row, trouble=str(error))
        orders_of(request).heard(note_id, Note(name=row.name, kind="audio", text=typed.text))
    return RedirectResponse(f"/notes/{note_id}", 303)


@router.get("/notes/{note_id}/sound")
def sound(request: Request, note_id: int, seat: SeatDep) -> Response:
    """The recording; a part of it where a part is asked for, so that a player can start anywhere."""
    _note(request, seat, note_id)
    with orders_of(request).store.reading() as s:
        found = s.get(Sound, note_id)
    if found is None:
        raise NotThere("that note was typed")
    headers = {"accept-ranges": "bytes", "content-disposition": "inline"}
    part = re.fullmatch(r"bytes=(\d*)-(\d*)", request.headers.get("range", ""))
    size = len(found.data)
    if part and (part[1] or part[2]):
        begin = int(part[1]) if part[1] else max(0, size - int(part[2]))
        end = min(int(part[2]), size - 1) if part[1] and part[2] else size - 1
        if begin > end:
            return Response(status_code=416, headers={"content-range": f"bytes */{size}"})
        headers["content-range"] = f"bytes {begin}-{end}/{size}"
        return Response(found.data[begin : end + 1], 206, headers, found.media_type)
    return Response(found.data, 200, headers, found.media_type)


__all__ = ["SOUNDS", "TEXTS", "note_of", "router", "taken"]
