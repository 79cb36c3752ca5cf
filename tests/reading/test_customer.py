"""What the customer intends with the vehicle and wants fitted."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "plan"),
    [
        ("Four door sedan. He's going to sell it in the spring. Left front tire is cut.", "going to sell it"),
        ("The radiator is leaking. She wants one more winter out of it, then it's going to the junkyard.", "junkyard"),
        ("pickup towing with it next week so left rear shock is leaking", "towing with it"),
    ],
)
def test_the_plan_stands_in_the_notes_own_words(text: str, plan: str, vocabulary: Vocabulary) -> None:
    customer = order_of(text, vocabulary).customer
    assert customer is not None and customer.plan is not None
    assert plan in customer.plan
    assert any(plan in text[e.begin : e.end] for e in customer.evidence)


@pytest.mark.parametrize("wish", ["wants original parts only", "aftermarket is fine with her", "cheapest parts please"])
def test_what_parts_are_wanted_is_kept(wish: str, vocabulary: Vocabulary) -> None:
    customer = order_of(f"Water pump is leaking. Owner {wish}.", vocabulary).customer
    assert customer is not None and customer.parts_preference is not None


@pytest.mark.parametrize(
    "text", ["If he was keeping it I'd do the undercoating. Horn works.", "Left front tire is cut. Horn works."]
)
def test_a_what_if_is_no_plan(text: str, vocabulary: Vocabulary) -> None:
    customer = order_of(text, vocabulary).customer
    assert customer is None or customer.plan is None
