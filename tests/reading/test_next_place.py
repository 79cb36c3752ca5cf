"""A place behind a verdict is where the talk goes next, where the part spoken of has a place of its own."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    "text",
    [
        "Tandem tractor. Axle two right lining. Three eighths, that's good axle three left, brake drum is cracked.",
        "tandem tractor axle two right brake lining three eighths that's good axle three left brake drum is cracked",
        "Tandem tractor: axle two right brake lining. 3/8 in, good. Axle three left brake drum cracked.",
    ],
)
def test_the_place_behind_a_verdict_is_the_next_ones(text: str, vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="next", text=text, kind="transcript"), vocabulary=vocabulary).lines
    found = {(x.component.id, x.position.axle, x.position.side) for x in lines}
    assert found == {("brake-lining", 2, "right"), ("brake-drum", 3, "left")}


def test_a_side_behind_a_reading_is_that_readings(vocabulary: Vocabulary) -> None:
    lines = write_order(Note(name="next", text="Front tires: 5 mm left, 4 mm right."), vocabulary=vocabulary).lines
    assert {(x.position.side, x.measurements[0].value) for x in lines} == {("left", 5), ("right", 4)}
