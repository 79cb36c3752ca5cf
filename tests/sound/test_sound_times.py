"""Timed work on recordings: `pytest -m benchmark tests/sound -s` shows the figures."""

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from recordings import samples, scripts, silence, written
from scorer import Score, score
from talkaround.hearing import Said, listen
from talkaround.intake import note_from_transcript
from talkaround.output import render
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary
from word_errors import word_error_rate

pytestmark = pytest.mark.benchmark

# Of the recogniser's own time.
BEYOND_SHARE = 0.05
MINUTES = (12, 36)
# Megabytes that the longer one of two recordings may take beyond the shorter.
MORE_MEMORY = 60


class Watched:
    """A recogniser, and the seconds that it takes."""

    def __init__(self, model: Any) -> None:
        self.model, self.seconds = model, 0.0
        self.primed_with = model.primed_with

    def write_down(self, samples: Any, *, primed: bool, careful: bool = False) -> list[Said]:
        begin = time.perf_counter()
        found = list(self.model.write_down(samples, primed=primed, careful=careful))
        self.seconds += time.perf_counter() - begin
        return found


def long_recording(path: Path, spoken: Callable[[str], Path], minutes: float) -> Path:
    """All scripts one after the other, again and again, with pauses."""
    parts, rate = [], 22_050
    for key in scripts():
        sound, rate = samples(spoken(key))
        parts += [*sound, *silence(1, rate)]
    times = round(minutes * 60 * rate / len(parts)) or 1
    return written(path, parts * times, rate)


def test_time_beyond_the_recogniser(
    ear: Any, spoken: Callable[[str], Path], tmp_path: Path, vocabulary: Vocabulary
) -> None:
    """Decoding, cutting, reading, judging and drawing; not the start of Python, the vocabulary and the model."""
    path = long_recording(tmp_path / "walk.wav", spoken, 5)
    assert vocabulary.matcher
    watched = Watched(ear.model)
    begin = time.perf_counter()
    note = note_from_transcript(listen(path, watched), source="walk", name="walk")
    render(write_order(note, vocabulary=vocabulary), "json")
    beyond = time.perf_counter() - begin - watched.seconds
    print(f"\nrecogniser {watched.seconds:.1f} s, all else {beyond:.2f} s: {beyond / watched.seconds:.1%}")
    assert beyond <= BEYOND_SHARE * watched.seconds


def test_memory_does_not_grow_with_the_recording(ear: Any, spoken: Callable[[str], Path], tmp_path: Path) -> None:
    script = (
        "import re, sys\nfrom pathlib import Path\nfrom talkaround import cli\n"
        "try: cli.app(['hear', sys.argv[1], '--out', sys.argv[2], '--recogniser', sys.argv[3]])\n"
        "except SystemExit as end: assert not end.code\n"
        # Not ru_maxrss, which a process takes over from the one that started it.
        "print(int(re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text())[1]) / 1024)"
    )
    peaks = []
    for minutes in MINUTES:
        path = long_recording(tmp_path / f"{minutes}.wav", spoken, minutes)
        command = [sys.executable, "-c", script, str(path), str(tmp_path / "out"), str(ear.folder)]
        peaks.append(float(subprocess.run(command, capture_output=True, text=True, check=True).stdout))
    print("\n" + ", ".join(f"{m} min {peak:.0f} MB" for m, peak in zip(MINUTES, peaks, strict=True)))
    assert peaks[1] - peaks[0] <= MORE_MEMORY


def test_priming_helps(
    ear: Any, heard: dict[str, dict[str, Any]], spoken: Callable[[str], Path], vocabulary: Vocabulary
) -> None:
    class Unprimed(Watched):
        def write_down(self, samples: Any, *, primed: bool, careful: bool = False) -> list[Said]:
            return super().write_down(samples, primed=False, careful=careful)

    plain = {key: listen(spoken(key), Unprimed(ear.model)) for key in scripts()}
    said = [script["text"] for script in scripts().values()]
    rates, scores = [], []
    for transcripts in (plain, heard):
        rates.append(word_error_rate(said, [" ".join(s["text"] for s in t["segments"]) for t in transcripts.values()]))
        total = Score()
        for key, transcript in transcripts.items():
            note = note_from_transcript(transcript, source=key, name=key)
            order = write_order(note, vocabulary=vocabulary, steering=scripts()[key]["steering"])
            total += score(scripts()[key], order, vocabulary)
        scores.append(total.f1)
    print(f"\nunprimed: word errors {rates[0]:.3f}, F1 {scores[0]:.3f}; primed: {rates[1]:.3f}, {scores[1]:.3f}")
    # What is read of it counts; the rate of word errors is nearly the same with and without.
    assert scores[1] >= scores[0]
