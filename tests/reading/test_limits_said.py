"""A limit that the note names beside its reading, also in a clause of its own."""

from __future__ import annotations

import pytest

from project_notes import shipped_vocabulary
from talkaround.models import Note
from talkaround.pipeline import write_order


@pytest.mark.parametrize(
    ("text", "limit", "verdict", "severity"),
    [
        ("Left front rotor 24.1, minimum 24.5.", 24.5, "fail", "required"),
        ("Left front rotor 24.8 mm, min is 24.5.", 24.5, "pass", "good"),
        ("Left front rotor is 24.1 and the limit is 23.", 23, "pass", "good"),
        ("Left rear shoes are 3/16 in, limit 1/4 in.", 0.25, "fail", "required"),
        # 5 mm in 32nds: 5 / 25.4 * 32.
        ("Left front tire 5/32, minimum is 5 mm.", 6.299213, "fail", "required"),
        ("Left kingpin has 60 thousandths of play, limit is 50.", 0.05, "fail", "required"),
    ],
)
def test_the_limit_said_is_the_one_that_holds(text: str, limit: float, verdict: str, severity: str) -> None:
    (line,) = write_order(Note(name="n", text=text), vocabulary=shipped_vocabulary()).lines
    (m,) = line.measurements
    assert m.limit == pytest.approx(limit)
    assert (m.limit_source, m.verdict, line.severity) == ("as said in the note", verdict, severity)


def test_what_a_part_was_when_new_is_no_limit() -> None:
    (line,) = write_order(
        Note(name="n", text="Front pads are six millimeters, new is twelve."), vocabulary=shipped_vocabulary()
    ).lines
    assert [m.value for m in line.measurements] == [6]
    assert line.severity == "good"
