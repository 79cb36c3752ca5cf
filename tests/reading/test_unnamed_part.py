"""A part that the speaker has no name for is asked back, and lends nothing to the part named before. Scenarios of our own."""

from __future__ import annotations

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    "said",
    [
        "The thing on the back is rattling.",
        "Whatever that is back there is leaking.",
        "There's a thingamajig hanging off the bumper that's broken.",
    ],
)
def test_what_has_no_name_is_asked(said: str, vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="bay", text=f"Battery cable is corroded. {said}"), vocabulary=vocabulary)
    (line,) = order.lines
    assert [c.id for c in line.conditions] == ["corroded"]
    assert any(q.field == "component" and said.rstrip(".") in q.text for q in order.questions)


def test_a_pronoun_is_still_the_part_before(vocabulary: Vocabulary) -> None:
    order = write_order(Note(name="bay", text="Water pump is leaking. That one is loose too."), vocabulary=vocabulary)
    assert {c.id for line in order.lines for c in line.conditions} == {"leaking", "loose"}


def test_two_of_one_hand_are_of_the_part_that_they_name(vocabulary: Vocabulary) -> None:
    text = "Sway bar links are shot, both sides. Dog bone is torn. They sent me two left links."
    order = write_order(Note(name="bay", text=text), vocabulary=vocabulary)
    work = {(x.component.id, x.position.side): x.work for x in order.lines}
    assert work["sway-bar-link", "right"] == "wrong-part"
    assert work["engine-torque-mount", None] == "proposed"
    returned = [(p.part.id, p.position.side) for p in order.parts if p.state == "to-return"]
    assert returned == [("sway-bar-link", "left")]


def test_the_next_oil_change_is_a_time_and_no_work(vocabulary: Vocabulary) -> None:
    text = "Oil pan gasket is leaking, I'd do it with the next oil change."
    (line,) = write_order(Note(name="bay", text=text), vocabulary=vocabulary).lines
    assert (line.component.id, line.severity) == ("oil-pan-gasket", "suggested")
