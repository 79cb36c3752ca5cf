"""Both ends named for one part hold for the next part of that system; with "now" the talk goes on to another place."""

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

_FRONTS = {("front", "left"), ("front", "right")}
_REARS = {("rear", "left"), ("rear", "right")}


def spots(text: str, component: str, v: Vocabulary) -> dict[tuple[object, object], str]:
    order = write_order(Note(name="ends", text=text), vocabulary=v)
    return {(x.position.axle, x.position.side): x.severity for x in order.lines if x.component.id == component}


@pytest.mark.parametrize("text", ["front pads 7mm rears 6, rotors ok", "Front pads 7, rear pads 6, all rotors smooth."])
def test_what_was_said_of_both_ends_holds_for_the_next_part(text: str, vocabulary: Vocabulary) -> None:
    assert spots(text, "brake-rotor", vocabulary) == dict.fromkeys(_FRONTS | _REARS, "good")


@pytest.mark.parametrize(
    "text",
    [
        "Front pads 7, rotors smooth. Rear pads 6, rotors scored.",
        "front pads are seven rotors are good now the rear pads are six rotors are scored",
    ],
)
def test_each_end_told_by_itself_keeps_its_own(text: str, vocabulary: Vocabulary) -> None:
    found = spots(text, "brake-rotor", vocabulary)
    assert {place for place, severity in found.items() if severity == "good"} == _FRONTS
    assert {place for place, severity in found.items() if severity != "good"} == _REARS


def test_good_now_is_still_said_of_work_that_was_done(vocabulary: Vocabulary) -> None:
    text = "left headlight was loose i tightened it and it's good now the horn works"
    order = write_order(Note(name="now", text=text), vocabulary=vocabulary)
    assert [(x.work, x.action.verb) for x in order.lines if x.component.id == "headlamp"] == [("done", "tighten")]
