"""`talkaround audit` as it is called: what it prints and writes, its statuses, and a desk's store as its place."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from talkaround.desk.orders import Orders, now
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account
from talkaround.models import Note

ROOT = Path(__file__).resolve().parents[2]
NOTES = [
    {"id": f"n{n}", "technician": who, "shop": shop, "date": f"2026-0{1 + n % 3}-10", "text": text}
    for who, shop, text in (
        ("Ada", "North", "Left front lower ball joint is loose, replace it."),
        ("Bo", "South", "Lower ball joint is loose, replace it."),
    )
    for n in range(40)
]


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "talkaround.cli", "audit", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120)


@pytest.fixture
def notes(tmp_path: Path) -> Path:
    path = tmp_path / "notes.jsonl"
    path.write_text("".join(json.dumps(n) + "\n" for n in NOTES))
    return path


def test_a_table_says_what_it_found(notes: Path) -> None:
    ran = run(notes)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "place given" in ran.stdout.lower()
    assert "40 of 80" in ran.stdout or "50%" in ran.stdout
    assert max(len(line) for line in ran.stdout.splitlines()) <= 80


def test_each_format_goes_where_it_is_told(notes: Path, tmp_path: Path) -> None:
    assert run(notes, "--format", "html", "--out", tmp_path / "new" / "a.html").returncode == 0
    page = (tmp_path / "new" / "a.html").read_text()
    assert page.startswith("<!DOCTYPE html>")
    assert "://" not in page.replace("http://www.w3.org/", "")
    assert run(notes, "--format", "csv", "--out", tmp_path / "csv").returncode == 0
    assert "place-given" in (tmp_path / "csv" / "shares.csv").read_text()
    told = json.loads(run(notes, "--format", "json").stdout)
    assert told["everybody"]["points"]["place-given"]["due"] == 80


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (["nowhere.jsonl"], 2, "nowhere.jsonl: there is no such folder or file"),
        (["NOTES", "--from", "yesterday"], 2, "--from yesterday: is no day. Write it as 2026-03-01."),
        (["NOTES", "--system", "wings"], 2, "there is no system 'wings'. Use one of: brakes"),
        (["NOTES", "--format", "csv"], 2, "add --out FOLDER"),
        (["NOTES", "--format", "html", "--out", "."], 2, "is a folder. Name the file"),
        (["NOTES", "--technician", "Cy"], 1, "there is no order to audit with what was asked for."),
        (["NOTES", "--about", "nowhere.csv"], 2, "nowhere.csv: cannot be read"),
    ],
)
def test_what_cannot_be_is_told_in_a_line(arguments: list[str], status: int, says: str, notes: Path) -> None:
    ran = run(*(str(notes) if a == "NOTES" else a for a in arguments))
    assert (ran.returncode, ran.stdout) == (status, "")
    assert says in ran.stderr
    assert ran.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("options", "orders"),
    [
        # 14 notes of each in January, 13 in February and 13 in March.
        (["--from", "2026-02-10"], 52),
        (["--to", "2026-02-10"], 54),
        (["--technician", "Ada"], 40),
        (["--technician", "Ada", "--technician", "Bo"], 80),
        (["--shop", "North", "--to", "2026-01-31"], 14),
    ],
)
def test_what_is_counted_can_be_narrowed(options: list[str], orders: int, notes: Path) -> None:
    assert json.loads(run(notes, "--format", "json", *options).stdout)["scope"]["orders"] == orders


def test_periods_are_as_long_as_asked(notes: Path) -> None:
    for period, named in (("week", "2026-W02"), ("month", "2026-01")):
        told = json.loads(run(notes, "--format", "json", "--period", period).stdout)
        assert told["charts"][0]["periods"][0]["period"] == named


@pytest.mark.parametrize(("precision", "needed"), [(0.05, 67), (0.2, 19)])
def test_how_many_orders_a_share_takes(precision: float, needed: int, notes: Path) -> None:
    """By hand, for 80 orders: n = m / (1 + (m - 1) / 80), where m = 1.96^2 * 0.25 / precision^2 is 384.2 and 24.0."""
    ran = run(notes, "--format", "json", "--sample", 5, "--precision", precision)
    assert json.loads(ran.stdout)["sample"]["needed"] == needed


def test_a_desks_store_is_audited_as_its_technicians_wrote(tmp_path: Path) -> None:
    place = tmp_path / "desk.sqlite"
    store = Store(str(place))
    try:
        orders = Orders(store, Reader(None))
        with store.writing() as s:
            ada = Account(name="Ada", role="technician", password="none", made_at=now())
            s.add(ada)
        for n, note in enumerate(NOTES[:3]):
            orders.take(f"key{n}", ada.id, "Typed", {"vin": "1M8GDM9AXKP042788"}, Note(name="Typed", text=note["text"]))
    finally:
        store.close()
    told = json.loads(run(place, "--format", "json").stdout)
    assert [r["who"] for r in told["technicians"]] == ["Ada"]
    assert told["everybody"]["points"]["vin-given"] == told["technicians"][0]["points"]["vin-given"]
    assert (told["everybody"]["points"]["vin-given"]["met"], told["scope"]["orders"]) == (3, 3)
    assert (told["visits"]["vehicles"], told["visits"]["seen_again"]) == (1, 1)
