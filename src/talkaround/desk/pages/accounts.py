"""Signing in and out, the first account, and the people of the shop."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import cast

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from talkaround.desk.accounts import LONGEST, ROLES, SHORTEST, Refused, Role, Wait
from talkaround.desk.pages.common import (
    COOKIE,
    LARGEST_ID,
    FormDep,
    KeeperDep,
    OpenFormDep,
    SeatDep,
    accounts_of,
    cookie,
    drop_cookie,
    page,
    set_cookie,
    text_of,
)  # fmt: skip

router = APIRouter(include_in_schema=False)

# A password is checked with 64 MB and every core: one at a time, and never on the threads that the pages need.
_CHECKS = ThreadPoolExecutor(1, "passwords")


@router.get("/first")
def first(request: Request) -> Response:
    """The form for the desk's first account; the sign-in page once there is one."""
    if accounts_of(request).any():
        return RedirectResponse("/sign-in", 303)
    return page(request, "first.html", trouble="", name="", shortest=SHORTEST, longest=LONGEST)


@router.post("/first")
def make_first(request: Request, form: OpenFormDep) -> Response:
    """The first account: a writer who keeps the accounts."""
    name, password = text_of(form, "name"), str(form.get("password", ""))
    try:
        accounts_of(request).make(name, password, "writer", keeps_accounts=True, first=True)
    except Refused as error:
        return page(request, "first.html", 400, trouble=str(error), name=name, shortest=SHORTEST, longest=LONGEST)
    return _signed_in(request, name, password, "")


@router.get("/sign-in")
def sign_in(request: Request, then: str = "") -> Response:
    """The sign-in page; ``then`` is where to go from it."""
    if not accounts_of(request).any():
        return RedirectResponse("/first", 303)
    return page(request, "sign-in.html", trouble="", name="", then=then)


@router.post("/sign-in")
async def do_sign_in(request: Request, form: OpenFormDep) -> Response:
    """Sign in. Passwords are checked beside the loop, a few at a time, so that pages go on being served."""
    name, then, password = text_of(form, "name"), text_of(form, "then"), str(form.get("password", ""))
    try:
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(_CHECKS, _signed_in, request, name, password, then)
    except Wait as error:
        response = page(request, "sign-in.html", 429, trouble=str(error), name=name, then=then)
        response.headers["retry-after"] = str(error.seconds)
        return response
    except Refused as error:
        return page(request, "sign-in.html", 400, trouble=str(error), name=name, then=then)


def _signed_in(request: Request, name: str, password: str, then: str) -> Response:
    address = request.client.host if request.client else ""
    accounts = accounts_of(request)
    token, _ = accounts.sign_in(name, password, address)
    accounts.sign_out(cookie(request, COOKIE))
    # Only a path of this desk: "//elsewhere" would be another host.
    inside = then.startswith("/") and not then.startswith(("//", "/\\"))
    response = RedirectResponse(then if inside else "/", 303)
    set_cookie(request, response, COOKIE, token)
    return response


@router.post("/sign-out")
def sign_out(request: Request, seat: SeatDep, form: FormDep) -> Response:
    """Sign this browser out and have it drop what it keeps of the desk."""
    accounts_of(request).sign_out(cookie(request, COOKIE))
    response = RedirectResponse("/sign-in", 303)
    drop_cookie(request, response, COOKIE)
    response.headers["clear-site-data"] = '"cache"'
    return response


@router.get("/people")
def people(request: Request, seat: SeatDep) -> Response:
    """One's own password, and for who keeps the accounts all of them."""
    return _people(request, seat)


def _people(request: Request, seat: SeatDep, status: int = 200, trouble: str = "", done: str = "") -> Response:
    return page(
        request, "people.html", status, people=accounts_of(request).all() if seat.account.keeps_accounts else [],
        roles=ROLES, trouble=trouble, done=done, shortest=SHORTEST, longest=LONGEST,
    )  # fmt: skip


@router.post("/people")
def make(request: Request, seat: KeeperDep, form: FormDep) -> Response:
    """Make an account for somebody."""
    role = text_of(form, "role")
    try:
        account = accounts_of(request).make(
            text_of(form, "name"),
            str(form.get("password", "")),
            cast(Role, role),
            keeps_accounts=bool(form.get("keeps")),
        )
    except Refused as error:
        return _people(request, seat, 400, trouble=str(error))
    return _people(request, seat, done=f"{account.name} can sign in now.")


@router.post("/people/{account_id}/close")
def close(request: Request, account_id: int, seat: KeeperDep, form: FormDep) -> Response:
    """Close an account: nobody signs in with it again, and what it did stays."""
    try:
        accounts_of(request).close(account_id if account_id < LARGEST_ID else 0, seat.account)
    except Refused as error:
        return _people(request, seat, 400, trouble=str(error))
    return RedirectResponse("/people", 303)


@router.post("/people/{account_id}/password")
def give_password(request: Request, account_id: int, seat: KeeperDep, form: FormDep) -> Response:
    """For somebody who forgot his."""
    id, given = account_id if account_id < LARGEST_ID else 0, str(form.get("password", ""))
    try:
        name = accounts_of(request).give_password(id, given, seat.account)
    except Refused as error:
        return _people(request, seat, 400, trouble=str(error))
    return _people(request, seat, done=f"{name} can sign in with the new password now.")


@router.post("/people/password")
def password(request: Request, seat: SeatDep, form: FormDep) -> Response:
    """Change one's own password, which signs out every browser of the account."""
    address = request.client.host if request.client else ""
    try:
        accounts_of(request).change_password(seat.account, str(form.get("old", "")), str(form.get("new", "")), address)
    except Wait as error:
        return _people(request, seat, 429, trouble=str(error))
    except Refused as error:
        return _people(request, seat, 400, trouble=str(error))
    response = RedirectResponse("/sign-in", 303)
    drop_cookie(request, response, COOKIE)
    return response
