"""Every change of an order, undoing, and reading the note again with a newer lexicon."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from talkaround.desk.again import apply_reading, differences
from talkaround.desk.pages.common import (
    FormDep,
    SeatDep,
    WriterDep,
    number_of,
    opened,
    orders_of,
    page,
    reader_of,
    text_of,
)

router = APIRouter(include_in_schema=False)


@router.get("/orders/{order_id}/history")
def history(request: Request, order_id: int, seat: SeatDep) -> Response:
    """What was changed, by whom and when, and what of it can be undone; with the signed revisions."""
    o = opened(request, seat, order_id)
    rows = orders_of(request).history(order_id)
    undone = {row.undoes for row, _ in rows if row.undoes is not None}
    return page(
        request, "history.html", o=o, rows=rows, undone=undone, revisions=orders_of(request).revisions(order_id),
        plainly=_plainly,
    )  # fmt: skip


def _plainly(value: object) -> str:
    """A value of a patch on one line."""
    if isinstance(value, dict):
        return ", ".join(f"{k} {_plainly(v)}" for k, v in value.items() if v not in (None, [], "")) or "none"
    if isinstance(value, list):
        return "; ".join(_plainly(v) for v in value) or "none"
    return "none" if value in (None, "") else str(value)


@router.post("/orders/{order_id}/undo")
def undo(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Undo one change; refused where a later one wrote the same."""
    opened(request, seat, order_id)
    number = number_of(form, "number")
    orders_of(request).undo(order_id, number, number_of(form, "seen"), text_of(form, "token", 64), seat.account)
    return RedirectResponse(f"/orders/{order_id}#order", 303)


@router.get("/orders/{order_id}/again")
def again(request: Request, order_id: int, seat: WriterDep) -> Response:
    """What reading the note again would change; what people did is kept."""
    o = opened(request, seat, order_id)
    return page(request, "read-again.html", o=o, differences=differences(o, reader_of(request)))


@router.post("/orders/{order_id}/again")
def read_again(request: Request, order_id: int, seat: WriterDep, form: FormDep) -> Response:
    """Take up what reading the note again changes."""
    o = opened(request, seat, order_id)
    apply_reading(orders_of(request), o, number_of(form, "seen"), text_of(form, "token", 64), seat.account)
    return RedirectResponse(f"/orders/{order_id}#order", 303)


__all__ = ["router"]
