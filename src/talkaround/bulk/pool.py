"""Worker processes on this machine: each gets a batch when it is free, and a dead one is replaced.

A process is told apart from the others, so that it is known which batch it had in hand when it died. That batch is tried
once more; after a second death it is read with a word before each note, so that the note that kills is known.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess

from talkaround.bulk.job import Batch, BulkError, Done, Job, Outcome

_DEATHS = 2
"""Deaths of a process over a batch, upon which it is read note by note."""
_DEATHS_WITHOUT_A_NOTE = 3
_NOTES_OF_A_PROCESS = 50_000
"""Then a new one takes its place: spaCy's tables grow by about 1 kB a note even where the words are forgotten."""


@dataclass(eq=False)
class _Task:
    batch: Batch
    deaths: int = 0
    unexplained: int = 0
    killers: set[int] = field(default_factory=set)
    at: int | None = None


@dataclass(eq=False)
class _Hand:
    process: BaseProcess
    line: Connection
    task: _Task | None = None
    notes: int = 0


def work(job: Job, batches: Iterator[Batch], workers: int, outcome: Outcome) -> Iterator[Done]:
    """Every batch's part, as they are done. Raises ``BulkError``."""
    hands: list[_Hand] = []
    again: deque[_Task] = deque()
    try:
        while True:
            while (free := next((h for h in hands if h.task is None), None)) or len(hands) < workers:
                task = again.popleft() if again else _next(batches)
                if task is None:
                    break
                if free is None:
                    hands.append(free := _start(job))
                free.task, task.at = task, None
                # A process that died meanwhile is found when it is listened to.
                with suppress(OSError):
                    free.line.send((task.batch, task.killers, task.deaths >= _DEATHS))
            busy = {h.line: h for h in hands if h.task}
            if not busy:
                return
            begun = time.monotonic()
            ready = wait(list(busy))
            outcome.waited_s += time.monotonic() - begun
            for line in ready:
                hand = busy[line]  # type: ignore[index]
                task = hand.task
                assert task
                try:
                    told = hand.line.recv()
                except (EOFError, OSError):
                    _end(hand)
                    hands.remove(hand)
                    _count_death(task)
                    again.append(task)
                    continue
                if isinstance(told, int):
                    task.at = told
                elif isinstance(told, Done):
                    hand.task = None
                    hand.notes += told.rows
                    if hand.notes >= _NOTES_OF_A_PROCESS:
                        _end(hand)
                        hands.remove(hand)
                    yield told
                else:
                    raise told
    finally:
        for hand in hands:
            _end(hand)


def _next(batches: Iterator[Batch]) -> _Task | None:
    batch = next(batches, None)
    return None if batch is None else _Task(batch)


def _count_death(task: _Task) -> None:
    careful = task.deaths >= _DEATHS
    task.deaths += 1
    if task.at is not None:
        task.killers.add(task.at)
    elif careful:
        task.unexplained += 1
        if task.unexplained == _DEATHS_WITHOUT_A_NOTE:
            raise BulkError(
                f"the processes end before they read a note of part {task.batch.number}. See that the machine has memory "
                "left for them (--workers takes fewer), and the same command goes on."
            )


def _start(job: Job) -> _Hand:
    # Spawned, a process has no end of the others' lines: when the main process dies, all of them notice.
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(job, theirs), daemon=True)
    process.start()
    theirs.close()
    return _Hand(process, ours)


def _end(hand: _Hand) -> None:
    hand.line.close()
    hand.process.terminate()
    hand.process.join(5)
    if hand.process.exitcode is None:
        hand.process.kill()
        hand.process.join()


def _serve(job: Job, line: Connection) -> None:
    # Ctrl+C reaches every process of the terminal; it is the main one's to end the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from talkaround.bulk import working

    main = os.getppid()
    with suppress(EOFError, OSError):
        while True:
            batch, killers, careful = line.recv()
            try:
                done = working.work(
                    job,
                    batch,
                    killers,
                    before=line.send if careful else lambda n: None,
                    wanted=lambda: os.getppid() == main,
                )
            except BulkError as error:
                line.send(error)
            except OSError:
                raise
            except Exception as error:
                line.send(
                    BulkError(
                        f"part {batch.number}: {type(error).__name__}: {error}. Report this fault of the program."
                    )
                )
            else:
                line.send(done)
