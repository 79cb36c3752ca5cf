"""What is fitted where the part at fault is not served alone. Common practice, no source: a ball joint or bushing is often
served with its arm or knuckle, a wheel bearing with its hub, a joint or boot with its shaft.
"""

import pytest

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

SERVED = [
    (
        "Right rear toe link bushing has play in it, needs replaced, it only comes as a link.",
        "toe-link-bushing",
        "toe-link",
    ),
    (
        "Left rear wheel bearing is growling. It only comes with the hub, so one rear hub.",
        "wheel-bearing",
        "wheel-hub-assembly",
    ),
    ("LR wheel brg growls at 30 up, bolt on hub assy. needs hub. RR brg quiet", "wheel-bearing", "wheel-hub-assembly"),
    (
        "Lower ball joint left front is loose, not sold separate, comes with the arm.",
        "lower-ball-joint",
        "lower-control-arm",
    ),
    (
        "Left rear wheel bearing is loud, you can't get the bearing by itself, so a hub.",
        "wheel-bearing",
        "wheel-hub-assembly",
    ),
    ("Right front outer CV boot is torn, cheaper to put a whole axle in.", "outer-cv-boot", "cv-axle"),
    ("left side cv axle boot is torn and throwing grease needs an axle", "cv-boot", "cv-axle"),
    (
        "The right front upper ball joint has play. It's part of the control arm so the arm gets replaced.",
        "upper-ball-joint",
        "upper-control-arm",
    ),
    (
        "left lower ball joint has a lot of play and the maker won't sell you the joint on its own you have to buy the knuckle",
        "lower-ball-joint",
        "steering-knuckle",
    ),
    (
        "Left front lower ball joint is shot. They don't serve the joint, it's the whole knuckle.",
        "lower-ball-joint",
        "steering-knuckle",
    ),
    (
        "n/s/f lower arm rear bush split, bush not available on its own, arm required",
        "lower-control-arm-bushing",
        "lower-control-arm",
    ),
    ("Throwout bearing is noisy, it comes as one with the slave cylinder.", "release-bearing", "clutch-slave-cylinder"),
    (
        "Alternator pulley is seized, pulley isn't sold by itself so it gets an alternator.",
        "alternator-pulley",
        "alternator",
    ),
    (
        "Right headlight lens is cracked, you can't get just the lens, quote the headlight assembly.",
        "headlamp-lens",
        "headlamp",
    ),
    (
        "Driver's door window motor is dead and it comes with the regulator, so a regulator.",
        "window-motor",
        "window-regulator",
    ),
    ("Fuel level sender is dead, sender's only available with the pump module.", "fuel-level-sensor", "fuel-pump"),
    ("inner CV joint clicks on the right front that one only comes as a whole axle", "inner-cv-joint", "cv-axle"),
    (
        "Left outer tie rod boot is split, boot kit not available so I need the tie rod end.",
        "tie-rod-end-boot",
        "outer-tie-rod-end",
    ),
    ("Carrier bearing is rumbling, serviced as a complete driveshaft.", "center-support-bearing", "driveshaft"),
    ("EPB motor on the right rear is seized. Sold only with the caliper.", "parking-brake-actuator", "brake-caliper"),
    (
        "Left front strut mount bearing is noisy, bearing comes with the mount, needs a mount.",
        "strut-bearing",
        "strut-mount",
    ),
    (
        "turbo seal is leaking oil they dont do seals for these its a complete turbo",
        "turbocharger-seal",
        "turbocharger",
    ),
    (
        "right front lower ball joint is loose on this one the joint and the arm are one piece so i need a right lower arm",
        "lower-ball-joint",
        "lower-control-arm",
    ),
]

ITSELF = [
    ("Left rear axle seal is leaking, seal only. Needs a seal.", "axle-seal"),
    ("the tie rod boot on the left is torn but boots are sold on their own so just a boot", "tie-rod-end-boot"),
    ("Right front caliper is seized, caliper comes loaded with pads.", "brake-caliper"),
    ("Right front control arm bushing is torn, the whole wheel moves around.", "control-arm-bushing"),
]


def order_of(text: str, vocabulary: Vocabulary) -> RepairOrder:
    steering = "right-hand" if "n/s" in text else "left-hand"
    return write_order(Note(name="bay", text=text), vocabulary=vocabulary, steering=steering)


@pytest.mark.parametrize(("text", "faulty", "fitted"), SERVED)
def test_what_it_comes_with_is_fitted(text: str, faulty: str, fitted: str, vocabulary: Vocabulary) -> None:
    """One line, of the faulty part, with the other part to fit: no second line, and nothing asked of a second part."""
    at_fault = [line for line in order_of(text, vocabulary).lines if line.severity != "good"]
    assert [(x.component.id, x.action.verb, x.action.part and x.action.part.id) for x in at_fault] == [
        (faulty, "replace", fitted)
    ]


@pytest.mark.parametrize(("text", "faulty"), ITSELF)
def test_what_is_served_alone_is_fitted_itself(text: str, faulty: str, vocabulary: Vocabulary) -> None:
    line = next(line for line in order_of(text, vocabulary).lines if line.component.id == faulty)
    assert line.action.part is not None
    assert line.action.part.id == faulty


def test_both_sides_get_the_arm(vocabulary: Vocabulary) -> None:
    text = "Both front lower ball joints are loose, they're riveted in the arms so it's two lower control arms."
    lines = order_of(text, vocabulary).lines
    assert {(x.position.side, x.component.id, x.action.part and x.action.part.id) for x in lines} == {
        ("left", "lower-ball-joint", "lower-control-arm"),
        ("right", "lower-ball-joint", "lower-control-arm"),
    }


def test_the_words_that_say_so_are_evidence(vocabulary: Vocabulary) -> None:
    text = "Left rear wheel bearing is growling. It only comes with the hub."
    order = order_of(text, vocabulary)
    words = " ".join(text[e.begin : e.end] for e in order.lines[0].evidence)
    assert "only comes with the hub" in words


def test_an_assembly_with_a_fault_of_its_own_is_a_line(vocabulary: Vocabulary) -> None:
    text = "Left front lower ball joint is loose and comes with the arm. Right front lower control arm is bent, needs an arm."
    lines = {(x.component.id, x.position.side) for x in order_of(text, vocabulary).lines}
    assert lines == {("lower-ball-joint", "left"), ("lower-control-arm", "right")}
