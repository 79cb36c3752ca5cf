"""`talkaround bulk` on a Dask cluster of two processes, one of which is killed on the way."""

import os
import threading
import time
from pathlib import Path

import dask
import pytest
from distributed import Client, LocalCluster

from bulk_runs import KILLING, bulk, json_lines, rows_in, small_notes, with_killing


def test_a_scheduler_that_is_not_there_is_told(tmp_path: Path) -> None:
    notes = json_lines(tmp_path / "notes.jsonl", small_notes(1))
    for address, says in (("here:there", "is no address of"), ("tcp://127.0.0.1:1", "no Dask scheduler answers")):
        ran = bulk(notes, "--out", tmp_path / "out", "--scheduler", address)
        assert (ran.returncode, ran.stderr.count("\n")) == (2, 1), ran.stderr
        assert says in ran.stderr
    both = bulk(notes, "--out", tmp_path / "out", "--scheduler", "tcp://x:1", "--workers", 2)
    assert (both.returncode, "leave one of them out" in both.stderr) == (2, True)


def test_a_killed_worker_loses_nothing_and_doubles_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", with_killing(tmp_path)["PYTHONPATH"])
    rows = small_notes(400)
    rows[377]["text"] = f"Horn is {KILLING}."
    notes, out = json_lines(tmp_path / "notes.jsonl", rows), tmp_path / "out"
    killed: list[int] = []
    # Fewer deaths than Dask's three, so that the test is quick.
    quick = dask.config.set({"distributed.scheduler.allowed-failures": 1})
    with quick, LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0", silence_logs=50) as local:

        def kill_one() -> None:
            with Client(local.scheduler_address, set_as_default=False) as client:
                until = time.monotonic() + 15
                while len(list(out.glob("part-*.parquet"))) < 3:
                    if time.monotonic() > until:
                        return
                    time.sleep(0.01)
                pid = next(iter(client.run(os.getpid).values()))
                os.kill(pid, 9)
                killed.append(pid)

        killer = threading.Thread(target=kill_one)
        killer.start()
        ran = bulk(notes, "--out", out, "--batch", 20, "--scheduler", local.scheduler_address)
        killer.join()
    assert (ran.returncode, ran.stderr) == (1, "")
    assert killed
    read = rows_in(out)
    assert [(r["row"], r["id"]) for r in read] == [(n, f"n{n}") for n in range(400)]
    assert [r["row"] for r in read if r["error"]] == [377]
    assert "ends the process that reads it" in read[377]["error"]
