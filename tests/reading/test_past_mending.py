"""What cannot be mended any more is to be replaced, whatever is usual for its fault."""

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "verb"),
    [
        ("Left rear tire has a nail in the sidewall, can't be patched, needs a tire.", "replace"),
        ("left rear tire has a nail too close to the sidewall cannot be repaired", "replace"),
        ("Right front wheel is bent and can't be fixed.", "replace"),
        ("Radiator leaks at the seam, it's beyond repair.", "replace"),
        ("Left rear tire has a nail in the tread, it can be patched.", "repair"),
        ("Right front wheel is bent, can be fixed.", "repair"),
    ],
)
def test_what_can_be_done_decides(text: str, verb: str, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="mend", text=text), vocabulary=vocabulary).lines
    assert line.action.verb == verb
