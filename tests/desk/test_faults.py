"""Faults and bad requests: a clear page, nothing that was confirmed is lost, nothing is written twice."""

from __future__ import annotations

import contextlib
import html
import re
import socket
import sqlite3
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from httpx import Response

from at_hand import NOTE, Shop, Tab
from desk_process import PASSWORD, Desk, Person, Postgres
from talkaround.desk.reader import Reader

AWAY = "The store is busy, full or away; nothing of this was saved."


@pytest.fixture
def shop(tmp_path: Path, reader: Reader) -> Iterator[Shop]:
    made = Shop(tmp_path, reader, busy_s=0.2)
    yield made
    made.close()


def kept_fields(page: str) -> dict[str, str]:
    """What the form of a page would send again."""
    form = page.split("</header>")[-1]
    return {
        html.unescape(n): html.unescape(v)
        for n, v in re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', form)
    }


@contextlib.contextmanager
def locked(shop: Shop) -> Iterator[None]:
    """Another program holds the store for itself."""
    other = sqlite3.connect(shop.folder / "desk.sqlite", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    yield
    other.execute("ROLLBACK")
    other.close()


@contextlib.contextmanager
def full(shop: Shop) -> Iterator[None]:
    """No page can be added to the store's file, as on a full disk."""
    with shop.store.reading() as s:
        pages = s.connection().exec_driver_sql("PRAGMA page_count").scalar()
    shop.store.engine.dispose()
    from sqlalchemy import event

    def small(connection: sqlite3.Connection, *_: object) -> None:
        connection.execute(f"PRAGMA max_page_count = {pages}")

    event.listen(shop.store.engine, "connect", small)
    yield
    event.remove(shop.store.engine, "connect", small)
    shop.store.engine.dispose()


@pytest.mark.parametrize("fault", [locked, full], ids=["locked", "disk full"])
def test_a_note_typed_while_the_store_cannot_be_written_is_sent_again_from_the_page(shop: Shop, fault: object) -> None:
    tess = shop.sit("Tess")
    confirmed = tess.take("the first")
    text = NOTE + "\r\n" + "It rattles & squeaks, says “he”. " * 2000
    with fault(shop):  # type: ignore[operator]
        answer = tess.post("/take", {"key": "k" * 20, "text": text, "description": 'Blue "wagon"', "plate": "AB 12"})
        assert answer.status_code == 503 and AWAY in answer.text and "Blue &#34;wagon&#34;" in answer.text
        by_script = tess.client.post(
            "/api/notes", headers={"x-form-key": tess.key}, data={"key": "j" * 20, "text": text}
        )
        assert by_script.status_code == 503 and by_script.json()["what"] == AWAY
        assert tess.get(f"/orders/{confirmed}").status_code == 200, "what is there can be read"
    assert shop.count("note") == 1
    again = kept_fields(answer.text)
    assert again["text"].replace("\r\n", "\n") == text.replace("\r\n", "\n")
    assert [tess.post("/take", again).status_code for _ in range(2)] == [303, 303]
    assert shop.count("note") == 2 and shop.count("repair_order") == 2
    assert "Blue &#34;wagon&#34;" in tess.get("/").text


@pytest.mark.parametrize("fault", [locked, full], ids=["locked", "disk full"])
def test_a_change_while_the_store_cannot_be_written(shop: Shop, fault: object) -> None:
    wren = shop.sit("Wren")
    order = wren.take("the first")
    first, *_, last = wren.lines(order)
    wren.post(f"/orders/{order}/line/{last}", {"seen": "0", "token": "confirmed", "do": "strike"})
    sentences = {name: f"{name} " + "worn to the cords, " * 50 for name in ("concern", "cause", "correction")}
    said = {"seen": "1", "token": "mine", "severity": "unsafe", **sentences}
    with fault(shop):  # type: ignore[operator]
        answer = wren.post(f"/orders/{order}/edit/{first}", said)
        assert answer.status_code == 503 and AWAY in answer.text and sentences["cause"].strip() in answer.text
        if fault is locked:
            # On a full disk a signature may still find room in what was freed, and is kept then.
            assert wren.post(f"/orders/{order}/sign", {"seen": "1", "open_too": "yes"}).status_code == 503
    assert shop.count("change") == 1 and shop.count("revision") == 0
    again = kept_fields(answer.text)
    assert [wren.post(f"/orders/{order}/edit/{first}", again).status_code for _ in range(2)] == [303, 303]
    assert shop.count("change") == 2 and "worn to the cords" in wren.get(f"/orders/{order}").text


def test_a_password_is_never_shown_again(shop: Shop) -> None:
    wren = shop.sit("Wren")
    with locked(shop):
        made = wren.post("/people", {"name": "Nell", "role": "writer", "password": "never shown again"})
        changed = wren.post("/people/password", {"old": PASSWORD, "new": "never shown either"})
        signed = shop.nobody()
        signing = signed.sign_in("Tess", "never shown at all")
    assert [a.status_code for a in (made, changed, signing)] == [503] * 3
    assert "Nell" in made.text
    for answer in (made, changed, signing):
        assert "never shown" not in answer.text and PASSWORD not in answer.text


def test_a_form_of_an_earlier_sign_in_is_kept_and_sent_again(shop: Shop) -> None:
    """Signed out in the middle of typing: what was typed stays in the page until it is sent."""
    tess = shop.nobody()
    tess.sign_in("Tess")
    early = {"form_key": tess.key, "key": "k" * 20, "text": NOTE, "description": "Blue wagon"}
    tess.post("/sign-out")
    out = tess.client.post("/take", data=early)
    assert out.status_code == 401 and "signed out" in out.text and "Blue wagon" in out.text
    tess.sign_in("Tess")
    stale = tess.client.post("/take", data={**kept_fields(out.text)})
    assert stale.status_code == 403 and "another time" in stale.text and "Blue wagon" in stale.text
    assert shop.count("note") == 0
    sent = tess.client.post("/take", data=kept_fields(stale.text), follow_redirects=False)
    assert sent.status_code == 303 and shop.count("note") == 1


def test_a_forged_form_writes_nothing_and_what_it_says_runs_nothing(shop: Shop) -> None:
    wren, nasty = shop.sit("Wren"), '"><script>alert(1)</script>'
    order = wren.take("the first")
    before = shop.rows()
    for forged in ({"form_key": "x" * 32}, {"form_key": ""}):
        answer = wren.post(f"/orders/{order}/vehicle", {**forged, "seen": "0", "token": "t", "description": nasty})
        assert answer.status_code == 403 and "<script>alert" not in answer.text
    assert shop.rows() == before


def test_the_same_change_sent_twice_is_written_once_and_one_without_a_token_not_at_all(shop: Shop) -> None:
    wren = shop.sit("Wren")
    order = wren.take("the first")
    said = {"seen": "0", "token": "the-same", "words": "left rear tire is worn, replace"}
    many = len(wren.lines(order))
    assert [wren.post(f"/orders/{order}/add", said).status_code for _ in range(3)] == [303] * 3
    assert len(wren.lines(order)) == many + 1 and shop.count("change") == 1
    assert wren.post(f"/orders/{order}/add", {**said, "token": ""}).status_code == 400
    assert shop.count("change") == 1


def test_a_stale_change_of_the_same_field_tells_both(shop: Shop) -> None:
    shop.sit("Wren").post("/people", {"name": "Nell", "role": "writer", "password": PASSWORD})
    wren, nell = shop.sit("Wren"), shop.sit("Nell")
    order = wren.take("the first")
    line = wren.lines(order)[0]
    assert (
        wren.post(f"/orders/{order}/edit/{line}", {"seen": "0", "token": "w", "severity": "unsafe"}).status_code == 303
    )
    late = nell.post(
        f"/orders/{order}/edit/{line}", {"seen": "0", "token": "n", "severity": "monitor", "cause": "My words."}
    )
    assert late.status_code == 409 and "Wren" in late.text and "My words." in late.text
    assert shop.count("change") == 1
    mine = nell.post(f"/orders/{order}/edit/{line}", kept_fields(late.text))
    assert mine.status_code == 303 and "My words." in wren.get(f"/orders/{order}").text


def test_many_sending_the_same_note_at_once_make_one(shop: Shop) -> None:
    tabs: list[Tab] = []
    for _ in range(4):
        tabs.append(shop.nobody())
        tabs[-1].sign_in("Tess")
    answers: list[Response] = []

    def send(tab: Tab) -> None:
        data = {"key": "k" * 20, "text": NOTE}
        answers.append(tab.client.post("/api/notes", headers={"x-form-key": tab.key}, data=data))

    threads = [threading.Thread(target=send, args=(t,)) for t in tabs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [a for a in answers if a.status_code in (200, 201)]
    assert sum(a.status_code == 201 for a in answers) == 1 and len({a.json()["note"] for a in kept}) == 1
    assert {a.status_code for a in answers} <= {200, 201, 503} and shop.count("note") == 1


def test_tries_sent_at_once_count_as_many(shop: Shop) -> None:
    tabs = [shop.nobody() for _ in range(12)]
    told: list[int] = []

    def guess(tab: Tab, n: int) -> None:
        told.append(tab.sign_in("Tess", f"wrong password {n}").status_code)

    threads = [threading.Thread(target=guess, args=(t, n)) for n, t in enumerate(tabs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told.count(400) == 5 and told.count(429) == 7, told


# ----- in a process of its own ---------------------------------------------------------------------------------------


def test_the_store_goes_away_and_comes_back(tmp_path: Path, postgres: Postgres) -> None:
    """A PostgreSQL of its own, stopped in the middle of the work. ``postgres`` is asked for to skip where there is none."""
    server = Postgres()
    desk = Desk(tmp_path, server.database())
    try:
        desk.start()
        ada = Person(desk.url)
        order = ada.take(NOTE, "k" * 20)
        data = str(server.folder / "data")
        server._do("pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
        typed = {"key": "j" * 20, "text": NOTE, "description": "Blue wagon"}
        away = ada.post("/take", **typed)
        assert away.status_code == 503 and AWAY in away.text and "Blue wagon" in away.text
        assert ada.get(f"/orders/{order}").status_code == 503
        by_script = ada.client.post("/api/notes", headers={"x-form-key": ada.key}, data=typed)
        assert by_script.status_code == 503 and by_script.json()["what"] == AWAY
        server._do("pg_ctl", "-D", data, "-l", str(server.folder / "log"), "-w", "-o",
                   f"-c listen_addresses='' -c unix_socket_directories={server.folder}", "start")  # fmt: skip
        assert ada.get(f"/orders/{order}").status_code == 200, "what was confirmed is there"
        for _ in range(2):
            sent = ada.client.post("/take", data=kept_fields(away.text))
            assert sent.url.path.startswith("/orders/"), sent.text
        assert ada.get("/").text.count("Blue wagon") == 1
        ada.close()
    finally:
        desk.stop()
        server.stop()


def memory(pid: int) -> int:
    """The most memory that a process has had, bytes."""
    found = re.search(r"VmHWM:\s+(\d+) kB", Path(f"/proc/{pid}/status").read_text("ascii"))
    assert found
    return int(found[1]) * 1024


def poured(desk: Desk, path: str, cookies: str, key: str, declared: bool, size: int = 200_000_000) -> tuple[str, int]:
    """Send that many bytes as a file; gives the answer and how many bytes were taken."""
    edge = "----edge"
    head = (
        f'--{edge}\r\nContent-Disposition: form-data; name="form_key"\r\n\r\n{key}\r\n--{edge}\r\n'
        'Content-Disposition: form-data; name="file"; filename="long.wav"\r\nContent-Type: audio/wav\r\n\r\nRIFF'
    ).encode()
    length = f"Content-Length: {size}" if declared else "Transfer-Encoding: chunked"
    request = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nCookie: {cookies}\r\nX-Form-Key: {key}\r\n"
        f"Content-Type: multipart/form-data; boundary={edge}\r\n{length}\r\n\r\n"
    ).encode()
    block, sent, answer = b"\0" * 1_000_000, 0, b""
    with socket.create_connection(("127.0.0.1", desk.port), 30) as s:
        s.sendall(request)
        with contextlib.suppress(ConnectionError):
            for part in (head, *[block] * (size // len(block))):
                s.sendall(part if declared else b"%x\r\n%s\r\n" % (len(part), part))
                sent += len(part)
        with contextlib.suppress(ConnectionError):
            while more := s.recv(65536):
                answer += more
    return answer.decode("utf-8", "replace"), sent


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory from /proc")
@pytest.mark.parametrize("declared", [True, False], ids=["declared", "chunked"])
@pytest.mark.parametrize("path", ["/take", "/api/notes"])
def test_200_megabytes_are_refused_without_being_held(plain_desk: Desk, path: str, declared: bool) -> None:
    ada = Person(plain_desk.url)
    ada.take(NOTE, "k" * 20)
    cookies = "; ".join(f"{c.name}={c.value}" for c in ada.client.cookies.jar)
    assert plain_desk.process is not None
    before, started = memory(plain_desk.process.pid), time.monotonic()
    answer, sent = poured(plain_desk, path, cookies, ada.key, declared)
    grown = memory(plain_desk.process.pid) - before
    assert grown < 30_000_000, f"{grown:,} bytes more"
    assert sent < (20_000_000 if declared else 80_000_000), f"{sent:,} bytes were taken"
    # A connection that is cut while it still sends may lose the answer on its way; where it came, it is this one.
    assert not answer or (answer.startswith("HTTP/1.1 413") and "nothing of it was kept" in answer)
    assert ada.get("/").status_code == 200 and time.monotonic() - started < 30
    assert "long" not in ada.get("/").text
    ada.close()


@pytest.mark.parametrize("path", ["/take", "/api/notes"])
def test_a_large_upload_that_waits_for_its_answer_is_told_why(plain_desk: Desk, path: str) -> None:
    ada = Person(plain_desk.url)
    cookies = "; ".join(f"{c.name}={c.value}" for c in ada.client.cookies.jar)
    with socket.create_connection(("127.0.0.1", plain_desk.port), 30) as s:
        s.sendall(
            f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{plain_desk.port}\r\nCookie: {cookies}\r\nX-Form-Key: {ada.key}\r\n"
            "Content-Type: multipart/form-data; boundary=edge\r\nContent-Length: 200000000\r\n\r\n".encode()
        )
        answer = s.recv(65536).decode()
        while more := s.recv(65536):
            answer += more.decode()
    assert answer.startswith("HTTP/1.1 413") and "more than 60 MB" in answer
    kind = "application/json" if path.startswith("/api/") else "text/html; charset=utf-8"
    assert f"content-type: {kind}" in answer
    ada.close()


def test_a_large_upload_of_nobody_is_not_read(plain_desk: Desk) -> None:
    Person(plain_desk.url).close()
    for path in ("/take", "/api/notes"):
        answer, sent = poured(plain_desk, path, "", "", declared=False)
        assert not answer or " 401 " in answer.splitlines()[0]
        assert sent < 20_000_000, f"{path}: {sent:,}"


@pytest.mark.parametrize("path", ["/take", "/api/notes"])
def test_a_form_whose_parts_do_not_hold_together_is_refused(shop: Shop, path: str) -> None:
    tess = shop.sit("Tess")
    before = shop.rows()
    headers = {"content-type": "multipart/form-data; boundary=b", "x-form-key": tess.key}
    answer = tess.client.post(path, headers=headers, content=b"--another\r\nno header at all\r\n--another--\r\n")
    assert answer.status_code == 400 and "trouble" not in answer.text.split("</head>")[-1]
    assert shop.rows() == before


def test_a_broken_form_of_nobody_is_no_trouble_of_the_desk(shop: Shop, caplog: pytest.LogCaptureFixture) -> None:
    order = shop.sit("Tess").take("a note")
    headers = {"content-type": "multipart/form-data"}
    answer = Tab(shop).client.post(f"/orders/{order}/edit/1ecc919c", headers=headers, content=b"--x--\r\n")
    assert 400 <= answer.status_code < 500
    assert not [x for x in caplog.records if x.name.startswith("talkaround") and x.levelname == "ERROR"]
