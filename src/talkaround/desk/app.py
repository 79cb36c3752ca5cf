"""The desk as a web application: its rooms put together, and what every page shares."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from sqlalchemy.exc import SQLAlchemyError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware

from talkaround.desk.accounts import Accounts
from talkaround.desk.changes import CannotChange
from talkaround.desk.listening import Listener, Listening
from talkaround.desk.orders import Frozen, NotThere, Orders, Overtaken
from talkaround.desk.pages import accounts, api, auditing, history, mending, signing, taking, teaching
from talkaround.desk.pages.common import (
    NotForYou,
    NotSignedIn,
    StaleForm,
    keeping,
    log,
    overtaken,
    page,
    plain_page,
    told_of,
)
from talkaround.desk.reader import Reader
from talkaround.desk.security import Guard
from talkaround.desk.store import Store

_STATIC = Path(__file__).parent / "static"


def create_app(
    store: Store,
    reader: Reader,
    *,
    listener: Listener | None = None,
    hosts: frozenset[str] | None = None,
    secure: bool = False,
) -> FastAPI:
    """The desk over an open store. ``hosts``: the names it answers to, None for any; ``secure``: it is served by TLS."""
    orders = Orders(store, reader)
    listening = Listening(orders, listener)

    @asynccontextmanager
    async def alive(_app: FastAPI) -> AsyncIterator[None]:
        listening.start()
        yield
        listening.stop()
        store.close()

    app = FastAPI(
        title="talkaround desk",
        version="1",
        lifespan=alive,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        middleware=[Middleware(Guard, hosts=hosts, refuse=plain_page, secure=secure)],
    )
    app.state.store, app.state.reader, app.state.orders = store, reader, orders
    app.state.accounts, app.state.listening, app.state.secure = Accounts(store), listening, secure
    app.mount("/static", StaticFiles(directory=_STATIC), name="static")
    for room in (accounts, taking, mending, history, signing, teaching, auditing, api):
        app.include_router(room.router)
    _troubles(app)
    return app


def _troubles(app: FastAPI) -> None:
    """What a person is told where a request cannot be served; the other programs get the same as JSON."""

    def told(request: Request, status: int, what: str, mend: str) -> Response:
        if request.url.path.startswith("/api/"):
            return JSONResponse({"what": what, "mend": mend}, status)
        return page(request, "trouble.html", status, what=what, mend=mend)

    @app.exception_handler(NotSignedIn)
    async def _sign_in(request: Request, _: Exception) -> Response:
        if request.url.path.startswith("/api/"):
            return told(request, 401, "You are not signed in.", "Sign in on the page /sign-in and send it again.")
        if request.method != "GET":
            return await keeping(
                request, 401, "You were signed out, and nothing of this was saved.",
                "Sign in on another tab, come back here and send it again.",
            )  # fmt: skip
        after = request.url.path if request.url.path != "/" else ""
        return RedirectResponse(f"/sign-in?then={after}" if after else "/sign-in", 303)

    @app.exception_handler(NotForYou)
    async def _not_for_you(request: Request, error: NotForYou) -> Response:
        return told(request, 403, str(error), "Ask a person whose role allows it.")

    @app.exception_handler(StaleForm)
    async def _stale(request: Request, _: Exception) -> Response:
        what = "That form is from another time, or from elsewhere; nothing of it was saved."
        if request.url.path.startswith("/api/") or getattr(request.state, "seat", None) is None:
            return told(request, 403, what, "Open the page again and send it from there.")
        return await keeping(
            request, 403, what, "Look at what it says, and send it only if you wrote it: it is never written twice.",
        )  # fmt: skip

    @app.exception_handler(NotThere)
    async def _not_there(request: Request, _: Exception) -> Response:
        return told(
            request, 404, "There is no such page here, or it is not yours to see.", "Look for it in the list of orders."
        )

    @app.exception_handler(Frozen)
    async def _frozen(request: Request, _: Exception) -> Response:
        return told(request, 409, "The order is signed, so nothing of this was saved.",
                    "Open a new revision on its page, and make the change there.")  # fmt: skip

    @app.exception_handler(CannotChange)
    async def _cannot(request: Request, error: CannotChange) -> Response:
        return told(request, 400, "That cannot be done.", told_of(error))

    @app.exception_handler(Overtaken)
    async def _overtaken(request: Request, error: Overtaken) -> Response:
        if request.url.path.startswith("/api/"):
            return JSONResponse({"what": "somebody changed the same since", "theirs": error.theirs}, 409)
        return await overtaken(request, error)

    @app.exception_handler(SQLAlchemyError)
    async def _store_away(request: Request, error: SQLAlchemyError) -> Response:
        log.error("store: %s", str(error).partition("\n")[0])
        what = "The store is busy, full or away; nothing of this was saved."
        if request.url.path.startswith("/api/"):
            return told(request, 503, what, "Wait a moment and send it again.")
        return await keeping(request, 503, what, "Wait a moment and send it again: it is never written twice.")

    @app.exception_handler(HTTPException)
    async def _http(request: Request, error: HTTPException) -> Response:
        if error.status_code == 404:
            return await _not_there(request, error)
        response = told(request, error.status_code, f"{error.detail}.", "Go back to the list of orders.")
        response.headers.update(error.headers or {})
        return response

    @app.exception_handler(RequestValidationError)
    async def _not_understood(request: Request, error: RequestValidationError) -> Response:
        wrong = "; ".join(f"{e['loc'][-1]}: {e['msg'][:1].lower()}{e['msg'][1:]}" for e in error.errors())
        if request.url.path.startswith("/api/"):
            return told(request, 422, "That request cannot be understood.", wrong)
        if any(e["loc"][0] == "path" for e in error.errors()):
            return await _not_there(request, error)
        return told(request, 400, "That address cannot be understood.", f"Open the page from its link ({wrong}).")


__all__ = ["create_app"]
