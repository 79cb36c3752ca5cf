"""A Dask cluster that is there already: batches go to its workers, and what they write stays where they write it."""

from __future__ import annotations

import logging
import re
import time
from collections import Counter
from collections.abc import Iterator
from typing import Any

from distributed import Client, KilledWorker, as_completed
from distributed.client import FutureCancelledError

from talkaround.bulk import working
from talkaround.bulk.job import Batch, BulkError, Done, Job, Outcome
from talkaround.bulk.notes import one_by_one

_PATIENCE_S = 10
_BLAMED = 4


def work(job: Job, batches: Iterator[Batch], address: str, outcome: Outcome) -> Iterator[Done]:
    """Every batch's part, as they are done. Raises ``BulkError``."""
    if not re.fullmatch(r"(\w+://)?[^/\s]+:\d+", address):
        # A client that fails on the form of its address takes long to let go of itself.
        raise BulkError(f"{address}: is no address of a Dask scheduler. Write it as tcp://host:8786.")
    try:
        client = Client(address, timeout=_PATIENCE_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        what = " ".join(str(error).split())
        raise BulkError(f"{address}: no Dask scheduler answers ({what}). Check the address, or start one.") from None
    # A worker that goes is made good without a word; what cannot be made good is raised.
    for name in ("distributed", "distributed.client"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with client:
        # What is wrong with every machine is told before the first batch.
        _told(lambda: client.run(working.ready, job))
        running: dict[Any, tuple[Batch, frozenset[int]]] = {}
        blamed: Counter[int] = Counter()
        ready = as_completed(loop=client.loop)

        def submit(batch: Batch, killers: frozenset[int] = frozenset()) -> None:
            future = client.submit(working.work, job, batch, killers, pure=False)
            running[future] = batch, killers
            ready.add(future)

        def fill() -> None:
            # Two for each thread: one that is read, and one that lies at hand.
            width = 2 * max(1, sum(client.nthreads().values()))
            while len(running) < width and (batch := next(batches, None)) is not None:
                submit(batch)

        fill()
        begun = time.monotonic()
        for future in ready:
            outcome.waited_s += time.monotonic() - begun
            batch, killers = running.pop(future)
            try:
                done = _told(future.result)
            except KilledWorker:
                found = _killers(client, job, batch)
                if not found - killers:
                    # Dask blames what lies beside a killing note too: such a batch is tried again.
                    blamed[batch.number] += 1
                    if blamed[batch.number] == _BLAMED:
                        raise BulkError(
                            f"part {batch.number}: the workers end over it, and over none of its notes alone. See that they "
                            "have memory left (--batch takes fewer notes at once, into another folder)."
                        ) from None
                submit(batch, killers | found)
            else:
                yield done
            del future
            fill()
            begun = time.monotonic()


def _killers(client: Client, job: Job, batch: Batch) -> frozenset[int]:
    """The places of the notes that end the process that reads them, each tried by itself."""
    found = set()
    # One after the other: of two on one worker, the other would be blamed too.
    for n, one in enumerate(one_by_one(batch)):
        try:
            _told(client.submit(working.try_note, job, one, pure=False).result)
        except KilledWorker:
            found.add(n)
    return frozenset(found)


def _told(result: Any) -> Any:
    """What ``result`` gives; what the cluster has against it as a ``BulkError``."""
    try:
        return result()
    except (BulkError, KilledWorker):
        raise
    except ModuleNotFoundError as error:
        raise BulkError(
            f'a worker lacks {error.name}: install it there with pip install "talkaround[cluster]".'
        ) from None
    except (FutureCancelledError, OSError, TimeoutError) as error:
        what = " ".join(str(error).split())
        raise BulkError(f"the cluster is gone ({what}). Start it, and the same command goes on.") from None
