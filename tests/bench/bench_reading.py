"""How fast a note becomes a repair order: one table, against general libraries and a bare floor, and how it grows.

    python tests/bench/bench_reading.py                       # the project's own notes
    python tests/bench/bench_reading.py --notes FOLDER --json FIGURES.json
    python tests/bench/bench_reading.py --eds ENV_EDS/bin/python --med ENV_MED/bin/python

Everything is measured in fresh processes, one after the other in turn, so that whatever slows the machine for a while slows
all alike; figures are medians over the turns, with the smallest and largest behind. Keep the machine quiet meanwhile.

EDS-NLP and medspaCy are general libraries for clinical text on spaCy. They get the same notes and vocabulary, and find
terms and what is denied or supposed of them, no more; each wants an environment of its own, for they pin different spaCys:

    python -m venv ENV_EDS && ENV_EDS/bin/pip install edsnlp
    python -m venv ENV_MED && ENV_MED/bin/pip install medspacy

Without --eds or --med that row is left out. What ``lean`` is stands in ``lean.py``, how the rooms are timed in ``rooms.py``.
No test: it runs for a quarter of an hour.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import given
import starting

HERE = Path(__file__).resolve().parent
NOTE_WORDS = [100, 1_000, 10_000, 100_000]
LEXICON_NAMES = [1_000, 10_000, 0, 100_000]
"""0 is the shipped lexicon as it is."""
_TYPICAL_WORDS = 130
_BLANK = "spacy.blank('en')"

Figures = dict[str, dict[str, list[Any]]]
"""By what was measured and by the figure's name: one for each turn."""


