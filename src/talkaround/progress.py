"""How far a run is, on standard error where that is a terminal; elsewhere only what failed is told."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from talkaround.intake import is_recording

if TYPE_CHECKING:
    from rich.progress import Progress

    from talkaround.hearing import Heard

# From this many notes on, a terminal shows how far the run is.
PROGRESS_FROM = 6


@dataclass(frozen=True)
class Shown:
    """The sources one by one, where a failure is told, and where the listening tells how far it is."""

    sources: Iterable[str]
    report: Callable[[str], None]
    listening: Callable[[Path], Callable[[Heard], None]]


def _report(line: str) -> None:
    print(f"talkaround: {line}", file=sys.stderr, flush=True)


@contextmanager
def shown(sources: list[str]) -> Iterator[Shown]:
    """A bar over many sources, and one over each recording while it is listened to."""
    many = len(sources) >= PROGRESS_FROM
    if not (many or any(map(is_recording, sources))) or not sys.stderr.isatty():
        yield Shown(sources, _report, lambda path: lambda heard: None)
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    # A bar without colours: they would say something about the notes that nobody means.
    console = Console(stderr=True, no_color=True)
    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TextColumn("{task.fields[far]}"))
    with Progress(
        *columns, TimeRemainingColumn(), console=console, transient=True, redirect_stdout=False, redirect_stderr=False
    ) as bars:
        # Above the bars, and not broken at the width of the terminal: one failure stays one line.
        yield Shown(
            _counted(sources, bars) if many else sources,
            lambda line: bars.console.out(f"talkaround: {line}", highlight=False),
            lambda path: _listening(path, bars),
        )


@contextmanager
def counted(what: str, total: int | None = None, before: int = 0) -> Iterator[Callable[[int], None]]:
    """How many of ``what`` are done and how many a second, with a bar and the time left where ``total`` is known.

    Gives what is told how many are done in all; ``before`` of them were done by an earlier run. Only on a terminal;
    elsewhere nothing is shown.
    """
    if not sys.stderr.isatty():
        yield lambda done: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn(what), *([BarColumn()] if total else []), TextColumn("{task.fields[far]}", markup=False))
    console = Console(stderr=True, no_color=True)
    with Progress(*columns, console=console, transient=True, redirect_stdout=False, redirect_stderr=False) as bar:
        task = bar.add_task(what, total=total, completed=before, far=str(before))
        begun = time.monotonic()

        def tell(done: int) -> None:
            rate = (done - before) / max(time.monotonic() - begun, 1e-6)
            far = f"{done}/{total}" if total else str(done)
            if rate:
                far += f", {rate:.0f} a second"
            if rate and total:
                left = int((total - done) / rate)
                far += f", {left // 3600}:{left // 60 % 60:02d}:{left % 60:02d} left"
            bar.update(task, completed=done, far=far)

        yield tell


def _counted(sources: list[str], bars: Progress) -> Iterator[str]:
    task = bars.add_task("notes", total=len(sources), far=f"0/{len(sources)}")
    for number, source in enumerate(sources, 1):
        yield source
        bars.update(task, completed=number, far=f"{number}/{len(sources)}")


def _listening(path: Path, bars: Progress) -> Callable[[Heard], None]:
    """A bar that goes when the recording is through or the next one begins."""
    for task in bars.tasks:
        if task.fields.get("recording"):
            bars.remove_task(task.id)
    name = path.name.encode("utf-8", "replace").decode()
    own = bars.add_task(f"listening to {name}", total=None, far="", recording=True)

    def heard(now: Heard) -> None:
        far = _clock(now.done_s) if now.length_s is None else f"{_clock(now.done_s)} of {_clock(now.length_s)}"
        bars.update(own, completed=now.done_s, total=now.length_s, far=far)

    return heard


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
