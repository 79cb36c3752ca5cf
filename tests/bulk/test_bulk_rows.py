"""What a row becomes: the order that `write` gives, facts over it, or one line on what is wrong."""

import gzip
import json
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from bulk_runs import json_lines
from project_notes import SAMPLES
from talkaround.bulk import working
from talkaround.bulk.job import BulkError, Job, program_version
from talkaround.bulk.notes import LINE_LIMIT, open_notes
from talkaround.intake import read_note
from talkaround.models import RepairOrder
from talkaround.output import render
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary, lexicon_digest

# Wikipedia's example of a VIN whose check digit holds, from memory: 1M8GDM9AXKP042788.
SOUND_VIN = "1M8GDM9AXKP042788"
NOTE = "Left front lower ball joint is loose."

Read = Callable[..., list[dict[str, Any]]]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads an input in this process and gives its rows."""

    def read(source: Path, batch: int = 1000, **options: Any) -> list[dict[str, Any]]:
        out = tmp_path / "out"
        out.mkdir(exist_ok=True)
        job = Job(out, "run", lexicon_digest(), program_version(), **options)
        rows = []
        for one in open_notes(source).batches(batch):
            working.work(job, one)
            rows += pq.read_table(out / f"part-{one.number:06d}.parquet").to_pylist()
        return rows

    return read


def one(read: Read, tmp_path: Path, row: Any) -> dict[str, Any]:
    (only,) = read(json_lines(tmp_path / "notes.jsonl", [row]))
    return only


def test_an_order_is_the_one_that_write_gives(read: Read, tmp_path: Path, vocabulary: Vocabulary) -> None:
    paths = sorted(p for p in SAMPLES.iterdir() if p.suffix in (".txt", ".srt", ".json"))
    notes = [read_note(p) for p in paths]
    rows = read(
        json_lines(
            tmp_path / "notes.jsonl",
            [{"id": n.name, **n.model_dump(include={"text", "kind", "utterances"})} for n in notes],
        )
    )
    assert len(rows) == len(notes) > 5
    for note, row in zip(notes, rows, strict=True):
        assert row["error"] is None
        order = write_order(note, vocabulary=vocabulary)
        assert json.loads(row["order"]) == json.loads(render(order, "json")), note.name
        assert [(x["number"], x["component"], x["side"], x["severity"]) for x in row["lines"]] == [
            (x.number, x.component.id, x.position.side, x.severity) for x in order.lines
        ]


def test_a_line_says_in_columns_what_was_said(read: Read, tmp_path: Path) -> None:
    row = one(read, tmp_path, {"text": "Right rear brake pad is worn, 2 mm."})
    (line,) = [x for x in row["lines"] if x["component"] == "brake-pad"]
    assert (line["axle"], line["side"], line["level"]) == ("rear", "right", None)
    assert "worn" in line["conditions"]
    (reading,) = line["measurements"]
    assert (reading["value"], reading["unit"], reading["verdict"]) == (2.0, "mm", "fail")


def test_facts_beside_the_note_win_over_what_it_says(read: Read, tmp_path: Path) -> None:
    text = f"{NOTE} Odometer reads 50,000 miles. Plate is ABC 123."
    facts = {"vin": "1m8gdm9axkp042788", "odometer": 84210, "odometer_unit": "km", "plate": "XY 99"}
    row = one(read, tmp_path, {"text": text, **facts})
    assert (row["vin"], row["odometer"], row["odometer_unit"], row["plate"]) == (SOUND_VIN, 84210.0, "km", "XY 99")
    vehicle = RepairOrder.model_validate_json(row["order"]).vehicle
    assert vehicle and vehicle.vin == SOUND_VIN and vehicle.plate == "XY 99"
    assert vehicle.odometer and (vehicle.odometer.value, vehicle.odometer.unit) == (84210.0, "km")
    said = one(read, tmp_path, {"text": text, "vin": "", "plate": None})
    assert (said["vin"], said["odometer"], said["odometer_unit"]) == (None, 50000.0, "mi")


def test_the_drive_side_of_a_row_wins_over_the_option(read: Read, tmp_path: Path) -> None:
    text = "Driver side front caliper is seized."
    path = json_lines(tmp_path / "notes.jsonl", [{"text": text}, {"text": text, "steering": "left-hand"}])
    uk, us = read(path, steering="right-hand")
    assert (uk["steering"], uk["lines"][0]["side"]) == ("right-hand", "right")
    assert (us["steering"], us["lines"][0]["side"]) == ("left-hand", "left")


BAD = {
    "no text": ({"id": "x"}, "`text`: there is none"),
    "null text": ({"text": None}, "`text`: there is none"),
    "text of a wrong type": ({"text": 5}, "`text`: should be a valid string, and is the value 5"),
    "blank text": ({"text": " \n "}, "blank"),
    "no object": ([1, 2], "the line holds a list, not an object"),
    "broken JSON": (b'{"text": "Left\n', "the line is no JSON"),
    "bad UTF-8": (b'{"text": "brak\xe9 pads"}\n', "not in UTF-8: byte 15 is 0xE9"),
    "half a character": (b'{"text": "brake \\ud800", "id": "\\ud800"}\n', "character 7 is half of one"),
    "nested too deeply": (b"[" * 200_000 + b"\n", "no JSON"),
    "a number too long": (b'{"text": ' + b"9" * 6000 + b"}\n", "no JSON"),
    "a control character": ({"text": "brake\u0000"}, "control character U+0000"),
    "too long a text": ({"text": "brake pad " * 200_001}, "larger than a note may be (2 MB)"),
    "too long a line": (b'{"text": "' + b"x" * LINE_LIMIT + b'"}\n', "longer than 8 MB"),
    "an unknown kind": ({"text": NOTE, "kind": "audio"}, "`kind`"),
    "an unknown drive side": ({"text": NOTE, "steering": "middle"}, "`steering`"),
    "an unknown rule book": ({"text": NOTE, "rule_book": "moon"}, "`rule_book`"),
    "no date": ({"text": NOTE, "date": "yesterday"}, "'yesterday' is no date"),
    "a VIN that cannot be": ({"text": NOTE, "vin": SOUND_VIN[:-1] + "9"}, "check digit"),
    "an odometer that cannot be": ({"text": NOTE, "odometer": -4}, "odometer '-4' is no number"),
    "an unknown unit": ({"text": NOTE, "odometer": 4, "odometer_unit": "furlong"}, "`odometer_unit`"),
    "utterances of a wrong type": ({"text": NOTE, "utterances": [{"begin": 0}]}, "`utterances.0.end`"),
    "an utterance outside": ({"text": NOTE, "utterances": [{"begin": 0, "end": 999}]}, "outside the text"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_row_is_a_row_with_one_clear_line(kind: str, read: Read, tmp_path: Path) -> None:
    bad, says = BAD[kind]
    good = {"id": "after", "text": NOTE}
    rows = read(json_lines(tmp_path / "notes.jsonl", [bad, good]))
    assert [r["row"] for r in rows] == [0, 1]
    assert says in rows[0]["error"]
    assert rows[0]["error"].endswith((".", "..."))
    assert "\n" not in rows[0]["error"] and len(rows[0]["error"]) <= 400
    assert rows[0]["order"] is None and rows[0]["lines"] is None
    assert rows[1]["error"] is None and rows[1]["lines"]


def test_an_exception_in_the_reading_is_a_row_with_its_error(
    read: Read, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(note: Any, **more: Any) -> RepairOrder:
        raise KeyError("no such\npart")

    monkeypatch.setattr(working, "write_order", breaks)
    row = one(read, tmp_path, {"id": "x", "technician": "Kim", "text": NOTE})
    assert row["error"].startswith("nothing could be made of it (KeyError: ")
    assert (row["id"], row["technician"]) == ("x", "Kim")


def test_a_refused_row_keeps_who_and_when(read: Read, tmp_path: Path) -> None:
    row = one(
        read, tmp_path, {"id": 7, "technician": "Kim", "shop": [1], "date": "2024-05-31", "vin": "short", "text": NOTE}
    )
    assert (row["id"], row["technician"], row["shop"], row["date"]) == ("7", "Kim", None, "2024-05-31")


def test_rows_keep_their_order_and_blank_lines_are_none(read: Read, tmp_path: Path) -> None:
    lines = [
        b"\xef\xbb\xbf",
        {"id": "a", "text": NOTE},
        b"\n",
        {"id": "b", "text": NOTE},
        b"  \r\n",
        b'{"id":"c","text":"Horn."}',
    ]
    rows = read(json_lines(tmp_path / "notes.ndjson", lines), batch=2)
    assert [(r["row"], r["id"], r["error"]) for r in rows] == [(0, "a", None), (1, "b", None), (2, "c", None)]


def test_gzip_reads_as_the_plain_file_does(read: Read, tmp_path: Path) -> None:
    plain = json_lines(tmp_path / "notes.jsonl", [{"id": str(n), "text": NOTE} for n in range(3)])
    packed = tmp_path / "packed.jsonl.gz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    assert read(packed) == read(plain)
    packed.write_bytes(packed.read_bytes()[:-12])
    with pytest.raises(BulkError, match=r"packed.jsonl.gz: cannot be read .*copy it again"):
        open_notes(packed)


def test_parquet_in_any_types_reads_as_json_does(read: Read, tmp_path: Path) -> None:
    folder = tmp_path / "many"
    folder.mkdir()
    table = pa.table(
        {
            "text": pa.array([NOTE, None, NOTE], pa.large_string()),
            "odometer": pa.array([84210.0, 1.0, float("nan")]),
            "date": pa.array([datetime(2024, 5, 31, 9, 30)] * 3, pa.timestamp("ns")),
            "technician": pa.array(["Kim", "Kim", None]).dictionary_encode(),
            "not_ours": [b"\xff"] * 3,
        }
    )
    pq.write_table(table, folder / "b.parquet", row_group_size=2)
    other = pa.table(
        {"text": [NOTE], "date": [date(2024, 6, 1)], "utterances": [[{"begin": 0, "end": 4, "start_s": 1.5}]]}
    )
    pq.write_table(other, folder / "c.parquet")
    rows = read(folder, batch=2)
    assert [r["row"] for r in rows] == [0, 1, 2, 3]
    assert [r["date"] for r in rows] == ["2024-05-31T09:30:00"] * 3 + ["2024-06-01"]
    assert [r["odometer"] for r in rows] == [84210.0, None, None, None]
    assert "`text`: there is none" in rows[1]["error"]
    assert rows[0]["lines"] == rows[3]["lines"] != []


def test_a_column_that_is_not_utf8_spoils_only_its_rows(read: Read, tmp_path: Path) -> None:
    raw = pa.array([NOTE.encode(), b"brak\xe9", NOTE.encode()], pa.binary())
    bad = pa.StringArray.from_buffers(3, *raw.buffers()[1:])
    pq.write_table(pa.table({"text": bad}), tmp_path / "notes.parquet")
    rows = read(tmp_path / "notes.parquet")
    assert [r["error"] is None for r in rows] == [True, False, True]
    assert "not in UTF-8" in rows[1]["error"]


def test_words_of_notes_are_not_kept(read: Read, tmp_path: Path, vocabulary: Vocabulary) -> None:
    """spaCy's own count of the words that it knows, ``len(vocab.strings)``."""
    read(json_lines(tmp_path / "first.jsonl", [{"text": f"{NOTE} Ticket qz1x2."}]))
    assert working._loaded
    strings = working._loaded[1].matcher._vocab.strings
    before = len(strings)
    rows = [{"text": f"{NOTE} Ticket qz{n:05d}x{n * 7919:07d}."} for n in range(50)]
    assert all(r["error"] is None for r in read(json_lines(tmp_path / "many.jsonl", rows)))
    assert len(strings) == before


def test_a_worker_with_another_lexicon_or_version_says_so(tmp_path: Path) -> None:
    with pytest.raises(BulkError, match="lexicon .* Bring the same files"):
        working.ready(Job(tmp_path, "run", "other", program_version()))
    with pytest.raises(BulkError, match="talkaround .* Install the same"):
        working.ready(Job(tmp_path, "run", lexicon_digest(), "0.0.0 (other)"))
    with pytest.raises(BulkError, match="does not see this folder"):
        working.ready(Job(tmp_path / "none", "run", lexicon_digest(), program_version()))
