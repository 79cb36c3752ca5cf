"""What the pages share: rendering, who sits there, and forms that came from here."""

from __future__ import annotations

import hmac
import logging
import re
import secrets
from collections.abc import AsyncIterator
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from python_multipart.exceptions import FormParserError
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException

from talkaround.desk.accounts import Accounts, Seat
from talkaround.desk.orders import Open, Orders, Overtaken
from talkaround.desk.reader import Reader
from talkaround.desk.security import FORM_LIMIT
from talkaround.models import Severity
from talkaround.output._marks import SHAPES

log = logging.getLogger("talkaround.desk")
COOKIE, FORM_COOKIE = "talkaround_desk", "talkaround_form"
LARGEST_ID = 2**31
# A field that is sent again must not be a password.
_NEVER_AGAIN = ("password", "old", "new", "form_key")


class NotSignedIn(Exception):
    """Nobody is signed in in this browser."""


class NotForYou(Exception):
    """The text says what the role does not allow."""


class StaleForm(Exception):
    """The form was not made for who is signed in now."""


def _mark(severity: Severity) -> Markup:
    return Markup(f'<svg class="mark" viewBox="0 0 16 16" aria-hidden="true">{SHAPES[severity]}</svg>')


def _when(at: datetime) -> Markup:
    return Markup(f'<time datetime="{at:%Y-%m-%dT%H:%M:%SZ}">{at:%Y-%m-%d %H:%M} UTC</time>')


