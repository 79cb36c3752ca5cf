"""The explanation of an order: what an auditor must find in it, for notes worked out by hand."""

import re

import pytest

from project_notes import every_note, shipped_vocabulary
from talkaround.models import Note, Utterance
from talkaround.output import explanation
from talkaround.pipeline import explain_order


def told(text: str, width: int = 10_000, **note: object) -> str:
    explained = explain_order(
        Note.model_validate({"name": "bay", "text": text, **note}), vocabulary=shipped_vocabulary()
    )
    return explanation.render(explained, width)


def rows(text: str, words: str) -> list[str]:
    """The rows of the clause, or of the line, whose first row has these words."""
    blocks = [block.splitlines() for block in text.split("\n\n")]
    (found,) = (block for block in blocks if words in block[0])
    return [re.sub(r"\s+", " ", row).strip() for row in found]


def test_a_clause_tells_its_words_tags_numbers_rule_and_finding() -> None:
    clause = rows(told("Left front tire is at 2/32, replace it."), '"Left front tire is at 2/32,"')
    assert clause[1] == 'tags "Left" place left; "front" place front; "tire" part tire'
    assert clause[2] == 'numbers "2/32" 2/32 in'
    assert clause[3].startswith("rule say.subject: ")
    assert clause[4].startswith("gave line 1, tire, left front: 2/32 in")


def test_what_a_later_clause_adds_is_told_there_alone() -> None:
    text = told("Left front tire is at 2/32, replace it.")
    (gave,) = (row for row in rows(text, '"replace it."') if row.startswith("gave"))
    assert gave.startswith("gave line 1, tire, left front: ")
    assert "replace" in gave
    assert "2/32" not in gave


def test_a_place_that_is_not_said_is_given_its_rule() -> None:
    text = told("Right front brake hose is cracked. The caliper there is seized.")
    assert any("place.in-force" in row for row in rows(text, '"The caliper there is seized."'))
    assert any(row.startswith("position right front: place.in-force,") for row in rows(text, "brake caliper, right"))


def test_what_is_taken_back_has_no_line_any_more() -> None:
    text = told("The horn is dead. Scratch that. The left wiper blade is torn.")
    clause = rows(text, '"Scratch that."')
    assert "gave horn: no line any more" in clause
    assert 'aside taken back: "The horn is dead."' in clause
    assert "horn" not in text.split("HOW EACH LINE WAS JUDGED")[1]


def test_what_somebody_reports_is_a_concern_and_what_is_no_finding_is_set_aside() -> None:
    text = told("Customer says the horn is dead. Different truck had a torn left wiper blade. The battery is dead.")
    assert any(row.startswith("gave a concern about the horn") for row in rows(text, '"Customer says'))
    assert any(row.startswith("aside about another vehicle") for row in rows(text, '"Different truck'))


def test_severity_names_the_words_the_limit_or_the_rule() -> None:
    text = told("Brake hose is cracked, do not drive it. Left rear tire is at 2/32. Horn is dead.")
    tire = rows(text, "tire, left rear (clause")
    assert any(row.startswith("severity required: severity.reading-fails") for row in tire)
    assert any(row.endswith("limit us-light-tread") for row in tire)
    assert any(": severity.inoperative," in row for row in rows(text, "horn (clause"))
    assert any(row.startswith("severity unsafe: as said in clause") for row in rows(text, "brake hose (clause"))


def test_a_question_stands_under_its_line() -> None:
    text = told("One of the rear calipers is seized, replace it.")
    assert "asks Which side is the rear brake caliper on?" in rows(text, "brake caliper, rear (clause")


def test_every_rule_named_is_given_its_meaning() -> None:
    for key, (note, steering) in every_note().items():
        text = explanation.render(explain_order(note, vocabulary=shipped_vocabulary(), steering=steering), 10_000)
        assert "not described" not in text, key


def test_a_timed_note_tells_when_it_was_said() -> None:
    text = "The horn is dead."
    stretch = Utterance(begin=0, end=len(text), start_s=75.0, end_s=77.0)
    assert '"The horn is dead." (1:15)' in told(text, kind="transcript", utterances=[stretch])


@pytest.mark.parametrize("width", [40, 88])
def test_rows_fit_and_end_without_a_blank(width: int) -> None:
    note, _ = every_note()["estate-typed-uk.txt"]
    shown = told(note.text, width).splitlines()
    assert max(map(len, shown)) <= width
    assert [row for row in shown if row != row.rstrip()] == []


def test_no_note_can_steer_a_terminal() -> None:
    assert "\x1b" not in told("Horn \x1b[31m is dead. \x07", name="a\x1bb")


def test_a_note_of_talk_alone_has_no_lines() -> None:
    text = told("Good morning everybody.")
    assert "There are no lines." in text
    assert "nothing" in text
