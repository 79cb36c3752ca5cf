"""The desk killed in the middle of saves, over and over: what it confirmed is there, and nothing is there twice.

Run with ``pytest -m benchmark -s tests/desk/bench_kill.py``.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from desk_process import Postgres
from under_fire import killed_over_and_over

pytestmark = pytest.mark.benchmark


@pytest.mark.parametrize(("kind", "kills"), [("sqlite", 200), ("postgresql", 20)])
def test_no_confirmed_save_is_lost(kind: str, kills: int, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    server: Postgres | None = request.getfixturevalue("postgres") if kind == "postgresql" else None
    store = server.database() if server else str(tmp_path / "desk.sqlite")
    begun = time.monotonic()
    saves, ledger = killed_over_and_over(tmp_path, store, kills)
    print(
        f"\n{kind}: {kills} kills in {time.monotonic() - begun:.0f} s, {saves.many} saves confirmed "
        f"({len(saves.notes)} notes), {dict(saves.refused)} refused, {len(ledger.lost)} lost, {len(ledger.doubled)} doubled"
    )
    assert saves.many >= kills
    assert not ledger.lost
    assert not ledger.doubled
