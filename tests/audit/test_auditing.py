"""An audit of a few notes whose every mark can be counted by hand, from each kind of place that they may lie in."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from datetime import date, timedelta
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from talkaround.audit import Asked, PlaceError, Report, audit
from talkaround.audit.places import Row
from talkaround.audit.running import tally_all
from talkaround.audit.visits import VisitsTable
from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary

WITH_SIDE = "Left front lower ball joint is loose, replace it."
NO_SIDE = "Lower ball joint is loose, replace it."
SHORT = "Battery is weak, replace it."


def rows_of(*notes: tuple[str, str, str], shop: str = "A") -> list[dict[str, Any]]:
    """Technician, day and text of each."""
    return [
        {"id": f"n{n}", "technician": who, "shop": shop, "date": day, "text": text}
        for n, (who, day, text) in enumerate(notes)
    ]


def written(rows: list[dict[str, Any]], path: Path) -> str:
    path.write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    return str(path)


def audited(place: str, vocabulary: Vocabulary, workers: int = 1, **asked: Any) -> Report:
    return audit(place, vocabulary, Asked(**asked), workers=workers)


def share(report: Report, point: str, who: str | None = None) -> tuple[int, int]:
    row = report.everybody if who is None else next(r for r in report.technicians if r.who == who)
    return (row.points[point].met, row.points[point].due) if point in row.points else (0, 0)


@pytest.fixture
def few(tmp_path: Path) -> str:
    notes = [
        ("Ada", "2026-01-10", WITH_SIDE), ("Ada", "2026-01-11", WITH_SIDE), ("Ada", "2026-02-01", NO_SIDE),
        ("Bo", "2026-01-12", NO_SIDE), ("Bo", "2026-02-12", SHORT),
    ]  # fmt: skip
    return written(rows_of(*notes), tmp_path / "notes.jsonl")


def test_each_technician_has_his_own_count_and_everybody_the_sum(few: str, vocabulary: Vocabulary) -> None:
    report = audited(few, vocabulary)
    assert share(report, "place-given") == (2, 4)
    assert share(report, "place-given", "Ada") == (2, 3)
    assert share(report, "place-given", "Bo") == (0, 1)
    assert [r.who for r in report.technicians] == ["Ada", "Bo"]
    assert (report.scope.orders, report.scope.lines, report.scope.first, report.scope.last) == (
        5, 5, "2026-01-10", "2026-02-12",
    )  # fmt: skip
    assert report.everybody.points["place-given"].few
    assert report.stands_out == []


@pytest.mark.parametrize(
    ("asked", "due"),
    [
        ({"first": date(2026, 2, 1)}, 1),
        ({"last": date(2026, 1, 11)}, 2),
        ({"technicians": frozenset({"Bo"})}, 1),
        ({"shops": frozenset({"B"})}, 0),
        ({"systems": frozenset({"suspension"})}, 4),
        ({"systems": frozenset({"brakes"})}, 0),
    ],
)
def test_it_is_narrowed_as_asked(few: str, vocabulary: Vocabulary, asked: dict[str, Any], due: int) -> None:
    report = audited(few, vocabulary, **asked)
    assert share(report, "place-given")[1] == due
    assert report.scope.narrowed


def test_the_same_notes_give_the_same_counts_wherever_they_lie(
    few: str, vocabulary: Vocabulary, tmp_path: Path
) -> None:
    rows = [json.loads(line) for line in Path(few).read_text().splitlines()]
    orders = [
        {k: v for k, v in row.items() if k != "text"}
        | {"order": write_order(Note(name=row["id"], text=row["text"]), vocabulary=vocabulary).model_dump_json()}
        for row in rows
    ]
    packed = tmp_path / "notes.jsonl.gz"
    packed.write_bytes(gzip.compress(Path(few).read_bytes()))
    pq.write_table(pa.Table.from_pylist(rows), tmp_path / "notes.parquet")
    parts = tmp_path / "parts [2026]"
    parts.mkdir()
    pq.write_table(pa.Table.from_pylist(orders[:3]), parts / "part-000000.parquet")
    pq.write_table(pa.Table.from_pylist(orders[3:]), parts / "part-000001.parquet")
    folder = tmp_path / "orders"
    folder.mkdir()
    for row in orders:
        (folder / f"{row['id']}.json").write_text(row["order"])
    about = tmp_path / "about.csv"
    about.write_text(
        "name,technician,shop,date\n" + "".join(f"{r['id']},{r['technician']},A,{r['date']}\n" for r in rows)
    )
    first = audited(few, vocabulary)
    for place in (packed, tmp_path / "notes.parquet", parts):
        other = audited(str(place), vocabulary)
        assert (other.technicians, other.everybody, other.charts) == (first.technicians, first.everybody, first.charts)
    other = audit(str(folder), vocabulary, Asked(), about=about, workers=1)
    assert other.technicians == first.technicians
    bare = audited(str(folder), vocabulary)
    assert bare.everybody == first.everybody
    assert (bare.technicians, bare.scope.unnamed, bare.scope.undated) == ([], 5, 5)


def test_what_cannot_be_read_is_told_and_stops_nothing(tmp_path: Path, vocabulary: Vocabulary) -> None:
    place = tmp_path / "notes.jsonl"
    good = json.dumps(rows_of(("Ada", "2026-01-10", WITH_SIDE))[0])
    place.write_text(f'{good}\n{{broken\n[1]\n{{"id": "x"}}\n{{"id": "y", "order": "{{}}"}}\n{good}\n')
    report = audited(str(place), vocabulary)
    assert (report.scope.orders, report.scope.unreadable) == (2, 4)
    assert any("row 2" in r for r in report.remarks)


@pytest.mark.parametrize("name", ["nothing-here", "empty", "notes.txt"])
def test_a_place_with_nothing_to_audit_is_one_clear_line(name: str, tmp_path: Path, vocabulary: Vocabulary) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "notes.txt").write_text("pads are worn")
    with pytest.raises(PlaceError) as told:
        audited(str(tmp_path / name), vocabulary)
    assert name in str(told.value)
    assert "\n" not in str(told.value)


def many(who: str, text: str, n: int, day: date = date(2026, 1, 5), step: int = 1) -> list[tuple[str, str, str]]:
    return [(who, (day + timedelta(days=step * k)).isoformat(), text) for k in range(n)]


def test_one_who_never_names_the_side_stands_out_and_nobody_else_does(tmp_path: Path, vocabulary: Vocabulary) -> None:
    notes = [n for who in ("Ada", "Bo", "Cy") for n in many(who, WITH_SIDE, 60)] + many("Di", NO_SIDE, 60)
    report = audited(written(rows_of(*notes), tmp_path / "n.jsonl"), vocabulary)
    assert {(s.who, s.point) for s in report.stands_out if s.below} == {("Di", "place-given")}
    (told,) = [s for s in report.stands_out if s.below]
    assert told.sentence == (
        "Di, place given: 0 of 100 occasions (60 in all), less often than the others together (100 of 100)."
    )
    assert len(told.examples) == 3
    assert all("ball joint" in e.words for e in told.examples)


def test_a_few_notes_accuse_nobody(tmp_path: Path, vocabulary: Vocabulary) -> None:
    notes = many("Ada", WITH_SIDE, 60) + many("Di", NO_SIDE, 12)
    report = audited(written(rows_of(*notes), tmp_path / "n.jsonl"), vocabulary)
    assert report.stands_out == []
    assert next(r for r in report.technicians if r.who == "Di").points["place-given"].few


def test_a_habit_that_changes_is_told_with_the_month_it_began(tmp_path: Path, vocabulary: Vocabulary) -> None:
    notes = many("Ada", WITH_SIDE, 150) + many("Bo", WITH_SIDE, 75) + many("Bo", NO_SIDE, 75, date(2026, 4, 1))
    report = audited(written(rows_of(*notes), tmp_path / "n.jsonl"), vocabulary)
    assert {(c.who, c.point, c.changed_from) for c in report.charts if c.who} == {("Bo", "place-given", "2026-04")}
    (chart,) = [c for c in report.charts if c.who]
    assert chart.sentence == (
        "Bo, place given: from 2026-04 on it fell, from 100 of 100 to 0 of 100, and stayed there."
    )


def test_training_that_helped_and_training_that_did_not(tmp_path: Path, vocabulary: Vocabulary) -> None:
    day = date(2026, 3, 1)
    before = many("Ada", NO_SIDE, 40, date(2026, 1, 5)) + many("Ada", SHORT, 40, date(2026, 1, 5))
    after = many("Ada", WITH_SIDE, 40, day) + many("Ada", SHORT, 40, day)
    report = audited(
        written(rows_of(*before, *after), tmp_path / "n.jsonl"), vocabulary, since=day, since_what="training"
    )
    told = {b.point: b for b in report.before_after}
    assert report.marked == "2026-03-01 training"
    assert (told["place-given"].before.met, told["place-given"].after.met) == (0, 40)
    assert "better by" in told["place-given"].sentence
    assert "show no difference" in told["condition-named"].sentence


def test_the_sample_is_the_same_for_the_same_seed_and_of_the_size_asked(tmp_path: Path, vocabulary: Vocabulary) -> None:
    place = written(rows_of(*many("Ada", SHORT, 300)), tmp_path / "n.jsonl")

    def drawn(seed: int, workers: int = 1) -> list[str]:
        sample = audited(place, vocabulary, sample=20, seed=seed, workers=workers).sample
        assert sample is not None
        return [o.order for o in sample.orders]

    assert len(set(drawn(1))) == 20
    assert drawn(1) == drawn(1, workers=2)
    assert drawn(1) != drawn(2)


def test_how_many_to_read_is_told_for_the_precision(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """Cochran's n0 for 0.05 at 95 % is 385 (any textbook of sampling); of 300 with the finite correction 169."""
    place = written(rows_of(*many("Ada", SHORT, 300)), tmp_path / "n.jsonl")
    sample = audited(place, vocabulary, sample=5, precision=0.05).sample
    assert sample is not None
    assert sample.needed == 169


