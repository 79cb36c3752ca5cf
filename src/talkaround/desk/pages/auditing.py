"""The audit of the desk's own notes: what to count, and what it tells."""

from __future__ import annotations

import threading
from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from talkaround.audit import Asked, of_desk
from talkaround.audit.page import body, look
from talkaround.desk.changes import CannotChange
from talkaround.desk.pages.common import AuditorDep, accounts_of, page, reader_of, told_of

router = APIRouter(include_in_schema=False)

PERIODS = ("week", "month", "quarter", "year")
LARGEST_SAMPLE = 1_000
# It reads every note: two at once would take the desk's processor from the people at work.
_one_at_a_time = threading.Lock()


@router.get("/audit")
def asked_for(
    request: Request,
    seat: AuditorDep,
    first: str = "",
    last: str = "",
    period: str = "",
    technician: str = "",
    system: str = "",
    since: str = "",
    what: str = "",
    sample: str = "",
    seed: str = "",
) -> Response:
    """The form; with a ``period`` what it tells too. Not async, so that it runs in a thread beside the desk."""
    given = {
        "first": first, "last": last, "period": period, "technician": technician, "system": system, "since": since,
        "what": what, "sample": sample, "seed": seed,
    }  # fmt: skip
    if not period:
        return _page(request, 200, {**given, "period": "month", "seed": "1"})
    try:
        asked = _asked(request, given)
    except CannotChange as error:
        return _page(request, 400, given, trouble=told_of(error))
    if not _one_at_a_time.acquire(blocking=False):
        return _page(
            request, 503, given, trouble="Another audit is being counted just now. Wait a moment and ask again."
        )
    try:
        report = of_desk(request.app.state.store, reader_of(request).vocabulary, asked)
    except ModuleNotFoundError as error:
        missing = f'The audit needs {error.name}. Install it where the desk runs: pip install "talkaround[audit]".'
        return _page(request, 503, given, trouble=missing)
    finally:
        _one_at_a_time.release()
    return _page(request, 200, given, told=Markup(body(report, _address)))


@router.get("/audit.css")
def style(seat: AuditorDep) -> Response:
    """The look of what an audit tells, the same as on the page that the command writes."""
    return Response(look(), media_type="text/css")


def _page(request: Request, status: int, given: dict[str, str], trouble: str = "", told: str = "") -> Response:
    return page(
        request, "audit.html", status, given=given, periods=PERIODS, technicians=_technicians(request),
        systems=reader_of(request).vocabulary.systems, trouble=trouble, told=told,
    )  # fmt: skip


def _technicians(request: Request) -> list[str]:
    """Whoever may have taken a note, also those whose account is closed."""
    return [a.name for a in accounts_of(request).all() if a.role in ("technician", "writer")]


def _asked(request: Request, given: dict[str, str]) -> Asked:
    """Raises CannotChange where a day, a name or a period is none."""
    days: list[date | None] = []
    for name in ("first", "last", "since"):
        try:
            days.append(date.fromisoformat(given[name]) if given[name] else None)
        except ValueError:
            raise CannotChange(f"{given[name]!r} is no day: write it as 2026-03-01") from None
    first, last, since = days
    if first and last and first > last:
        raise CannotChange(f"the first day, {first}, is after the last, {last}: change one of them")
    if given["period"] not in PERIODS:
        raise CannotChange(f"there is no period {given['period']!r}: choose one of {', '.join(PERIODS)}")
    for name, known in (("technician", _technicians(request)), ("system", reader_of(request).vocabulary.systems)):
        if given[name] and given[name] not in known:
            raise CannotChange(f"there is no {name} {given[name]!r}: choose one of the list")
    return Asked(
        first=first, last=last, period=given["period"], technicians=frozenset(filter(None, [given["technician"]])),
        systems=frozenset(filter(None, [given["system"]])), since=since, since_what=given["what"].strip()[:80],
        sample=_number(given["sample"] or "0", "how many to draw", LARGEST_SAMPLE),
        seed=_number(given["seed"] or "1", "the seed", 10**9),
    )  # fmt: skip


def _number(text: str, what: str, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and int(text[:12]) <= most):
        raise CannotChange(f"{text[:20]!r} is no number for {what}: write one from 0 to {most:,}")
    return int(text)


def _address(order: str) -> str:
    return f"/orders/{order}" if order.isascii() and order.isdecimal() else ""


__all__ = ["router"]
