"""The time that each room of the reading takes: ``python rooms.py GIVEN SECONDS`` prints its share as JSON.

A profiler makes every call slower, and small ones most. Here only the doors of the rooms have a clock: each is replaced in
the module that calls it by one that looks at the clock on the way in and out, and the time between two looks is that of the
innermost room that is open. The same notes are read without clocks too, for what they cost.
"""

from __future__ import annotations

import importlib
import json
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from talkaround.models import Note
from talkaround.output import as_json
from talkaround.pipeline import write_order
from talkaround.vocabulary import load_vocabulary

REST = "between the rooms"
ROOMS = {
    "words": ["talkaround.reading:read_words"],
    "mending": ["talkaround.reading.words:mend"],
    "codes": ["talkaround.reading.tagging:read_codes"],
    "quantities": ["talkaround.reading.tagging:find_quantities"],
    "mentions": ["talkaround.reading.tagging:find_mentions"],
    "clauses": ["talkaround.reading:cut_clauses"],
    "walk": ["talkaround.reading.walk:Walk.__init__", "talkaround.reading.walk:Walk.run"],
    "judging": [f"talkaround.pipeline:{door}" for door in ("_book_of", "judge", "add_companions", "ask")],
    "order": ["talkaround.pipeline:assemble"],
    "output (JSON)": ["talkaround.output.as_json:render"],
}
"""The doors of each room: the module that calls it, and its name there."""


class Clock:
    """Time by the innermost room that is open, seconds."""

    def __init__(self) -> None:
        self.seconds = dict.fromkeys([*ROOMS, REST], 0.0)
        self._open = [REST]
        self._since = time.perf_counter()

    def look(self) -> None:
        now = time.perf_counter()
        self.seconds[self._open[-1]] += now - self._since
        self._since = now

    def skip(self) -> None:
        """Leave the time since the last look out of account."""
        self._since = time.perf_counter()

    def at_door(self, room: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def through(*args: Any, **options: Any) -> Any:
            self.look()
            self._open.append(room)
            try:
                return call(*args, **options)
            finally:
                self.look()
                self._open.pop()

        return through

    def doors(self) -> list[tuple[Any, str, Callable[..., Any], Callable[..., Any]]]:
        """Of every door: whose it is, its name, and the call without and with a clock."""
        found = []
        for room, doors in ROOMS.items():
            for door in doors:
                module, _, name = door.partition(":")
                *owner, last = name.split(".")
                at: Any = importlib.import_module(module)
                for part in owner:
                    at = getattr(at, part)
                bare = getattr(at, last)
                found.append((at, last, bare, self.at_door(room, bare)))
        return found


def measured(given: dict[str, Any], seconds: float) -> dict[str, Any]:
    """``share`` by room, adding up to 1, and ``clocks``: the time with clocks as a multiple of that without."""
    vocabulary = load_vocabulary()
    notes = [(Note.model_validate(one["note"]), one["steering"]) for one in given["notes"]]

    def once() -> float:
        begun = time.perf_counter()
        for note, side in notes:
            as_json.render(write_order(note, vocabulary=vocabulary, steering=side))
        return time.perf_counter() - begun

    once()
    clock = Clock()
    doors = clock.doors()
    times: dict[bool, list[float]] = {False: [], True: []}
    # By turns, so that whatever slows the machine for a while slows both.
    while sum(times[True]) < seconds:
        for clocked in (False, True):
            for owner, name, bare, timed in doors:
                setattr(owner, name, timed if clocked else bare)
            clock.skip()
            times[clocked].append(once())
            if clocked:
                clock.look()
    whole = sum(clock.seconds.values())
    share = {room: s / whole for room, s in clock.seconds.items()}
    return {"share": share, "clocks": statistics.median(times[True]) / statistics.median(times[False])}


if __name__ == "__main__":
    print(json.dumps(measured(json.loads(Path(sys.argv[1]).read_text("utf-8")), float(sys.argv[2]))))
