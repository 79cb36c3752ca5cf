"""The whole order in three sentences at most, for the customer first."""

import re

from project_notes import order_of
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary

NUMBER = re.compile(r"\b(\d+) (?:thing|things|is advised|are advised|is to be|are to be|was|were)\b")


def sentences(text: str) -> list[str]:
    return [s for s in re.split(r"(?<=\.) ", text) if s]


def test_what_is_dangerous_is_said_first_and_by_name(vocabulary: Vocabulary) -> None:
    text = "Horn works. Left rear tire is cut to the cords, do not drive it. Oil pan is seeping, watch it."
    first = sentences(order_of(text, vocabulary).summary)[0]
    assert first.startswith("Do not drive")
    assert "left rear tire" in first


def test_danger_put_right_does_not_stop_the_vehicle(vocabulary: Vocabulary) -> None:
    summary = order_of("Left front lug nuts were loose, I torqued them.", vocabulary).summary
    assert "Do not drive" not in summary
    assert "done on this visit" in summary


def test_the_counts_are_those_of_the_lines(vocabulary: Vocabulary) -> None:
    text = (
        "Water pump is leaking, needs a pump. Thermostat is stuck open, needs one. Serpentine belt is cracked, suggest a belt. "
        "Left headlight bulb was out, put one in. Rear wiper is broken, customer said no. Horn works. Battery tests good."
    )
    summary = order_of(text, vocabulary).summary
    for words in (
        "2 things need doing",
        "1 is advised",
        "1 thing was done",
        "1 was declined",
        "2 were inspected and found good",
    ):
        assert words in summary


def test_an_empty_order_says_nothing(vocabulary: Vocabulary) -> None:
    assert order_of("Nice weather today.", vocabulary).summary == ""


def test_all_notes_in_three_sentences(orders: dict[str, RepairOrder]) -> None:
    for key, order in orders.items():
        said = sentences(order.summary)
        assert len(said) <= 3, key
        assert all(s[0].isupper() or s[0].isdigit() for s in said), key
        assert bool(said) == bool(order.lines), key


def test_every_line_is_counted_once(orders: dict[str, RepairOrder]) -> None:
    for key, order in orders.items():
        counted = sum(int(n) for n in NUMBER.findall(order.summary))
        unsafe = sum(x.severity == "unsafe" and x.work != "done" for x in order.lines)
        declined_unsafe = sum(x.severity == "unsafe" and x.work == "declined" for x in order.lines)
        assert counted + unsafe - declined_unsafe == len(order.lines), key
