"""Facts of the trade, held by scenarios of our own. Common practice, no source, for each of them."""

import pytest

from project_notes import order_of
from talkaround.models import Line, RepairOrder
from talkaround.vocabulary import Vocabulary


def line_of(order: RepairOrder, component: str, side: str | None = None) -> Line:
    found = [x for x in order.lines if x.component.id == component and side in (None, x.position.side)]
    assert len(found) == 1, [(x.component.id, x.position.side) for x in order.lines]
    return found[0]


# ----- what is fitted, and what goes along


def test_a_ball_joint_that_is_not_served_alone_means_its_knuckle_or_arm(vocabulary: Vocabulary) -> None:
    for said, part in (("knuckle", "steering-knuckle"), ("arm", "lower-control-arm")):
        order = order_of(f"Left front lower ball joint is loose, you can only buy it with the {said}.", vocabulary)
        fitted = line_of(order, "lower-ball-joint").action.part
        assert fitted is not None and fitted.id == part


@pytest.mark.parametrize(
    "how", ["corroded into the aluminum knuckle", "seized in the knuckle", "rusted into the knuckle"]
)
def test_a_bearing_corroded_into_its_knuckle_takes_the_speed_sensor_with_it(how: str, vocabulary: Vocabulary) -> None:
    order = order_of(f"Left rear wheel bearing is noisy and it's {how}.", vocabulary)
    line = line_of(order, "wheel-bearing")
    assert "wheel-speed-sensor" in [p.id for p in line.action.also]
    assert all(x.component.id != "steering-knuckle" for x in order.lines)


def test_a_bearing_that_is_only_noisy_leaves_the_sensor(vocabulary: Vocabulary) -> None:
    line = line_of(order_of("Left rear wheel bearing is noisy, needs replaced.", vocabulary), "wheel-bearing")
    assert "wheel-speed-sensor" not in [p.id for p in line.action.also]


def test_a_failed_lower_arm_bushing_has_the_joints_of_its_corner_looked_at(vocabulary: Vocabulary) -> None:
    order = order_of("Left front lower control arm bushing is torn through, needs replaced.", vocabulary)
    looked_at = {p.id for p in line_of(order, "lower-control-arm-bushing").action.look_at}
    assert {"lower-ball-joint", "outer-tie-rod-end"} <= looked_at


def test_a_joint_that_was_looked_at_is_not_looked_at_again(vocabulary: Vocabulary) -> None:
    text = "Left front lower control arm bushing is torn through, needs replaced. Left front lower ball joint is tight."
    looked_at = {p.id for p in line_of(order_of(text, vocabulary), "lower-control-arm-bushing").action.look_at}
    assert "lower-ball-joint" not in looked_at


def test_shake_in_the_pedal_leads_to_rotors_with_pads(vocabulary: Vocabulary) -> None:
    order = order_of("Brake pedal pulsates when you stop. Front rotors need replaced.", vocabulary)
    rotors = [x for x in order.lines if x.component.id == "brake-rotor"]
    assert {x.position.side for x in rotors} == {"left", "right"}
    assert any(r.part.id == "brake-pad" and r.state == "to-order" for r in order.parts)


def test_an_undamaged_pad_wear_sensor_is_used_again(vocabulary: Vocabulary) -> None:
    order = order_of("Front pads are at 2 mm, replace. The wear sensor isn't damaged so we'll reuse it.", vocabulary)
    assert line_of(order, "pad-wear-sensor").severity == "good"
    assert all(r.part.id != "pad-wear-sensor" for r in order.parts)


# ----- what shows what


def test_a_sound_joint_shows_no_movement_by_hand_on_a_raised_wheel(vocabulary: Vocabulary) -> None:
    sound = order_of("Left front wheel in the air, no movement by hand at the lower ball joint.", vocabulary)
    assert line_of(sound, "lower-ball-joint").severity == "good"
    worn = order_of("Left front wheel in the air, some movement by hand at the lower ball joint.", vocabulary)
    line = line_of(worn, "lower-ball-joint")
    assert line.severity in ("suggested", "required", "unsafe")
    assert [c.id for c in line.conditions] == ["loose"]


@pytest.mark.parametrize(
    "text",
    ["Left rear sinks overnight.", "Left rear corner drops down overnight.", "The left rear is low in the morning."],
)
def test_a_corner_that_sinks_overnight_points_to_its_air_spring(text: str, vocabulary: Vocabulary) -> None:
    line = line_of(order_of(text, vocabulary), "air-spring")
    assert (line.position.side, line.position.axle, line.action.verb) == ("left", "rear", "diagnose")


def test_oil_left_by_a_careless_oil_change_is_no_leak(vocabulary: Vocabulary) -> None:
    text = "There's oil on the subframe from the last oil change, somebody spilled it, nothing's leaking."
    assert not [c for x in order_of(text, vocabulary).lines for c in x.conditions if c.id in ("leaking", "seeping")]


def test_light_rust_from_standing_is_normal(vocabulary: Vocabulary) -> None:
    order = order_of("Both front rotors have light surface rust from sitting, that's normal.", vocabulary)
    assert {x.severity for x in order.lines} == {"good"}


def test_rust_on_a_band_that_the_pad_never_sweeps_is_not(vocabulary: Vocabulary) -> None:
    order = order_of("Right rear rotor has a band of rust at the outer edge that the pad never sweeps.", vocabulary)
    line = line_of(order, "brake-rotor")
    assert [c.id for c in line.conditions] == ["corroded"]
    assert line.severity in ("suggested", "required")


# ----- what is dangerous


def test_a_pad_off_its_pin_that_has_cut_the_rotor_is_dangerous_and_needs_both(vocabulary: Vocabulary) -> None:
    text = "The inner pad on the right rear isn't held by its pin anymore and it has cut into the rotor."
    order = order_of(text, vocabulary)
    pad, rotor = line_of(order, "brake-pad"), line_of(order, "brake-rotor")
    assert pad.severity == "unsafe"
    assert (pad.action.verb, rotor.action.verb) == ("replace", "replace")
    assert (rotor.position.axle, rotor.position.side) == ("rear", "right")


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("Left rear trailing arm moves a good inch at the bushing when you pry it.", "trailing-arm"),
        ("Left front lower ball joint moves all over the place.", "lower-ball-joint"),
    ],
)
def test_large_movement_of_the_suspension_is_unsafe(text: str, component: str, vocabulary: Vocabulary) -> None:
    assert line_of(order_of(text, vocabulary), component).severity == "unsafe"