_templates = Environment(
    loader=FileSystemLoader(Path(__file__).parent.parent / "templates"),
    autoescape=select_autoescape(default=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_templates.globals.update(mark=_mark, token=lambda: secrets.token_hex(8))
_templates.filters["when"] = _when
_templates.filters["upper_first"] = lambda text: text[:1].upper() + text[1:]


def cookie_name(request: Request, name: str) -> str:
    """Under TLS with the prefix that lets no other host and no plain connection set it."""
    return f"__Host-{name}" if _is_secure(request) else name


def cookie(request: Request, name: str) -> str:
    """The value of a cookie of ours, empty if the browser sent none."""
    return request.cookies.get(cookie_name(request, name), "")


def _is_secure(request: Request) -> bool:
    return bool(request.app.state.secure) or request.url.scheme == "https"


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page for whoever sits there; every form on it carries ``form_key``."""
    seat: Seat | None = getattr(request.state, "seat", None)
    key = seat.form_key if seat else cookie(request, FORM_COOKIE) or secrets.token_urlsafe(24)
    body = _templates.get_template(template).render(seat=seat, form_key=key, path=request.url.path, **values)
    response = HTMLResponse(body, status)
    if seat is None:
        set_cookie(request, response, FORM_COOKIE, key)
    return response


def plain_page(status: int, what: str, mend: str) -> bytes:
    """A page for nobody in particular, where nothing of the request can be trusted."""
    return (
        _templates.get_template("trouble.html")
        .render(seat=None, form_key="", path="", what=what, mend=mend, status=status)
        .encode()
    )


def set_cookie(request: Request, response: Response, name: str, value: str) -> None:
    """Give the browser a cookie that no script sees and no other site sends."""
    named, secure = cookie_name(request, name), _is_secure(request)
    response.set_cookie(named, value, httponly=True, samesite="strict", secure=secure, path="/")


def drop_cookie(request: Request, response: Response, name: str) -> None:
    """Have the browser forget a cookie of ours."""
    named, secure = cookie_name(request, name), _is_secure(request)
    response.delete_cookie(named, httponly=True, samesite="strict", secure=secure, path="/")


# ----- who sits there ------------------------------------------------------------------------------------------------


def seat_of(request: Request) -> Seat:
    """Who sits there. Raises ``NotSignedIn``."""
    seat = accounts_of(request).seat_of(cookie(request, COOKIE))
    if seat is None:
        raise NotSignedIn
    request.state.seat = seat
    return seat


def writer_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    """The seat of one who may change an order. Raises ``NotForYou``."""
    if not seat.writes:
        raise NotForYou("Only a writer may change an order.")
    return seat


def taker_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    """The seat of one who may bring in a note. Raises ``NotForYou``."""
    if not seat.takes_notes:
        raise NotForYou("Only a technician or a writer may take a note.")
    return seat


def auditor_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    """The seat of one who may look at how notes are written. Raises ``NotForYou``."""
    if not seat.audits:
        raise NotForYou("Only an auditor may look at how notes are written.")
    return seat


def keeper_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    """The seat of one who keeps the accounts. Raises ``NotForYou``."""
    if not seat.account.keeps_accounts:
        raise NotForYou("Only a person who keeps the accounts may do that.")
    return seat


async def form_of(request: Request) -> AsyncIterator[FormData]:
    """The form of a request, whoever sent it; what was uploaded with it is closed in the end."""
    form = await _read(request)
    yield form
    await form.close()


async def _read(request: Request) -> FormData:
    try:
        form = await request.form(max_files=1, max_fields=200, max_part_size=1_500_000)
    except FormParserError:
        # Starlette's later releases say so themselves.
        raise HTTPException(400, "That form is broken") from None
    request.state.form = form
    return form


def checked_form(
    request: Request, seat: Annotated[Seat, Depends(seat_of)], form: Annotated[FormData, Depends(form_of)]
) -> FormData:
    """The form, once its key shows that it came from a page of this desk."""
    if not hmac.compare_digest(str(form.get("form_key", "")).encode(), seat.form_key.encode()):
        raise StaleForm
    return form


def open_form(request: Request, form: Annotated[FormData, Depends(form_of)]) -> FormData:
    """The same where nobody is signed in yet: the key stands in a cookie of its own."""
    key = cookie(request, FORM_COOKIE)
    if not key or not hmac.compare_digest(str(form.get("form_key", "")).encode(), key.encode()):
        raise StaleForm
    return form


SeatDep = Annotated[Seat, Depends(seat_of)]
WriterDep = Annotated[Seat, Depends(writer_of)]
TakerDep = Annotated[Seat, Depends(taker_of)]
AuditorDep = Annotated[Seat, Depends(auditor_of)]
KeeperDep = Annotated[Seat, Depends(keeper_of)]
FormDep = Annotated[FormData, Depends(checked_form)]
OpenFormDep = Annotated[FormData, Depends(open_form)]


def orders_of(request: Request) -> Orders:
    """The notes and orders of this desk."""
    return request.app.state.orders  # type: ignore[no-any-return]


def accounts_of(request: Request) -> Accounts:
    """The accounts of this desk."""
    return request.app.state.accounts  # type: ignore[no-any-return]


def reader_of(request: Request) -> Reader:
    """What this desk reads notes with."""
    return request.app.state.reader  # type: ignore[no-any-return]


def opened(request: Request, seat: Seat, order_id: int) -> Open:
    """The order, where it is for this person to see.

    Raises:
        NotThere: there is none, or it is not; nobody learns which.
    """
    from talkaround.desk.orders import NotThere

    if not 0 < order_id < LARGEST_ID:
        raise NotThere(f"there is no order {order_id}")
    o = orders_of(request).open(order_id)
    if not seat.may_see(o.note_row.by_id):
        raise NotThere(f"there is no order {order_id}")
    return o


def told_of(error: Exception) -> str:
    """What an error says, as a sentence for a page."""
    said = str(error)
    return said[:1].upper() + said[1:] + ("" if said.endswith(".") else ".")


def text_of(form: FormData, name: str, most: int = 2000) -> str:
    """A field of the form without blanks around it, at ``most`` so many characters; empty where it is missing or a file."""
    value = form.get(name, "")
    # PostgreSQL keeps no NUL, and nobody types one.
    return value.replace("\0", "").strip()[:most] if isinstance(value, str) else ""


def number_of(form: FormData, name: str) -> int:
    """A whole number of up to nine digits from the form; 0 where there is none."""
    said = text_of(form, name)
    return int(said) if re.fullmatch(r"-?[0-9]{1,9}", said) else 0


# ----- when it cannot be written now ---------------------------------------------------------------------------------


async def _sent(request: Request) -> FormData:
    """The form of a request, read now where the trouble came before it was."""
    form: FormData | None = getattr(request.state, "form", None)
    if form is not None:
        return form
    if request.method != "POST" or int(request.headers.get("content-length") or FORM_LIMIT + 1) > FORM_LIMIT:
        return FormData()
    form = await _read(request)
    await form.close()
    return form


def _fields(form: FormData) -> list[tuple[str, str]]:
    return [(k, v) for k, v in form.multi_items() if isinstance(v, str) and k not in _NEVER_AGAIN]


async def keeping(request: Request, status: int, what: str, mend: str) -> Response:
    """A page that says what is wrong and holds what was typed, ready to be sent once more."""
    try:
        form = await _sent(request)
        files = [v.filename for _, v in form.multi_items() if isinstance(v, UploadFile) and v.filename]
        # Who sits there is not known where the store is away: then the key that came is good as long as it was.
        sent_key = "" if getattr(request.state, "seat", None) else str(form.get("form_key", ""))
        return page(
            request, "again.html", status, what=what, mend=mend, fields=_fields(form), files=files, sent_key=sent_key,
            posted=request.method == "POST",
        )  # fmt: skip
    except Exception as error:
        # A form that is broken holds nothing to show; that is no fault of the desk.
        if not isinstance(error, HTTPException):
            log.exception("what was sent could not be shown again")
        return HTMLResponse(plain_page(status, what, "Go back in the browser and send it again."), status)


async def overtaken(request: Request, error: Overtaken) -> Response:
    """What somebody else wrote meanwhile beside what this person sent; nothing of it is lost."""
    order_id = request.path_params.get("order_id", 0)
    version = orders_of(request).open(int(order_id)).version
    fields = [(k, v) for k, v in _fields(await _sent(request)) if k not in ("over", "token")]
    return page(
        request, "overtaken.html", 409, theirs=error.theirs, fields=fields, order_id=order_id, version=version,
        signing=request.url.path.endswith("/sign"),
    )  # fmt: skip


__all__ = [
    "COOKIE",
    "FORM_COOKIE",
    "NotForYou",
    "NotSignedIn",
    "StaleForm",
    "cookie",
    "drop_cookie",
    "keeping",
    "overtaken",
    "page",
    "plain_page",
]
