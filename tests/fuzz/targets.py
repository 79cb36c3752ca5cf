"""What comes in from outside, each kind as a function of bytes: it gives what a user is promised, or the one refusal.

A target raises nothing where it is so. Both drivers, hypothesis in ``test_fuzz.py`` and atheris in ``run_atheris.py``, call
the same targets, and ``corpus/TARGET/`` keeps every input that once broke one.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path

from project_notes import shipped_vocabulary
from talkaround.audit.places import PlaceError, rows_of
from talkaround.audit.points import Points
from talkaround.audit.tally import Asked, tally_of
from talkaround.bulk.job import Batch, BulkError
from talkaround.bulk.notes import open_notes
from talkaround.bulk.rows import Row, RowError, raw_rows, row_of
from talkaround.estimating import PriceFileError, price, read_prices
from talkaround.intake import NoteError, note_from_bytes
from talkaround.judging import Judged
from talkaround.models import Note, RepairOrder
from talkaround.order.facts import FactError, laid_over
from talkaround.order.revising import Entry, UnknownPart, revised
from talkaround.order.written import OrderError, order_from
from talkaround.output import SUFFIXES, render
from talkaround.pipeline import read_again, write_order
from talkaround.reading.types import ReadNote
from talkaround.vocabulary.building import build
from talkaround.vocabulary.checking import _LOOKS
from talkaround.vocabulary.files import LexiconError, shipped_folder
from whole_orders import check_whole

CORPUS = Path(__file__).parent / "corpus"
# Long texts are for the tests of time; here they would only make the search slow.
_NOTE = 3_000
_WALK = (
    "Gray sedan, 84,210 miles. Left front lower ball joint has play, needs a ball joint. Front brake pads are at 2 mm, need "
    "pads. Right rear tire is at 3/32. Customer says it pulls to the left. Horn works. Scratch that, the other one."
)


class Draws:
    """Choices made out of bytes, first come first; when they are used up, the first of each."""

    def __init__(self, data: bytes):
        self.rest = data

    def number(self, below: int) -> int:
        drawn, self.rest = self.rest[:1], self.rest[1:]
        return drawn[0] % below if drawn else 0

    def bytes(self) -> bytes:
        """Up to the next 0xFF."""
        drawn, _, self.rest = self.rest.partition(b"\xff")
        return drawn


def one_line(error: Exception) -> None:
    """A refusal is one line of text that anybody can print, neither empty nor endless."""
    said = str(error)
    said.encode()
    assert said.strip() and len(said.splitlines()) == 1, repr(said)
    assert len(said) < 2_000, f"{len(said)} characters: {said[:200]}"
    assert "Traceback" not in said and "validation error" not in said, said


@cache
def folder() -> Path:
    """Where the files lie that a target reads."""
    held = tempfile.TemporaryDirectory(prefix="talkaround-fuzz-")
    _kept.append(held)
    return Path(held.name)


_kept: list[tempfile.TemporaryDirectory[str]] = []


def file(name: str, data: bytes) -> Path:
    path = folder() / name
    path.write_bytes(data)
    return path


# ----- notes ----------------------------------------------------------------------------------------------------------


def held_to_its_promise(note: Note) -> None:
    """The order of a note that intake let in, in every format."""
    if len(note.text) > _NOTE:
        return
    vocabulary = shipped_vocabulary()
    order = write_order(note, vocabulary=vocabulary)
    check_whole(order, note, vocabulary)
    for format in SUFFIXES:
        render(order, format).encode()


def typed(data: bytes) -> None:
    """A typed note, of a file or as text."""
    try:
        note = note_from_bytes(data, source="note.txt", name="note", suffix=".txt", limit=100_000)
    except NoteError as error:
        one_line(error)
        return
    assert note.text.strip() and note.kind == "typed" and not note.utterances
    held_to_its_promise(note)


def transcript(data: bytes) -> None:
    """A timed transcript in each form that intake knows; the first byte tells by which ending, or by none."""
    suffix = (".srt", ".vtt", ".json", None)[data[0] % 4] if data else None
    try:
        note = note_from_bytes(data[1:], source="note", name="note", suffix=suffix, limit=100_000)
    except NoteError as error:
        one_line(error)
        return
    end = 0
    for u in note.utterances:
        assert end <= u.begin < u.end <= len(note.text)
        assert note.text[u.begin : u.end].strip() == note.text[u.begin : u.end]
        for second in (u.start_s, u.end_s):
            assert second is None or 0 <= second < 1e9
        end = u.end
    assert (note.kind == "transcript") == bool(note.utterances)
    held_to_its_promise(note)


def sound(data: bytes) -> None:
    """What stands in a sound file, as far as its samples; no recogniser listens."""
    from talkaround.hearing.sound import opened

    try:
        with opened(file("note.wav", data)) as recording:
            for n, block in enumerate(recording.blocks(5)):
                assert 0 < len(block.samples) <= 5 * 16_000
                assert abs(block.samples).max() <= 1
                if n > 20:
                    break
    except NoteError as error:
        one_line(error)


# ----- the shop's own files -------------------------------------------------------------------------------------------

LEXICON_FILES = (
    "components/own.toml", "actions.toml", "ambiguous.toml", "cautions.toml", "conditions.toml", "cues.toml",
    "documentation.toml", "judgement.toml", "limits.toml", "mishearings.toml", "ordinary.toml", "places.toml", "plain.toml",
    "quantities.toml", "recogniser.toml", "spelling.toml", "systems.toml", "units.toml", "another.toml", "parts/own.toml",
)  # fmt: skip
# Those that the others rest on stay whole.
_WHOLE, _FEW = ("systems.toml", "units.toml", "quantities.toml", "spelling.toml"), 6


_NEEDS = re.compile(
    r"^(?:goes_with|look_at|served_as|part_of|kind_of|holds) = (?:\[[^\]]*\]|\"[^\"]*\")\n", re.MULTILINE
)
_HEADING = re.compile(r"^\[[^.\n]*\]$", re.MULTILINE)


@cache
def small_lexicon() -> Path:
    """The shipped lexicon cut to a few tables a file that need no others, so that it is read in no time."""
    small = folder() / "small"
    tables: dict[Path, list[str]] = {}
    for path in sorted(shipped_folder().rglob("*.toml")):
        if path.parent.name == "components" and path.stem not in ("brakes", "steering", "tires"):
            continue
        text = _NEEDS.sub("", path.read_text("utf-8"))
        heads = [m.start() for m in _HEADING.finditer(text)]
        few = len(heads) if path.name in _WHOLE else _FEW
        tables[small / path.relative_to(shipped_folder())] = [
            text[begin:end] for begin, end in zip(heads, [*heads[1:], len(text)], strict=True)
        ][:few]
    while True:
        for path, held in tables.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text("".join(held), "utf-8")
        told: list[LexiconError] = []
        build([small], told.append)
        if not told:
            return small
        for e in told:
            heading = e.problem.partition("]")[0] + "]\n"
            tables[Path(e.path)] = [t for t in tables[Path(e.path)] if not t.replace('"', "").startswith(heading)]


def lexicon(data: bytes) -> None:
    """A file of a shop's lexicon folder, laid over a small one; the first byte tells which file."""
    shop = folder() / "shop"
    for old in sorted(shop.rglob("*.toml")):
        old.unlink()
    name = LEXICON_FILES[data[0] % len(LEXICON_FILES)] if data else LEXICON_FILES[0]
    path = shop / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data[1:])
    told: list[LexiconError] = []
    found = build([small_lexicon(), shop], told.append)
    for error in told:
        one_line(error)
        if error.line is not None and error.path == str(path):
            assert 1 <= error.line <= data.count(b"\n") + data.count(b"\r") + 1
    for look in _LOOKS:
        for remark in look(found):
            remark.text.encode()
    if told:
        # A run refuses such a lexicon.
        return
    note = Note(name="note", text=_WALK)
    check_whole(write_order(note, vocabulary=found.vocabulary), note, found.vocabulary)


