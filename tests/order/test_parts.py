"""The parts list: what a parts counter needs, with hand, count and state."""

import pytest

from project_notes import order_of
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary


def rows(order: RepairOrder, component: str) -> list[tuple[str, int, str, str | None, object]]:
    return [
        (r.state, r.quantity, r.unit, r.position.side, r.position.axle) for r in order.parts if r.part.id == component
    ]


def test_pads_are_one_set_for_the_axle(vocabulary: Vocabulary) -> None:
    order = order_of("Left front pads are at 2 mm, right front pads are at 2 mm, replace.", vocabulary)
    assert rows(order, "brake-pad") == [("to-order", 1, "set", None, "front")]


def test_what_fits_either_side_is_counted_together(vocabulary: Vocabulary) -> None:
    order = order_of("Both front rotors are cracked, need replaced.", vocabulary)
    assert rows(order, "brake-rotor") == [("to-order", 2, "each", "both", "front")]


def test_what_has_a_hand_is_a_row_for_each(vocabulary: Vocabulary) -> None:
    order = order_of("Both front calipers are seized, need replaced.", vocabulary)
    assert sorted(rows(order, "brake-caliper")) == [
        ("to-order", 1, "each", "left", "front"),
        ("to-order", 1, "each", "right", "front"),
    ]


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("Thermostat is stuck open, needs one.", "to-order"),
        ("Thermostat is stuck open, one on order.", "on-order"),
        ("Thermostat is stuck open, I put a new one in.", "fitted"),
        ("Thermostat is stuck open, got one in stock.", "at-hand"),
    ],
)
def test_state(text: str, state: str, vocabulary: Vocabulary) -> None:
    assert [r[0] for r in rows(order_of(text, vocabulary), "thermostat")] == [state]


def test_a_wrong_part_goes_back_and_the_right_one_is_to_order(vocabulary: Vocabulary) -> None:
    order = order_of("Serpentine belt is cracked, they sent the wrong belt and it's going back.", vocabulary)
    assert [r[0] for r in rows(order, "serpentine-belt")] == ["to-order", "to-return"]


def test_declined_and_good_buy_nothing(vocabulary: Vocabulary) -> None:
    order = order_of("Water pump is seeping, needs a pump, customer said no. Thermostat is good.", vocabulary)
    assert order.parts == []


def test_what_is_fitted_is_bought_and_not_what_failed(vocabulary: Vocabulary) -> None:
    order = order_of("Left rear wheel bearing is noisy, only comes with the hub.", vocabulary)
    assert rows(order, "wheel-hub-assembly") == [("to-order", 1, "each", "left", "rear")]
    assert rows(order, "wheel-bearing") == []


def test_companions_are_bought_along_with_their_reason(vocabulary: Vocabulary) -> None:
    order = order_of("Water pump is leaking, needs a pump.", vocabulary)
    also = {r.part.id: [b.rule for b in r.because] for r in order.parts if r.part.id != "water-pump"}
    assert also == {"coolant": ["parts.goes-with"], "water-pump-gasket": ["parts.goes-with"]}


def test_work_is_no_part(vocabulary: Vocabulary) -> None:
    order = order_of("Left outer tie rod end is loose, needs replaced.", vocabulary)
    assert [p.id for p in order.lines[0].action.also] == ["wheel-alignment"]
    assert [r.part.id for r in order.parts] == ["outer-tie-rod-end"]


@pytest.mark.parametrize(
    ("wish", "make"),
    [
        ("Owner wants original parts only.", "original"),
        ("Customer says aftermarket is fine.", "aftermarket"),
        ("He's keeping it for years yet.", "original"),
        ("He's going to sell it in the spring.", "aftermarket"),
        ("Horn works.", None),
    ],
)
def test_original_or_aftermarket(wish: str, make: str | None, vocabulary: Vocabulary) -> None:
    """Common practice, no source: how long the owner keeps the vehicle decides, where both are sold."""
    order = order_of(f"Thermostat is stuck open, needs one. {wish}", vocabulary)
    row = next(r for r in order.parts if r.part.id == "thermostat")
    assert row.make == make
    assert any(b.field == "make" for b in row.because) == (make is not None)


def test_every_row_is_for_lines_that_there_are(orders: dict[str, RepairOrder]) -> None:
    for order in orders.values():
        numbers = {line.number for line in order.lines}
        for row in order.parts:
            assert row.lines
            assert set(row.lines) <= numbers
