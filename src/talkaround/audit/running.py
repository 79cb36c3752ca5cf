"""All rows of a place through the points, on all cores where there are many: one tally, and the visits on disk."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import chain, islice
from multiprocessing import get_context

from talkaround.audit.places import Row
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
    """The tally of all ``batches``. ``progress`` gets the number of rows counted so far; ``workers`` None is all cores."""
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
    with ProcessPoolExecutor(workers, get_context("spawn"), _begin, (vocabulary,)) as pool:
        for batch in chain(first, batches):
            waiting.append((pool.submit(_work, batch, row, asked), len(batch)))
            row += len(batch)
            if len(waiting) > 2 * workers:
                future, rows = waiting.popleft()
                yield future.result(), rows
        while waiting:
            future, rows = waiting.popleft()
            yield future.result(), rows


def _begin(vocabulary: Vocabulary) -> None:
    global _here
    _here = Points(vocabulary)


def _work(batch: list[Row], first_row: int, asked: Asked) -> Tally:
    assert _here is not None
    return tally_of(batch, first_row, _here, asked)


__all__ = ["tally_all"]
