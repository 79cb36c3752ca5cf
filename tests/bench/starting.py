"""How fast the command starts, whether spaCy is loaded for it, and the most memory that it takes."""

from __future__ import annotations

import math
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

_TELLS_MEMORY = """
import atexit, runpy, sys
from pathlib import Path
atexit.register(lambda: sys.stderr.write(Path("/proc/self/status").read_text()))
runpy.run_module("talkaround.cli", run_name="__main__", alter_sys=True)
"""
SPACY = [sys.executable, "-c", "import spacy; spacy.blank('en')"]
"""What the start of the command is held against."""


def commands(note: Path) -> dict[str, list[str]]:
    """Arguments of the command by what is measured."""
    return {
        "write": ["write", str(note)],
        "--help": ["--help"],
        "--version": ["--version"],
        "lexicon check": ["lexicon", "check"],
    }


def command(arguments: list[str]) -> list[str]:
    return [sys.executable, "-m", "talkaround.cli", *arguments]


def seconds_of(process: list[str], environment: Mapping[str, str]) -> float:
    """From start to end, with the output thrown away."""
    begun = time.perf_counter()
    subprocess.run(process, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return time.perf_counter() - begun


def loads_spacy(arguments: list[str], environment: Mapping[str, str]) -> bool:
    """Whether spaCy is imported on the way, as Python itself tells."""
    process = [sys.executable, "-X", "importtime", *command(arguments)[1:]]
    told = subprocess.run(process, env=environment, capture_output=True, text=True, check=True).stderr
    return any(row.rpartition("|")[2].strip() == "spacy" for row in told.splitlines())


def peak_mib(arguments: list[str], environment: Mapping[str, str]) -> float:
    """``VmHWM`` of the command at its end, MiB; not a number where the system does not tell."""
    if not Path("/proc/self/status").exists():
        return math.nan
    process = [sys.executable, "-c", _TELLS_MEMORY, *arguments]
    told = subprocess.run(process, env=environment, capture_output=True, text=True, check=True).stderr
    return next(int(row.split()[1]) / 1024 for row in told.splitlines() if row.startswith("VmHWM"))
