"""What is said once the work is done: the check of it, and who was told. Scenarios of our own."""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary


@pytest.mark.parametrize(
    "text",
    [
        "Right rear wheel bearing is noisy, replaced it. Test drove after, no noise.",
        "RR wheel bearing noisy, replaced / test drove after, no noise",
        "right rear wheel bearing is noisy i replaced it road tested it and it is quiet now",
    ],
)
def test_a_check_of_the_work_takes_back_nothing_of_what_was_found(text: str, vocabulary: Vocabulary) -> None:
    (line,) = order_of(text, vocabulary).lines
    assert [c.id for c in line.conditions] == ["noisy"]
    assert (line.action.verb, line.work) == ("replace", "done")


def test_what_is_found_quiet_without_any_work_is_good(vocabulary: Vocabulary) -> None:
    (line,) = order_of("Right rear wheel bearing, no noise.", vocabulary).lines
    assert (line.severity, line.work) == ("good", "proposed")


def test_torqued_to_spec_is_no_work_on_a_part_that_is_to_be_replaced(vocabulary: Vocabulary) -> None:
    (line,) = order_of("Battery is weak, needs to be replaced. Torqued to spec and road tested.", vocabulary).lines
    assert (line.action.verb, line.work) == ("replace", "proposed")
    (line,) = order_of("Lug nuts were loose, torqued to spec.", vocabulary).lines
    assert (line.action.verb, line.work) == ("tighten", "done")


@pytest.mark.parametrize("told", ["told customer", "cust told", "customer informed", "told the driver", "she is aware"])
def test_once_the_customer_was_told_nobody_asks_whether(told: str, vocabulary: Vocabulary) -> None:
    note = f"Left front lower ball joint is about to come apart, unsafe to drive. {told.capitalize()}."
    assert not [q for q in order_of(note, vocabulary).questions if "told" in q.text]
    assert not order_of(note, vocabulary).concerns


def test_a_word_about_the_concern_is_no_second_concern(vocabulary: Vocabulary) -> None:
    assert not order_of("Left front strut is leaking, that is the customer's concern.", vocabulary).concerns


@pytest.mark.parametrize("heading", ["Customer concern:\n", "CUSTOMER STATES -\n", "Complaint:\n"])
def test_a_concern_stands_on_the_line_below_its_heading(heading: str, vocabulary: Vocabulary) -> None:
    order = order_of(f"{heading}wobble at speed\nLeft front tire 7/32.", vocabulary)
    assert [c.symptoms for c in order.concerns] == [["wobble"]]
    assert [x.component.id for x in order.lines] == ["tire"]


def test_slow_crank_is_said_of_what_turns_the_engine_and_not_of_the_crankshaft(vocabulary: Vocabulary) -> None:
    order = order_of("Customer states slow crank in the morning. Battery is weak, 11.9 volts.", vocabulary)
    assert [c.about for c in order.concerns] == [None]
    assert not [q for q in order.questions if "What was found" in q.text]


def test_coming_in_for_service_asks_for_no_finding(vocabulary: Vocabulary) -> None:
    assert not order_of("Vehicle in for service and inspection. Front pads 7 mm.", vocabulary).questions


@pytest.mark.parametrize("said", ["not great", "not good", "isn't right", "could be better"])
def test_a_part_that_somebody_is_not_happy_with_is_a_line_to_look_at_again(said: str, vocabulary: Vocabulary) -> None:
    (line,) = order_of(f"Left front strut {said}.", vocabulary).lines
    assert (line.component.id, line.severity, line.conditions) == ("strut", "monitor", [])
