"""A desk in the test's own process: quick to make, and open to look into its store."""

from __future__ import annotations

import atexit
import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from httpx import Response
from sqlalchemy import select
from starlette.testclient import TestClient

from desk_process import PASSWORD, key_in, line_keys, seen
from talkaround.desk.accounts import Accounts, Role
from talkaround.desk.app import create_app
from talkaround.desk.orders import now
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account, Base

NOTE = "Ball joint is worn. Left front tire is worn, replace. Rear brake pads are at 3 mm. Horn works."
"""Gives lines, and the question on which side the ball joint is."""


class Shop:
    """A desk with Wren (a writer who keeps the accounts), the technicians Tess and Theo, and Aud (an auditor)."""

    def __init__(self, folder: Path, reader: Reader, *, secure: bool = False, busy_s: float = 10):
        self.folder = folder
        shutil.copy(_made_once(), folder / "desk.sqlite")
        self.store = Store(str(folder / "desk.sqlite"), busy_s)
        self.app = create_app(self.store, reader, hosts=frozenset({"desk.test"}), secure=secure)
        self.base = f"{'https' if secure else 'http'}://desk.test"
        self._sat: dict[str, Tab] = {}

    def nobody(self) -> Tab:
        return Tab(self)

    def sit(self, name: str) -> Tab:
        """The browser of a person, signed in once."""
        if name not in self._sat:
            self._sat[name] = Tab(self)
            self._sat[name].sign_in(name)
        return self._sat[name]

    def rows(self, *without: str) -> str:
        """Everything in the store, in short; when a browser was last seen and wrong passwords are left out."""
        out = []
        with self.store.reading() as s:
            for table in Base.metadata.sorted_tables:
                if table.name not in ("failed_try", *without):
                    columns = [c for c in table.columns if c.name != "last_seen"]
                    out.append((table.name, sorted(map(repr, s.execute(select(*columns))))))
        return hashlib.sha256(repr(out).encode()).hexdigest()

    def count(self, table: str) -> int:
        with self.store.reading() as s:
            return len(s.execute(select(Base.metadata.tables[table])).all())

    def close(self) -> None:
        self.store.close()


def two_writers(store: Store) -> list[Account]:
    """Two who may write, in a store that is not signed in to."""
    made = [Account(name=n, role="writer", password="none", made_at=now()) for n in ("Ada", "Bo")]
    with store.writing() as s:
        s.add_all(made)
    return made


@cache
def _made_once() -> Path:
    """A store with the people in it."""
    folder = tempfile.mkdtemp(prefix="talkaround-desk-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    store = Store(f"{folder}/desk.sqlite")
    people: tuple[tuple[str, Role], ...] = (
        ("Wren", "writer"), ("Tess", "technician"), ("Theo", "technician"), ("Aud", "auditor"),
    )  # fmt: skip
    for name, role in people:
        Accounts(store).make(name, PASSWORD, role, keeps_accounts=name == "Wren")
    store.close()
    return Path(folder) / "desk.sqlite"


class Tab:
    """A browser's tab. ``key`` is what its forms carry."""

    def __init__(self, shop: Shop):
        self.client = TestClient(shop.app, base_url=shop.base)
        self.key = ""

    def sign_in(self, name: str, password: str = PASSWORD, then: str = "") -> Response:
        form = self.client.get("/sign-in").text
        said = {"form_key": key_in(form), "name": name, "password": password, "then": then}
        answer: Response = self.client.post("/sign-in", data=said, follow_redirects=False)
        if answer.status_code == 303:
            self.key = key_in(self.client.get("/").text)
        return answer

    def get(self, path: str, **more: Any) -> Response:
        return self.client.get(path, **more)  # type: ignore[no-any-return]

    def post(self, path: str, data: dict[str, str] | None = None, **more: Any) -> Response:
        data = {"form_key": self.key, **(data or {})}
        return self.client.post(path, data=data, follow_redirects=False, **more)  # type: ignore[no-any-return]

    def take(self, key: str, text: str = NOTE, **facts: str) -> int:
        """The number of the order of a new note."""
        sent = {"key": key.replace(" ", "-").ljust(16, "-"), "text": text, **facts}
        answer = self.client.post("/api/notes", headers={"x-form-key": self.key}, data=sent)
        assert answer.status_code == 201, answer.text
        return int(answer.json()["order"])

    def version(self, order: int) -> str:
        return seen(self.get(f"/orders/{order}").text)

    def lines(self, order: int) -> list[str]:
        return line_keys(self.get(f"/orders/{order}").text)


def routes(app: Any) -> Iterator[tuple[str, str]]:
    """Method and path of everything that the desk answers to, but for the folder of its own scripts and styles."""
    waiting = list(app.routes)
    while waiting:
        route = waiting.pop()
        inner = getattr(route, "original_router", None)
        if inner is not None:
            waiting += inner.routes
        elif getattr(route, "methods", None):
            yield from ((m, route.path) for m in route.methods if m != "HEAD")
        else:
            assert route.name == "static", route


__all__ = ["NOTE", "Shop", "Tab", "routes"]
