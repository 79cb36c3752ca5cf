"""A job through its workers: batches handed out, a bounded number at a time, and what becomes of each."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from talkaround.bulk.job import Job, Raw
from talkaround.bulk.parts import OutRow, count_part, write_part
from talkaround.bulk.pool import WorkerDied, Workers
from talkaround.bulk.reading import Counted, failed_row, read_part, read_rows

_DEATHS = 2
"""How often a batch may be under way when a process dies before its notes are read with care."""


@dataclass
class Ran:
    """How far a run came. ``before`` rows were there already, ``rows`` are there now, ``errors`` of them are errors.

    ``own_s`` is the processor time of this process alone: what no number of workers makes shorter. ``seconds`` is the
    time that went by.
    """

    rows: int = 0
    errors: int = 0
    before: int = 0
    seconds: float = 0.0
    own_s: float = 0.0


Progress = Callable[[Ran], None]


class _UnderWay(NamedTuple):
    number: int
    raw: Raw


def run(job: Job, workers: Workers, progress: Progress = lambda ran: None, ran: Ran | None = None) -> Ran:
    """Make every part of the job that is not there yet. ``ran`` is kept up to date, also for a run that is broken off.

    Raises:
        RowsError: the notes cannot be read to their end; the parts before that are written.
        BulkError: a worker cannot do this job.
        OSError: a part cannot be written.
    """
    ran = ran if ran is not None else Ran()
    began, began_own = time.monotonic(), time.process_time()
    under_way: dict[Any, _UnderWay] = {}
    deaths: dict[int, int] = {}

    def note(counted: Counted) -> None:
        ran.rows += counted.rows
        ran.errors += counted.errors
        ran.seconds, ran.own_s = time.monotonic() - began, time.process_time() - began_own
        progress(ran)

    def give(work: _UnderWay) -> None:
        if deaths.get(work.number, 0) >= _DEATHS:
            note(_with_care(job, work, workers))
        else:
            under_way[workers.submit(read_part, job, work.number, work.raw)] = work

    def take() -> None:
        """Take in what is done; what was under way when a process died is given again."""
        done, fallen = list(workers.first_done(under_way)), []
        while done:
            future = done.pop()
            work = under_way.pop(future)
            try:
                note(workers.result(future))
            except WorkerDied:
                fallen.append(work)
                if workers.fall_together:
                    done = list(under_way)
        if fallen:
            workers.mend()
        for work in fallen:
            deaths[work.number] = deaths.get(work.number, 0) + 1
            give(work)

    for number, raw in enumerate(job.batches()):
        there = count_part(job.part(number)) if job.part(number).exists() else None
        if there is not None:
            ran.before += there[0]
            note(Counted(*there))
            continue
        while len(under_way) >= 2 * workers.size:
            take()
        give(_UnderWay(number, raw))
    while under_way:
        take()
    ran.seconds, ran.own_s = time.monotonic() - began, time.process_time() - began_own
    return ran


def _with_care(job: Job, work: _UnderWay, workers: Workers) -> Counted:
    rows = _halved(job, work.number * job.rows_a_part, work.raw, workers)
    write_part(job.part(work.number), rows)
    return Counted(len(rows), sum(r["error"] is not None for r in rows))


def _halved(job: Job, first: int, raw: Raw, workers: Workers) -> list[OutRow]:
    """The rows of a batch over which processes die: halved until the one note that does it is found."""
    try:
        rows: list[OutRow] = workers.alone(read_rows, job, first, raw)
        return rows
    except WorkerDied:
        if len(raw) == 1:
            return [
                failed_row(first, raw[0], f"row {first + 1}: the process that read it died. Report it with the note.")
            ]
        middle = len(raw) // 2
        return _halved(job, first, raw[:middle], workers) + _halved(job, first + middle, raw[middle:], workers)


__all__ = ["Progress", "Ran", "run"]
