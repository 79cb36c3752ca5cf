"""One part, two verdicts: a correction stands, and what is unclear is asked."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    "text",
    [
        "Left front caliper is seized. Horn works. Left front caliper is fine.",
        "left front caliper is sticking horn works wipers are good left front caliper is fine",
        "Caliper LF seized. Horn ok. LF caliper ok.",
    ],
)
def test_faulty_and_later_fine_is_asked_and_stays_faulty(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    caliper = next(x for x in order.lines if x.component.id == "brake-caliper")
    assert caliper.severity == "required"
    asked = [q for q in order.questions if q.line == caliper.number and q.field == "understanding"]
    assert len(asked) == 1
    assert "fine" in asked[0].choices


@pytest.mark.parametrize(
    "text",
    [
        "Water pump is leaking. Actually the water pump is dry.",
        "Water pump is leaking. Horn works. Sorry, the water pump is dry.",
        "water pump is leaking no wait the water pump's dry",
    ],
)
def test_a_verdict_that_is_corrected_is_the_later_one(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    pump = next(x for x in order.lines if x.component.id == "water-pump")
    assert (pump.severity, pump.conditions) == ("good", [])
    assert any(s.reason == "taken-back" for s in order.set_aside)
    assert not order.questions


@pytest.mark.parametrize(
    "text",
    [
        "left front caliper is seized no wait right front needs a caliper left front's fine",
        "Left front caliper is seized, no wait, the right front caliper needs replacing. Left front's fine.",
    ],
)
def test_a_correction_that_names_the_part_again_moves_the_finding(text: str, vocabulary: Vocabulary) -> None:
    found = {x.position.side: x.severity for x in order_of(text, vocabulary).lines}
    assert found == {"right": "required", "left": "good"}


@pytest.mark.parametrize(
    "text",
    ["Left front tire is cut. Horn works. All the other tires are fine.", "Release handle is bent but it works."],
)
def test_no_question_where_nothing_contradicts(text: str, vocabulary: Vocabulary) -> None:
    assert not [q for q in order_of(text, vocabulary).questions if q.field == "understanding"]
