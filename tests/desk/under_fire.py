"""A desk that is killed in the middle of its work, the writers who work at it, and what its store must hold afterwards.

As a program it is the desk itself: everything is imported and read once, and each start is a fork that opens the store,
migrates, listens and serves as ``talkaround desk`` does. So a kill and a start take a tenth of a second, not three.
SIGKILL ends a process; it does not pull the plug of the machine, so what the disk itself loses is not tried here.
"""

from __future__ import annotations

import itertools
import os
import random
import secrets
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import create_engine, select, text

from desk_process import Person, line_keys, seen
from lean_client import forms_of
from talkaround.desk.drafts import Draft, flat
from talkaround.desk.store.tables import ChangeRow, NoteRow, OrderRow

NOTES = (
    "Gray sedan. Left front lower ball joint has play, needs a ball joint. Front brake pads are at 2 mm, need pads. "
    "Right rear tire is at 3/32, needs a tire.",
    "Blue pickup. Strut is leaking, needs a strut. Wiper blades are torn, replace them. Battery tested good.",
    "White van. Both front tires are at 6/32. Air filter is dirty, needs one. Coolant is fine. Horn works.",
)


class ForkedDesk:
    """``start`` forks a desk over the store, ``kill`` ends it with SIGKILL; ``close`` ends the program that forks."""

    def __init__(self, folder: Path, store: str):
        self.store, self.url, self.child = store, "", 0
        env = {**os.environ, "XDG_DATA_HOME": str(folder)}
        self.parent = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=env
        )
        assert self._line() == "ready"
        self.port = 0

    def start(self) -> str:
        self._say(f"{self.port} {self.store}")
        self.child = int(self._line())
        address = self._line()
        if not address.startswith("http://"):
            raise RuntimeError(address)
        self.url = address.rstrip("/")
        self.port = int(self.url.rpartition(":")[2])
        until = time.monotonic() + 30
        while time.monotonic() < until:
            try:
                httpx.get(f"{self.url}/static/icon.svg", timeout=5)
                return self.url
            except httpx.HTTPError:
                time.sleep(0.01)
        raise RuntimeError("the desk does not answer")

    def kill(self) -> None:
        os.kill(self.child, signal.SIGKILL)
        self._say("gone")
        assert self._line() == f"{self.child} {signal.SIGKILL}", "the desk ended before it was killed"

    def close(self) -> None:
        if self.parent.stdin:
            self.parent.stdin.close()
        self.parent.wait(20)
        if self.parent.stdout:
            self.parent.stdout.close()

    def _say(self, words: str) -> None:
        assert self.parent.stdin is not None
        self.parent.stdin.write(words + "\n")
        self.parent.stdin.flush()

    def _line(self) -> str:
        assert self.parent.stdout is not None
        return self.parent.stdout.readline().strip()


@dataclass
class Saves:
    """What was sent: confirmed by the desk's answer, or still without one. Each by what tells it in the store."""

    changes: set[tuple[int, str]] = field(default_factory=set)
    notes: set[str] = field(default_factory=set)
    refused: Counter[str] = field(default_factory=Counter)

    @property
    def many(self) -> int:
        return len(self.changes) + len(self.notes)


