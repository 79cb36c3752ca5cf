"""Sound files to samples, a stretch at a time, by the decoders that the voice extra brings along."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from talkaround.intake import NoteError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE = 16_000
"""Samples a second, in one channel, from -1 to 1: what recognisers are made for."""
BLOCK_S = 120
"""Longest stretch in seconds that is held in memory and given to a recogniser at once."""
LONGEST_S = 12 * 3600
"""Seconds of sound that a recording may have: a working day and more."""
# A cut is made in the last seconds of a full block, where this much of it is quietest.
_SEARCH_S, _QUIET_S = 20, 0.3
# A recording may end this much before its length as written, by what encoders add and leave out.
_SHORT_S, _SHORT_SHARE = 2.0, 0.05

# No playlists among them: those would have other files opened, and addresses.
_CONTAINERS = "wav,w64,mp3,mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,ogg,flac,aac,aiff,amr,caf,asf"
_CONVERT = "Play it to see that it sounds, and save it as WAV, MP3, M4A, OGG, WebM or FLAC"


@dataclass(frozen=True)
class Block:
    """``samples`` from ``start_s`` (seconds) on."""

    samples: Samples
    start_s: float

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / RATE


@contextmanager
def opened(path: Path) -> Iterator[Recording]:
    """The recording at ``path``. Raises ``NoteError`` where it holds no sound that can be decoded."""
    import av

    source = str(path)
    options = {"format_whitelist": _CONTAINERS, "protocol_whitelist": ""}
    # A file and no name is handed over, so that nothing in the name can be taken for an address or an option.
    with path.open("rb") as file:
        try:
            container = av.open(file, options=options, metadata_errors="ignore")
        except (av.FFmpegError, ValueError):
            raise NoteError(source, "holds no sound that can be decoded", _CONVERT) from None
        with container:
            if not container.streams.audio:
                raise NoteError(source, "holds no sound", _CONVERT)
            yield Recording(source, container)


class Recording:
    """An open sound file."""

    def __init__(self, source: str, container: Any) -> None:
        self._source, self._container = source, container
        self.length_s: float | None = container.duration / 1_000_000 if container.duration else None
        """Seconds, as the file says; None where it does not."""

    def blocks(self, longest_s: float = BLOCK_S) -> Iterator[Block]:
        """All of it in blocks of at most ``longest_s`` seconds, cut where it is quiet. Raises ``NoteError``."""
        import numpy as np

        held: list[Samples] = []
        size, done = 0, 0
        longest = round(longest_s * RATE)
        for piece in self._pieces():
            held.append(piece)
            size += len(piece)
            # What the file says of its length may be wrong either way, so what is there is counted.
            if done + size > LONGEST_S * RATE:
                problem = f"is longer than a recording may be ({LONGEST_S / 3600:g} hours)"
                raise NoteError(self._source, problem, "Cut it by vehicle")
            while size >= longest:
                whole = np.concatenate(held)
                cut = _quietest(whole[:longest])
                yield Block(whole[:cut], done / RATE)
                held, size, done = [whole[cut:]], size - cut, done + cut
        if size:
            yield Block(np.concatenate(held), done / RATE)
        self._refuse_if_short((done + size) / RATE)

    def _pieces(self) -> Iterator[Samples]:
        """The samples as they are decoded, single damaged frames left out."""
        import av
        import numpy as np

        resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE)
        frames = self._container.decode(audio=0)
        while True:
            try:
                frame = next(frames, None)
            except av.InvalidDataError:
                continue
            except (av.FFmpegError, OSError) as error:
                reason = " ".join(str(error).split())
                raise NoteError(self._source, f"cannot be decoded to its end ({reason})", _CONVERT) from None
            if frame is not None:
                # Times in damaged files leap; what counts is the order.
                frame.pts = None
            for even in resampler.resample(frame):
                yield even.to_ndarray()[0].astype(np.float32) / 32768
            if frame is None:
                return

    def _refuse_if_short(self, heard_s: float) -> None:
        if self.length_s is None or heard_s >= self.length_s - max(_SHORT_S, _SHORT_SHARE * self.length_s):
            return
        # What stands in the part that is lost may be the brakes.
        raise NoteError(
            self._source,
            f"breaks off after {_clock(heard_s)} of {_clock(self.length_s)}",
            "Copy it from the recorder again, or save what there is as a new recording",
        )


def _quietest(samples: Samples) -> int:
    """Where to cut: the middle of the quietest short stretch near the end."""
    import numpy as np

    width = round(_QUIET_S * RATE)
    first = max(len(samples) - _SEARCH_S * RATE, len(samples) // 2)
    rows = samples[first : first + (len(samples) - first) // width * width].reshape(-1, width)
    if not len(rows):
        return len(samples)
    return int(first + np.argmin(np.square(rows).mean(axis=1)) * width + width // 2)


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