def test_said_and_rule_book_are_laid_beside_each_other(tmp_path: Path, vocabulary: Vocabulary) -> None:
    played_down = "Front pads are at 1 mm, just keep an eye on them."
    agreed = "Front pads are at 1 mm, must be replaced."
    notes = many("Ada", agreed, 30) + many("Bo", played_down, 30)
    report = audited(written(rows_of(*notes), tmp_path / "n.jsonl"), vocabulary)
    everybody, ada, bo = report.agreement
    assert (everybody.lines, ada.lines, bo.lines) == (60, 30, 30)
    assert bo.table[3][1] == 30  # Said to be watched, required by the rule book.
    assert share(report, "not-played-down", "Bo") == (0, 30)
    assert share(report, "not-played-down", "Ada") == (30, 30)


def test_the_same_vehicle_over_its_visits(tmp_path: Path, vocabulary: Vocabulary) -> None:
    visits = [
        ("2026-01-10", 50_000, "Left front tire 5/32, watch it. Right front lower ball joint is loose, replace it. "
                               "Left rear strut is seeping, monitor it."),
        ("2026-06-10", 54_000, "Left front tire 7/32, good. Right front lower ball joint is loose, replace it. "
                               "Right rear strut is leaking, replace it."),
        ("2026-09-10", 52_500, "Right front lower ball joint is loose, unsafe, replace it."),
    ]  # fmt: skip
    rows = [
        {"id": f"v{n}", "date": day, "vin": "1M8GDM9AXKP042788", "odometer": miles, "odometer_unit": "mi", "text": text}
        for n, (day, miles, text) in enumerate(visits)
    ]
    seen = audited(written(rows, tmp_path / "n.jsonl"), vocabulary).visits
    assert (seen.vehicles, seen.seen_again) == (1, 1)
    assert seen.counts == {
        "came-back": 2, "got-worse": 1, "tread-grew": 1, "side-changed": 1, "odometer-fell": 1,
    }  # fmt: skip
    (grew,) = seen.examples["tread-grew"]
    assert (grew.what, grew.was, grew.now) == ("left front tire", "monitor, 5/32 in", "good, 7/32 in")
    assert {x.what for x in seen.examples["came-back"]} == {"right front lower ball joint"}
    (side,) = seen.examples["side-changed"]
    assert (side.what, side.was, side.now) == ("rear strut", "monitor, left", "required, right")
    (fell,) = seen.examples["odometer-fell"]
    assert (fell.was, fell.now, fell.then) == ("54000 mi", "52500 mi", "v2")


def test_a_process_that_is_ended_from_outside_is_told_in_one_line(vocabulary: Vocabulary) -> None:
    def batches() -> Iterator[list[Row]]:
        for n in range(1000):
            if n == 40:
                for process in active_children():
                    process.kill()
            yield [{"id": f"n{n}", "text": SHORT}]

    with VisitsTable() as visits, pytest.raises(PlaceError, match="^a process .* memory .* --workers 1 .*$"):
        tally_all(batches(), vocabulary, Asked(), visits, workers=2)
