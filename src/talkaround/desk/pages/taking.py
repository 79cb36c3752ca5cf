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
from talkaround.desk.orders import A_PAGE, NotThere
from talkaround.desk.pages.common import LARGEST_ID, FormDep, SeatDep, TakerDep, orders_of, page, text_of, told_of
from talkaround.desk.store.tables import NoteRow, OrderRow, Sound
from talkaround.intake import NOTE_LIMIT, NoteError, note_from_bytes
from talkaround.models import Note
from talkaround.order.facts import FactError, typed_odometer, typed_vin

router = APIRouter(include_in_schema=False)

SOUNDS = {
    ".wav": "audio/wav", ".mp3": "audio/mpeg", ".m4a": "audio/mp4", ".mp4": "audio/mp4", ".ogg": "audio/ogg",
    ".oga": "audio/ogg", ".opus": "audio/ogg", ".webm": "audio/webm", ".flac": "audio/flac", ".aac": "audio/aac",
    ".amr": "audio/amr", ".3gp": "audio/3gpp",
}  # fmt: skip
TEXTS = (".txt", ".srt", ".vtt", ".json")
# How each kind of sound file begins: an ending alone says nothing.
_OGG, _MPEG_4 = rb"OggS", rb".{4}ftyp"
_BEGINS = {
    ".wav": rb"RIFF.{4}WAVE", ".mp3": rb"ID3|\xff[\xe2\xe3\xf2\xf3\xfa\xfb]", ".aac": rb"\xff[\xf0\xf1\xf8\xf9]",
    ".m4a": _MPEG_4, ".mp4": _MPEG_4, ".3gp": _MPEG_4, ".ogg": _OGG, ".oga": _OGG, ".opus": _OGG,
    ".webm": rb"\x1aE\xdf\xa3", ".flac": rb"fLaC", ".amr": rb"#!AMR",
}  # fmt: skip
_GIVEN = ("name", "vin", "description", "odometer", "unit", "plate", "steering")
_KINDS = (*TEXTS, *SOUNDS)
_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")


@router.get("/")
def listed(request: Request, seat: SeatDep, at: int = 0, find: str = "") -> Response:
    """A page of orders, newest first: all of them, or a technician's own; ``at`` numbers the pages from 0."""
    only = seat.account.id if seat.account.role == "technician" else None
    at = max(0, min(at, 100_000))
    find = find.replace("\0", "").strip()[:80]
    rows, many = orders_of(request).listed(only, at, find)
    return page(request, "orders.html", rows=rows, many=many, at=at, find=find, a_page=A_PAGE)


@router.get("/offline.js")
def offline() -> Response:
    """The script that opens ``/take`` without a connection; from the root, so that it may."""
    return FileResponse(Path(__file__).parent.parent / "static" / "offline.js", media_type="text/javascript")


@router.get("/take")
def form(request: Request, seat: TakerDep) -> Response:
    """The form for a note, with a fresh key, so that a note sent twice is kept once."""
    return _form(request, 200, "", dict.fromkeys(_GIVEN, ""), secrets.token_urlsafe(24), "")


def _form(request: Request, status: int, trouble: str, given: dict[str, str], key: str, text: str) -> Response:
    return page(request, "take.html", status, trouble=trouble, given=given, key=key, text=text, kinds=",".join(_KINDS))


@router.post("/take")
def take(request: Request, seat: TakerDep, form: FormDep) -> Response:
    """Keep a note and go to it; where it cannot be kept, the form again with all that was typed."""
    key = text_of(form, "key", 64)
    try:
        note_id, _ = taken(request, seat, form)
    except (NoteError, CannotChange) as error:
        given = {n: text_of(form, n) for n in _GIVEN}
        new = key if _KEY.fullmatch(key) else secrets.token_urlsafe(24)
        return _form(request, 400, told_of(error), given, new, _typed(form))
    return RedirectResponse(f"/notes/{note_id}", 303)


def _typed(form: FormData) -> str:
    """What was typed as the note; a browser sends CR LF for each line end."""
    text = form.get("text", "")
    return text.replace("\r\n", "\n") if isinstance(text, str) else ""


def taken(request: Request, seat: TakerDep, form: FormData) -> tuple[int, bool]:
    """Keep the note of a form; gives its id, and whether it was there already.

    Raises:
        NoteError, CannotChange: what is wrong with it, in a line.
    """
    key = text_of(form, "key", 65)
    if not _KEY.fullmatch(key):
        raise CannotChange("the note came without its key: reload the page and send it again")
    facts = facts_of(form)
    upload, typed = form.get("file"), _typed(form)
    if isinstance(upload, UploadFile) and upload.filename:
        file = _plain_name(upload.filename)
        if typed.strip():
            raise CannotChange(
                f"there is a typed note and the file {file}: a note is one of them; keep the typed one first, and then give "
                "the file"
            )
        return _taken_file(request, seat, key, facts, file, upload.file.read(), text_of(form, "name", 80))
    if not typed.strip():
        raise CannotChange("there is nothing to keep yet: speak, type what was seen and said, or give a file")
    name = text_of(form, "name", 80) or facts.get("description") or "Typed note"
    note = note_from_bytes(typed.encode(), source="The note", name=name, suffix=".txt", limit=NOTE_LIMIT)
    return orders_of(request).take(key, seat.account.id, name, facts, note)


