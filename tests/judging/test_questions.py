"""What the writer is asked: short, with choices, most costly first, and nothing that the note answers."""

import pytest

from project_notes import order_of
from talkaround.judging import SHOWN
from talkaround.models import RepairOrder
from talkaround.vocabulary import Vocabulary


def texts(text: str, vocabulary: Vocabulary) -> list[str]:
    return [q.text for q in order_of(text, vocabulary).questions]


# ----- the customer and what is dangerous


@pytest.mark.parametrize(
    "told", ["I told the customer.", "Customer knows.", "He's been told.", "I called her and let her know."]
)
def test_nobody_asks_whether_a_customer_who_was_told_was_told(told: str, vocabulary: Vocabulary) -> None:
    unsafe = "Left front brake hose is leaking, do not drive it."
    assert any("told" in q for q in texts(unsafe, vocabulary))
    assert not any("told" in q for q in texts(f"{unsafe} {told}", vocabulary))


@pytest.mark.parametrize(
    "said", ["Customer told us it pulls.", "Owner called us about a noise.", "Customer advised us of a squeal."]
)
def test_what_the_customer_told_us_is_no_telling_of_him(said: str, vocabulary: Vocabulary) -> None:
    unsafe = "Left front brake hose is leaking, do not drive it."
    assert any("told" in q for q in texts(f"{said} {unsafe}", vocabulary))


def test_what_is_safe_needs_no_word_to_the_customer(vocabulary: Vocabulary) -> None:
    assert texts("Left rear tire is at 7/32. Right rear tire is at 7/32.", vocabulary) == []


def test_danger_put_right_on_this_visit_needs_none(vocabulary: Vocabulary) -> None:
    assert not any("told" in q for q in texts("Left front lug nuts were loose, I torqued them.", vocabulary))


# ----- the other side


def test_the_other_one_of_a_pair_is_asked_about(vocabulary: Vocabulary) -> None:
    asked = order_of("Left rear shock absorber is leaking, needs replaced.", vocabulary).questions
    assert [(q.field, q.choices) for q in asked] == [("action", ["both", "left only"])]
    assert "right rear shock absorber" in asked[0].text


@pytest.mark.parametrize(
    "text",
    [
        "Left rear shock absorber is leaking, right rear is dry and good. Left needs replaced.",
        "Both rear shock absorbers are leaking, need replaced.",
        "Left rear shock absorber is leaking, replace the pair.",
        "Left rear shock absorber is leaking, customer said no.",
    ],
)
def test_a_twin_that_the_note_speaks_of_is_not_asked_about(text: str, vocabulary: Vocabulary) -> None:
    assert not any("not mentioned" in q for q in texts(text, vocabulary))


def test_a_tire_read_on_one_side_only(vocabulary: Vocabulary) -> None:
    asked = order_of("Left front tire is at 2/32, needs a tire.", vocabulary).questions
    assert [(q.field, "right front tire" in q.text) for q in asked] == [("measurement", True)]
    assert texts("Left front tire is at 2/32, right front tire is at 3/32.", vocabulary) == []


# ----- what the customer reports


def test_a_concern_that_nothing_answers(vocabulary: Vocabulary) -> None:
    text = "Customer says the radio cuts out. Front pads are at 6 mm."
    assert any("radio cuts out" in q for q in texts(text, vocabulary))


@pytest.mark.parametrize(
    "text",
    [
        "Customer says the brakes squeal. Front pads are at 2 mm, need replaced.",
        "Customer says there is a coolant smell. Water pump is leaking.",
        "Customer says it shakes at sixty, couldn't duplicate it.",
    ],
)
def test_a_concern_that_is_answered(text: str, vocabulary: Vocabulary) -> None:
    assert not any("Reported:" in q for q in texts(text, vocabulary))


# ----- order, cap, choices


def test_the_costly_ones_come_first(vocabulary: Vocabulary) -> None:
    text = (
        "Customer says the radio cuts out. A caliper is seized, needs one. "
        "Left rear shock absorber is leaking, needs replaced. Right front brake hose is leaking, don't drive it."
    )
    fields = [(q.field, q.text) for q in order_of(text, vocabulary).questions]
    assert "told" in fields[0][1]
    kinds = [
        "told" if "told" in t else "concern" if "Reported:" in t else "pair" if "pairs" in t else f for f, t in fields
    ]
    assert kinds == ["told", "axle", "side", "concern", "pair"]


def test_no_more_than_a_writer_can_read_and_the_rest_counted(vocabulary: Vocabulary) -> None:
    parts = (
        "caliper",
        "wheel bearing",
        "ball joint",
        "axle seal",
        "wheel cylinder",
        "window regulator",
        "door handle",
        "mirror",
    )
    order = order_of(" ".join(f"The {p} is broken, needs replaced." for p in parts), vocabulary)
    assert len(order.questions) == SHOWN
    assert order.questions_left > 0


def test_a_question_stands_once(orders: dict[str, RepairOrder]) -> None:
    for order in orders.values():
        asked = [(q.line, q.field, q.text) for q in order.questions]
        assert len(asked) == len(set(asked))


def test_questions_end_as_questions_and_are_short(orders: dict[str, RepairOrder]) -> None:
    for order in orders.values():
        for q in order.questions:
            assert q.text.endswith("?")
            assert q.text[0].isupper()
            assert len(q.text.split("“")[0].split()) <= 20


@pytest.mark.parametrize(
    "text",
    [
        "The muffler is rusted out, needs replaced.",
        "CV boot on the left is torn, needs a boot.",
        "Passenger seat belt is frayed, needs a belt.",
        "Driver's door handle is broken, needs one.",
    ],
)
def test_what_few_vehicles_have_twice_or_a_seat_tells_is_not_asked(text: str, vocabulary: Vocabulary) -> None:
    assert texts(text, vocabulary) == []
