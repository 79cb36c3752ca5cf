"""What is still wanted ("get it done") is not read as done, and what was done is."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "work"),
    [
        ("Right rear wheel bearing is growling, get it done soon.", "proposed"),
        ("Left front strut is leaking, wants it done before winter.", "proposed"),
        ("Rear pads at 2 mm, get them sorted.", "proposed"),
        ("Alternator belt is cracked, should have that done.", "proposed"),
        ("Needs the serpentine belt done.", "proposed"),
        ("Alternator belt was cracked, got it done.", "done"),
        ("Rear pads were at 2 mm, managed to get them done today.", "done"),
        ("Front pads replaced, all done.", "done"),
    ],
)
def test_wanted_is_not_done(text: str, work: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="wanted", text=text), vocabulary=vocabulary).lines
    assert {x.work for x in lines} == {work}
