"""The history of an order: nothing in it can be altered, and two who write at once leave it whole."""

from __future__ import annotations

import html
import re
import secrets
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from at_hand import two_writers
from desk_process import Desk, Person, line_keys, seen
from lean_client import forms_of
from talkaround.desk import changes
from talkaround.desk.changes import CannotChange
from talkaround.desk.orders import Orders
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account
from talkaround.models import Note

WORDS = "Left front tire is at 3/32, replace. Wiper blades are torn. Battery tested good."


@pytest.fixture(params=["sqlite", "postgresql"])
def orders(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Orders]:
    url = (
        request.getfixturevalue("postgres").database() if request.param == "postgresql" else str(tmp_path / "d.sqlite")
    )
    store = Store(url)
    yield Orders(store, Reader(None))
    store.close()


def order_of(orders: Orders, by: Account, words: str = WORDS) -> int:
    return orders.take(secrets.token_hex(16), by.id, "Typed note", {}, Note(name="Typed note", text=words))[0]


def test_what_was_changed_and_signed_can_be_neither_altered_nor_deleted(orders: Orders) -> None:
    ada, _ = two_writers(orders.store)
    id = order_of(orders, ada)
    key = orders.open(id).draft.sequence[0]
    orders.change(id, 0, "token", ada, changes.strike(key))
    orders.sign(id, 1, ada)
    for table in ("change", "revision"):
        for harm in (f"UPDATE {table} SET number = 9", f"UPDATE {table} SET by_id = 2", f"DELETE FROM {table}"):
            with pytest.raises(DBAPIError, match="append-only"), orders.store.writing() as s:
                s.execute(text(harm))
    assert [(c.number, c.by_id, n) for c, n in orders.history(id)] == [(1, ada.id, "Ada")]
    assert [(r.number, r.version) for r, _ in orders.revisions(id)] == [(1, 1)]


def test_two_who_write_at_once_leave_every_change_numbered_without_a_gap(orders: Orders) -> None:
    people, each = two_writers(orders.store), 100
    id = order_of(orders, people[0])
    o = orders.open(id)
    troubles: list[Exception] = []

    def write(n: int) -> None:
        # Each sets a sentence of a line of his own, so that neither overtakes the other.
        for k in range(each):
            do = changes.set_fields(o.draft.sequence[n], {"correction": f"Writer {n} says {k}."}, people[n].name)
            try:
                orders.change(id, 0, f"{n}-{k}", people[n], do)
            except Exception as error:
                troubles.append(error)

    threads = [threading.Thread(target=write, args=(n,)) for n in range(2)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert not troubles
    rows = [c for c, _ in orders.history(id)]
    assert [c.number for c in rows] == list(range(2 * each, 0, -1))
    assert {c.token for c in rows} == {f"{n}-{k}" for n in range(2) for k in range(each)}
    last = orders.open(id)
    assert last.version == 2 * each
    for n in range(2):
        assert last.draft.lines[o.draft.sequence[n]].line.correction == f"Writer {n} says {each - 1}."
        # Each one's changes stand in the order in which he made them.
        assert [c.token for c in reversed(rows) if c.by_id == people[n].id] == [f"{n}-{k}" for k in range(each)]


def test_the_same_sent_from_two_tabs_at_once_is_written_once(orders: Orders) -> None:
    ada, _ = two_writers(orders.store)
    id = order_of(orders, ada)
    before = len(orders.open(id).document.lines)
    lines = orders.reader.lines_of("right rear tire is worn, replace", "left-hand")
    kept = []

    def send() -> None:
        kept.append(orders.change(id, 0, "one-token", ada, changes.add(lines, [], "Ada", "Added")))

    threads = [threading.Thread(target=send) for _ in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert sorted(k.again for k in kept) == [False, *[True] * 5]
    assert {k.version for k in kept} == {1}
    assert len(orders.open(id).document.lines) == before + 1


def test_the_same_note_sent_from_two_tabs_at_once_is_taken_once(orders: Orders) -> None:
    ada, bo = two_writers(orders.store)
    note, got = Note(name="Typed note", text=WORDS), []

    def send() -> None:
        got.append(orders.take("the-key-of-the-note", ada.id, "Typed note", {}, note))

    threads = [threading.Thread(target=send) for _ in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert len({id for id, _ in got}) == 1
    assert sorted(again for _, again in got) == [False, *[True] * 5]
    assert orders.listed(None, 0)[1] == 1
    for by, words in ((bo, WORDS), (ada, "Another note.")):
        with pytest.raises(CannotChange):
            orders.take("the-key-of-the-note", by.id, "n", {}, Note(name="Typed note", text=words))


def test_what_later_changes_wrote_over_is_not_undone(orders: Orders) -> None:
    ada, bo = two_writers(orders.store)
    id = order_of(orders, ada)
    key = orders.open(id).draft.sequence[0]

    def severity(value: str, by: Account) -> None:
        o = orders.open(id)
        orders.change(id, o.version, secrets.token_hex(8), by, changes.set_fields(key, {"severity": value}, by.name))

    first = orders.open(id).draft.lines[key].line.severity
    severity("monitor", ada)
    severity("suggested", bo)
    with pytest.raises(CannotChange, match="change 2 wrote the same"):
        orders.undo(id, 1, 2, secrets.token_hex(8), ada)
    assert orders.open(id).draft.lines[key].line.severity == "suggested"
    orders.undo(id, 2, 2, secrets.token_hex(8), ada)
    assert orders.open(id).draft.lines[key].line.severity == "monitor"
    orders.undo(id, 1, 3, "undo-it-once", ada)
    assert orders.open(id).draft.lines[key].line.severity == first
    # The same request once more changes nothing; another one is told that it is done.
    assert orders.undo(id, 1, 3, "undo-it-once", ada).again
    with pytest.raises(CannotChange, match="undone already"):
        orders.undo(id, 1, 4, secrets.token_hex(8), ada)


def test_what_was_undone_can_be_brought_back_by_undoing_the_undoing(orders: Orders) -> None:
    ada, _ = two_writers(orders.store)
    id = order_of(orders, ada)
    key = orders.open(id).draft.sequence[0]
    orders.change(id, 0, "strike-it", ada, changes.strike(key))
    orders.undo(id, 1, 1, "undo-strike", ada)
    assert not orders.open(id).draft.lines[key].struck
    orders.undo(id, 2, 2, "undo-undo", ada)
    assert orders.open(id).draft.lines[key].struck


def test_the_page_says_who_did_what_from_what_to_what(plain_desk: Desk, writer: Person) -> None:
    id = writer.take(WORDS, "k" * 20)
    key = line_keys(writer.get(f"/orders/{id}").text)[0]
    path = f"/orders/{id}/edit/{key}"
    fields = forms_of(writer.get(f"/orders/{id}?edit={key}").text)[path] | {"side": "right"}
    writer.client.post(path, data=fields).raise_for_status()
    page = html.unescape(re.sub(r"<[^>]+>", " ", writer.get(f"/orders/{id}/history").text))
    for said in ("Ada", "left", "right", "UTC"):
        assert said in page
    version = seen(writer.get(f"/orders/{id}").text)
    writer.post(f"/orders/{id}/undo", number="1", seen=version, token="undo-the-first").raise_for_status()
    page = writer.get(f"/orders/{id}/history").text
    assert "Undone" in page
    assert writer.get(f"/api/orders/{id}").json()["lines"][0]["position"]["side"] == "left"
