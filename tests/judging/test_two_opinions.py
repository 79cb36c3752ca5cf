"""What the technician's words make of a finding beside what the rule book makes of it."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "said", "by_book"),
    [
        # Figures: 2/32 in, 49 CFR 570.9(a); 1 mm of pad, common practice.
        ("Left front tire is at 1/32, keep an eye on it.", "monitor", "required"),
        ("Left front tire is at 9/32, must be replaced.", "required", "good"),
        ("Front pads are at 1 mm, unsafe.", "unsafe", "required"),
        ("Left front lower ball joint is about to come apart, monitor it.", "monitor", "unsafe"),
        ("Rear brake hose is cracked, should be ok for now.", "monitor", "required"),
        ("Front pads are at 9 mm, good.", "good", "good"),
        # To name the work, or a fault, is no word on how urgent it is.
        ("Left front tire is at 1/32, replace it.", None, "required"),
        ("Water pump is leaking.", None, "required"),
        # A word alone is nothing that a rule book could judge.
        ("Water pump must be replaced.", "required", None),
    ],
)
def test_each_speaks_for_itself(text: str, said: str | None, by_book: str | None, vocabulary: Vocabulary) -> None:
    (line,) = write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines
    assert (line.severity_said, line.severity_by_book) == (said, by_book)
