"""Recordings written down in the background: after a restart, by a broken one, without a recogniser, and typed over."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect
from starlette.testclient import TestClient

from desk_process import PASSWORD, Desk, Person, key_in
from in_browser import sign_in
from talkaround.desk.accounts import Accounts
from talkaround.desk.app import create_app
from talkaround.desk.listening import NO_VOICE, Listener, NotReady
from talkaround.desk.orders import Orders
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import NoteRow
from talkaround.intake import NoteError, note_from_transcript

SOUND = ("audio/webm", ".webm", b"\x1aE\xdf\xa3" + bytes(400))
HEARD = {
    "segments": [
        {"start": 0.0, "end": 2.0, "text": "Gray sedan."},
        {"start": 2.5, "end": 5.0, "text": "Left front tire is at two thirty-seconds, replace it."},
    ]
}


class Shop:
    """A store with one account, and desks over it in this process, one after the other."""

    def __init__(self, path: Path, reader: Reader):
        self.path, self.reader = path, reader
        store = Store(str(path))
        self.ada = Accounts(store).make("Ada", PASSWORD, "writer", first=True).id
        store.close()

    def keep(self, number: int = 1) -> int:
        """A recording that still waits for its words; gives its id."""
        store = Store(str(self.path))
        id, _ = Orders(store, self.reader).take(f"{number:0>24}", self.ada, f"Note {number}", {}, sound=SOUND)
        store.close()
        return id

    @contextmanager
    def desk(self, listener: Listener | None) -> Iterator[TestClient]:
        app = create_app(Store(str(self.path)), self.reader, listener=listener)
        with TestClient(app, base_url="http://localhost") as client:
            page = client.get("/sign-in").text
            client.post("/sign-in", data={"form_key": key_in(page), "name": "Ada", "password": PASSWORD})
            yield client


@pytest.fixture
def shop(tmp_path: Path, reader: Reader) -> Shop:
    return Shop(tmp_path / "desk.sqlite", reader)


def until(what: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not what():
        assert time.monotonic() < end, "it did not come true"
        time.sleep(0.02)


def how(client: TestClient, note: int) -> Any:
    return client.get(f"/api/notes/{note}").json()


def test_a_desk_that_starts_again_takes_up_what_was_left(shop: Shop) -> None:
    ids = [shop.keep(n) for n in (1, 2, 3)]
    with shop.desk(lambda path: HEARD) as client:
        until(lambda: all(how(client, i)["state"] == "read" for i in ids))
        page = client.get(f"/notes/{ids[0]}").text
        assert "Left front tire" in page
    # Another start writes nothing down a second time.
    again: list[Path] = []
    with shop.desk(lambda path: again.append(path) or HEARD) as client:  # type: ignore[func-returns-value]
        time.sleep(0.3)
        assert [how(client, i)["order"] for i in ids] == [1, 2, 3]
    assert not again


def test_the_recogniser_gets_the_bytes_that_were_recorded(shop: Shop) -> None:
    id = shop.keep()
    came = []

    def listener(path: Path) -> dict[str, Any]:
        came.append((path.suffix, path.read_bytes()))
        return HEARD

    with shop.desk(listener) as client:
        until(lambda: how(client, id)["state"] == "read")
    assert came == [(".webm", SOUND[2])]


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (NoteError("note.webm", "holds no sound that can be decoded", "Record it again"), "holds no sound"),
        (RuntimeError("decoder"), "Listen to it, and type what was said"),
        (OSError(28, "No space left on device"), "Listen to it, and type what was said"),
    ],
)
def test_a_broken_recording_says_what_to_do_and_lets_the_next_one_pass(shop: Shop, error: Exception, told: str) -> None:
    broken, good = shop.keep(1), shop.keep(2)
    first = True

    def listener(path: Path) -> dict[str, Any]:
        nonlocal first
        if first:
            first = False
            raise error
        return HEARD

    with shop.desk(listener) as client:
        until(lambda: how(client, good)["state"] == "read")
        page = client.get(f"/notes/{broken}").text
        assert told in page
        assert "type what was said" in page
        assert client.get(f"/notes/{broken}/sound").content == SOUND[2]
        # A blank answer is told, and the page is there again.
        blank = client.post(f"/notes/{broken}/words", data={"form_key": key_in(page), "text": "  "})
        assert blank.status_code == 400
        typed = client.post(
            f"/notes/{broken}/words", data={"form_key": key_in(page), "text": "Right rear tire is at 2/32."}
        )
        assert typed.url.path.startswith("/orders/")
        assert "Right rear tire" in typed.text
        assert "<audio" in typed.text


def test_a_recording_can_be_listened_to_once_more(shop: Shop) -> None:
    id = shop.keep()
    ready = False

    def listener(path: Path) -> dict[str, Any]:
        if not ready:
            raise RuntimeError("out of memory")
        return HEARD

    with shop.desk(listener) as client:
        until(lambda: how(client, id)["state"] == "not-heard")
        page = client.get(f"/notes/{id}").text
        ready = True
        client.post(f"/notes/{id}/listen", data={"form_key": key_in(page)})
        until(lambda: how(client, id)["state"] == "read")


@pytest.mark.parametrize("listener", [None, "not ready"])
def test_without_a_recogniser_it_says_so_and_a_later_start_takes_it_up(shop: Shop, listener: str | None) -> None:
    id = shop.keep()

    def not_ready(path: Path) -> dict[str, Any]:
        raise NotReady(NO_VOICE)

    with shop.desk(not_ready if listener else None) as client:
        until(lambda: bool(how(client, id)["trouble"]))
        page = client.get(f"/notes/{id}").text
        assert "talkaround[voice]" in page
        assert "The recording is kept." in page
        assert client.get(f"/notes/{id}/sound").content == SOUND[2]
    with shop.desk(lambda path: HEARD) as client:
        until(lambda: how(client, id)["state"] == "read")


def test_words_typed_while_it_was_heard_are_shown_and_not_dropped(shop: Shop) -> None:
    id = shop.keep()
    go = threading.Event()

    def listener(path: Path) -> dict[str, Any]:
        go.wait(20)
        return HEARD

    with shop.desk(listener) as client:
        page = client.get(f"/notes/{id}").text
        go.set()
        until(lambda: how(client, id)["state"] == "read")
        late = client.post(f"/notes/{id}/words", data={"form_key": key_in(page), "text": "Right rear tire is at 2/32."})
        assert late.status_code == 409
        assert "Right rear tire is at 2/32." in late.text
        assert "/orders/1" in late.text


def test_words_typed_before_it_was_heard_stay(shop: Shop) -> None:
    id = shop.keep()
    go = threading.Event()
    done = threading.Event()

    def listener(path: Path) -> dict[str, Any]:
        go.wait(20)
        done.set()
        return HEARD

    with shop.desk(listener) as client:
        page = client.get(f"/notes/{id}").text
        client.post(f"/notes/{id}/words", data={"form_key": key_in(page), "text": "Right rear tire is at 2/32."})
        go.set()
        assert done.wait(20)
        time.sleep(0.3)
        order = client.get(f"/notes/{id}").text
        assert "Right rear tire" in order
        assert "Left front tire" not in order


def test_a_recording_waits_while_the_store_is_away(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    from sqlalchemy.exc import OperationalError

    from talkaround.desk import listening

    monkeypatch.setattr(listening, "_AGAIN_S", 0.1)
    id = shop.keep()
    whole = Orders.heard
    away = True

    def heard(self: Orders, note_id: int, note: Any) -> bool:
        nonlocal away
        if away:
            away = False
            raise OperationalError("INSERT", {}, Exception("database is locked"))
        return whole(self, note_id, note)

    monkeypatch.setattr(Orders, "heard", heard)
    with shop.desk(lambda path: HEARD) as client:
        until(lambda: how(client, id)["state"] == "read")


def test_touching_the_words_plays_the_recording_from_them(
    plain_desk: Desk, writer: Person, chromium: Browser, reader: Reader, tmp_path: Path
) -> None:
    """The sound is recorded in the page, four seconds of it; its words are put in as a recogniser would."""
    phone = chromium.new_context(permissions=["microphone"], viewport={"width": 1440, "height": 900})
    page = phone.new_page()
    sign_in(page, plain_desk, then="/take")
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.locator("#record-clock")).to_have_text("0:06", timeout=20_000)
    page.get_by_role("button", name="Stop and keep").click()
    page.wait_for_url(re.compile(r"/notes/1$"))
    expect(page.locator("#wait")).to_contain_text("type what was said", timeout=20_000)
    store = Store(str(tmp_path / "talkaround" / "desk.sqlite"))
    Orders(store, reader).heard(1, note_from_transcript(HEARD, source="the recording", name="Spoken note"))
    with store.reading() as s:
        assert s.get_one(NoteRow, 1).state == "read"
    store.close()
    page.goto(f"{plain_desk.url}/notes/1")
    page.wait_for_url(re.compile(r"/orders/1"))
    page.locator("#sound").evaluate("(a) => { a.muted = true; }")
    page.locator("a.said", has_text="Left front tire").first.click()
    # The words were said from 2.5 seconds on.
    page.wait_for_timeout(600)
    assert 2.2 <= page.locator("#sound").evaluate("(a) => a.currentTime") <= 4.5
    assert not page.locator("#sound").evaluate("(a) => a.paused")
    phone.close()
