"""What once broke the program, each as somebody would meet it; single files are in ``corpus/``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from at_hand import Shop
from lexicon_folders import Shop as Folder
from talkaround.audit.places import rows_of
from talkaround.cli import app
from talkaround.desk.reader import Reader
from talkaround.estimating import PriceFileError, read_prices
from talkaround.intake import NoteError, note_from_bytes
from talkaround.models import Note
from talkaround.order.written import OrderError, order_from
from talkaround.output import render
from talkaround.pipeline import write_order
from talkaround.vocabulary import LexiconError, load_vocabulary, read_lexicon
from targets import an_order


def refused(order: dict[str, Any]) -> str:
    with pytest.raises(OrderError) as caught:
        order_from(json.dumps(order))
    assert len(str(caught.value).splitlines()) == 1
    return str(caught.value)


@pytest.fixture
def order() -> dict[str, Any]:
    held: dict[str, Any] = json.loads(an_order()[0].model_dump_json())
    return held


def test_an_order_whose_words_are_not_in_its_note_is_refused(order: dict[str, Any]) -> None:
    order["lines"][0]["evidence"][0]["end"] = 10_000
    assert f"is no place in a note of {len(order['note']['text'])} characters" in refused(order)


def test_an_order_with_a_place_that_ends_before_it_begins_is_refused(order: dict[str, Any]) -> None:
    order["set_aside"][0] |= {"begin": 9, "end": 4}
    assert "set_aside: 9 to 4 is no place" in refused(order)


@pytest.mark.parametrize("where", ["questions", "parts", "jobs"])
def test_an_order_that_speaks_of_a_line_it_does_not_have_is_refused(order: dict[str, Any], where: str) -> None:
    named = {"questions": {"line": 77, "field": "side", "text": "Which?"}, "jobs": {"name": "tires", "lines": [77]},
             "parts": {"part": {"id": "tire", "name": "tire"}, "lines": [77]}}  # fmt: skip
    order[where] = [named[where]]
    assert f"{where}: there is no line 77" in refused(order)


def test_an_order_with_two_lines_of_one_number_is_refused(order: dict[str, Any]) -> None:
    order["lines"][1]["number"] = order["lines"][0]["number"]
    assert "lines: two have one number" in refused(order)


@pytest.mark.parametrize("value", [float("inf"), float("nan")])
def test_a_reading_that_is_no_number_is_refused(order: dict[str, Any], value: float) -> None:
    line = next(x for x in order["lines"] if x["measurements"])
    line["measurements"][0]["value"] = value
    assert "finite number" in refused(order)


def test_an_amount_with_an_endless_exponent_is_refused(order: dict[str, Any]) -> None:
    order["estimate"] = {"total": "1e999999999"}
    assert "estimate.total" in refused(order)


def test_an_order_of_data_with_half_a_character_is_refused(order: dict[str, Any]) -> None:
    order["summary"] = "\ud800"
    with pytest.raises(OrderError):
        order_from(order)


def test_an_order_as_it_was_written_is_read_back() -> None:
    held = an_order()[0]
    assert order_from(render(held, "json")) == held == order_from(held.model_dump())


@pytest.mark.parametrize("depth", range(900, 1_000))
def test_a_transcript_that_is_nearly_too_deep_is_refused(depth: int) -> None:
    with pytest.raises(NoteError, match="malformed transcript"):
        note_from_bytes(b"[" * depth + b"]" * depth, source="walk.json", name="walk", suffix=".json")


def test_a_file_of_orders_that_is_too_deep_is_told(tmp_path: Path) -> None:
    path = tmp_path / "orders.json"
    path.write_text("[" * 100_000)
    assert list(rows_of(str(path))) == [[{"broken": f"{path}: is no JSON"}]]


def test_a_price_with_letters_inside_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "prices.toml"
    path.write_text(f'[parts]\n"brake-pad" = "1{"x" * 200_000}1"\n', "utf-8")
    with pytest.raises(PriceFileError) as caught:
        read_prices([path])
    assert "line 2" in str(caught.value) and "is no number" in str(caught.value) and len(str(caught.value)) < 400


def test_the_line_of_a_price_is_counted_as_other_programs_count_it(tmp_path: Path) -> None:
    """A line separator of Unicode inside of quotes ends no line of TOML."""
    path = tmp_path / "prices.toml"
    path.write_text('[shop]\nname = "a\u2028b\u2028c"\n[parts]\n"brake-pad" = "none"\n', "utf-8")
    with pytest.raises(PriceFileError, match=r"prices.toml, line 4: parts.brake-pad.price: "):
        read_prices([path])


def test_of_endless_mistakes_in_a_lexicon_file_the_first_are_told(tmp_path: Path) -> None:
    path = Folder(tmp_path).write("conditions.toml", "".join(f"[zq{n}]\nx = 1\n" for n in range(5_000)))
    told: list[LexiconError] = []
    read_lexicon(tmp_path, told.append)
    assert len(told) == 201 and {e.path for e in told} == {str(path)}
    assert told[0].line == 1 and "[zq0] 'names' is missing" in str(told[0])
    assert str(told[-1]).endswith("more than 200 mistakes; mend those before it first")


@pytest.mark.parametrize("command", [["audit"], ["lexicon", "check"], ["write"], ["price"]], ids=" ".join)
def test_a_name_that_is_too_long_for_any_file_is_told_in_a_line(command: list[str]) -> None:
    result = CliRunner().invoke(app, [*command, "x" * 300])
    assert result.exit_code in (1, 2)
    assert result.stderr.startswith("talkaround: ") and len(result.stderr.splitlines()) == 1


def test_quotes_that_are_not_closed_are_shown_as_they_are() -> None:
    note = Note(name="quotes", text="Left front tire is worn, customer says “it “pulls to the left. " + "“" * 500)
    made = write_order(note, vocabulary=load_vocabulary(), steering="right-hand")
    assert render(made, "html") and render(made, "markdown")


def test_a_part_that_the_shop_no_longer_has_is_told_and_its_line_can_be_struck(tmp_path: Path) -> None:
    folder = tmp_path / "lexicon"
    folder.mkdir()
    Folder(folder).write("components/own.toml", '[own-gadget]\nname = "gadget"\nsystem = "brakes"\nplaces = ["side"]\n')
    reader = Reader(folder)
    shop = Shop(tmp_path, reader)
    wren = shop.sit("Wren")
    order = wren.take("a note with a gadget", "Left gadget is broken, replace it. Horn works.")
    (gadget, horn) = wren.lines(order)
    (folder / "components" / "own.toml").unlink()
    reader.reload()

    def act(key: str, do: str) -> Any:
        fields = {"do": do, "seen": wren.version(order), "token": f"{do}-{key}"}
        return wren.post(f"/orders/{order}/line/{key}", fields)

    told = act(horn, "up")
    assert told.status_code == 400
    assert "lexicon has no gadget [own-gadget]: put it back into the lexicon, or strike line 1" in told.text
    assert act(gadget, "strike").status_code == 303
    assert wren.lines(order) == [horn]
    shop.close()
