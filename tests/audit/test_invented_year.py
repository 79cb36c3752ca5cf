"""The invented year is the same for a seed, and its technicians write as they are said to."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections import defaultdict
from datetime import date
from pathlib import Path
from statistics import median
from typing import Any

import pytest
from vininfo import Vin

import invented_year as generator
from invented_year import BASE, PLANTED, TRAINING, habits_of, invented_year

SIDES = re.compile(r"\b(?:[LR][FRH]|left|right|driver side|passenger side)\b", re.IGNORECASE)
READINGS = re.compile(r"\d+/32|\d+ ?mm\b|thirty-second|millimeter|\d+\.\d ?(?:V|volts)\b")
FINAL_CHECKS = re.compile(r"road tested|torqued|rechecked|test drove", re.IGNORECASE)
UNSAFE = re.compile(r"unsafe|not safe|do not drive", re.IGNORECASE)
GOOD = re.compile(r"\b(?:good|ok|tight|dry|working|clean|full|quiet|smooth|healthy|wearing even|free|even)\b")


@pytest.fixture(scope="module")
def year() -> list[dict[str, Any]]:
    return list(invented_year(12_000, seed=3))


@pytest.fixture(scope="module")
def by_technician(year: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    rows = defaultdict(list)
    for row in year:
        rows[row["technician"]].append(row)
    return rows


def share(rows: list[dict[str, Any]], pattern: re.Pattern[str]) -> float:
    return sum(bool(pattern.search(row["text"])) for row in rows) / len(rows)


def test_the_same_seed_gives_the_same_rows_and_another_does_not() -> None:
    assert list(invented_year(300, seed=5)) == list(invented_year(300, seed=5))
    assert list(invented_year(300, seed=5)) != list(invented_year(300, seed=6))


def test_rows_have_what_a_shop_would_have(year: list[dict[str, Any]]) -> None:
    assert len(year) == 12_000 == len({row["id"] for row in year})
    assert {row["technician"] for row in year} == {f"T{n:02d}" for n in range(1, 41)}
    assert {row["shop"] for row in year} == set("ABCD")
    days = [row["date"] for row in year]
    assert days == sorted(days) and days[0] == "2025-01-01" and days[-1] == "2025-12-31"
    for key in ("vin", "odometer", "plate"):
        assert 0.8 < sum(key in row for row in year) / len(year) < 1


def test_every_vin_has_its_check_digit(year: list[dict[str, Any]]) -> None:
    vins = {row["vin"] for row in year if "vin" in row}
    assert len(vins) > 8000
    assert all(Vin(vin).verify_checksum() for vin in vins)


def test_notes_are_as_long_as_notes_are(year: list[dict[str, Any]]) -> None:
    words = [len(row["text"].split()) for row in year]
    assert 45 <= median(words) <= 57
    assert sum(30 <= n <= 75 for n in words) / len(words) > 0.9
    assert len({row["text"] for row in year}) == len(year)


def test_vehicles_come_back_with_more_miles(year: list[dict[str, Any]]) -> None:
    visits = defaultdict(list)
    for row in year:
        if "vin" in row and "odometer" in row:
            visits[row["vin"]].append((row["date"], row["odometer"]))
    again = sum(len(seen) - 1 for seen in visits.values()) / sum(map(len, visits.values()))
    assert 0.08 < again < 0.15
    for seen in visits.values():
        assert seen == sorted(seen) and len({miles for _, miles in seen}) == len(seen)


def test_planted_habits_show_and_those_of_the_others_are_alike(by_technician: dict[str, list[dict[str, Any]]]) -> None:
    def since(rows: list[dict[str, Any]], day: date) -> list[dict[str, Any]]:
        return [row for row in rows if row["date"] >= day.isoformat()]

    assert share(by_technician["T07"], SIDES) == 0
    assert share(since(by_technician["T13"], date(2025, 6, 1)), READINGS) == 0
    assert share([r for r in by_technician["T13"] if r["date"] < "2025-06-01"], READINGS) > 0.5
    assert share(by_technician["T21"], UNSAFE) == 0
    assert share(by_technician["T33"], FINAL_CHECKS) == 0
    alike = [rows for who, rows in by_technician.items() if who not in PLANTED]
    assert len(alike) == 34
    for rows in alike:
        assert share(rows, SIDES) > 0.9
        assert share(rows, READINGS) > 0.55
        assert 0.05 < share(rows, UNSAFE) < 0.35
        assert 0.2 < share(rows, FINAL_CHECKS) < 0.6
    # Road tests and rechecks are "ok" too; without them nothing that T28 writes is good.
    without = [row | {"text": FINAL_CHECKS.split(row["text"])[0]} for row in by_technician["T28"]]
    assert share(without, re.compile(r"\b(?:tight|dry|working|clean|quiet|smooth|wearing even)\b")) == 0
    assert all(share(rows, GOOD) > 0.75 for rows in alike)


def test_nobody_has_a_habit_in_a_plain_year() -> None:
    rows = [row for row in invented_year(4000, seed=3, plain=True) if row["technician"] == "T07"]
    assert share(rows, SIDES) > 0.9


def test_the_table_of_habits_is_what_is_written() -> None:
    days = [date(2025, 1, 1), date(2025, 12, 31)]
    everybody = [f"T{n:02d}" for n in range(1, 41)]
    assert {who for who in everybody if any(habits_of(who, day) != BASE for day in days)} == set(PLANTED)
    assert habits_of("T36", TRAINING) == BASE != habits_of("T36", date(2025, 8, 31))


def test_the_command_writes_json_lines_of_the_first_months(tmp_path: Path) -> None:
    out = tmp_path / "year.jsonl"
    asked = ["--notes", "500", "--technicians", "4", "--seed", "2", "--months", "3"]
    subprocess.run([sys.executable, generator.__file__, str(out), *asked], check=True)
    rows = [json.loads(line) for line in out.read_text("utf-8").splitlines()]
    assert rows == list(invented_year(500, 4, 2, 3))
    assert rows[-1]["date"] == "2025-03-31" and {row["technician"] for row in rows} == {"T01", "T02", "T03", "T04"}
