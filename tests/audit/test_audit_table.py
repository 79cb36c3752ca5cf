"""The audit in a terminal: the sentences first, within the width, in plain characters."""

from __future__ import annotations

import pytest

import reports
from talkaround.audit.as_table import as_table
from talkaround.audit.report import Report


@pytest.mark.parametrize("width", [60, 80, 132])
@pytest.mark.parametrize("make", [reports.rich, reports.quiet, reports.empty], ids=lambda f: f.__name__)
def test_it_stays_within_the_width_and_steers_no_terminal(make: object, width: int) -> None:
    text = as_table(make(), width)  # type: ignore[operator]
    assert max(map(len, text.splitlines())) <= width
    assert all(c.isprintable() or c == "\n" for c in text)


def test_what_a_note_says_steers_no_terminal() -> None:
    report = reports.quiet().model_copy(update={"remarks": ["\x1b[2Jgone [bold]as typed[/bold]"]})
    text = as_table(report)
    assert "\x1b" not in text and "gone [bold]as typed[/bold]" in text


def flat(report: Report) -> str:
    return " ".join(as_table(report).split())


def test_the_sentences_come_first() -> None:
    text = flat(reports.rich())
    said = [text.index(s) for s in ("by 12 technicians in 3 shops", reports.STANDS_OUT, reports.CHANGED, reports.BETTER,
                                    "EVERYBODY, POINT BY POINT", "AGREEMENT", "VEHICLES SEEN AGAIN", "REMARKS")]  # fmt: skip
    assert said == sorted(said)
    assert "Nothing stands out" in flat(reports.quiet()) and "no order to audit" in flat(reports.empty())


def test_figures_stand_in_their_rows() -> None:
    rows = [" ".join(r.split()) for r in as_table(reports.rich()).splitlines()]
    assert "Zed 0 not defined few 0 0" in rows
    assert "Everybody 1,150 0.66 (0.65 to 0.68) 240 100" in rows
    assert "deferred, and came back 14" in rows
    gus = next(r for r in rows if r.startswith("Gus 3"))
    assert gus.startswith("Gus 31% (23 to 40)")
    assert "reading given - never due" in [" ".join(r.split()) for r in as_table(reports.quiet()).splitlines()]


def test_technicians_are_by_name_and_only_where_something_stands_out() -> None:
    text = as_table(reports.rich())
    table = text[text.index("BY TECHNICIAN") : text.index("AGREEMENT")]
    starts = [table.index(f"\n{t[:9]}") for t in reports.TECHNICIANS]
    assert starts == sorted(starts)
    assert "reading given" in table and "right part came" in table and "concern answered" not in table
    assert "BY TECHNICIAN" not in as_table(reports.quiet())
