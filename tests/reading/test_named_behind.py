"""What was felt first and named behind, and what a reading says against a kind word. Scenarios of our own."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (
            "Left front I can rock the wheel at 12 and 6, that's the lower ball joint.",
            ("lower-ball-joint", "left", "loose"),
        ),
        ("Right rear is making a grinding noise, that's the wheel bearing.", ("wheel-bearing", "right", "noisy")),
    ],
)
@pytest.mark.parametrize("before", ["", "Right front outer tie rod boot is torn. "])
def test_the_part_named_behind_has_what_was_felt(
    before: str, text: str, found: tuple[str, str, str], vocabulary: Vocabulary
) -> None:
    lines = write_order(Note(name="bay", text=before + text), vocabulary=vocabulary).lines
    said = [(x.component.id, x.position.side, [c.id for c in x.conditions]) for x in lines]
    component, side, condition = found
    assert (component, side, [condition]) in said
    assert len(lines) == (2 if before else 1)


def test_the_wrong_part_is_the_one_that_is_named(vocabulary: Vocabulary) -> None:
    text = "AC is weak, she says leave it for now. They sent the wrong cabin filter, I'll reorder."
    work = {x.component.id: x.work for x in write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines}
    assert work == {"air-conditioning": "declined", "cabin-air-filter": "wrong-part"}


def test_a_kind_word_does_not_make_a_failing_reading_good(vocabulary: Vocabulary) -> None:
    """49 CFR 393.75(b): 4/32 in on a steer tire of a commercial vehicle."""
    text = "Tractor. Air brakes are fine. Left steer tire is at 2/32, looks fine. Right steer tire is at 8/32, fine."
    lines = write_order(Note(name="yard", text=text), vocabulary=vocabulary).lines
    by_side = {x.position.side: x.severity for x in lines if x.component.id == "steer-tire"}
    assert by_side == {"left": "required", "right": "good"}


@pytest.mark.parametrize(
    ("text", "work"),
    [
        ("Ordered a left front strut.", {("strut", "left", "ordered")}),
        ("They sent the wrong left front wheel bearing.", {("wheel-bearing", "left", "wrong-part")}),
        (
            "We already ordered the left front strut and two rear drums.",
            {("strut", "left", "ordered"), ("brake-drum", "left", "ordered"), ("brake-drum", "right", "ordered")},
        ),
        (
            "Replaced the left front strut and two rear drums.",
            {("strut", "left", "done"), ("brake-drum", "left", "done"), ("brake-drum", "right", "done")},
        ),
        (
            "Ordered the cabin filter and an alternator.",
            {("cabin-air-filter", None, "ordered"), ("alternator", None, "ordered")},
        ),
        ("Order a battery and an alternator.", {("battery", None, "proposed"), ("alternator", None, "proposed")}),
        (
            "Left rear strut is leaking, ordered. Right front strut is leaking.",
            {("strut", "left", "ordered"), ("strut", "right", "proposed")},
        ),
    ],
)  # fmt: skip
def test_what_became_of_a_part_reaches_the_parts_named_behind_it(
    text: str, work: set[tuple[str, str | None, str]], vocabulary: Vocabulary
) -> None:
    lines = write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines
    assert {(x.component.id, x.position.side, x.work) for x in lines} == work
