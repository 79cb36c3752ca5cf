"""An existing Dask cluster; it needs the cluster extra. The folder of the parts must be reachable for all workers."""

from __future__ import annotations

from collections.abc import Callable, Collection
from types import TracebackType
from typing import Any

from distributed import Client, Future, KilledWorker
from distributed import wait as wait_for

from talkaround.bulk.job import BulkError
from talkaround.bulk.pool import WorkerDied

_CONNECT_S = 20
"""How long the scheduler is given to answer, seconds."""


class DaskCluster:
    """The workers of the scheduler at ``address``; a worker that dies has its work done by another.

    Raises:
        BulkError: no scheduler answers there, or it has no worker.
    """

    fall_together = False

    def __init__(self, address: str):
        try:
            self._client = Client(address, timeout=_CONNECT_S, set_as_default=False)
            self.size = sum(self._client.nthreads().values())
        except (OSError, ValueError, TimeoutError) as error:
            why = str(error) or type(error).__name__
            raise BulkError(f"--scheduler {address}: no Dask scheduler answers ({why}). Check the address.") from None
        if not self.size:
            self._client.close()
            raise BulkError(f"--scheduler {address}: has no worker. Start some with `dask worker {address}`.")

    def submit(self, do: Callable[..., Any], *args: Any) -> Future:
        return self._client.submit(do, *args, pure=False, retries=1)

    def first_done(self, futures: Collection[Future]) -> set[Future]:
        return set(wait_for(list(futures), return_when="FIRST_COMPLETED").done)

    def result(self, future: Future) -> Any:
        try:
            return future.result()
        except KilledWorker:
            raise WorkerDied from None

    def alone(self, do: Callable[..., Any], *args: Any) -> Any:
        return self.result(self.submit(do, *args))

    def mend(self) -> None:
        """Nothing: the scheduler gives a dead worker's work to the others by itself."""

    def __enter__(self) -> DaskCluster:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._client.close()


__all__ = ["DaskCluster"]
