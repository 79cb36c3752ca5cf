"""What every request passes before a page sees it: its host, where its form comes from, its size, the rules on its answer."""

from __future__ import annotations

import ipaddress
import json
import logging
import re
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

SOUND_LIMIT = 60_000_000
"""Bytes of an upload with a recording."""
FORM_LIMIT = 2_000_000
"""Bytes of any other request."""

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; media-src 'self' blob:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(), geolocation=()",
    "x-frame-options": "DENY",
}
_log = logging.getLogger("talkaround.desk")
_SAFE = ("GET", "HEAD", "OPTIONS")


class TooLarge(Exception):
    """More came than the limit allows; ``limit`` in bytes."""

    def __init__(self, limit: int):
        self.limit = limit
        super().__init__(f"more than {limit:,} bytes")


class Guard:
    """ASGI middleware. ``hosts`` are the names that the desk answers to; None for any (off loopback, where names vary)."""

    def __init__(self, app: Any, hosts: frozenset[str] | None, refuse: Callable[[int, str, str], bytes], secure: bool):
        self.app, self.hosts, self.refuse, self.secure = app, hosts, refuse, secure

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve a request of this desk's own hosts within the limits of size; refuse any other before it is read."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}

        declared = headers.get("content-length", "")
        # Much that nobody reads: then the connection is closed rather than let run on.
        much_left = "transfer-encoding" in headers or (declared.isdecimal() and int(declared) > FORM_LIMIT)

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {k.decode("latin-1").lower() for k, _ in message["headers"]}
                extra = dict(_HEADERS)
                if self.secure:
                    extra["strict-transport-security"] = "max-age=31536000; includeSubDomains"
                if scope["path"].startswith("/api/"):
                    extra["content-disposition"] = 'attachment; filename="desk.json"'
                if much_left:
                    extra["connection"] = "close"
                if not scope["path"].startswith("/static/"):
                    extra["cache-control"] = "no-store"
                message["headers"] = [
                    *message["headers"],
                    *((k.encode(), v.encode()) for k, v in extra.items() if k not in own),
                ]
            await send(message)

        async def refuse(status: int, what: str, mend: str) -> None:
            if scope["path"].startswith("/api/"):
                body, kind = json.dumps({"what": what, "mend": mend}).encode(), b"application/json"
            else:
                body, kind = self.refuse(status, what, mend), b"text/html; charset=utf-8"
            await _plainly(answer, status, body, kind)

        trouble = self._trouble(scope, headers)
        if trouble:
            await refuse(*trouble)
            return
        limit = limit_of(scope["path"], headers.get("content-type", ""))
        if declared.isdecimal() and int(declared) > limit:
            await refuse(413, *_too_large(limit))
            return
        came, started = 0, False

        async def counted() -> Message:
            nonlocal came, much_left
            message = await receive()
            much_left = much_left and message.get("more_body", False)
            came += len(message.get("body", b""))
            if came > limit:
                raise TooLarge(limit)
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            if came > limit and not started:
                # Whoever read the body may have taken this for a body that is broken.
                raise TooLarge(limit)
            started = started or message["type"] == "http.response.start"
            await answer(message)

        try:
            await self.app(scope, counted, noted)
        except TooLarge:
            if not started:
                await refuse(413, *_too_large(limit))
        except Exception as error:
            number = secrets.token_hex(4)
            _log.error("trouble %s", number, exc_info=error)
            if started:
                raise
            await refuse(500, f"Something went wrong here (trouble {number}); what was confirmed before is kept.",
                         "Go back and try again. If it stays, look for that number in what the desk printed.")  # fmt: skip

    def _trouble(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str, str] | None:
        host = headers.get("host", "")
        name = _name_of(host)
        if self.hosts is not None and name not in self.hosts:
            # A page elsewhere that points its own name at this machine would else read the desk.
            return 400, "This desk does not answer to that name.", "Open the address that it printed when it started."
        if scope["method"] in _SAFE:
            return None
        origin = headers.get("origin")
        site = headers.get("sec-fetch-site", "same-origin")
        foreign = origin is not None and _site_of(origin) != host
        if foreign or site not in ("same-origin", "none"):
            return 403, "That form did not come from this desk.", "Open the page here and send it again."
        return None


def limit_of(path: str, kind: str) -> int:
    """How many bytes a request to this path may have, whose body is of this kind: only one in parts carries a file."""
    carries = path in ("/take", "/api/notes") and kind.strip().lower().startswith("multipart/form-data")
    return SOUND_LIMIT if carries else FORM_LIMIT


def _too_large(limit: int) -> tuple[str, str]:
    mend = "Send a shorter recording, or one in a form that packs it tighter, such as .m4a, .ogg or .webm."
    if limit == FORM_LIMIT:
        mend = "Send less at once: a note is of one vehicle."
    return f"That is more than {limit // 1_000_000} MB, and nothing of it was kept.", mend


def _site_of(origin: str) -> str | None:
    """Host and port of an origin; None of one that names none, such as ``null``."""
    try:
        return urlsplit(origin).netloc or None
    except ValueError:
        return None


def _name_of(host: str) -> str:
    return re.sub(r":\d+$", "", host).strip("[]").lower()


def is_loopback(host: str) -> bool:
    """Whether only this computer reaches a host that is listened at."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"


async def _plainly(send: Send, status: int, body: bytes, kind: bytes) -> None:
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode()),
               (b"connection", b"close")]  # fmt: skip
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


__all__ = ["FORM_LIMIT", "SOUND_LIMIT", "Guard", "TooLarge", "is_loopback", "limit_of"]
