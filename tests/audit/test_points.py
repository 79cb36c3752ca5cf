"""Each documentation point on notes that keep it and on notes that do not, as an auditor would mark them by hand."""

from __future__ import annotations

import pytest

from talkaround.audit.points import RULES, Points, Written
from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import DOCUMENTATION_RULES


@pytest.fixture(scope="module")
def points(vocabulary: Vocabulary) -> Points:
    return Points(vocabulary)


def marks(text: str, id: str, points: Points, **facts: bool) -> list[bool]:
    """Kept or not, on each occasion that the point was due."""
    order = write_order(Note(name="note", text=text), vocabulary=points.vocabulary)
    return [o.met for o in points.of(Written(order, points, **facts)) if o.point == id]


KEPT, MISSED, NOT_DUE = [True], [False], []
NOTES = [
    ("place-given", "Left front lower ball joint is loose, replace it.", KEPT),
    ("place-given", "One of the lower ball joints is loose, replace it.", MISSED),
    ("place-given", "Battery is weak, replace it.", NOT_DUE),
    ("place-given", "Front brake pads are worn, replace them.", KEPT),
    ("place-given", "Left front lower ball joint is good.", NOT_DUE),
    ("reading-given", "Front pads are at 3 mm.", KEPT),
    ("reading-given", "Front pads are worn, replace them.", MISSED),
    ("reading-given", "Front pads are good.", MISSED),
    ("reading-given", "Left front tire has a nail in it, repair it.", NOT_DUE),
    ("reading-given", "Left front tie rod end is loose.", NOT_DUE),
    ("twin-read", "Left front tire 4/32, right front tire 5/32.", [True, True]),
    ("twin-read", "Left front tire 4/32.", MISSED),
    ("twin-read", "Left front tire 4/32, right rear tire 5/32.", [False, False]),
    ("twin-read", "Left front tire is at 22 psi.", NOT_DUE),
    ("condition-named", "Water pump is leaking, replace it.", KEPT),
    ("condition-named", "Left front strut is bad, replace it.", MISSED),
    ("condition-named", "Water pump is bad, replace it.", MISSED),
    ("condition-named", "Needs a water pump.", MISSED),
    ("condition-named", "Front pads are bad, 2 mm.", KEPT),
    ("condition-named", "Left front strut is shot, it is leaking.", KEPT),
    ("words-that-say", "Left front strut is shot.", MISSED),
    ("words-that-say", "Left front strut is leaking.", KEPT),
    ("words-that-say", "Left front strut is toast, leaking badly.", KEPT),
    ("action-said", "Left front strut is leaking, replace it.", KEPT),
    ("action-said", "Left front strut is leaking.", MISSED),
    ("action-said", "Left front strut is leaking, replaced it.", NOT_DUE),
    ("concern-answered", "Customer states noise from the front brakes. Front pads are at 2 mm, replace them.", KEPT),
    ("concern-answered", "Customer states noise from the front brakes. Wiper blades are torn.", MISSED),
    ("concern-answered", "Customer states noise from the front brakes. Could not duplicate. Wipers are torn.", KEPT),
    ("concern-answered", "Front pads are at 2 mm.", NOT_DUE),
    ("good-recorded", "Left front tire 4/32. Battery tests good. Wiper blades are torn.", KEPT),
    ("good-recorded", "Left front tire is worn. Battery is weak. Wiper blades are torn.", MISSED),
    ("good-recorded", "Battery is weak.", NOT_DUE),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Customer has been told.", KEPT),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Told the owner.", KEPT),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Tell the owner.", MISSED),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive.", MISSED),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Called the customer.", KEPT),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Customer was called.", KEPT),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Client informed.", KEPT),
    ("unsafe-told", "Left front brake hose is about to burst, unsafe to drive. Owner signed the waiver.", KEPT),
    ("unsafe-told", "Customer called. Left front brake hose is about to burst, unsafe to drive.", MISSED),
    ("unsafe-told", "Customer called us about a noise. Left front brake hose is about to burst, unsafe.", MISSED),
    ("unsafe-told", "Customer told us it pulls. Left front brake hose is about to burst, unsafe.", MISSED),
    ("unsafe-told", "Customer advised us of a squeal. Left front brake hose is about to burst, unsafe.", MISSED),
    ("unsafe-told", "Owner had it towed in. Left front brake hose is about to burst, unsafe.", MISSED),
    ("unsafe-told", "Wiper blades are torn.", NOT_DUE),
    ("vin-given", "Wiper blades are torn.", MISSED),
    ("odometer-given", "Wiper blades are torn. 84,210 miles on it.", KEPT),
    ("odometer-given", "Wiper blades are torn.", MISSED),
    ("final-check", "Replaced the front pads, road tested, no noise.", KEPT),
    ("final-check", "Replaced both front struts. Wheels torqued to spec.", KEPT),
    ("final-check", "Replaced the front pads.", MISSED),
    ("final-check", "Replace the front pads.", NOT_DUE),
    ("not-played-down", "Front pads are at 1 mm, they can wait, just keep an eye on them.", MISSED),
    ("not-played-down", "Front pads are at 1 mm, must be replaced.", KEPT),
    ("not-played-down", "Front pads are at 1 mm, recommend new ones.", KEPT),
    ("not-played-down", "Left front lower ball joint is about to come apart, recommend a new one.", MISSED),
    ("not-played-down", "Front pads are at 9 mm, good.", NOT_DUE),
    ("not-played-down", "Front pads are at 1 mm.", NOT_DUE),
    ("not-played-up", "Front pads are at 10 mm, unsafe, must be replaced today.", MISSED),
    ("not-played-up", "Front pads are at 10 mm, good.", KEPT),
    ("right-part", "Ordered a left front wheel bearing.", KEPT),
    ("right-part", "They sent the wrong left front wheel bearing.", MISSED),
    ("right-part", "They sent the wrong oil filter.", NOT_DUE),
]


@pytest.mark.parametrize(("id", "text", "expected"), NOTES)
def test_a_point_is_marked_as_an_auditor_would(id: str, text: str, expected: list[bool], points: Points) -> None:
    assert marks(text, id, points) == expected


def test_every_rule_has_its_table_and_notes_that_keep_and_miss_it(points: Points) -> None:
    assert set(points.points) == set(RULES) == set(DOCUMENTATION_RULES)
    shown = {(id, met) for id, _, expected in NOTES for met in expected}
    assert {id for id, met in shown if met} | {"systems-covered", "vin-given"} == set(RULES)
    assert {id for id, met in shown if not met} | {"systems-covered"} == set(RULES)


def test_a_walkaround_is_asked_for_each_system_and_a_short_note_for_none(points: Points) -> None:
    systems = points.points["systems-covered"].systems
    walk = "Front pads 7 mm good. All four tires at 6/32, good. Battery tests good. Wiper blades are torn."
    assert sorted(marks(walk, "systems-covered", points)) == [False] * (len(systems) - 4) + [True] * 4
    assert marks("Battery is weak.", "systems-covered", points) == []


def test_what_was_typed_beside_the_note_counts(points: Points) -> None:
    assert marks("Wiper blades are torn.", "vin-given", points, vin=True) == KEPT
    assert marks("Wiper blades are torn.", "odometer-given", points, odometer=True) == KEPT
