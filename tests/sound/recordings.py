"""Recordings made at test time: speech, the same in other formats, and sounds that are no speech."""

import json
import math
import random
import subprocess
import wave
from array import array
from collections.abc import Iterable
from pathlib import Path
from typing import Any

RATE = 16_000
SCRIPTS = Path(__file__).parent / "notes"
# The codec that is usual in each kind of file.
CODECS = {"wav": "pcm_s16le", "mp3": "libmp3lame", "m4a": "aac", "ogg": "libopus", "webm": "libopus", "flac": "flac"}


def scripts() -> dict[str, dict[str, Any]]:
    """What is spoken, with voice and speed (words a minute), and the labels, by id."""
    return {path.stem: json.loads(path.read_text("utf-8")) for path in sorted(SCRIPTS.glob("*.json"))}


def speak(text: str, path: Path, voice: str = "en-us", speed: int = 140) -> Path:
    """A WAV file of ``text`` spoken by espeak-ng, with a little more between the words than it leaves by itself."""
    command = ["espeak-ng", "-v", voice, "-s", str(speed), "-g", "2", "-w", str(path), "--", text]
    subprocess.run(command, check=True, capture_output=True)
    return path


def encoded(path: Path, kind: str) -> Path:
    """The recording at ``path`` as another kind of file, beside it."""
    import av

    made = path.with_name(f"{path.stem}-as.{kind}")
    # Opus knows few rates.
    rate = 48_000 if CODECS[kind] == "libopus" else 44_100
    with av.open(str(path)) as given, av.open(str(made), "w") as out:
        stream = out.add_stream(CODECS[kind], rate=rate, layout="stereo")
        resampler = av.AudioResampler(format=stream.codec_context.format, layout="stereo", rate=rate)
        fifo = av.AudioFifo()
        for frame in [*given.decode(audio=0), None]:
            for even in resampler.resample(frame):
                even.pts = None
                fifo.write(even)
        while (piece := fifo.read(stream.codec_context.frame_size or 1024, partial=True)) is not None:
            piece.pts = None
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    return made


def samples(path: Path) -> tuple[list[int], int]:
    """Samples and rate of a WAV file in one channel of 16 bits."""
    with wave.open(str(path)) as file:
        return array("h", file.readframes(file.getnframes())).tolist(), file.getframerate()


def written(path: Path, sound: Iterable[int], rate: int = RATE) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(array("h", sound).tobytes())
    return path


def silence(seconds: float, rate: int = RATE) -> list[int]:
    return [0] * round(seconds * rate)


def noise(seconds: float) -> list[int]:
    """White noise, the same each time."""
    chance = random.Random(5)
    return [int(chance.gauss(0, 3000)) for _ in range(round(seconds * RATE))]


def music(seconds: float) -> list[int]:
    """Three tones that swell and change twice a second."""
    at = [n / RATE for n in range(round(seconds * RATE))]
    return [
        int(
            5000
            * abs(math.sin(3 * t))
            * sum(math.sin(2 * math.pi * f * (1 + int(2 * t) % 4 / 4) * t) for f in (220, 277, 330))
        )
        for t in at
    ]