class Writer(threading.Thread):
    """Somebody who saves one change after another, and sends again what got no answer, as a person would."""

    def __init__(self, person: Person, orders: list[int], saves: Saves, lock: threading.Lock, seed: int):
        super().__init__(daemon=True)
        self.person, self.orders, self.saves, self.lock = person, orders, saves, lock
        self.random = random.Random(seed)
        self.unanswered: tuple[str, dict[str, str], Any] | None = None
        self.at_work, self.over = threading.Event(), threading.Event()
        self.resting = threading.Event()
        self.resting.set()
        self.trouble: Exception | None = None

    def run(self) -> None:
        while not self.over.is_set():
            if not self.at_work.wait(0.05):
                continue
            self.resting.clear()
            try:
                while self.at_work.is_set():
                    self._one()
            except httpx.HTTPError:
                self.at_work.clear()
            except Exception as error:
                self.trouble = error
                self.at_work.clear()
            self.resting.set()

    def _one(self) -> None:
        if self.unanswered is None:
            self.unanswered = self._thought_of()
        if self.unanswered is None:
            return
        path, fields, what = self.unanswered
        headers = {"x-form-key": self.person.key} if path == "/api/notes" else {}
        answer = self.person.client.post(path, data=fields, headers=headers, follow_redirects=False)
        self.unanswered = None
        with self.lock:
            if answer.status_code in (200, 201, 303):
                if isinstance(what, str):
                    self.saves.notes.add(what)
                    self.orders.append(answer.json()["order"])
                else:
                    self.saves.changes.add(what)
            elif answer.status_code in (400, 409):
                # The line is gone, is the first already, or somebody else wrote it: nothing was promised.
                self.saves.refused[f"{answer.status_code}"] += 1
            else:
                raise AssertionError(f"{path}: {answer.status_code} {answer.text[:300]}")

    def _thought_of(self) -> tuple[str, dict[str, str], Any] | None:
        r = self.random
        if r.random() < 0.12:
            key = secrets.token_hex(12)
            return "/api/notes", {"key": key, "text": r.choice(NOTES)}, key
        order = r.choice(self.orders)
        page = self.person.get(f"/orders/{order}").text
        keys, token = line_keys(page), secrets.token_hex(8)
        with_key = {"form_key": self.person.key, "seen": seen(page), "token": token}
        what = r.random()
        if what < 0.25 or not keys:
            place = r.choice(("left front", "right front", "left rear", "right rear"))
            said = f"{place} {r.choice(('tire is worn, replace', 'strut is leaking', 'brake hose is cracked'))}"
            return f"/orders/{order}/add", {**with_key, "words": said}, (order, token)
        if what < 0.65:
            key = r.choice(keys)
            path = f"/orders/{order}/edit/{key}"
            fields = forms_of(self.person.get(f"/orders/{order}?edit={key}").text).get(path)
            if fields is None:
                return None
            fields |= {**with_key, "seen": fields["seen"], "correction": f"Done as written down under {token}."}
            fields["severity"] = r.choice(("unsafe", "required", "suggested", "monitor"))
            return path, fields, (order, token)
        doing = r.choice(("strike", "up", "down", "split") if len(keys) < 8 else ("strike", "strike", "up", "down"))
        return f"/orders/{order}/line/{r.choice(keys)}", {**with_key, "do": doing}, (order, token)


class Ledger:
    """Holds the store against what was confirmed; each call looks at what came since the last one."""

    def __init__(self, store: str, saves: Saves):
        url = store if "://" in store else f"sqlite:///{store}"
        self.engine = create_engine(url.replace("postgresql://", "postgresql+psycopg://"))
        self.saves = saves
        self._stood: dict[int, tuple[int, dict[str, Any]]] = {}
        self.lost: set[Any] = set()
        self.doubled: set[Any] = set()

    def check(self, *, whole: bool = False) -> None:
        """Raises AssertionError where an order is not what its changes give, or the store's file is damaged."""
        with self.engine.connect() as c:
            if self.engine.dialect.name == "sqlite":
                assert c.execute(text("PRAGMA integrity_check")).scalar() == "ok"
                assert not c.execute(text("PRAGMA foreign_key_check")).all()
            keys = Counter(c.execute(select(NoteRow.key)).scalars())
            query = select(ChangeRow.order_id, ChangeRow.number, ChangeRow.token, ChangeRow.patch).order_by(
                ChangeRow.order_id, ChangeRow.number
            )
            changes = c.execute(query).all()
            orders = {row.id: row for row in c.execute(select(OrderRow.__table__)).all()}
            of_note = Counter(row.note_id for row in orders.values())
        came = Counter((row.order_id, row.token) for row in changes)
        self.lost |= {s for s in self.saves.changes if not came[s]} | {k for k in self.saves.notes if not keys[k]}
        self.doubled |= {s for s, n in (*came.items(), *keys.items(), *of_note.items()) if n > 1}
        by_order = {k: list(g) for k, g in itertools.groupby(changes, lambda row: row.order_id)}
        for order, row in orders.items():
            done = by_order.get(order, [])
            assert [x.number for x in done] == list(range(1, row.version + 1)), f"order {order}: a gap in its numbers"
            version, table = (0, {}) if whole else self._stood.get(order, (0, {}))
            now = flat(Draft.model_validate(row.draft))
            back = dict(now)
            for x in reversed(done[version:]):
                for path, before, after in x.patch:
                    assert back.get(path) == after, f"order {order}, change {x.number}: {path} is not what it wrote"
                    back[path] = before
            if version:
                assert _said(back) == _said(table), f"order {order}: something stands on it that is not in its history"
            else:
                assert not [
                    p for p, v in back.items() if v and (p.endswith((".by_hand", ".struck")) or p[:7] == "answer.")
                ]
            standing = [held.line for _, held in Draft.model_validate(row.draft).standing()]
            assert row.document["lines"] == [x.model_dump(mode="json") for x in standing]
            assert row.head["title"]
            self._stood[order] = (row.version, now)

    def close(self) -> None:
        self.engine.dispose()


