"""Parts that came. Common practice, no source: left and right parts are ordered by hand; two of one hand do not make a pair."""

import pytest

from project_notes import order_of
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary

# Component, side delivered twice, the side still wanted.
TWO_OF_ONE_HAND = [
    ("Both lower control arms are bent. Parts came and they're both lefts.", "lower-control-arm", "left"),
    ("Inner tie rods both loose. Parts sent two lefts, one has to go back.", "inner-tie-rod", "left"),
    ("Left front and right front struts are leaking. Got two left struts, wrong, need a right.", "strut", "left"),
    (
        "Both front calipers are seized. They gave us two rights so one goes back and we still need a left.",
        "brake-caliper",
        "right",
    ),
    ("both outer cv joints are clicking parts sent two rights", "outer-cv-joint", "right"),
]
AT_HAND = [
    "Front brake pads are at 2 mm. Pads are in stock on the shelf.",
    "Left front caliper is seized, the new one is here on the bench.",
    "Thermostat is stuck open. Customer brought his own thermostat.",
    "Rear shocks leaking, parts are here.",
]


def rows(order: RepairOrder, component: str) -> set[tuple[str, str | None, int]]:
    return {(r.state, r.position.side, r.quantity) for r in order.parts if r.part.id == component}


@pytest.mark.parametrize(("text", "component", "came"), TWO_OF_ONE_HAND)
def test_one_is_used_one_goes_back_and_one_is_to_order(
    text: str, component: str, came: str, vocabulary: Vocabulary
) -> None:
    wanted = "right" if came == "left" else "left"
    order = order_of(text, vocabulary)
    assert rows(order, component) == {("to-order", wanted, 1), ("at-hand", came, 1), ("to-return", came, 1)}
    work = {line.position.side: line.work for line in order.lines}
    assert work == {came: "proposed", wanted: "wrong-part"}


def test_one_of_the_wrong_hand(vocabulary: Vocabulary) -> None:
    order = order_of("Right outer tie rod end is loose. They sent me a left one.", vocabulary)
    assert rows(order, "outer-tie-rod-end") == {("to-order", "right", 1), ("to-return", "left", 1)}


@pytest.mark.parametrize("text", AT_HAND)
def test_what_is_at_hand_is_not_ordered(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    wanted = {line.component.id for line in order.lines}
    assert {r.state for r in order.parts if r.part.id in wanted} == {"at-hand"}


@pytest.mark.parametrize(
    "text",
    [
        "Got two on the left rear and five on the right rear, rear pads are worn.",
        "Left front strut is leaking, we need a right one as well.",
        "Both rear shocks are leaking, need two lefts and no rights.",
    ],
)
def test_a_place_or_a_need_is_no_delivery(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert not [r for r in order.parts if r.state in ("at-hand", "to-return")]
    assert all(line.work == "proposed" for line in order.lines)
