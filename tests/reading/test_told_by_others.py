"""What somebody else found is told, not found; the technician's own word behind it is a finding. Scenarios of our own."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("The other shop told the customer the water pump leaks. Horn works.", "water pump"),
        ("Quick lube says the air filter is dirty.", "engine air filter"),
        ("My apprentice thinks the left rear caliper is sticking, I have not looked at it.", "brake caliper"),
        ("Last garage said the power steering pump is noisy.", "power steering pump"),
    ],
)
def test_what_another_says_makes_no_line(text: str, part: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert [c.about for c in order.concerns] == [part]
    assert part not in {line.component.name for line in order.lines}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (
            "Tire shop told him the left lower ball joint is bad, I can't feel any play in it.",
            ("lower ball joint", "good"),
        ),
        ("Dealer told her she needs struts. They're dry, no leak.", ("strut", "good")),
        ("Other shop said the rear brakes were at two millimeters. I measured six.", ("brake pad", "good")),
        (
            "Her friend thinks the right front wheel bearing is bad. Confirmed, it's rough.",
            ("wheel bearing", "required"),
        ),
        ("Driver says the horn quit. It works fine for me.", ("horn", "good")),
    ],
)
def test_the_technicians_own_word_is_of_what_was_told(
    text: str, found: tuple[str, str], vocabulary: Vocabulary
) -> None:
    lines = order_of(text, vocabulary).lines
    assert [(x.component.name, x.severity) for x in lines] == [found]


def test_the_place_told_is_the_place_found(vocabulary: Vocabulary) -> None:
    text = "Her friend thinks the right front wheel bearing is bad. Confirmed, it's rough."
    position = order_of(text, vocabulary).lines[0].position
    assert (position.side, position.axle) == ("right", "front")


def test_to_watch_a_thing_move_is_no_order_to_watch_it(vocabulary: Vocabulary) -> None:
    (line,) = order_of("Right engine mount is torn, you can watch the engine lift off it.", vocabulary).lines
    assert line.severity != "monitor"
