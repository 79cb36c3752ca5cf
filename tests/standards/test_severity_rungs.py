"""Severity never falls as a defect grows: the same part, said to be worse and worse.

Directive 2014/45/EU Annex I, and the UK inspection manual with its numbers, let one defect of an item rise from minor to
major to dangerous. The items are theirs; parts and words are our own, and none is taken from either.
"""

from __future__ import annotations

import pytest

from project_notes import shipped_vocabulary
from talkaround.models import Note
from talkaround.pipeline import write_order

RANK = {"good": 0, "monitor": 1, "suggested": 2, "required": 3, "unsafe": 4}

# Item, then the rungs from the least to the gravest.
STEMS = [
    (
        "1.1.6",
        "Handbrake lever is a bit worn.",
        "Handbrake lever is badly worn.",
        "Handbrake lever is about to break off.",
    ),
    (
        "1.1.10",
        "Brake fluid is a touch low.",
        "Brake fluid is well below the mark.",
        "Brake fluid reservoir is bone dry.",
    ),
    (
        "1.1.10",
        "Brake booster is slightly noisy.",
        "Brake booster is weak.",
        "Brake booster does not work, there's hardly any brakes.",
    ),
    (
        "1.1.11",
        "Left rear brake pipe has light surface rust.",
        "Left rear brake pipe is badly rusted.",
        "Left rear brake pipe is badly rusted and about to burst.",
    ),
    (
        "1.1.12",
        "Right front brake hose is slightly chafed.",
        "Right front brake hose is chafed.",
        "Right front brake hose has burst.",
    ),
    ("1.1.13", "Front pads are slightly worn.", "Front pads are worn out.", "Front pads are metal on metal."),
    (
        "1.1.13",
        "Rear shoes have some wear.",
        "Rear shoes are down to the wear mark.",
        "Rear shoes are down to the rivets.",
    ),
    (
        "1.1.14",
        "Right front rotor is lightly scored.",
        "Right front rotor is deeply grooved.",
        "Right front rotor is cracked right through.",
    ),
    (
        "1.1.16",
        "Left rear caliper is sticking slightly.",
        "Left rear caliper is seized.",
        "Left rear caliper is loose and about to fall off.",
    ),
    ("1.1.16", "Right rear wheel cylinder is damp.", "Right rear wheel cylinder is leaking."),
    ("1.2.1", "Brakes squeal a little.", "Brakes pull to the right.", "Brakes hardly work."),
    (
        "2.1.1",
        "Steering box is damp.",
        "Steering box is leaking badly.",
        "Steering box is coming off the frame, it's hanging by a thread.",
    ),
    (
        "2.1.3",
        "Left outer tie rod end has slight play.",
        "Left outer tie rod end has a lot of play.",
        "Left outer tie rod end is about to pop out.",
    ),
    ("2.1.3", "Left tie rod end boot is slightly cracked.", "Left tie rod end boot is split."),
    (
        "2.1.3",
        "Right inner tie rod has a hint of play.",
        "Right inner tie rod is loose.",
        "Right inner tie rod is broken off.",
    ),
    ("2.1.3", "Drag link has slight play.", "Drag link is loose.", "Drag link has come off."),
    (
        "2.1.5",
        "Power steering fluid is a bit low.",
        "Power steering fluid is way low.",
        "Power steering does not work and it won't steer.",
    ),
    (
        "2.1.5",
        "Power steering pressure hose is seeping.",
        "Power steering pressure hose is leaking.",
        "Power steering pressure hose is about to catch fire.",
    ),
    ("2.2.1", "Steering wheel has slight play.", "Steering wheel is loose.", "Steering wheel is about to come off."),
    ("3.2.1", "Windshield has a small chip.", "Windshield is cracked."),
    ("3.4.1", "Wiper blades streak.", "Wiper blades are torn."),
    ("4.1.1", "Left headlight lens is slightly hazed.", "Left headlight does not work."),
    ("5.1.2", "Left kingpin is slightly loose.", "Left kingpin is loose.", "Left kingpin is ready to fall out."),
    (
        "5.1.3",
        "Right rear wheel bearing is slightly noisy.",
        "Right rear wheel bearing is growling.",
        "Right rear wheel bearing is going to fall apart.",
    ),
    ("5.2.2", "Left front wheel has a small dent.", "Left front wheel is bent.", "Left front wheel is cracked."),
    ("5.2.3", "Right front tire is slightly worn.", "Right front tire is bald.", "Right front tire is showing cord."),
    (
        "5.2.3",
        "Left rear tire has fine cracks in the sidewall.",
        "Left rear tire is badly cracked.",
        "Left rear tire has a bulge in the sidewall.",
    ),
    ("5.3.1", "Left front spring is a bit rusty.", "Left front coil spring is broken."),
    (
        "5.3.1",
        "Right rear leaf spring is a bit rusty.",
        "Right rear leaf spring is cracked.",
        "Right rear main leaf is broken.",
    ),
    ("5.3.2", "Left rear shock is misting.", "Left rear shock is leaking badly."),
    (
        "5.3.3",
        "Left lower control arm has surface rust.",
        "Left lower control arm is badly rusted.",
        "Left lower control arm is broken.",
    ),
    (
        "5.3.4",
        "Right lower ball joint has slight play.",
        "Right lower ball joint is loose.",
        "Right lower ball joint is about to separate.",
    ),
    ("5.3.4", "Left ball joint boot is starting to split.", "Left ball joint boot is torn."),
    (
        "6.1.1",
        "Left frame rail has surface rust.",
        "Left frame rail is rotted.",
        "Left frame rail is rotted and it won't steer straight.",
    ),
    ("6.1.2", "Exhaust flange is blowing slightly.", "Muffler is leaking badly.", "Muffler is about to fall off."),
    ("6.1.3", "Fuel line is slightly corroded.", "Fuel line is badly corroded.", "Fuel line is leaking."),
    ("6.1.3", "Fuel tank has light rust.", "Fuel tank is loose.", "Fuel tank is about to fall off."),
    (
        "6.1.7",
        "Driveshaft u-joint has slight play.",
        "Driveshaft u-joint is worn out.",
        "Driveshaft u-joint is about to come apart.",
    ),
    ("6.1.7", "Left outer cv boot is slightly cracked.", "Left outer cv boot is torn open."),
    ("6.2.3", "Left front door hinge is a bit worn.", "Left front door hinge is broken."),
    ("7.1.2", "Driver's seat belt is slightly frayed.", "Driver's seat belt does not latch."),
]


def ranks(phrases: tuple[str, ...]) -> list[int]:
    orders = [write_order(Note(name="n", text=p), vocabulary=shipped_vocabulary()) for p in phrases]
    for phrase, order in zip(phrases, orders, strict=True):
        assert order.lines, f"no line for: {phrase}"
    return [max(RANK[line.severity] for line in order.lines) for order in orders]


@pytest.mark.parametrize("stem", STEMS, ids=[f"{s[0]}-{n}" for n, s in enumerate(STEMS)])
def test_a_defect_that_grows_never_weighs_less(stem: tuple[str, ...]) -> None:
    item, *phrases = stem
    rungs = ranks(tuple(phrases))
    assert rungs == sorted(rungs), f"{item}: {list(zip(phrases, rungs, strict=True))}"
    # A rule that called everything the same would pass the above.
    assert rungs[0] < rungs[-1], f"{item}: all rungs weigh the same"
    assert rungs[-1] >= RANK["required"]


def test_most_ladders_of_three_have_three_severities() -> None:
    threes = [ranks(s[1:]) for s in STEMS if len(s) == 4]
    assert len(STEMS) >= 25
    assert sum(len(set(rungs)) == 3 for rungs in threes) >= 0.8 * len(threes)