class Bench:
    """Runs what is measured, and keeps every figure."""

    def __init__(self, options: argparse.Namespace, scratch: Path):
        self.options, self.scratch = options, scratch
        self.figures: Figures = {}
        # A cache of our own: the first turn fills it, whatever was in the user's.
        paths = os.pathsep.join(str(given.ROOT / name) for name in ("src", "tests"))
        self.environment = {**os.environ, "PYTHONPATH": paths, "XDG_CACHE_HOME": str(scratch)}
        # As after an install: all have their bytecode, whatever is set here; kept apart, so nothing is left in the tree.
        self.environment.pop("PYTHONDONTWRITEBYTECODE", None)
        self.environment["PYTHONPYCACHEPREFIX"] = str(scratch / "bytecode")
        self.given = scratch / "given.json"
        self.typical = scratch / "typical.txt"

    def prepare(self) -> list[dict[str, Any]]:
        notes = given.notes(self.options.notes)
        self.given.write_text(json.dumps({"notes": notes, **given.vocabulary()}), "utf-8")
        texts = sorted((one["note"]["text"] for one in notes), key=lambda t: abs(given.words_in(t) - _TYPICAL_WORDS))
        self.typical.write_text(texts[0], "utf-8")
        return notes

    def child(self, what: str, script: str, *arguments: object, python: str = sys.executable) -> None:
        """Run a script of this folder, and keep the figures that it prints under ``what``."""
        print(f"  {what}", file=sys.stderr, flush=True)
        command = [python, str(HERE / script), *map(str, arguments)]
        done = subprocess.run(command, env=self.environment, stdout=subprocess.PIPE, text=True)
        if done.returncode:
            raise SystemExit(f"{what}: {' '.join(command[:2])} failed; what it said stands above")
        self.keep(what, json.loads(done.stdout.splitlines()[-1]))

    def keep(self, what: str, figures: Mapping[str, Any]) -> None:
        told = self.figures.setdefault(what, {})
        for name, value in figures.items():
            told.setdefault(name, []).append(value)

    def turn(self, number: int) -> None:
        print(f"turn {number} of {self.options.repeats}", file=sys.stderr)
        options = self.options
        pythons = {"EDS-NLP": options.eds, "medspaCy": options.med}
        for reader in ("tokenizing", "lean", "whole reading", "EDS-NLP", "medspaCy"):
            python = pythons.get(reader, sys.executable)
            if python:
                self.child(reader, "readers.py", reader, self.given, options.seconds, python=python)
        self.child("rooms", "rooms.py", self.given, options.seconds)
        self.start()
        for words in (n for n in NOTE_WORDS if n <= options.longest):
            for kind in ("typed", "transcript"):
                self.child(f"{kind} note of {words:,} words", "growth.py", "note", self.given, words, kind)
        for names in (n for n in LEXICON_NAMES if n <= options.largest):
            shop = [self.shop(names)] if names else []
            self.child(_lexicon_row(names), "growth.py", "build", self.given, 0, *shop)
            self.child(_lexicon_row(names), "growth.py", "lexicon", self.given, options.seconds, *shop)

    def start(self) -> None:
        commands = starting.commands(self.typical)
        for _ in range(self.options.starts):
            self.keep(_BLANK, {"seconds": starting.seconds_of(starting.SPACY, self.environment)})
            for name, arguments in commands.items():
                self.keep(name, {"seconds": starting.seconds_of(starting.command(arguments), self.environment)})
        for name, arguments in commands.items():
            self.keep(name, {"spacy": starting.loads_spacy(arguments, self.environment)})
        self.keep("write", {"peak_mib": starting.peak_mib(commands["write"], self.environment)})

    def shop(self, names: int) -> Path:
        folder = self.scratch / f"shop-{names}"
        if not folder.exists():
            import growth

            growth.write_shop(folder, names)
        return folder

    # ----- the table

    def table(self, notes: Sequence[dict[str, Any]]) -> str:
        words = sum(given.words_in(one["note"]["text"]) for one in notes)
        rows = [*self._reader_rows(), *self._room_rows(), *self._start_rows(), *self._growth_rows()]
        head = (
            f"{len(notes)} notes, {words:,} words; Python {platform.python_version()}, {os.cpu_count()} cores "
            f"({_processor()}); {self.options.repeats} turns.\n\n"
            "| What | Figure (median, smallest to largest) | Ratio |\n|---|---|---|\n"
        )
        return head + "\n".join(f"| {' | '.join(row)} |" for row in rows)

    def _reader_rows(self) -> list[tuple[str, str, str]]:
        ours = self.middle("whole reading", "words_s")
        says = {
            "whole reading": "note to order, the whole reading",
            "tokenizing": f"`{_BLANK}`, tokenizing alone",
            "lean": "lean: terms, denied, supposed",
        }
        rows = []
        for reader in ("whole reading", "tokenizing", "lean", "EDS-NLP", "medspaCy"):
            if reader not in self.figures:
                continue
            first, other = self.middle(reader, "first_words_s"), self.middle(reader, "words_s")
            figure = f"{self.span(reader, 'words_s', ',.0f')} words/s, {first:,.0f} in the first pass"
            name = f"{says.get(reader, reader + ', same vocabulary')} ({self.figures[reader]['version'][0]})"
            ratio = "1" if reader == "whole reading" else f"the whole reading has {ours / other:.3g} of its speed"
            rows.append((name, figure, ratio))
        return rows

    def _room_rows(self) -> list[tuple[str, str, str]]:
        shares: dict[str, list[float]] = {}
        for turn in self.figures["rooms"]["share"]:
            for room, share in turn.items():
                shares.setdefault(room, []).append(share)
        clocks = self.middle("rooms", "clocks")
        rows = []
        for room, told in shares.items():
            figure = f"{statistics.median(told):.3f} of the whole"
            rows.append((f"of the time, {room}", _span(told, ".1%"), figure))
        return [*rows, ("reading with clocks at the rooms' doors", "", f"{clocks:.2f} x the time without")]

    def _start_rows(self) -> list[tuple[str, str, str]]:
        blank = self.middle(_BLANK, "seconds")
        rows = [(f'`python -c "import spacy; {_BLANK}"`', f"{self.span(_BLANK, 'seconds', '.2f')} s", "1")]
        for name in starting.commands(self.typical):
            spacy = "loads spaCy" if any(self.figures[name]["spacy"]) else "no spaCy"
            figure = f"{self.span(name, 'seconds', '.2f')} s, {spacy}"
            shown = "write NOTE`, start to first order" if name == "write" else f"{name}`, start to end"
            rows.append((f"`talkaround {shown}", figure, f"{self.middle(name, 'seconds') / blank:.2f} x"))
        peak, least = self.middle("write", "peak_mib"), self.middle("tokenizing", "peak_mib")
        figure = f"{self.span('write', 'peak_mib', '.0f')} MiB"
        return [*rows, ("memory of `talkaround write NOTE`, most", figure, f"{peak / least:.2f} x tokenizing alone")]

    def _growth_rows(self) -> list[tuple[str, str, str]]:
        import growth

        rows = []
        for kind in ("typed", "transcript"):
            sizes = [n for n in NOTE_WORDS if n <= self.options.longest]
            if not sizes:
                continue
            each = [self.middle(f"{kind} note of {n:,} words", "us_word") for n in sizes]
            for n, us in zip(sizes, each, strict=True):
                what = f"{kind} note of {n:,} words"
                memory = f"{self.middle(what, 'peak_mib'):.0f} MiB"
                figure = f"{self.span(what, 'us_word', ',.0f')} microseconds a word, {memory}"
                rows.append((what, figure, f"{us / each[0]:.2f} x the shortest"))
            if len(sizes) > 1:
                power = growth.exponent(sizes, [n * us for n, us in zip(sizes, each, strict=True)])
                rows.append((f"time of a {kind} note of n words", "fitted to the rows above", f"n^{power:.2f}"))
        shown = [n for n in LEXICON_NAMES if n <= self.options.largest]
        shipped = self.middle(_lexicon_row(0), "words_s")
        for n in shown:
            what = _lexicon_row(n)
            names, built, load, memory = (
                self.middle(what, figure) for figure in ("names", "built_s", "load_s", "peak_mib")
            )
            figure = (
                f"{self.span(what, 'words_s', ',.0f')} words/s; {built:.2f} s to build, {load:.2f} s from the cache, "
                f"{memory:.0f} MiB"
            )
            ratio = f"{self.middle(what, 'words_s') / shipped:.2f} x the shipped one's speed"
            rows.append((f"{what}: {names:,.0f} names of parts", figure, ratio))
        if len(shown) > 1:
            counts = [self.middle(_lexicon_row(n), "names") for n in shown]
            power = growth.exponent(counts, [1 / self.middle(_lexicon_row(n), "words_s") for n in shown])
            rows.append(("time of a word with n names", "fitted to the rows above", f"n^{power:.2f}"))
        return rows

    def middle(self, what: str, figure: str) -> float:
        return statistics.median(self.figures[what][figure])

    def span(self, what: str, figure: str, form: str) -> str:
        return _span(self.figures[what][figure], form)


