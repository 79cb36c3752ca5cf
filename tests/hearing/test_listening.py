"""Recordings through a stand-in recogniser: blocks, times, progress, and what is refused. Needs the decoders only."""

import math
import wave
from array import array
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from sound_parts import need
from talkaround.hearing import Heard, Said, Timed, listen
from talkaround.intake import NoteError, note_from_transcript, read_note

need("av")

RATE = 16_000


def recording(path: Path, seconds: float, rate: int = RATE, quiet_at: float | None = None) -> Path:
    """A WAV file with a tone, and with half a second of silence from ``quiet_at`` on."""
    quiet = range(0) if quiet_at is None else range(int(quiet_at * rate), int((quiet_at + 0.5) * rate))
    tone = (0 if n in quiet else int(9000 * math.sin(n / 7)) for n in range(int(seconds * rate)))
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(array("h", tone).tobytes())
    return path


class Stand:
    """Writes down the same words for each block, one second each; what it says unprimed may differ."""

    primed_with = ("ball joint", "tie rod end", "rotor")

    def __init__(self, primed: str, unprimed: str = "", certainty: float = -0.2, silence: float = 0.0) -> None:
        self.texts = {True: primed, False: unprimed}
        self.certainty, self.silence = certainty, silence
        self.blocks: list[float] = []

    def write_down(self, samples: Any, *, primed: bool, careful: bool = False) -> Iterable[Said]:
        self.blocks.append(len(samples) / RATE)
        words = tuple(Timed(f" {w}", float(n), n + 0.9) for n, w in enumerate(self.texts[primed].split()))
        return [Said(words, self.certainty, self.silence)] if words else []


def refusal(path: Path, recogniser: Stand) -> str:
    with pytest.raises(NoteError) as caught:
        listen(path, recogniser)
    line = str(caught.value)
    assert line.startswith(f"{path}: ")
    assert len(line.splitlines()) == 1
    return line


def test_words_carry_the_time_at_which_they_were_said_in_the_recording(tmp_path: Path) -> None:
    path = recording(tmp_path / "walk.wav", 9, quiet_at=4.5)
    transcript = listen(path, Stand("horn works."), block_s=6)
    words = [(w["word"], w["start"]) for segment in transcript["segments"] for w in segment["words"]]
    # Cut in the silence between 4.5 and 5 seconds, and the second block's times go on from there.
    assert words[:2] == [(" horn", 0.0), (" works.", 1.0)]
    assert words[2][0] == " horn"
    assert 4.5 <= words[2][1] <= 5.0
    assert transcript["duration"] == 9.0


def test_a_long_recording_is_heard_in_blocks_and_none_of_it_is_lost(tmp_path: Path) -> None:
    recogniser, far = Stand("horn"), list[Heard]()
    listen(recording(tmp_path / "walk.wav", 50), recogniser, far.append, block_s=8)
    assert max(recogniser.blocks) <= 8
    assert sum(recogniser.blocks) == pytest.approx(50, abs=0.01)
    assert [heard.done_s for heard in far] == sorted(heard.done_s for heard in far)
    assert far[-1].done_s == pytest.approx(50, abs=0.01)
    assert far[-1].length_s == pytest.approx(50, abs=0.01)


@pytest.mark.parametrize("rate", [8_000, 44_100])
def test_any_sampling_rate_keeps_its_length(tmp_path: Path, rate: int) -> None:
    recogniser = Stand("horn")
    listen(recording(tmp_path / "walk.wav", 3, rate), recogniser)
    assert sum(recogniser.blocks) == pytest.approx(3, abs=0.05)


def test_a_block_that_it_went_astray_in_is_written_down_again_unprimed(tmp_path: Path) -> None:
    recogniser = Stand("Ball joint, tie rod end, rotor.", "Rotor is scored.")
    transcript = listen(recording(tmp_path / "walk.wav", 3), recogniser)
    assert [segment["text"] for segment in transcript["segments"]] == ["Rotor is scored."]


@pytest.mark.parametrize(
    "recogniser",
    [
        Stand(""),
        Stand("Ball joint, tie rod end, rotor."),
        Stand("ball joint, tie rod end, rotor", "bring it " * 30),
        Stand("Thank you.", certainty=-1.2, silence=0.9),
    ],
)
def test_no_speech_is_one_line_and_no_transcript(tmp_path: Path, recogniser: Stand) -> None:
    assert "no speech" in refusal(recording(tmp_path / "walk.wav", 3), recogniser)


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"Front pads 3 mm", "no sound"),
        (bytes(5000), "no sound"),
        (b"#EXTM3U\n#EXTINF:1,\nfile:///etc/hosts\n", "no sound"),
    ],
)
def test_what_is_no_sound_is_refused(tmp_path: Path, data: bytes, problem: str) -> None:
    path = tmp_path / "walk.wav"
    path.write_bytes(data)
    assert problem in refusal(path, Stand("horn"))


def test_a_recording_of_no_length_is_refused(tmp_path: Path) -> None:
    assert "no length" in refusal(recording(tmp_path / "walk.wav", 0), Stand("horn"))


def test_a_recording_that_breaks_off_is_refused_and_says_where(tmp_path: Path) -> None:
    """A FLAC file tells its length at its beginning (RFC 9639, section 8.2)."""
    import av

    whole = recording(tmp_path / "walk.wav", 20)
    cut = tmp_path / "walk.flac"
    with av.open(str(whole)) as given, av.open(str(cut), "w") as made:
        stream = made.add_stream("flac", rate=RATE)
        for frame in given.decode(audio=0):
            made.mux(stream.encode(frame))
        made.mux(stream.encode(None))
    assert listen(cut, Stand("horn"))["duration"] == pytest.approx(20, abs=0.1)
    cut.write_bytes(cut.read_bytes()[: cut.stat().st_size // 2])
    assert "of 0:20" in refusal(cut, Stand("horn"))


def test_a_name_in_any_letters(tmp_path: Path) -> None:
    assert listen(recording(tmp_path / "Bühne 3 – früh %20 http:x.wav", 1), Stand("horn"))["segments"]


def test_a_recording_becomes_a_note_with_times(tmp_path: Path) -> None:
    path = recording(tmp_path / "walk.wav", 3)
    note = read_note(path, listener=lambda given: listen(given, Stand("Horn works. Wipers streak.")))
    assert (note.name, note.kind, note.text) == ("walk", "audio", "Horn works.\nWipers streak.")
    assert [(u.start_s, u.end_s) for u in note.utterances] == [(0.0, 1.9), (2.0, 3.9)]


def test_speech_without_full_stops_or_pauses_is_timed_every_few_words() -> None:
    words = [{"word": f" w{n}", "start": n * 0.4, "end": n * 0.4 + 0.4} for n in range(40)]
    segment = {"start": 0, "end": 16, "text": "".join(w["word"] for w in words).strip(), "words": words}
    note = note_from_transcript({"segments": [segment]}, source="walk.wav", name="walk")
    for n, word in enumerate(note.text.split()):
        begin = note.text.index(word)
        (said,) = [u for u in note.utterances if u.begin <= begin < u.end]
        assert abs((said.start_s or 0) - n * 0.4) <= 3
