"""Requests to a desk in this process, made out of bytes: method, address, headers, cookies, forms, files and raw bodies."""

from __future__ import annotations

import asyncio
import logging
import re
import tempfile
import threading
from pathlib import Path
from typing import Any
from urllib.parse import quote_from_bytes

from at_hand import Shop, Tab, routes
from talkaround.desk.reader import Reader
from targets import Draws

_PEOPLE = ("Wren", "Tess", "Aud", "")
_FIELDS = (
    "text", "key", "name", "words", "do", "token", "seen", "over", "other", "number", "component", "component_id", "readings",
    "quantity", "part", "verb", "axle", "side", "level", "depth", "end", "place", "severity", "work", "condition0", "degree0",
    "condition1", "concern", "cause", "correction", "answer", "typed", "begin", "vin", "description", "odometer", "unit",
    "plate", "steering", "role", "password", "old", "new", "keeps", "open_too", "what", "then", "file", "first", "last",
    "period", "sample", "seed", "since", "technician", "system", "find", "at", "q", "edit", "told", "take", "saved", "kind",
)  # fmt: skip
_HEADERS = (
    "range", "cookie", "host", "origin", "sec-fetch-site", "content-length", "content-type", "x-form-key", "accept",
    "accept-encoding", "transfer-encoding", "expect", "if-none-match", "referer", "user-agent",
)  # fmt: skip
_METHODS = ("GET", "POST", "GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "TRACE", "G\u00c9T")
_BODIES = ("form", "parts", "json", "raw")
# A person who signs out, or whose account is closed, would be out for all requests that follow.
_NOT_THESE = ("/sign-out", "/people", "/password", "/account")
_AFTER = 400
"""Requests to one store, until the next begins with a new one."""


class _Trouble(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage() + (f": {record.exc_info[1]!r}" if record.exc_info else ""))


class _Desk:
    """A desk with a note and a recording, and the people signed in."""

    reader: Reader | None = None

    def __init__(self) -> None:
        _Desk.reader = _Desk.reader or Reader(None)
        self._folder = tempfile.TemporaryDirectory(prefix="talkaround-fuzz-desk-")
        self.shop = Shop(Path(self._folder.name), _Desk.reader)
        self.tabs: dict[str, Tab] = {name: self.shop.sit(name) for name in _PEOPLE if name}
        self.order = self.tabs["Wren"].take("a note to look at")
        self.keys = self.tabs["Wren"].lines(self.order)
        self.cookies = {n: "; ".join(f"{c.name}={c.value}" for c in t.client.cookies.jar) for n, t in self.tabs.items()}
        self.routes = sorted((m, p) for m, p in routes(self.shop.app) if not p.startswith(_NOT_THESE))
        self.requests = 0

    def close(self) -> None:
        self.shop.close()
        self._folder.cleanup()


_now: _Desk | None = None
# On a thread of its own: where a browser is driven by the same process, its loop runs in this one.
_loop = asyncio.new_event_loop()
threading.Thread(target=_loop.run_forever, daemon=True).start()
_trouble = _Trouble()
logging.getLogger("talkaround.desk").addHandler(_trouble)


def _desk() -> _Desk:
    global _now
    if _now is None or _now.requests >= _AFTER:
        if _now is not None:
            _now.close()
        _now = _Desk()
    _now.requests += 1
    return _now


def answered(data: bytes) -> None:
    desk, draws = _desk(), Draws(data)
    scope, body = _request(desk, draws)
    _trouble.said.clear()
    status, headers, said = asyncio.run_coroutine_threadsafe(_ask(desk.shop.app, scope, body), _loop).result()
    told = f"{scope['method']} {scope['path']!r}: {status}"
    assert not _trouble.said, f"{told}: {_trouble.said}"
    assert 200 <= status < 500 or status == 503, told
    assert b"Traceback" not in said, told
    assert headers.get("x-content-type-options") == "nosniff" and "content-security-policy" in headers, told
    if "content-length" in headers and scope["method"] != "HEAD" and status not in (204, 304):
        assert int(headers["content-length"]) == len(said), told
    if status >= 400 and scope["method"] != "HEAD" and status not in (416,):
        text = re.sub(rb"<[^>]*>", b" ", said).split()
        assert text, f"{told} says nothing"


def _request(desk: _Desk, draws: Draws) -> tuple[dict[str, Any], bytes]:
    person = _PEOPLE[draws.number(len(_PEOPLE))]
    method, path = desk.routes[draws.number(len(desk.routes))]
    how = draws.number(16)
    if how == 15:
        method = _METHODS[draws.number(len(_METHODS))]
    path = re.sub(r"\{(\w+)(?::\w+)?\}", lambda m: _segment(desk, m[1], draws), path)
    if how == 14:
        path = "/" + draws.bytes().decode("latin-1")
    fields = [_field(desk, draws) for _ in range(draws.number(8))]
    headers = [("host", "desk.test"), ("cookie", desk.cookies.get(person, ""))]
    key = desk.tabs[person].key if person else "none"
    body, query = b"", b""
    if method in ("GET", "HEAD"):
        query = b"&".join(k.encode() + b"=" + quote_from_bytes(v).encode() for k, v in fields)
    else:
        if how % 8 != 7:
            fields.append(("form_key", key.encode()))
            headers.append(("x-form-key", key))
        kind, body = _body(fields, _BODIES[max(0, draws.number(8) - 4)], draws)
        headers += [("content-type", kind), ("content-length", str(len(body)))]
    for _ in range(max(0, draws.number(8) - 5)):
        headers.append((_HEADERS[draws.number(len(_HEADERS))], draws.bytes().decode("latin-1")))
    raw = path.encode("utf-8", "replace")
    return {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http", "path": path,
        "raw_path": raw, "query_string": query, "root_path": "", "client": ("127.0.0.1", 1), "server": ("desk.test", 80),
        "headers": [(k.encode(), v.encode("latin-1", "replace")) for k, v in headers],
    }, body  # fmt: skip


def _segment(desk: _Desk, name: str, draws: Draws) -> str:
    """What stands in the path for a parameter: mostly what is there."""
    what = draws.number(8)
    if what == 7:
        return draws.bytes().decode("utf-8", "replace")
    if name == "key":
        return desk.keys[what % len(desk.keys)]
    return str((desk.order, desk.order, desk.order, 1, 2, 0, 999999)[what]) if name.endswith("_id") else "html"


def _field(desk: _Desk, draws: Draws) -> tuple[str, bytes]:
    name = _FIELDS[draws.number(len(_FIELDS))]
    known = {
        "key": b"a-key-of-sixteen-or-more", "seen": b"1", "do": (b"strike", b"split", b"up", b"join")[draws.number(4)],
        "component": b"tire", "readings": b"3/32", "severity": b"unsafe", "verb": b"replace", "words": b"left tire worn",
    }  # fmt: skip
    if name in known and draws.number(2) == 0:
        return name, known[name]
    return name, draws.bytes()


def _body(fields: list[tuple[str, bytes]], how: str, draws: Draws) -> tuple[str, bytes]:
    if how == "raw":
        kinds = (
            "application/x-www-form-urlencoded",
            "multipart/form-data; boundary=b",
            "text/plain",
            "multipart/form-data",
        )
        return kinds[draws.number(len(kinds))], draws.rest
    if how == "json":
        return "application/json", draws.bytes()
    if how == "parts":
        out = b""
        for name, value in fields:
            more = (
                b'; filename="%s"' % (b"note.txt", b"note.wav", b"note.srt")[draws.number(3)] if name == "file" else b""
            )
            out += b'--b\r\nContent-Disposition: form-data; name="%s"%s\r\n\r\n%s\r\n' % (name.encode(), more, value)
        return "multipart/form-data; boundary=b", out + b"--b--\r\n"
    encoded = (k.encode() + b"=" + quote_from_bytes(v).encode() for k, v in fields)
    return "application/x-www-form-urlencoded", b"&".join(encoded)


async def _ask(app: Any, scope: dict[str, Any], body: bytes) -> tuple[int, dict[str, str], bytes]:
    status, headers, said = 0, dict[str, str](), b""
    asked, over = False, asyncio.Event()

    async def receive() -> dict[str, Any]:
        nonlocal asked
        if asked:
            await over.wait()
            return {"type": "http.disconnect"}
        asked = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status, headers, said
        if message["type"] == "http.response.start":
            status = message["status"]
            headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in message["headers"]}
        elif message["type"] == "http.response.body":
            said += message.get("body", b"")
            if not message.get("more_body", False):
                over.set()

    await app(scope, receive, send)
    return status, headers, said
