"""All rows of a place through the points, on all cores where there are many: one tally, and the visits on disk."""

from __future__ import annotations

import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import chain, islice
from multiprocessing import get_context

from talkaround.audit.places import PlaceError, Row
from talkaround.audit.points import Points
from talkaround.audit.tally import Asked, Tally, tally_of
from talkaround.audit.visits import VisitsTable
from talkaround.batch import cores
from talkaround.vocabulary import Vocabulary

_ALONE = 4
"""Up to so many batches it is quicker not to start other processes."""

_here: Points | None = None


def tally_all(
    batches: Iterable[list[Row]],
    vocabulary: Vocabulary,
    asked: Asked,
    visits: VisitsTable,
    *,
    workers: int | None = None,
    progress: Callable[[int], None] = lambda rows: None,
) -> Tally:
    """The tally of all ``batches``. ``progress`` gets the number of rows counted so far; ``workers`` None is all cores.

    Raises:
        PlaceError: a process ended before its time, as where memory ran out.
    """
    total, done = Tally(), 0
    for tally, rows in _tallies(batches, vocabulary, asked, workers or cores()):
        found, tally.visits = tally.visits, []
        visits.add(found)
        total.add(tally, asked.sample)
        done += rows
        progress(done)
    return total


def _tallies(
    batches: Iterable[list[Row]], vocabulary: Vocabulary, asked: Asked, workers: int
) -> Iterator[tuple[Tally, int]]:
    """In the order of the batches, with no more of them in memory than the processes need to keep busy."""
    batches = iter(batches)
    first = list(islice(batches, _ALONE))
    row = 0
    if len(first) < _ALONE or workers == 1:
        points = Points(vocabulary)
        for batch in chain(first, batches):
            yield tally_of(batch, row, points, asked), len(batch)
            row += len(batch)
        return
    waiting: deque[tuple[Future[Tally], int]] = deque()
    # Not forked: a parent with threads (the desk, DuckDB) must not be copied as it stands.
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin, (vocabulary,))
    try:
        for batch in chain(first, batches):
            waiting.append((pool.submit(_work, batch, row, asked), len(batch)))
            row += len(batch)
            if len(waiting) > 2 * workers:
                future, rows = waiting.popleft()
                yield future.result(), rows
        while waiting:
            future, rows = waiting.popleft()
            yield future.result(), rows
    except BrokenProcessPool:
        raise PlaceError(
            "a process that counts orders ended before its time; nothing was written. See that the machine has memory left "
            "and give the same command again; --workers 1 needs the least."
        ) from None
    finally:
        pool.shutdown(cancel_futures=True)


def _begin(vocabulary: Vocabulary) -> None:
    global _here
    # Ctrl+C reaches every process of the terminal; it is the main one's to end the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _here = Points(vocabulary)


def _work(batch: list[Row], first_row: int, asked: Asked) -> Tally:
    assert _here is not None
    return tally_of(batch, first_row, _here, asked)


__all__ = ["tally_all"]
