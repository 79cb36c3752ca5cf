"""Input files of small notes, and the command as its own process."""

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq

ROOT = Path(__file__).resolve().parents[2]
COMMAND = [sys.executable, "-m", "talkaround.cli", "bulk"]
# A note with this word ends the process that reads it, as one would that takes all the memory.
KILLING = "zzkill"
_KILLS = f"""
import os, signal
from talkaround.bulk import working
read = working.write_order
def write_order(note, **more):
    if {KILLING!r} in note.text:
        os.kill(os.getpid(), signal.SIGKILL)
    return read(note, **more)
working.write_order = write_order
"""


def small_notes(many: int) -> list[dict[str, Any]]:
    sides, parts = ("left", "right"), ("lower ball joint", "outer tie rod end", "brake caliper", "wheel bearing")
    return [
        {
            "id": f"n{n}",
            "text": f"Front {sides[n % 2]} {parts[n % 4]} is loose. Pads are {2 + n % 8} mm.",
            "shop": "north",
        }
        for n in range(many)
    ]


def json_lines(path: Path, rows: Iterable[Any]) -> Path:
    """``rows`` one a line; bytes stand as they are."""
    path.write_bytes(b"".join(r if isinstance(r, bytes) else json.dumps(r).encode() + b"\n" for r in rows))
    return path


def environment(more: Mapping[str, str] | None = None) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT / "src"), **(more or {})}


def with_killing(folder: Path) -> dict[str, str]:
    """The environment in which notes with ``KILLING`` kill."""
    (folder / "sitecustomize.py").write_text(_KILLS)
    return environment({"PYTHONPATH": os.pathsep.join([str(folder), str(ROOT / "src")])})


def bulk(*arguments: object, env: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *map(str, arguments)], capture_output=True, text=True, env=env or environment(), timeout=120
    )


def rows_in(folder: Path) -> list[dict[str, Any]]:
    """The rows of all parts, one part after the other."""
    return [row for part in sorted(folder.glob("part-*.parquet")) for row in pq.read_table(part).to_pylist()]