def _taken_file(
    request: Request, seat: TakerDep, key: str, facts: dict[str, Any], file: str, data: bytes, name: str
) -> tuple[int, bool]:
    suffix = PurePath(file).suffix.lower()
    name = name or facts.get("description") or PurePath(file).stem[:80]
    if suffix not in _KINDS:
        raise CannotChange(f"the file {file}: is of no kind that can be read; give one of {', '.join(_KINDS)}")
    if not data:
        raise CannotChange(f"the file {file}: is empty; record or save it again")
    if suffix in TEXTS:
        note = note_from_bytes(data, source=f"the file {file}", name=name, suffix=suffix)
        return orders_of(request).take(key, seat.account.id, name, facts, note)
    if not re.match(_BEGINS[suffix], data[:16], re.DOTALL):
        raise CannotChange(f"the file {file}: is no {suffix} recording inside; save it anew from the recorder")
    note_id, again = orders_of(request).take(key, seat.account.id, name, facts, sound=(SOUNDS[suffix], suffix, data))
    if not again:
        request.app.state.listening.add(note_id)
    return note_id, again


def _plain_name(file: str) -> str:
    """The name of a file without its folders and without what no name holds."""
    name = re.sub(r"[\x00-\x1f\x7f\ud800-\udfff]", "", re.split(r"[\\/]", file)[-1]).strip()
    # Of a very long name the ending has to stay.
    return name if len(name) <= 120 else name[:100] + name[-20:]


def facts_of(form: FormData) -> dict[str, Any]:
    """What was typed beside the note.

    Raises:
        CannotChange: the VIN or the odometer cannot be right.
    """
    try:
        vin = typed_vin(text_of(form, "vin", 30))
        odometer = typed_odometer(text_of(form, "odometer", 15), text_of(form, "unit"))
    except FactError as error:
        raise CannotChange(str(error)) from None
    facts: dict[str, Any] = {
        "vin": vin,
        "description": text_of(form, "description", 80) or None,
        "plate": text_of(form, "plate", 20) or None,
        "odometer": odometer.model_dump() if odometer else None,
        "steering": "right-hand" if text_of(form, "steering") == "right-hand" else "left-hand",
    }
    return facts


# ----- one note ------------------------------------------------------------------------------------------------------


def _note(request: Request, seat: SeatDep, note_id: int) -> tuple[NoteRow, int | None]:
    with orders_of(request).store.reading() as s:
        row = s.get(NoteRow, note_id) if 0 < note_id < LARGEST_ID else None
        if row is None or not seat.may_see(row.by_id):
            raise NotThere(f"there is no note {note_id}")
        return row, s.scalar(select(OrderRow.id).where(OrderRow.note_id == note_id))


@router.get("/notes/{note_id}")
def note(request: Request, note_id: int, seat: SeatDep) -> Response:
    """The order of the note, or how far it has come."""
    row, order_id = _note(request, seat, note_id)
    if order_id is not None:
        return RedirectResponse(f"/orders/{order_id}", 303)
    return page(request, "waiting.html", note=row, order_id=None, trouble="", text="")


@router.post("/notes/{note_id}/listen")
def listen(request: Request, note_id: int, seat: TakerDep, form: FormDep) -> Response:
    """Try once more to write a recording down, such as after its recogniser was put in place."""
    _note(request, seat, note_id)
    if orders_of(request).hear_again(note_id):
        request.app.state.listening.add(note_id)
    return RedirectResponse(f"/notes/{note_id}", 303)


@router.post("/notes/{note_id}/words")
def words(request: Request, note_id: int, seat: TakerDep, form: FormDep) -> Response:
    """What was said in a recording that could not be written down, typed by hand."""
    row, order_id = _note(request, seat, note_id)
    text = _typed(form)
    if order_id is None:
        try:
            typed = note_from_bytes(text.encode(), source="The note", name=row.name, suffix=".txt")
        except NoteError as error:
            return page(request, "waiting.html", 400, note=row, order_id=None, trouble=str(error), text=text)
        if orders_of(request).heard(note_id, Note(name=row.name, kind="audio", text=typed.text)):
            return RedirectResponse(f"/notes/{note_id}", 303)
        row, order_id = _note(request, seat, note_id)
    if row.text == text:
        return RedirectResponse(f"/notes/{note_id}", 303)
    told = (
        "The recording was written down meanwhile, so these words were not used. Copy from here what the order lacks."
    )
    return page(request, "waiting.html", 409, note=row, order_id=order_id, trouble=told, text=text)


@router.get("/notes/{note_id}/sound")
def sound(request: Request, note_id: int, seat: SeatDep) -> Response:
    """The recording; a part of it where a part is asked for, so that a player can start anywhere."""
    _note(request, seat, note_id)
    with orders_of(request).store.reading() as s:
        found = s.get(Sound, note_id)
    if found is None:
        raise NotThere("that note was typed")
    headers = {"accept-ranges": "bytes", "content-disposition": "inline"}
    part = re.fullmatch(r"bytes=(\d{0,15})-(\d{0,15})", request.headers.get("range", ""))
    size = len(found.data)
    if part and (part[1] or part[2]):
        begin = int(part[1]) if part[1] else max(0, size - int(part[2]))
        end = min(int(part[2]), size - 1) if part[1] and part[2] else size - 1
        if begin > end:
            return Response(status_code=416, headers={"content-range": f"bytes */{size}"})
        headers["content-range"] = f"bytes {begin}-{end}/{size}"
        return Response(found.data[begin : end + 1], 206, headers, found.media_type)
    return Response(found.data, 200, headers, found.media_type)


__all__ = ["SOUNDS", "TEXTS", "router", "taken"]
