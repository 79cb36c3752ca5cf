"""A recording to its words, block by block, with what a recogniser makes up taken out again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from talkaround.intake import NoteError

from .doubts import made_up
from .sound import BLOCK_S, Block, opened

if TYPE_CHECKING:
    from .sound import Samples


class Timed(NamedTuple):
    """A word as the recogniser spells it, with the space before it, from ``start_s`` to ``end_s`` in seconds."""

    word: str
    start_s: float
    end_s: float


class Said(NamedTuple):
    """What a recogniser took for one sentence or so."""

    words: tuple[Timed, ...]
    certainty: float
    """Mean log probability of its parts, 0 where it is sure."""
    silence: float
    """How likely it is that nobody spoke, 0 to 1."""

    @property
    def text(self) -> str:
        """Its words as one text."""
        return "".join(word.word for word in self.words).strip()


class Recogniser(Protocol):
    """Whatever writes speech down."""

    primed_with: tuple[str, ...]
    """The words that it was told to expect."""

    def write_down(self, samples: Samples, *, primed: bool, careful: bool = False) -> Iterable[Said]:
        """What is said in ``samples``, in order, times from their beginning.

        ``primed`` is with the words told beforehand; ``careful`` forbids it to say the same over and over.
        """


class Heard(NamedTuple):
    """How far the listening is; ``length_s`` is None where the recording does not tell."""

    done_s: float
    length_s: float | None


def listen(
    path: Path,
    recogniser: Recogniser,
    heard: Callable[[Heard], None] = lambda _: None,
    *,
    block_s: float = BLOCK_S,
) -> dict[str, Any]:
    """The transcript of the recording at ``path`` as data: ``duration`` and ``segments`` with their ``words``.

    Times are seconds from the beginning of the recording. Raises ``NoteError`` where it holds no speech or is broken.
    """
    segments: list[dict[str, Any]] = []
    length_s = 0.0
    with opened(path) as recording:
        for block in recording.blocks(block_s):

            def so_far(seconds: float, block: Block = block) -> None:
                heard(Heard(block.start_s + seconds, recording.length_s))

            segments += [_segment(said, block.start_s) for said in _written_down(block, recogniser, so_far)]
            length_s = block.start_s + block.seconds
            heard(Heard(length_s, recording.length_s))
    if not length_s:
        raise NoteError(str(path), "is a recording of no length", "Record it again")
    if not segments:
        raise NoteError(
            str(path), "holds no speech that could be made out", "Play it; record again, nearer to the microphone"
        )
    return {"duration": round(length_s, 2), "language": "en", "segments": segments}


def _written_down(block: Block, recogniser: Recogniser, so_far: Callable[[float], None]) -> list[Said]:
    """What is said in the block. One that the recogniser went astray in is written down again without priming."""
    found: list[Said] = []
    for said in recogniser.write_down(block.samples, primed=True):
        if made_up(said.text, recogniser.primed_with):
            break
        found.append(said)
        so_far(said.words[-1].end_s if said.words else 0.0)
    else:
        return list(_spoken(found))
    again = recogniser.write_down(block.samples, primed=False, careful=True)
    return [said for said in _spoken(again) if not made_up(said.text, ())]


def _spoken(found: Iterable[Said]) -> Iterator[Said]:
    """Without what was put into silence."""
    for said in found:
        if said.text and not (said.silence > 0.6 and said.certainty < -0.7):
            yield said


def _segment(said: Said, start_s: float) -> dict[str, Any]:
    words = [
        {"word": w.word, "start": round(start_s + w.start_s, 2), "end": round(start_s + w.end_s, 2)} for w in said.words
    ]
    return {"start": words[0]["start"], "end": words[-1]["end"], "text": said.text, "words": words}