def prices(data: bytes) -> None:
    """A price file, put on an order."""
    try:
        found = read_prices([file("prices.toml", data)])
    except PriceFileError as error:
        assert error.problems
        for problem in error.problems:
            one_line(PriceFileError([problem]))
        return
    order = an_order()[0]
    priced = price(order, found)
    for remark in priced.remarks:
        one_line(ValueError(remark))
    e = priced.estimate
    assert e.total == e.parts_subtotal + e.labor_subtotal + e.tax
    whole = order.model_copy(update={"estimate": e})
    assert RepairOrder.model_validate_json(whole.model_dump_json()) == whole
    for format in SUFFIXES:
        render(whole, format).encode()


# ----- orders read back -----------------------------------------------------------------------------------------------


@cache
def an_order() -> tuple[RepairOrder, ReadNote, list[Judged]]:
    return read_again(Note(name="gray sedan", text=_WALK), vocabulary=shipped_vocabulary())


@cache
def points() -> Points:
    return Points(shipped_vocabulary())


def order_read_back(data: bytes) -> None:
    """An order as JSON, into all that takes orders: prices, formats, the audit, and the lines put together anew."""
    try:
        order = order_from(data)
    except OrderError as error:
        one_line(error)
        return
    written = order.model_dump_json()
    assert order_from(written) == order
    assert tally_of([{"order": written}], 0, points(), Asked()).unreadable in (0, 1)
    for priced in (order, order.model_copy(update={"estimate": price(order, read_prices([])).estimate})):
        for format in SUFFIXES:
            render(priced, format).encode()
    _, found, judged = an_order()
    entries = [Entry(line, touched=n % 2 == 0, struck=n % 5 == 4) for n, line in enumerate(order.lines)]
    try:
        again, _ = revised(order, entries, found, judged, shipped_vocabulary())
    except UnknownPart as error:
        one_line(error)
        return
    assert [x.number for x in again.lines] == list(range(1, len(again.lines) + 1))


