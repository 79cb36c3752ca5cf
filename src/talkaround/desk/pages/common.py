"""What the pages share: rendering, who sits there, and forms that came from here."""

from __future__ import annotations

import hmac
import logging
import secrets
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape
from starlette.datastructures import FormData

from talkaround.desk.accounts import Accounts, Seat
from talkaround.desk.orders import Open, Orders, Overtaken
from talkaround.desk.reader import Reader
from talkaround.models import Severity
from talkaround.output._marks import SHAPES

log = logging.getLogger("talkaround.desk")
COOKIE, FORM_COOKIE = "talkaround_desk", "talkaround_form"
# A field that is sent again must not be a password.
_NEVER_AGAIN = ("password", "old", "new", "form_key")


class NotSignedIn(Exception):
    pass


class NotForYou(Exception):
    """The text says what the role does not allow."""


class StaleForm(Exception):
    pass


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


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page for whoever sits there; every form on it carries ``form_key``."""
    seat: Seat | None = getattr(request.state, "seat", None)
    key = seat.form_key if seat else request.cookies.get(FORM_COOKIE) or secrets.token_urlsafe(24)
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
    secure = bool(request.app.state.secure) or request.url.scheme == "https"
    response.set_cookie(name, value, httponly=True, samesite="strict", secure=secure, path="/")


# ----- who sits there ------------------------------------------------------------------------------------------------


def seat_of(request: Request) -> Seat:
    seat = accounts_of(request).seat_of(request.cookies.get(COOKIE))
    if seat is None:
        raise NotSignedIn
    request.state.seat = seat
    return seat


def writer_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    if not seat.writes:
        raise NotForYou("Only a writer may change an order.")
    return seat


def taker_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    if not seat.takes_notes:
        raise NotForYou("Only a technician or a writer may take a note.")
    return seat


def keeper_of(seat: Annotated[Seat, Depends(seat_of)]) -> Seat:
    if not seat.account.keeps_accounts:
        raise NotForYou("Only a person who keeps the accounts may do that.")
    return seat


async def form_of(request: Request) -> FormData:
    """The form of a request, once its key shows that it came from a page of this desk."""
    form = await request.form(max_files=1, max_fields=200, max_part_size=1_500_000)
    request.state.form = form
    return form


def checked_form(
    request: Request, seat: Annotated[Seat, Depends(seat_of)], form: Annotated[FormData, Depends(form_of)]
) -> FormData:
    if not hmac.compare_digest(str(form.get("form_key", "")).encode(), seat.form_key.encode()):
        raise StaleForm
    return form


def open_form(request: Request, form: Annotated[FormData, Depends(form_of)]) -> FormData:
    """The same where nobody is signed in yet: the key stands in a cookie of its own."""
    key = request.cookies.get(FORM_COOKIE, "")
    if not key or not hmac.compare_digest(str(form.get("form_key", "")).encode(), key.encode()):
        raise StaleForm
    return form


SeatDep = Annotated[Seat, Depends(seat_of)]
WriterDep = Annotated[Seat, Depends(writer_of)]
TakerDep = Annotated[Seat, Depends(taker_of)]
KeeperDep = Annotated[Seat, Depends(keeper_of)]
FormDep = Annotated[FormData, Depends(checked_form)]
OpenFormDep = Annotated[FormData, Depends(open_form)]


def orders_of(request: Request) -> Orders:
    return request.app.state.orders  # type: ignore[no-any-return]


def accounts_of(request: Request) -> Accounts:
    return request.app.state.accounts  # type: ignore[no-any-return]


def reader_of(request: Request) -> Reader:
    return request.app.state.reader  # type: ignore[no-any-return]


def opened(request: Request, seat: Seat, order_id: int) -> Open:
    """The order, where it is for this person to see.

    Raises:
        NotThere: there is none, or it is not; nobody learns which.
    """
    from talkaround.desk.orders import NotThere

    o = orders_of(request).open(order_id)
    if not seat.may_see(o.note_row.by_id):
        raise NotThere(f"there is no order {order_id}")
    return o


def text_of(form: FormData, name: str, most: int = 2000) -> str:
    value = form.get(name, "")
    return value.strip()[:most] if isinstance(value, str) else ""


def number_of(form: FormData, name: str) -> int:
    said = text_of(form, name)
    return int(said) if said.lstrip("-").isdigit() and len(said) < 10 else 0


# ----- when it cannot be written now ---------------------------------------------------------------------------------


def _fields(request: Request) -> list[tuple[str, str]]:
    form: FormData | None = getattr(request.state, "form", None)
    if form is None:
        return []
    return [(k, v) for k, v in form.multi_items() if isinstance(v, str) and k not in _NEVER_AGAIN]


async def again(request: Request) -> Response:
    """What was typed, ready to be sent once more; its token keeps it from being written twice."""
    try:
        return page(request, "again.html", 503, fields=_fields(request), method=request.method)
    except Exception:
        return HTMLResponse(
            plain_page(
                503, "The store is busy, full or away; nothing of this was saved.", "Go back and send it again."
            ),
            503,
        )


async def overtaken(request: Request, error: Overtaken) -> Response:
    """What somebody else wrote meanwhile beside what this person sent; nothing of it is lost."""
    order_id = request.path_params.get("order_id", 0)
    version = orders_of(request).open(int(order_id)).version
    fields = [(k, v) for k, v in _fields(request) if k not in ("over", "token")]
    same = {path.split(".")[-1] for path, _ in error.fields}
    return page(
        request, "overtaken.html", 409, theirs=error.theirs, fields=fields, same=same, order_id=order_id, version=version,
        signing=request.url.path.endswith("/sign"),
    )  # fmt: skip


__all__ = [
    "COOKIE",
    "FORM_COOKIE",
    "NotForYou",
    "NotSignedIn",
    "StaleForm",
    "again",
    "escape",
    "overtaken",
    "page",
    "plain_page",
]
