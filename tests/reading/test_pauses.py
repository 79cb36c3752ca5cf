"""Where nobody punctuated, a silence in a timed transcript parts two statements."""

from __future__ import annotations

import pytest

from talkaround.intake import note_from_bytes
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def _captions(*stretches: tuple[float, float, str]) -> bytes:
    def at(s: float) -> str:
        return f"00:00:{int(s):02d},{round(s % 1 * 1000):03d}"

    blocks = [f"{n}\n{at(b)} --> {at(e)}\n{text}\n" for n, (b, e, text) in enumerate(stretches, 1)]
    return "\n".join(blocks).encode()


def _places(data: bytes, vocabulary: Vocabulary) -> dict[str, str]:
    note = note_from_bytes(data, source="walk.srt", name="walk", suffix=".srt")
    lines = write_order(note, vocabulary=vocabulary).lines
    return {x.component.id: " ".join(str(v) for v in (x.position.axle, x.position.side) if v) for x in lines}


@pytest.mark.parametrize(
    ("first", "second", "hose", "tire"),
    [
        ("brake hose is cracked front left", "tire is cut", "front left", "front left"),
        ("brake hose is cracked rear right", "front left tire is cut", "rear right", "front left"),
    ],
)
def test_what_is_said_before_a_pause_belongs_together(
    first: str, second: str, hose: str, tire: str, vocabulary: Vocabulary
) -> None:
    data = _captions((0, 3, first), (5, 8, second))
    assert _places(data, vocabulary) == {"brake-hose": hose, "tire": tire}


def test_a_pause_before_the_word_looked_for_parts_nothing(vocabulary: Vocabulary) -> None:
    data = _captions((0, 3, "the left front needs a"), (5, 8, "caliper and the horn is dead"))
    assert _places(data, vocabulary)["brake-caliper"] == "front left"


def test_without_a_pause_stretches_run_on(vocabulary: Vocabulary) -> None:
    data = _captions((0, 3, "the left front needs a new"), (3.1, 6, "caliper"))
    assert _places(data, vocabulary) == {"brake-caliper": "front left"}
