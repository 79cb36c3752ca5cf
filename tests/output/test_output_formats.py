"""JSON, CSV, Markdown and terminal text: complete, readable back, and safe to open."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys

import pytest

from talkaround.amounts import amount
from talkaround.models import ComponentRef, Condition, Evidence, Line, Measurement, Note, Position, RepairOrder
from talkaround.output import SUFFIXES, _view, as_csv, render, terminal


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_an_unknown_format_is_refused_with_the_choices(empty_order: RepairOrder) -> None:
    with pytest.raises(ValueError, match=r"'pdf'.*json, markdown, csv, html"):
        render(empty_order, "pdf")


@pytest.mark.parametrize("format", SUFFIXES)
def test_same_order_same_text(format: str, rich_order: RepairOrder) -> None:
    assert render(rich_order, format) == render(rich_order.model_copy(deep=True), format)


def test_one_format_does_not_import_the_others() -> None:
    code = (
        "import sys; from talkaround.models import Note, RepairOrder; from talkaround.output import render;"
        "render(RepairOrder(note=Note(name='n', text='')), 'json');"
        "print([m for m in sys.modules if m.startswith('talkaround.output.')])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "['talkaround.output.as_json']"


# JSON


def test_json_reads_back_as_the_same_order(rich_order: RepairOrder, empty_order: RepairOrder) -> None:
    for order in (rich_order, empty_order):
        assert RepairOrder.model_validate_json(render(order, "json")) == order


# CSV


def test_csv_has_a_row_for_each_concern_line_and_question(rich_order: RepairOrder) -> None:
    kinds = [row["kind"] for row in rows(render(rich_order, "csv"))]
    assert kinds == ["concern"] + ["line"] * 12 + ["question"] * 3


def test_csv_cells_say_what_the_lines_say(rich_order: RepairOrder) -> None:
    table = rows(render(rich_order, "csv"))
    joint, pads, plug = table[1], table[3], table[8]
    assert joint["position"] == "left front, lower"
    assert (joint["part"], joint["also"], joint["work"]) == ("lower control arm × 1", "wheel alignment", "ordered")
    assert joint["concern"] == "The left front lower ball joint is about to come apart."
    assert pads["readings"] == "pad thickness 2 mm (limit 3 mm, past the limit, common practice)"
    assert (pads["severity"], pads["action"], pads["basis"]) == ("required", "replace", "measured")
    assert plug["position"] == "cylinder 3, bank 1"
    assert plug["words"] == "Plug number three is fouled, I put a new one in"
    assert table[13]["number"] == "5" and table[13]["choices"] == "left; right; both"


def test_csv_keeps_to_the_standard(rich_order: RepairOrder, empty_order: RepairOrder) -> None:
    text = render(rich_order, "csv")
    assert not re.search(r"(?<!\r)\n", text)
    assert {len(row) for row in csv.reader(io.StringIO(text, newline=""), strict=True)} == {len(as_csv.COLUMNS)}
    assert render(empty_order, "csv") == ",".join(as_csv.COLUMNS) + "\r\n"


@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1"])
def test_csv_runs_no_formula(start: str, rich_order: RepairOrder) -> None:
    rich_order.concerns[0].text = start
    rich_order.questions[0].text = start
    rich_order.lines[0].cause = start
    table = rows(render(rich_order, "csv"))
    assert {table[0]["concern"], table[13]["question"], table[1]["cause"]} == {"'" + start}


def test_csv_words_that_begin_with_a_dash_are_guarded(rich_order: RepairOrder) -> None:
    assert rows(render(rich_order, "csv"))[10]["words"] == "'- rear main seal just damp, watch it"


def test_csv_survives_quotes_and_line_ends(rich_order: RepairOrder) -> None:
    rich_order.concerns[0].text = 'says "clunk, clunk"\nand then stops'
    assert rows(render(rich_order, "csv"))[0]["concern"] == 'says "clunk, clunk"\nand then stops'


# Markdown


def test_markdown_holds_the_same_things_in_the_same_order(rich_order: RepairOrder) -> None:
    text = render(rich_order, "markdown")
    order = ("# Repair order: Silver wagon", "keeping it for good", "What the customer reports", "(unsafe)",
             "**1 · Lower ball joint**, left front", "(required)", "(suggested)", "(monitor)", "Found good",
             "To ask back", "- [ ] left", "- [ ] right", "Set aside", "Cautions", "Authorized by")  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)


def test_markdown_of_the_note_formats_nothing(rich_order: RepairOrder) -> None:
    text = render(rich_order, "markdown")
    assert not re.search(r"(?<!\\)<", text)
    assert r"\<script\>" in text and r"other \*front\* tire" in text
    rich_order.concerns[0].text = "# big\n| a | b |\n[x](http://a.example) 3. www.a.example"
    concern = next(row for row in render(rich_order, "markdown").splitlines() if "big" in row)
    assert concern.startswith(r"- **\# big \| a \| b \| \[x\](http\://a.example) 3. www\.a.example**")


def test_markdown_table_rows_keep_their_columns(rich_order: RepairOrder) -> None:
    rich_order.lines[10].component.name = "tire | wheel"
    row = next(row for row in render(rich_order, "markdown").splitlines() if row.startswith("| 11 "))
    assert len(re.findall(r"(?<!\\)\|", row)) == 5


# Terminal


@pytest.mark.parametrize("width", [80, 88, 100])
def test_terminal_rows_fit(width: int, rich_order: RepairOrder) -> None:
    rich_order.lines[0].cause = "word " * 60 + "x" * 150
    assert max(len(row) for row in terminal.render(rich_order, width).splitlines()) <= width


@pytest.mark.parametrize("width", [40, 60, 88])
def test_terminal_rows_end_without_a_blank(width: int, rich_order: RepairOrder) -> None:
    text = terminal.render(rich_order, width)
    assert "[ ]" in text
    assert [row for row in text.splitlines() if row != row.rstrip()] == []


def test_terminal_shows_everything_by_rank(rich_order: RepairOrder) -> None:
    text = " ".join(terminal.render(rich_order).split())
    for question in rich_order.questions:
        assert question.text in text
    for caution in rich_order.cautions:
        assert caution in text
    places = [text.index(f"({rank})") for rank in ("unsafe", "required", "suggested", "monitor", "good")]
    assert places == sorted(places)
    assert "Replace; part: lower control arm × 1; with it: wheel alignment (part on order)" in text
    assert "[ ] left [ ] right [ ] both" in text


def test_terminal_of_an_empty_order_says_so(empty_order: RepairOrder) -> None:
    text = terminal.render(empty_order)
    assert text.startswith("REPAIR ORDER: empty.txt\n")
    assert "nothing to do or to watch" in text


@pytest.mark.parametrize("format", [*SUFFIXES, "terminal"])
def test_control_characters_of_the_note_reach_no_reader(format: str) -> None:
    text = "tie rod \x1b[2J loose\x00"
    order = RepairOrder(
        note=Note(name="a\x1b]0;b.txt", text=text),
        lines=[
            Line.model_validate(
                {"number": 1, "component": {"id": "tie-rod", "name": "tie rod", "system": "steering"},
                 "severity": "required", "action": {"verb": "replace"}, "cause": "\x1b[31m",
                 "evidence": [{"begin": 0, "end": len(text)}]}
            )
        ],
    )  # fmt: skip
    shown = terminal.render(order) if format == "terminal" else render(order, format)
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f]", shown)
    assert "tie rod" in shown.lower()


# Words shared by all


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (Position(), ""),
        (Position(axle="front", side="left"), "left front"),
        (Position(axle="rear", side="right", level="upper"), "right rear, upper"),
        (Position(side="right", depth="outer", end="rearward"), "right, outer, rearward"),
        (Position(axle="rear", side="both"), "rear, both sides"),
        (Position(axle="front", side="center"), "front center"),
        (Position(axle=3, side="left", depth="inner"), "axle 3, left, inner"),
        (Position(place="cylinder=3"), "cylinder 3"),
        (Position(place="bank=2, door=left_rear"), "bank 2, door left_rear"),
    ],
)
def test_position_in_words(position: Position, words: str) -> None:
    assert _view.position_words(position) == words


def test_position_does_not_repeat_the_name_of_the_part() -> None:
    position = Position(axle="front", side="left", depth="outer")
    assert _view.position_words(position, "outer tie rod end") == "left front"


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        (Condition(id="worn", degree="slight"), "slightly worn"),
        (Condition(id="loose", degree="severe"), "very loose"),
        (Condition(id="corroded", degree="severe"), "badly corroded"),
        (Condition(id="leaking", degree="severe"), "leaking badly"),
        (Condition(id="missing", degree="complete"), "missing"),
        (Condition(id="broken", degree="slight"), "broken (slight)"),
        (Condition(id="unevenly-worn"), "unevenly worn"),
        (Condition(id="misadjusted"), "out of adjustment"),
    ],
)
def test_condition_in_words(condition: Condition, words: str) -> None:
    assert _view.condition_words(condition) == words


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (4, "1/32 in", "4/32 in"), (35, "%", "35%"), (-25, "degC", "-25 °C"), (0.015, "in", "0.015 in"),
        (90, "N m", "90 N·m"), (1.9, "Mohm", "1.9 MΩ"), (0.7, "deg", "0.7°"), (480.0, "A", "480 A"),
        (118400, "mi", "118400 mi"),
    ],
)  # fmt: skip
def test_amount_as_the_trade_writes_it(value: float, unit: str, words: str) -> None:
    assert amount(value, unit) == words


def test_reading_shows_its_limit_and_verdict() -> None:
    near = Measurement(quantity="tread-depth", value=3, unit="1/32 in", limit=2, limit_source="a rule", verdict="near")
    assert _view.reading(near) == "tread depth 3/32 in (limit 2/32 in, near the limit, a rule)"
    assert _view.reading(Measurement(quantity="play", value=2, unit="mm")) == "play 2 mm"


def test_quotes_join_neighbours_only_and_stay_inside_the_note() -> None:
    text = "pads low, rotors ok\n- hose wet"
    spans = [Evidence(begin=20, end=90), Evidence(begin=10, end=19, start_s=61.0), Evidence(begin=0, end=8),
             Evidence(begin=500, end=600)]  # fmt: skip
    quotes = _view.quotes(text, spans)
    assert [q.text for q in quotes] == ["pads low, rotors ok", "- hose wet"]
    assert [q.clock for q in quotes] == ["1:01", ""]
    assert all(text[q.begin : q.end] == q.text for q in quotes)


def test_part_is_named_only_where_it_says_more() -> None:
    line = {"number": 1, "component": ComponentRef(id="tire", name="tire", system="tires-and-wheels"),
            "severity": "required"}  # fmt: skip
    same = Line.model_validate({**line, "action": {"verb": "replace", "part": {"id": "tire", "name": "tire"}}})
    other = Line.model_validate({**line, "action": {"verb": "repair", "part": {"id": "patch", "name": "patch"}}})
    assert _view.part_words(same) == ""
    assert _view.part_words(other) == "patch"


@pytest.mark.parametrize("format", ["markdown", "html", "terminal"])
def test_the_rule_book_stands_with_the_vehicle(rich_order: RepairOrder, format: str) -> None:
    def shown(order: RepairOrder) -> str:
        return terminal.render(order) if format == "terminal" else render(order, format)

    assert "Rule book" not in shown(rich_order.model_copy(update={"rule_book": ""}))
    text = shown(rich_order.model_copy(update={"rule_book": "us-commercial"}))
    assert "Rule book" in text and "US, commercial vehicles" in text
    # With the facts about the vehicle, before the first finding.
    assert text.index("Rule book") < text.index("Do not drive")
