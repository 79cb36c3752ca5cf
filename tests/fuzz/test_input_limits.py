"""Every input has a limit, and whoever goes over it is told in one line what is too large, how much may be, and what to do.

Where reaching the limit would take long, the limit is made smaller for the test.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

import talkaround.audit.places
import talkaround.cli
import talkaround.estimating.prices
import talkaround.hearing.sound
import talkaround.intake
import talkaround.order.written
import talkaround.vocabulary.files
from at_hand import Shop, Tab
from project_notes import ROOT
from seeds import seeds
from sound_parts import need
from talkaround.audit.places import PlaceError, rows_of
from talkaround.bulk.notes import LINE_LIMIT
from talkaround.bulk.rows import RowError, data_of_line
from talkaround.desk import security
from talkaround.desk.reader import Reader
from talkaround.desk.security import FORM_LIMIT
from talkaround.estimating import PriceFileError, read_prices
from talkaround.intake import (
    NOTE_LIMIT,
    SOUND_LIMIT,
    UTTERANCES_LIMIT,
    NoteError,
    note_from_bytes,
    read_note,
    sound_file,
)
from talkaround.models import Exact, Model
from talkaround.order.written import OrderError, order_from
from talkaround.vocabulary import LexiconError, read_lexicon
from talkaround.vocabulary.files import FILE_LIMIT, NAMES_LIMIT
from talkaround.vocabulary.schema import PHRASE_LIMIT

Set = Callable[[str, int], None]


@pytest.fixture
def limit(monkeypatch: pytest.MonkeyPatch) -> Set:
    return lambda name, to: monkeypatch.setattr(f"talkaround.{name}", to)


def said(error: BaseException, *parts: str) -> None:
    line = str(error)
    assert len(line.splitlines()) == 1, line
    for part in parts:
        assert part in line, line


def test_a_typed_note(tmp_path: Path) -> None:
    path = tmp_path / "long.txt"
    path.write_bytes(b"tire worn. " * 200_000)
    with pytest.raises(NoteError) as caught:
        read_note(path)
    said(caught.value, str(path), "larger than a note may be (2 MB)", "split it by vehicle")


def test_the_stretches_of_a_transcript(limit: Set) -> None:
    limit("intake.UTTERANCES_LIMIT", 3)
    rows = "".join(f"{n}\n00:00:0{n},000 --> 00:00:0{n},900\ntire is worn.\n\n" for n in range(1, 5))
    with pytest.raises(NoteError) as caught:
        note_from_bytes(rows.encode(), source="walk.srt", name="walk", suffix=".srt")
    said(caught.value, "walk.srt", "has 4 timed stretches, more than a note may have (3)", "split it by vehicle")


def test_the_size_of_a_recording(tmp_path: Path) -> None:
    path = tmp_path / "day.wav"
    with path.open("wb") as file:
        # A hole: it takes no room on the disk.
        file.truncate(SOUND_LIMIT + 1)
    with pytest.raises(NoteError) as caught:
        sound_file(path)
    said(caught.value, str(path), "larger than a recording may be (4 GB)", "packs it tighter")


def test_the_length_of_a_recording(tmp_path: Path, limit: Set) -> None:
    need("av")
    limit("hearing.sound.LONGEST_S", 0)
    path = tmp_path / "day.wav"
    path.write_bytes(next(s for s in seeds("sound") if s.startswith(b"RIFF")))
    with pytest.raises(NoteError) as caught, talkaround.hearing.sound.opened(path) as recording:
        list(recording.blocks())
    said(caught.value, str(path), "longer than a recording may be (0 hours)", "Cut it by vehicle")
    assert talkaround.hearing.sound.BLOCK_S < 12 * 3600


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("#" * (FILE_LIMIT + 1), ("larger than a lexicon file may be (2 MB)", "split it")),
        (
            "[a]\nwords = [" + '"x",' * (NAMES_LIMIT + 1) + "]\n",
            ("holds 50,003 texts, more than a lexicon file may (50,000)", "split it"),
        ),
        ("[a]\nnames = [" + "[" * 3_000, ("lists as deep", "take them out")),
        (
            f'[left]\nnames = ["{"x" * (PHRASE_LIMIT + 1)}"]\n',
            (f"holds a text of more than {PHRASE_LIMIT:,} characters", "mend or remove it", "line 2"),
        ),
    ],
    ids=["bytes", "texts", "depth", "a name"],
)
def test_a_file_of_a_shop_s_lexicon(tmp_path: Path, text: str, parts: tuple[str, ...]) -> None:
    path = tmp_path / "places.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(LexiconError) as caught:
        read_lexicon(tmp_path)
    said(caught.value, str(path), *parts)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("#" * 4_000_001, ("larger than one may be (4 MB)", "split it by system")),
        (
            "[parts]\n" + "".join(f"a{n} = 1\n" for n in range(20_001)),
            ("20,001 rows", "(20,000)", "split it by system"),
        ),
        ("[parts]\na = " + "1" * 5_000, ("numbers as long", "take them out")),
    ],
    ids=["bytes", "rows", "digits"],
)
def test_a_price_file(tmp_path: Path, text: str, parts: tuple[str, ...]) -> None:
    path = tmp_path / "prices.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(PriceFileError) as caught:
        read_prices([path])
    said(caught.value, str(path), *parts)


def test_a_price_list_of_as_many_rows_as_there_may_be_is_read(tmp_path: Path) -> None:
    path = tmp_path / "prices.toml"
    path.write_text("[parts]\n" + "".join(f"a{n} = 1\n" for n in range(20_000)), "utf-8")
    assert read_prices([path]).entries["parts"].popitem()[1].where == f"{path}, line 20001"


def test_an_order_that_is_read_back(tmp_path: Path, limit: Set) -> None:
    limit("order.written.ORDER_LIMIT", 100)
    with pytest.raises(OrderError) as caught:
        order_from(b" " * 101)
    said(caught.value, "larger than an order may be", "Write it anew with `talkaround write NOTE --format json`")
    path = tmp_path / "order.json"
    path.write_bytes(b" " * 500)
    result = CliRunner().invoke(talkaround.cli.app, ["price", str(path)])
    assert result.exit_code == 1
    said(ValueError(result.stderr.strip()), str(path), "larger than an order may be")


def test_the_digits_of_an_amount() -> None:
    class Held(Model):
        amount: Exact

    with pytest.raises(ValueError, match="no more than 40 digits"):
        Held(amount="1e999999999")  # type: ignore[arg-type]
    assert str(Held(amount="74.50").amount) == "74.50"  # type: ignore[arg-type]


def test_a_row_of_many() -> None:
    refused = data_of_line(None)
    assert isinstance(refused, RowError)
    said(refused, "the line is longer than 8 MB", "split it by vehicle")


@pytest.mark.parametrize("name", ["JSON_LIMIT", "ABOUT_LIMIT"])
def test_what_is_audited(tmp_path: Path, limit: Set, name: str) -> None:
    limit(f"audit.places.{name}", 10)
    orders, about = tmp_path / "orders.json", tmp_path / "about.csv"
    orders.write_text("[]" + " " * 20)
    about.write_text("name,technician,shop,date\n")
    with pytest.raises(PlaceError) as caught:
        list(rows_of(str(orders), about if name == "ABOUT_LIMIT" else None))
    said(caught.value, str(about if name == "ABOUT_LIMIT" else orders), "is larger than", ".")


def test_the_readme_tells_the_limits() -> None:
    def mb(limit: int) -> str:
        return f"{limit // 1_000_000} MB"

    places, hearing, prices = talkaround.audit.places, talkaround.hearing.sound, talkaround.estimating.prices
    rows = [
        f"a note | {mb(NOTE_LIMIT)}; as a transcript {mb(NOTE_LIMIT * 10)} and {UTTERANCES_LIMIT:,} timed stretches",
        f"a recording | {hearing.LONGEST_S // 3600} hours and {SOUND_LIMIT // 10**9} GB; {mb(security.SOUND_LIMIT)} where",
        f"a file of your lexicon | {mb(FILE_LIMIT)} and {NAMES_LIMIT:,} texts, each of {PHRASE_LIMIT:,} characters",
        f"a price file | {mb(prices.FILE_LIMIT)} and {prices.ROWS_LIMIT:,} rows",
        f"an order that is read back | {mb(talkaround.order.written.ORDER_LIMIT)}",
        f"a row of many notes | {mb(LINE_LIMIT)}",
        f"{mb(places.JSON_LIMIT)} as one JSON file, {mb(places.ABOUT_LIMIT)} of CSV beside it",
        f"a form of the desk | {mb(FORM_LIMIT)} and 200 fields",
    ]
    text = (ROOT / "README.md").read_text("utf-8")
    for row in rows:
        assert row in text


# ----- the desk -------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tab]:
    shop = Shop(tmp_path_factory.mktemp("desk"), Reader(None))
    yield shop.sit("Wren")
    shop.close()


def test_a_form_of_the_desk(wren: Tab) -> None:
    answer = wren.post("/take", {"text": "x" * FORM_LIMIT})
    assert answer.status_code == 413
    assert "more than 2 MB, and nothing of it was kept" in answer.text and "Send less at once" in answer.text


def test_the_fields_of_a_form_of_the_desk(wren: Tab) -> None:
    fields = {f"field{n}": (None, "x") for n in range(201)}
    answer = wren.client.post("/api/notes", headers={"x-form-key": wren.key}, files=fields)
    assert answer.status_code == 400 and "Too many fields" in answer.json()["what"]


def test_a_note_that_is_sent_to_the_desk(wren: Tab) -> None:
    sent = {"key": "k" * 20, "text": "x" * 1_000_001}
    answer = wren.client.post("/api/notes", headers={"x-form-key": wren.key}, data=sent)
    assert answer.status_code == 422 and "at most 1000000 characters" in json.dumps(answer.json())


def test_an_upload_to_the_desk(wren: Tab) -> None:
    head = {"content-type": "multipart/form-data; boundary=b", "content-length": "60000001", "x-form-key": wren.key}
    answer = wren.client.post("/api/notes", headers=head, content=b"")
    assert answer.status_code == 413 and "more than 60 MB" in answer.json()["what"]


@pytest.mark.parametrize("origin", ["http://[", "null", "http://elsewhere.test", "//", "http://desk.test:99999999"])
def test_an_origin_that_is_none_of_the_desk_s_is_refused(wren: Tab, origin: str) -> None:
    assert wren.post("/take", {"text": "x"}, headers={"origin": origin}).status_code == 403


@pytest.mark.parametrize("length", ["²", "-1", "x", "1e3"])
def test_a_length_that_is_none_is_no_error_of_the_desk(wren: Tab, length: str) -> None:
    answer = wren.client.post(
        "/api/notes", headers={"content-length": length.encode("latin-1"), "x-form-key": wren.key}, content=b""
    )
    assert answer.status_code < 500
