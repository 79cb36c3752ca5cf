"""Processes on this machine; a pool that a dying process has broken is made anew."""

from __future__ import annotations

from collections.abc import Callable, Collection
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from types import TracebackType
from typing import Any, Protocol

from talkaround.bulk.job import Job
from talkaround.bulk.reading import begin


class WorkerDied(Exception):
    """A process died over its work: killed, out of memory, or brought down by what it read."""


class Workers(Protocol):
    """Processes that do work, here or elsewhere. A future that failed with a dead process raises ``WorkerDied``."""

    size: int
    fall_together: bool
    """Whether one that dies brings down all that is under way."""

    def submit(self, do: Callable[..., Any], *args: Any) -> Any: ...

    def first_done(self, futures: Collection[Any]) -> set[Any]:
        """Wait until at least one is done; gives those that are."""
        ...

    def result(self, future: Any) -> Any: ...

    def alone(self, do: Callable[..., Any], *args: Any) -> Any:
        """Do it by itself, so that no other work is lost should it bring its process down."""
        ...

    def mend(self) -> None:
        """Be ready again after a process has died. Work that was under way may have to be given again."""
        ...

    def __enter__(self) -> Workers: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None: ...


class LocalPool:
    """``size`` processes on this machine."""

    fall_together = True

    def __init__(self, job: Job, size: int):
        self.job, self.size = job, size
        self._pool = self._new(size)

    def submit(self, do: Callable[..., Any], *args: Any) -> Future[Any]:
        try:
            return self._pool.submit(do, *args)
        except BrokenProcessPool:
            failed: Future[Any] = Future()
            failed.set_exception(BrokenProcessPool())
            return failed

    def first_done(self, futures: Collection[Future[Any]]) -> set[Future[Any]]:
        return wait(futures, return_when=FIRST_COMPLETED).done

    def result(self, future: Future[Any]) -> Any:
        try:
            return future.result()
        except BrokenProcessPool:
            raise WorkerDied from None

    def alone(self, do: Callable[..., Any], *args: Any) -> Any:
        with self._new(1) as pool:
            return self.result(pool.submit(do, *args))

    def mend(self) -> None:
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool = self._new(self.size)

    def __enter__(self) -> LocalPool:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._pool.shutdown(wait=kind is None, cancel_futures=True)

    def _new(self, size: int) -> ProcessPoolExecutor:
        # Not forked: what a process has open or locked must not be copied into its children.
        return ProcessPoolExecutor(size, get_context("spawn"), begin, (self.job,))


__all__ = ["LocalPool", "WorkerDied", "Workers"]