def _said(table: dict[str, Any]) -> dict[str, Any]:
    """The table without what is empty: a patch says of an empty field and of one that is not there the same."""
    return {path: value for path, value in table.items() if value is not None}


def killed_over_and_over(
    folder: Path, store: str, kills: int, *, writers: int = 4, seed: int = 1, most_s: float = 0.6
) -> tuple[Saves, Ledger]:
    """Let ``writers`` work at a desk, kill it so many times within 0.05 to ``most_s`` seconds, and look after each start."""
    r = random.Random(seed)
    desk = ForkedDesk(folder, store)
    saves, lock = Saves(), threading.Lock()
    ledger = Ledger(store, saves)
    people: list[Person] = []
    threads: list[Writer] = []
    try:
        desk.start()
        first = Person(desk.url)
        people.append(first)
        for n in range(1, writers):
            first.make(f"Writer {n}", "writer")
            people.append(Person(desk.url, f"Writer {n}"))
        orders = [first.take(words, f"first-note-of-all-{n}") for n, words in enumerate(NOTES)]
        threads = [Writer(p, orders, saves, lock, seed * 1000 + n) for n, p in enumerate(people)]
        for t in threads:
            t.start()
        for _ in range(kills):
            ledger.check()
            # The first page after a start takes longer; let the kill fall into the saves.
            first.get(f"/orders/{orders[0]}").raise_for_status()
            for t in threads:
                t.at_work.set()
            time.sleep(r.uniform(0.05, most_s))
            desk.kill()
            for t in threads:
                t.at_work.clear()
                assert t.resting.wait(40)
                if t.trouble:
                    raise t.trouble
            desk.start()
        ledger.check(whole=True)
        # What was left without an answer is sent once more, and written at most once.
        for t in threads:
            if t.unanswered:
                t._one()
        ledger.check(whole=True)
        desk.kill()
    finally:
        for t in threads:
            t.over.set()
        for p in people:
            p.close()
        desk.close()
        ledger.close()
    return saves, ledger


# ----- the desk that is forked ---------------------------------------------------------------------------------------


def _forking() -> None:
    import psycopg  # noqa: F401
    import uvicorn  # noqa: F401

    from talkaround.desk import app, reader, serving  # noqa: F401
    from talkaround.desk.pages import common
    from talkaround.models import Note

    read = reader.Reader(None)
    for words in NOTES:
        read.read(Note(name="Typed note", text=words), "left-hand")
    reader.Reader = lambda folder: read  # type: ignore[assignment, misc]
    for name in common._templates.list_templates():
        common._templates.get_template(name)
    print("ready", flush=True)
    child = 0
    for line in sys.stdin:
        if line.strip() == "gone":
            pid, status = os.waitpid(child, 0)
            print(pid, os.WTERMSIG(status) if os.WIFSIGNALED(status) else -1, flush=True)
            continue
        port, _, store = line.strip().partition(" ")
        child = os.fork()
        if child == 0:
            os.close(0)
            print(os.getpid(), flush=True)
            try:
                serving.serve(serving.Settings(port=int(port), store=store), lambda said: print(said, flush=True))
            except BaseException as error:
                print(f"did not start: {error!r}", flush=True)
            os._exit(1)


if __name__ == "__main__":
    _forking()