# ----- many notes -----------------------------------------------------------------------------------------------------


def _read_row(raw: object) -> None:
    """A row as a worker reads it."""
    try:
        row: Row = row_of(raw)
        facts = row.facts()
        note = row.note(row.id or "row 1")
    except (RowError, FactError, NoteError) as error:
        one_line(error)
        return
    if len(note.text) <= _NOTE:
        order = write_order(note, vocabulary=shipped_vocabulary(), rule_book=row.rule_book)
        order.vehicle = laid_over(order.vehicle, facts)
        RepairOrder.model_validate_json(order.model_dump_json())


def bulk_lines(data: bytes) -> None:
    """A file of notes, a JSON object a line."""
    _bulk(file("notes.jsonl", data))


def bulk_table(data: bytes) -> None:
    """A Parquet file of notes."""
    _bulk(file("notes.parquet", data))


def _bulk(path: Path) -> None:
    try:
        notes = open_notes(path)
        seen = 0
        for batch in notes.batches(50):
            assert batch.rows and batch.first == seen
            seen += batch.rows
            for raw in _rows_in(batch):
                _read_row(raw)
        assert seen == notes.rows
    except BulkError as error:
        one_line(error)


def _rows_in(batch: Batch) -> Iterator[object]:
    found = list(raw_rows(batch))
    assert len(found) == batch.rows
    return iter(found[:20])


# ----- the audit ------------------------------------------------------------------------------------------------------

AUDITED = ("orders.json", "orders.jsonl", "orders.parquet", "about.csv")


def audit(data: bytes) -> None:
    """What is audited: a file of orders or notes, or the CSV that tells who wrote them. The first byte tells which."""
    kind = AUDITED[data[0] % len(AUDITED)] if data else AUDITED[0]
    path = file(kind, data[1:])
    about = None
    if kind == "about.csv":
        path, about = file("held.jsonl", an_order()[0].model_dump_json().encode() + b"\n"), path
    asked = Asked(first=date(2020, 1, 1), period="week", sample=2) if data[:1] > b"\x80" else Asked(sample=2)
    try:
        for n, rows in enumerate(rows_of(str(path), about)):
            tally = tally_of(rows[:20], n, points(), asked)
            for trouble in tally.troubles:
                one_line(ValueError(trouble))
    except PlaceError as error:
        one_line(error)


def desk(data: bytes) -> None:
    """A request to the desk; see ``desk_requests.py``."""
    import desk_requests

    desk_requests.answered(data)


TARGETS: dict[str, Callable[[bytes], None]] = {
    "typed": typed,
    "transcript": transcript,
    "sound": sound,
    "lexicon": lexicon,
    "prices": prices,
    "order": order_read_back,
    "bulk_lines": bulk_lines,
    "bulk_table": bulk_table,
    "audit": audit,
    "desk": desk,
}
