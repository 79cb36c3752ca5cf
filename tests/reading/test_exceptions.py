""" "All but", "none except", "needs this and that": what is said of several, and of the one that is left out."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary


def _faults(order: RepairOrder) -> set[tuple[str, str]]:
    """Where each faulty part sits."""
    return {
        (line.component.id, f"{line.position.axle} {line.position.side}")
        for line in order.lines
        if line.severity != "good"
    }


@pytest.mark.parametrize(
    ("text", "faulty", "spared"),
    [
        ("All the tires are worn but not the left front.", {"front right", "rear left", "rear right"}, "front left"),
        ("All four tires are cracked except the right rear.", {"front left", "front right", "rear left"}, "rear right"),
        ("Front tires are worn apart from the left.", {"front right"}, "front left"),
        ("the rear tires are cracked but not the right", {"rear left"}, "rear right"),
    ],
)
def test_a_fault_of_all_but_one_place_is_at_every_other(
    text: str, faulty: set[str], spared: str, vocabulary: Vocabulary
) -> None:
    order = order_of(text, vocabulary)
    assert _faults(order) == {("tire", at) for at in faulty}
    good = [f"{x.position.axle} {x.position.side}" for x in order.lines if x.severity == "good"]
    assert good == [spared]


@pytest.mark.parametrize(
    "text",
    [
        "Left rear needs a caliper and a hose.",
        "left rear needs a caliper and a brake hose",
        "LR: needs caliper + brake hose.",
        "On the left rear I would replace the caliper and the brake hose.",
    ],
)
def test_a_list_of_needs_is_for_the_place_that_leads_it(text: str, vocabulary: Vocabulary) -> None:
    assert _faults(order_of(text, vocabulary)) == {("brake-caliper", "rear left"), ("brake-hose", "rear left")}


def test_a_part_of_the_list_that_has_no_side_gets_none(vocabulary: Vocabulary) -> None:
    order = order_of("Left rear needs a caliper and an engine air filter.", vocabulary)
    filter_ = next(line for line in order.lines if line.component.id == "air-filter")
    assert (filter_.position.axle, filter_.position.side) == (None, None)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("Caliper slides are dry on the left front.", "caliper-slide-pin"),
        ("No grease in the left front wheel bearing.", "wheel-bearing"),
        ("Left front door hinges are bone dry.", "door-hinge"),
    ],
)
def test_what_runs_in_grease_and_is_dry_wants_lubricating(text: str, part: str, vocabulary: Vocabulary) -> None:
    found = {(line.component.id, line.action.verb) for line in order_of(text, vocabulary).lines}
    assert (part, "lubricate") in found


def test_what_may_leak_and_is_dry_is_good(vocabulary: Vocabulary) -> None:
    assert [line.severity for line in order_of("Left rear shock is dry.", vocabulary).lines] == ["good"]


def test_a_question_about_a_part_is_no_finding_and_its_answer_is(vocabulary: Vocabulary) -> None:
    order = order_of("Would the rear shocks pass? They're leaking.", vocabulary)
    assert _faults(order) == {("shock-absorber", "rear left"), ("shock-absorber", "rear right")}
    assert not order_of("Would the rear shocks pass? No idea.", vocabulary).lines
