"""Sign an order, open a new revision of it, print it, and take it away as a file."""

from __future__ import annotations

import base64
import hashlib
import re

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from talkaround.desk.changes import CannotChange
from talkaround.desk.orders import NotThere
from talkaround.desk.pages.common import FormDep, SeatDep, WriterDep, number_of, opened, orders_of, page, text_of
from talkaround.models import RepairOrder
from talkaround.output import SUFFIXES, in_words, render

router = APIRouter(include_in_schema=False)

_MEDIA = {"json": "application/json", "csv": "text/csv; charset=utf-8", "html": "text/html; charset=utf-8"}
_STYLE = re.compile(r"<style>([^<]*)</style>")


@router.get("/orders/{order_id}/sign")
def sign_page(request: Request, order_id: int, seat: WriterDep) -> Response:
    """What signing says in words, before it is done."""
    o = opened(request, seat, order_id)
    return page(request, "sign.html", o=o, words=in_words(o.document), trouble="")


@router.post("/orders/{order_id}/sign")
def sign(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Keep the order as a signed revision, which nobody changes; with questions open only where that is ticked."""
    o = opened(request, seat, order_id)
    if o.draft.questions and not o.frozen and not text_of(form, "open_too"):
        trouble = f"{len(o.draft.questions)} questions are open. Answer them, or tick that it is signed with them open."
        return page(request, "sign.html", 400, o=o, words=in_words(o.document), trouble=trouble)
    if not o.document.lines:
        raise CannotChange("the order has no line: add one before you sign")
    orders_of(request).sign(order_id, number_of(form, "seen"), seat.account)
    return RedirectResponse(f"/orders/{order_id}#order", 303)


@router.post("/orders/{order_id}/revise")
def revise(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Open a signed order again for a further revision."""
    opened(request, seat, order_id)
    orders_of(request).open_revision(order_id)
    return RedirectResponse(f"/orders/{order_id}#order", 303)


@router.get("/orders/{order_id}/paper")
def paper(request: Request, order_id: int, seat: SeatDep) -> Response:
    """The printable page of the order as it stands."""
    return _file(opened(request, seat, order_id).document, "html", order_id, inline=True)


@router.get("/orders/{order_id}/order.{kind}")
def download(request: Request, order_id: int, kind: str, seat: SeatDep) -> Response:
    """The order as it stands, as a file: ``json``, ``csv`` or ``html``."""
    return _file(opened(request, seat, order_id).document, kind, order_id)


@router.get("/orders/{order_id}/revisions/{number}.{kind}")
def revision(request: Request, order_id: int, number: int, kind: str, seat: SeatDep) -> Response:
    """A signed revision as it was signed."""
    opened(request, seat, order_id)
    for row, _ in orders_of(request).revisions(order_id):
        if row.number == number:
            return _file(RepairOrder.model_validate(row.document), kind, order_id, inline=kind == "html")
    raise NotThere(f"order {order_id} has no revision {number}")


def _file(order: RepairOrder, kind: str, order_id: int, *, inline: bool = False) -> Response:
    if kind not in _MEDIA:
        raise NotThere(f"no form {kind}")
    body = render(order, kind)
    how = "inline" if inline else "attachment"
    headers = {"content-disposition": f'{how}; filename="order-{order_id}{SUFFIXES[kind]}"'}
    if kind == "html":
        # The page brings its own style and no script; only that very style may apply.
        styles = (base64.b64encode(hashlib.sha256(x.encode()).digest()).decode() for x in _STYLE.findall(body))
        allowed = " ".join(f"'sha256-{digest}'" for digest in styles)
        headers["content-security-policy"] = (
            f"default-src 'none'; style-src {allowed}; img-src data:; form-action 'none'; "
            "frame-ancestors 'none'; base-uri 'none'"
        )
    return Response(body.encode(), 200, headers, _MEDIA[kind])


__all__ = ["router"]
