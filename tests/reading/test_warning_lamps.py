"""A lit warning lamp tells of a fault that is to be found; it is no lamp that does not work."""

import pytest

from talkaround.models import Line, Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def lines(text: str, v: Vocabulary) -> list[Line]:
    return write_order(Note(name="lamp", text=text), vocabulary=v).lines


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("ABS light on.", "abs-lamp"),
        ("Airbag light stays on.", "airbag-lamp"),
        ("abs light came on during the road test", "abs-lamp"),
        ("Check engine light is flashing, misfire on cylinder 2.", "check-engine-lamp"),
    ],
)
def test_a_lit_lamp_is_to_be_looked_into(text: str, component: str, vocabulary: Vocabulary) -> None:
    found = next(x for x in lines(text, vocabulary) if x.component.id == component)
    assert (found.action.verb, found.conditions) == ("diagnose", [])
    assert "lit" in found.cause


def test_a_lamp_that_goes_out_again_is_no_line_of_its_own(vocabulary: Vocabulary) -> None:
    text = "Airbag lamp's on. Side airbag connector was loose, plugged it back in and the lamp's out."
    assert [(x.component.id, x.work) for x in lines(text, vocabulary)] == [("airbag-harness", "done")]


def test_a_lamp_with_its_code(vocabulary: Vocabulary) -> None:
    (line,) = lines("Check engine light is on with P0420.", vocabulary)
    assert [x.value for x in line.identifiers] == ["P0420"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("No warning lights on the dash.", ("good", "none")),
        ("Oil pressure light is out.", ("required", "replace")),
        ("Check engine light works.", ("good", "none")),
    ],
)
def test_a_lamp_that_is_not_lit(text: str, said: tuple[str, str], vocabulary: Vocabulary) -> None:
    assert [(x.severity, x.action.verb) for x in lines(text, vocabulary)] == [said]


@pytest.mark.parametrize("text", ["Customer says the ABS light is on.", "ABS light on the left side of the dash."])
def test_what_somebody_else_says_or_where_it_is_makes_no_line(text: str, vocabulary: Vocabulary) -> None:
    assert lines(text, vocabulary) == []
