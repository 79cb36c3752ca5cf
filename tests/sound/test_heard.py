"""From speech to the order with a real recogniser, the smallest there is, and a synthetic voice."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from recordings import CODECS, RATE, encoded, music, noise, samples, scripts, silence, speak, written
from scorer import Score, score
from talkaround.hearing import listen
from talkaround.intake import NoteError, note_from_transcript
from talkaround.models import RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary
from word_errors import word_error_rate

# What the smallest recogniser makes of a synthetic voice is rough; these are to tell a broken path from a working one.
ERRORS_CEILING, ERRORS_OF_ONE_CEILING, F1_FLOOR = 0.15, 0.35, 0.65


def text_of(transcript: dict[str, Any]) -> str:
    return " ".join(segment["text"] for segment in transcript["segments"])


@pytest.fixture(scope="module")
def orders_heard(heard: dict[str, dict[str, Any]], vocabulary: Vocabulary) -> dict[str, RepairOrder]:
    return {
        key: write_order(
            note_from_transcript(transcript, source=key, name=key),
            vocabulary=vocabulary,
            steering=scripts()[key]["steering"],
        )
        for key, transcript in heard.items()
    }


def test_most_words_are_heard(heard: dict[str, dict[str, Any]]) -> None:
    said = {key: scripts()[key]["text"] for key in heard}
    written_down = {key: text_of(transcript) for key, transcript in heard.items()}
    each = {key: word_error_rate([said[key]], [written_down[key]]) for key in heard}
    assert word_error_rate(list(said.values()), list(written_down.values())) <= ERRORS_CEILING, each
    assert max(each.values()) <= ERRORS_OF_ONE_CEILING, each


@pytest.mark.parametrize(
    ("key", "component", "place"),
    [
        ("sa-01", "brake-rotor", {"axle": "front", "side": "left"}),
        ("sa-02", "lower-ball-joint", {"axle": "front", "side": "left"}),
        ("sa-04", "serpentine-belt", {}),
        ("sa-05", "wheel-bearing", {"axle": "rear", "side": "right"}),
        ("sa-06", "coil-spring", {"axle": "rear", "side": "right"}),
        ("sa-07", "brake-caliper", {"axle": "rear", "side": "left"}),
        ("sa-08", "oil-pan-gasket", {}),
        ("sa-10", "windshield", {"side": "right"}),
    ],
)
def test_what_was_spoken_is_on_the_order(
    key: str, component: str, place: dict[str, str], orders_heard: dict[str, RepairOrder]
) -> None:
    """The scripts say so in plain words: a scored left front rotor, a broken offside rear spring."""
    defects = [line for line in orders_heard[key].lines if line.severity != "good" and line.component.id == component]
    places = [line.position.model_dump(exclude_none=True, exclude={"level", "place"}) for line in defects]
    assert place in places


def test_findings_from_sound_are_found_and_are_right(
    orders_heard: dict[str, RepairOrder], vocabulary: Vocabulary
) -> None:
    each = {key: score(scripts()[key], order, vocabulary) for key, order in orders_heard.items()}
    total = sum(each.values(), Score())
    assert total.f1 >= F1_FLOOR, each


def test_evidence_points_into_the_recording(ear: Any, tmp_path: Path, vocabulary: Vocabulary) -> None:
    """Two sentences with silence before and between them: the times are known from how the recording was made."""
    horn, rate = samples(speak("The horn does not work.", tmp_path / "horn.wav"))
    belt, _ = samples(speak("The serpentine belt is cracked.", tmp_path / "belt.wav"))
    path = written(tmp_path / "walk.wav", [*silence(3, rate), *horn, *silence(4, rate), *belt], rate)
    note = note_from_transcript(listen(path, ear.model), source="walk", name="walk")
    order = write_order(note, vocabulary=vocabulary)
    starts = {line.component.id: line.evidence[0].start_s for line in order.lines}
    assert starts["horn"] == pytest.approx(3, abs=1)
    assert starts["serpentine-belt"] == pytest.approx(7 + len(horn) / rate, abs=1)


@pytest.mark.parametrize("kind", list(CODECS))
def test_every_format_is_heard(kind: str, ear: Any, spoken: Callable[[str], Path]) -> None:
    transcript = listen(encoded(spoken("sa-07"), kind), ear.model)
    assert word_error_rate([scripts()["sa-07"]["text"]], [text_of(transcript)]) <= ERRORS_OF_ONE_CEILING


@pytest.mark.parametrize("sound", [silence(6), noise(8), music(8)], ids=["silence", "noise", "music"])
def test_where_nobody_speaks_nothing_is_made_up(sound: list[int], ear: Any, tmp_path: Path) -> None:
    with pytest.raises(NoteError, match="no speech"):
        listen(written(tmp_path / "walk.wav", sound, RATE), ear.model)


def test_the_command_goes_the_whole_way(ear: Any, spoken: Callable[[str], Path], tmp_path: Path) -> None:
    broken = tmp_path / "broken.mp3"
    broken.write_text("no sound", encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "talkaround.cli",
        "write",
        str(broken),
        str(spoken("sa-07")),
        "--out",
        str(tmp_path),
    ]
    options = ["--recogniser", str(ear.folder), "--steering", "right-hand"]
    done = subprocess.run([*command, *options], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert str(broken) in line
    order = json.loads((tmp_path / "sa-07.json").read_text("utf-8"))
    assert order["note"]["kind"] == "audio"
    assert "brake-caliper" in {line["component"]["id"] for line in order["lines"]}
    assert all(evidence["start_s"] is not None for line in order["lines"] for evidence in line["evidence"])
