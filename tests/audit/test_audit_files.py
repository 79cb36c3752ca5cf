"""The audit's tables, read back by programs that know nothing of this one: pandas, Polars and DuckDB."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import duckdb
import pandas as pd
import polars as pl
import pytest

import reports
from talkaround.audit.as_files import COLUMNS, as_files
from talkaround.batch import OutputError

NAMES = [
    "agreement", "agreement-table", "before-after", "empty-words", "examples", "periods", "sample", "scores", "shares",
    "stands-out", "visits",
]  # fmt: skip
Rows = list[tuple[Any, ...]]


def same(a: object, b: object) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-12)
    return a == b


def alike(a: Rows, b: Rows) -> bool:
    return len(a) == len(b) and all(same(x, y) for r, s in zip(a, b, strict=True) for x, y in zip(r, s, strict=True))


def by_pandas(path: Path) -> Rows:
    frame = pd.read_parquet(path) if path.suffix == ".parquet" else pd.read_csv(path, keep_default_na=False)
    return [
        tuple(None if x is None or x is pd.NA or x != x else x for x in row) for row in frame.astype(object).to_numpy()
    ]


def by_polars(path: Path) -> Rows:
    if path.suffix == ".parquet":
        return pl.read_parquet(path).rows()
    return pl.read_csv(path, infer_schema_length=None).rows()


def by_duckdb(path: Path) -> Rows:
    reads = (
        "read_parquet(?)" if path.suffix == ".parquet" else "read_csv(?, header = true, nullstr = '\\N', quote = '\"')"
    )
    return duckdb.execute(f"select * from {reads}", [str(path)]).fetchall()


@pytest.fixture(scope="module")
def parquet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("parquet") / "made" / "on the way"
    assert {p.name for p in as_files(reports.rich(), folder, "parquet")} == {f"{n}.parquet" for n in NAMES}
    return folder


@pytest.fixture(scope="module")
def csvs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("csv")
    assert {p.name for p in as_files(reports.rich(), folder, "csv")} == {f"{n}.csv" for n in NAMES}
    assert {p.name for p in folder.iterdir()} == {f"{n}.csv" for n in NAMES}, "nothing half written is left"
    return folder


@pytest.mark.parametrize("name", NAMES)
def test_parquet_reads_alike_in_three_programs(name: str, parquet: Path) -> None:
    path = parquet / f"{name}.parquet"
    rows = by_duckdb(path)
    assert rows and alike(rows, by_polars(path)) and alike(rows, by_pandas(path))


@pytest.mark.parametrize("name", ["shares", "periods", "sample", "visits", "stands-out", "agreement-table"])
def test_csv_reads_alike_in_three_programs(name: str, csvs: Path) -> None:
    path = csvs / f"{name}.csv"

    def plainly(rows: Rows) -> Rows:
        # A day is text to the one and a day to the other, and the number that names an order a number.
        return [tuple("" if x is None else x if isinstance(x, float) else str(x) for x in row) for row in rows]

    rows = plainly(by_duckdb(path))
    assert rows and alike(rows, plainly(by_polars(path))) and alike(rows, plainly(by_pandas(path)))


def test_a_share_has_a_row_of_its_own(parquet: Path) -> None:
    row = duckdb.execute(
        "select met, due, share, low, high, few from read_parquet(?) where \"by\" = 'technician' and who = 'Gus' and "
        "point = 'reading-given'", [str(parquet / "shares.parquet")],
    ).fetchone()  # fmt: skip
    # 37 of 120, its interval by Wilson's formula worked out by hand.
    assert row is not None and row[:2] == (37, 120) and row[5] is False
    assert row[2:5] == pytest.approx((0.3083, 0.2327, 0.3958), abs=5e-4)
    kinds = duckdb.execute('select distinct "by" from read_parquet(?) order by "by"', [str(parquet / "shares.parquet")])
    assert [k for (k,) in kinds.fetchall()] == ["everybody", "shop", "system", "technician"]


def test_counts_of_the_table_of_ranks_add_up(parquet: Path) -> None:
    table = pl.read_parquet(parquet / "agreement-table.parquet").filter(pl.col("who") == "")
    assert table.height == 25 and table["count"].sum() == 1150
    said = table.filter((pl.col("said") == "suggested") & (pl.col("rule_book") == "required"))
    assert said["count"].to_list() == [90], "what was said lower than the rule book has it"


def test_what_is_not_defined_is_null_and_empty(parquet: Path, csvs: Path) -> None:
    zed = pl.read_parquet(parquet / "agreement.parquet").filter(pl.col("who") == "Zed")
    assert zed["kappa"].to_list() == [None]
    with (csvs / "agreement.csv").open(encoding="utf-8", newline="") as f:
        assert [r["kappa"] for r in csv.DictReader(f) if r["who"] == "Zed"] == [""]


def test_csv_is_utf_8_by_rfc_4180_with_a_header(csvs: Path) -> None:
    data = (csvs / "sample.csv").read_bytes()
    assert data.startswith(b"seed,order,date,technician,shop,text\r\n")
    assert b'"Front pads are getting low.\nHorn works."' in data
    assert "Élodie Ñandú" in (csvs / "shares.csv").read_text("utf-8")


def test_a_name_that_a_spreadsheet_would_run_is_guarded_and_a_number_is_not(csvs: Path) -> None:
    with (csvs / "shares.csv").open(encoding="utf-8", newline="") as f:
        names = {r["who"] for r in csv.DictReader(f)}
    assert "'=Farah" in names and "=Farah" not in names
    report = reports.rich()
    worse = report.before_after[0].model_copy(update={"difference": -0.25})
    as_files(report.model_copy(update={"before_after": [worse]}), csvs / "worse", "csv")
    assert pd.read_csv(csvs / "worse" / "before-after.csv")["difference"].to_list() == [-0.25]


@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_of_nothing_there_are_headers_alone(kind: Any, tmp_path: Path) -> None:
    for path in as_files(reports.empty(), tmp_path, kind):
        frame = pl.read_parquet(path) if kind == "parquet" else pl.read_csv(path)
        assert frame.columns == list(COLUMNS[path.stem]) and frame.height == 0


@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_what_cannot_be_written_is_told_in_a_line(kind: Any, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file", "utf-8")
    with pytest.raises(OutputError, match=r"^[^\n]*taken: cannot be made[^\n]*--out\.$"):
        as_files(reports.quiet(), tmp_path / "taken", kind)
    (tmp_path / f"shares.{kind}").mkdir()
    with pytest.raises(OutputError, match=rf"^[^\n]*shares\.{kind}: cannot be written[^\n]*--out\.$"):
        as_files(reports.quiet(), tmp_path, kind)
    assert not list(tmp_path.glob(".*")), "nothing half written is left"