def _span(told: Sequence[float], form: str) -> str:
    middle, least, most = statistics.median(told), min(told), max(told)
    return f"{middle:{form}} ({least:{form}} to {most:{form}})" if len(told) > 1 else f"{middle:{form}}"


def _lexicon_row(names: int) -> str:
    return f"lexicon of about {names:,}" if names else "lexicon as shipped"


def _processor() -> str:
    """The processor's name where Linux tells it."""
    try:
        rows = Path("/proc/cpuinfo").read_text("utf-8").splitlines()
    except OSError:
        return platform.machine()
    return next((row.partition(":")[2].strip() for row in rows if row.startswith("model name")), platform.machine())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--notes", type=Path, metavar="FOLDER", help="notes to read in place of the project's own")
    parser.add_argument("--repeats", type=int, default=3, help="turns, of which the medians are told (3)")
    parser.add_argument("--seconds", type=float, default=5, help="how long each reader reads in a turn (5)")
    parser.add_argument("--starts", type=int, default=5, help="starts of the command in a turn (5)")
    parser.add_argument("--longest", type=int, default=NOTE_WORDS[-1], help="longest note, words (100,000)")
    parser.add_argument("--largest", type=int, default=LEXICON_NAMES[-1], help="largest lexicon, names (100,000)")
    parser.add_argument("--eds", metavar="PYTHON", help="Python of an environment that has EDS-NLP")
    parser.add_argument("--med", metavar="PYTHON", help="Python of an environment that has medspaCy")
    parser.add_argument("--json", type=Path, metavar="FILE", help="where every single figure is written")
    options = parser.parse_args()
    if min(options.repeats, options.starts) < 1:
        parser.error("--repeats and --starts want 1 or more")
    with tempfile.TemporaryDirectory(prefix="bench-") as scratch:
        bench = Bench(options, Path(scratch))
        notes = bench.prepare()
        for number in range(1, options.repeats + 1):
            bench.turn(number)
            if options.json:
                options.json.write_text(json.dumps(bench.figures, indent=1), "utf-8")
        print(bench.table(notes))


if __name__ == "__main__":
    main()
