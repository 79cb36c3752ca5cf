"""The store: opened by path or URL, full or locked, killed in the middle of saves, and looked through for what is not right."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import text

from desk_process import Desk, Person, line_keys, seen
from lean_client import forms_of
from talkaround.desk.store import Store, StoreError
from under_fire import Ledger, Saves, killed_over_and_over


def test_confirmed_saves_outlive_kills(tmp_path: Path) -> None:
    """Five kills; ``bench_kill.py`` has two hundred."""
    saves, ledger = killed_over_and_over(tmp_path, str(tmp_path / "desk.sqlite"), 5, writers=3, seed=7, most_s=0.5)
    assert saves.many >= 5
    assert not ledger.lost
    assert not ledger.doubled


def _worked_at(folder: Path) -> tuple[str, Saves]:
    """A store with one order and two changes, and what was confirmed of them."""
    store = str(folder / "desk.sqlite")
    desk, saves = Desk(folder, store), Saves()
    desk.start()
    person = Person(desk.url)
    order = person.take("Left front tire is at 3/32, replace. Wiper blades are torn.", "k" * 20)
    saves.notes.add("k" * 20)
    for token in ("first-token", "second-token"):
        page = person.get(f"/orders/{order}").text
        path = f"/orders/{order}/line/{line_keys(page)[-1]}"
        person.post(path, do="up" if token == "first-token" else "strike", seen=seen(page), token=token)
        saves.changes.add((order, token))
    person.close()
    desk.stop()
    return store, saves


def test_the_ledger_sees_what_is_lost_altered_or_without_history(tmp_path: Path) -> None:
    """The check behind the kill tests can fail."""
    store, saves = _worked_at(tmp_path)
    sound = Ledger(store, saves)
    sound.check(whole=True)
    assert not sound.lost
    sound.close()

    saves.changes.add((1, "never-came"))
    lost = Ledger(store, saves)
    lost.check()
    assert lost.lost == {(1, "never-came")}
    lost.close()

    for n, harm in enumerate((
        "UPDATE repair_order SET draft = json_set(draft, '$.lines.' || json_extract(draft, '$.sequence[0]') || '.struck', 1)",
        "UPDATE repair_order SET version = version + 1",
        "UPDATE repair_order SET document = json_remove(document, '$.lines[0]')",
    )):  # fmt: skip
        other = str(tmp_path / f"harmed{n}.sqlite")
        shutil.copyfile(store, other)
        with sqlite3.connect(other) as c:
            c.execute(harm)
        c.close()
        ledger = Ledger(other, Saves())
        with pytest.raises(AssertionError):
            ledger.check(whole=True)
        ledger.close()


def test_a_store_that_cannot_be_opened_is_told_in_a_line(tmp_path: Path) -> None:
    (tmp_path / "no-store.sqlite").write_text("this is a text, and long enough not to be taken for an empty file " * 40)
    for url, says in (
        (str(tmp_path / "nowhere" / "desk.sqlite"), "there is no folder"),
        (str(tmp_path / "no-store.sqlite"), "cannot be opened"),
        ("mysql://desk@host/talkaround", "is not known"),
        (f"postgresql://desk@/x?host={tmp_path}", "cannot be opened"),
    ):
        with pytest.raises(StoreError) as told:
            Store(url)
        assert says in str(told.value)
        assert "\n" not in str(told.value)


def test_a_password_in_the_stores_address_is_not_shown(tmp_path: Path) -> None:
    with pytest.raises(StoreError) as told:
        Store(f"postgresql://desk:very-secret@/x?host={tmp_path}")
    assert "very-secret" not in str(told.value)


def test_a_store_of_a_newer_talkaround_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "desk.sqlite"
    Store(str(path)).close()
    with sqlite3.connect(path) as c:
        c.execute("UPDATE alembic_version SET version_num = '9999'")
    c.close()
    with pytest.raises(StoreError) as told:
        Store(str(path))
    assert "newer" in str(told.value)
    with sqlite3.connect(path) as c:
        assert c.execute("SELECT version_num FROM alembic_version").fetchone() == ("9999",)
    c.close()


def test_two_desks_that_start_at_once_make_one_store(tmp_path: Path) -> None:
    path = str(tmp_path / "desk.sqlite")
    command = [sys.executable, "-c", f"from talkaround.desk.store import Store; Store({path!r})"]
    started = [subprocess.Popen(command, stderr=subprocess.PIPE, text=True) for _ in range(3)]
    assert [p.communicate()[1] for p in started] == [""] * 3
    store = Store(path)
    with store.reading() as s:
        assert s.execute(text("SELECT count(*) FROM account")).scalar() == 0
    store.close()


def test_an_order_that_cannot_be_written_now_is_kept_on_the_page(plain_desk: Desk, writer: Person) -> None:
    """Another program holds the store: what was typed is on the page that says so, and sent again it is written once."""
    order = writer.take("Left front tire is at 3/32, replace.", "k" * 20)
    (key,) = line_keys(writer.get(f"/orders/{order}").text)
    path = f"/orders/{order}/edit/{key}"
    fields = forms_of(writer.get(f"/orders/{order}?edit={key}").text)[path]
    fields["correction"] = "Fit the tire that lies in the rack."
    holder = sqlite3.connect(plain_desk.folder / "talkaround" / "desk.sqlite", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        answer = writer.client.post(path, data=fields)
        assert answer.status_code == 503
        assert "Fit the tire that lies in the rack." in answer.text
        assert writer.get(f"/orders/{order}").status_code == 200
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    for _ in range(2):
        assert writer.client.post(path, data=forms_of(answer.text)[path] | {"form_key": writer.key}).status_code == 200
    assert writer.get(f"/orders/{order}/history").text.count("Fit the tire that lies in the rack.") >= 1
    assert len(writer.get(f"/api/orders/{order}").json()["lines"]) == 1
    with sqlite3.connect(plain_desk.folder / "talkaround" / "desk.sqlite") as c:
        assert c.execute("SELECT count(*) FROM change").fetchone() == (1,)
    c.close()
