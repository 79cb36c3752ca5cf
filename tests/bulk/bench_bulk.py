"""How fast notes by the million are read, with what memory, and what of it cannot be spread.

    python tests/bulk/bench_bulk.py cores NOTES FOLDER            # with 1 and with 2 workers
    python tests/bulk/bench_bulk.py cluster NOTES FOLDER [N]      # a Dask cluster of N workers, one killed half-way

``cores`` prints notes a second for each, their ratio, the memory (largest sum, and largest single process, of the resident
set of the main process and its workers), the serial share (time in which the main process is busy itself, start-up left
out, of the time that one worker reads), and what Amdahl's law makes of it for 100 workers. ``cluster`` prints rows lost
and rows that are there twice. FOLDER takes the orders, in folders of their own. No test: it runs as long as the notes do.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pyarrow.parquet as pq

ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
_EVERY_S = 1.0


def one_run(notes: Path, out: Path, workers: int) -> None:
    """A run in this process; prints what its main process knows, as JSON."""
    from talkaround.bulk.job import Outcome
    from talkaround.bulk.running import Settings, run

    outcome = Outcome()
    run(Settings(notes, out, workers, anew=True), outcome)
    busy = outcome.seconds - outcome.waited_s
    print(json.dumps({"notes": outcome.notes, "errors": outcome.errors, "seconds": outcome.seconds, "busy": busy}))


def measured(notes: Path, out: Path, workers: int) -> dict[str, float]:
    """What ``one_run`` prints, with ``sum_mb`` and ``max_mb`` of memory."""
    command = [sys.executable, __file__, "one", str(notes), str(out), str(workers)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=ENVIRONMENT)
    most_sum = most_one = 0
    watched = psutil.Process(process.pid)
    while process.poll() is None:
        sizes = []
        try:
            for one in (watched, *watched.children(recursive=True)):
                sizes.append(one.memory_info().rss)
        except psutil.Error:
            # One ended while it was looked at.
            pass
        most_sum, most_one = max(most_sum, sum(sizes)), max([most_one, *sizes])
        time.sleep(_EVERY_S)
    if process.returncode:
        raise SystemExit("the run failed")
    assert process.stdout
    told: dict[str, float] = json.loads(process.stdout.read())
    return told | {"sum_mb": most_sum / 1e6, "max_mb": most_one / 1e6}


def cores(notes: Path, folder: Path) -> None:
    rates, one_s, busy = [], 0.0, 0.0
    for workers in (1, 2):
        told = measured(notes, folder / f"with-{workers}", workers)
        rates.append(told["notes"] / told["seconds"])
        print(
            f"{workers} worker(s): {told['notes']:.0f} notes, {told['errors']:.0f} with an error, {told['seconds']:.1f} s, "
            f"{rates[-1]:.1f} notes a second; memory {told['sum_mb']:.0f} MB in all, {told['max_mb']:.0f} MB the largest",
            flush=True,
        )
        if workers == 1:
            one_s, busy = told["seconds"], told["busy"]
    share = busy / one_s
    print(f"2 workers against 1: {rates[1] / rates[0]:.2f} times")
    print(f"serial: {share:.3%}, {busy / max(told['notes'], 1) * 1e6:.0f} microseconds a note")
    print(f"Amdahl's law for 100 workers: {1 / (share + (1 - share) / 100):.0f} times one")


def cluster(notes: Path, folder: Path, workers: int) -> None:
    from talkaround.bulk.notes import open_notes

    folder.mkdir(parents=True, exist_ok=True)
    out, where = folder / "on-cluster", folder / "scheduler.json"
    where.unlink(missing_ok=True)
    total = open_notes(notes).rows
    started = []

    def start(*command: str) -> subprocess.Popen[bytes]:
        quiet = subprocess.DEVNULL
        started.append(process := subprocess.Popen([sys.executable, "-m", *command], env=ENVIRONMENT, stderr=quiet))
        return process

    try:
        start("distributed.cli.dask_scheduler", "--scheduler-file", str(where), "--port", "0", "--no-dashboard")
        while not where.exists():
            time.sleep(0.1)
        address = json.loads(where.read_text())["address"]
        # Without a nanny nobody starts the killed one again.
        on = ("distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard")
        hands = [start(*on) for _ in range(workers)]
        begun = time.monotonic()
        run = start("talkaround.cli", "bulk", str(notes), "--out", str(out), "--anew", "--scheduler", address)
        while run.poll() is None and len(list(out.glob("part-*.parquet"))) * 1000 < total / 2:
            time.sleep(0.2)
        hands[0].kill()
        print(f"one of {workers} workers killed after {time.monotonic() - begun:.0f} s", flush=True)
        status = run.wait()
        seconds = time.monotonic() - begun
    finally:
        for process in reversed(started):
            process.terminate()
            process.wait()
    seen = bytearray(total)
    double = 0
    for part in sorted(out.glob("part-*.parquet")):
        for row in pq.read_table(part, columns=["row"])["row"].to_pylist():
            double += seen[row]
            seen[row] = 1
    print(f"status {status}, {seconds:.0f} s; rows lost {seen.count(0)}, rows double {double}, of {total}")


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("what", choices=["cores", "cluster", "one"])
    arguments.add_argument("notes", type=Path)
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("workers", type=int, nargs="?", default=2)
    given = arguments.parse_args()
    if given.what == "cores":
        cores(given.notes, given.folder)
    elif given.what == "cluster":
        cluster(given.notes, given.folder, given.workers)
    else:
        one_run(given.notes, given.folder, given.workers)


if __name__ == "__main__":
    main()
