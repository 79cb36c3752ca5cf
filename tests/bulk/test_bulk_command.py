"""`talkaround bulk` as it is called: statuses, messages, killed and gone on with, and read by other people's libraries."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pandas as pd
import polars as pl
import psutil
import pytest

from bulk_runs import COMMAND, KILLING, bulk, environment, json_lines, rows_in, small_notes, with_killing


def started(*arguments: object, env: dict[str, str] | None = None) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*COMMAND, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env or environment(),
        start_new_session=True,
    )


def wait_for_parts(out: Path, many: int) -> None:
    until = time.monotonic() + 60
    while len(list(out.glob("part-*.parquet"))) < many:
        assert time.monotonic() < until, "no parts came"
        time.sleep(0.005)


def workers_of(process: subprocess.Popen[str]) -> list[psutil.Process]:
    children = psutil.Process(process.pid).children(recursive=True)
    return [c for c in children if any("spawn_main" in word for word in c.cmdline())]


def test_all_written_and_read_alike_by_pandas_duckdb_and_polars(tmp_path: Path) -> None:
    """Readers of their own: pandas (here over pyarrow), DuckDB and Polars."""
    notes = json_lines(tmp_path / "notes.jsonl", small_notes(25))
    out = tmp_path / "orders"
    ran = bulk(notes, "--out", out, "--batch", 10, "--workers", 2)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("25 of 25 notes written, 0 with an error, in ")
    files = str(out / "part-*.parquet")
    by_duckdb = duckdb.sql(f"select * from read_parquet('{files}') order by row").fetchall()
    by_polars = pl.read_parquet(files).sort("row").rows()
    frame = pd.concat([pd.read_parquet(p, dtype_backend="pyarrow") for p in sorted(out.glob("part-*"))])
    by_pandas = list(zip(*(frame[c].array.__arrow_array__().to_pylist() for c in frame.columns), strict=True))
    assert by_duckdb == by_polars == by_pandas
    assert [r[0] for r in by_duckdb] == list(range(25))
    flat = "select l.component, count(*) from (select unnest(lines) l from read_parquet('{}')) group by 1"
    counted = dict(duckdb.sql(flat.format(files)).fetchall())
    assert counted["brake-caliper"] == 6  # every fourth of 25, from the third on
    assert json.loads(by_duckdb[3][11])["note"]["name"] == "n3"


def test_rows_with_errors_are_told_and_end_with_one(tmp_path: Path) -> None:
    notes = json_lines(tmp_path / "notes.jsonl", [*small_notes(2), {"id": "bad"}])
    ran = bulk(notes, "--out", tmp_path / "out", "--workers", 1)
    assert ran.returncode == 1
    assert "3 of 3 notes written, 1 with an error" in ran.stdout
    assert [r["error"] is None for r in rows_in(tmp_path / "out")] == [True, True, False]
    again = bulk(notes, "--out", tmp_path / "out", "--workers", 1)
    assert again.returncode == 1
    assert "3 of 3 notes written, 3 of them by an earlier run, 1 with an error" in again.stdout


def test_another_run_is_not_mixed_in(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(3)), tmp_path / "out"
    assert bulk(notes, "--out", out).returncode == 0
    held = {p.name: p.read_bytes() for p in out.iterdir()}
    other = json_lines(tmp_path / "other.jsonl", small_notes(4))
    refused = bulk(other, "--out", out, "--steering", "right-hand", "--rule-book", "uk")
    assert refused.returncode == 2
    assert refused.stderr == (
        f"talkaround: {out}: holds orders of another run, which differs in the notes, --steering, --rule-book. "
        "Give --anew to read all again, or choose another folder with --out.\n"
    )
    assert {p.name: p.read_bytes() for p in out.iterdir()} == held
    (out / "mine.txt").write_text("mine")
    assert bulk(other, "--out", out, "--batch", 4, "--anew").returncode == 0
    assert [r["id"] for r in rows_in(out)] == ["n0", "n1", "n2", "n3"]
    assert (out / "mine.txt").read_text() == "mine"
    (out / "run.json").unlink()
    lost = bulk(other, "--out", out)
    assert (lost.returncode, "holds orders without their run.json" in lost.stderr) == (2, True)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("none.jsonl", None, "no such file"),
        ("notes.csv", b"text\nhorn\n", "is of no kind that can be read"),
        ("notes.parquet", b"PAR1 no", "cannot be read"),
        ("notes.jsonl.gz", b"no gzip", "cannot be read"),
    ],
)
def test_an_input_that_is_none_is_refused_in_a_line(
    name: str, content: bytes | None, says: str, tmp_path: Path
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    ran = bulk(tmp_path / name, "--out", tmp_path / "out")
    assert ran.returncode == 2
    assert says in ran.stderr and ran.stderr.count("\n") == 1
    assert not (tmp_path / "out" / "run.json").exists()


def test_help_loads_neither_spacy_nor_pyarrow() -> None:
    code = (
        "import sys\nfrom talkaround import cli\n"
        "try: cli.app(['bulk', '--help'])\nexcept SystemExit: pass\n"
        "sys.exit(bool({'spacy', 'pyarrow', 'distributed'} & set(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment(), timeout=60)
    assert ran.returncode == 0 and "--scheduler" in ran.stdout


@pytest.mark.parametrize(("missing", "extra"), [("pyarrow", "bulk"), ("distributed", "cluster")])
def test_a_missing_extra_is_named(missing: str, extra: str, tmp_path: Path) -> None:
    notes = json_lines(tmp_path / "notes.jsonl", small_notes(1))
    code = (
        f"import sys\nclass Gone:\n def find_spec(self, name, *_):\n  if name.split('.')[0] == {missing!r}: "
        f"raise ModuleNotFoundError(name=name)\nsys.meta_path.insert(0, Gone())\n"
        f"from talkaround import cli\ncli.app(['bulk', {str(notes)!r}, '--out', {str(tmp_path / 'o')!r}, '--scheduler', 'tcp://x:1'])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment(), timeout=60)
    assert ran.returncode == 2
    assert f'needs {missing}: install it with pip install "talkaround[{extra}]".' in ran.stderr


def test_killed_main_process_then_the_same_command_goes_on(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(1500)), tmp_path / "out"
    command = (notes, "--out", out, "--batch", 10, "--workers", 2)
    process = started(*command)
    wait_for_parts(out, 3)
    orphans = workers_of(process)
    process.kill()
    process.communicate()
    done = {p.name: p.stat().st_mtime_ns for p in out.glob("part-*.parquet")}
    assert 3 <= len(done) < 150
    (out / ".part-000149-0123456789ab.tmp").write_bytes(b"half")
    ran = bulk(*command)
    assert ran.returncode == 0, ran.stderr
    assert "of them by an earlier run" in ran.stdout
    assert [(r["row"], r["id"]) for r in rows_in(out)] == [(n, f"n{n}") for n in range(1500)]
    assert {name: (out / name).stat().st_mtime_ns for name in done} == done, "what was done was read again"
    assert not list(out.glob(".part-*"))
    assert not psutil.wait_procs(orphans, timeout=10)[1], "a worker outlived its main process"


def test_a_part_that_a_power_cut_left_broken_is_made_again(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(6)), tmp_path / "out"
    command = (notes, "--out", out, "--batch", 2, "--workers", 1)
    assert bulk(*command).returncode == 0
    (out / "part-000001.parquet").write_bytes(b"")
    assert "6 of 6 notes written, 4 of them by an earlier run" in bulk(*command).stdout
    assert [r["row"] for r in rows_in(out)] == list(range(6))


def test_a_killed_worker_is_replaced_and_nothing_is_lost(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(600)), tmp_path / "out"
    process = started(notes, "--out", out, "--batch", 10, "--workers", 2)
    wait_for_parts(out, 2)
    victim = workers_of(process)[0]
    victim.kill()
    said, complained = process.communicate(timeout=60)
    assert (process.returncode, complained) == (0, "")
    assert "600 of 600 notes written, 0 with an error" in said
    assert [r["row"] for r in rows_in(out)] == list(range(600))


def test_a_note_that_kills_its_reader_becomes_a_row_with_an_error(tmp_path: Path) -> None:
    rows = small_notes(7)
    rows[2]["text"] = rows[5]["text"] = f"Horn is {KILLING}."
    ran = bulk(
        json_lines(tmp_path / "notes.jsonl", rows), "--out", tmp_path / "out", "--batch", 4, env=with_killing(tmp_path)
    )
    assert (ran.returncode, ran.stderr) == (1, "")
    read = rows_in(tmp_path / "out")
    assert [r["id"] for r in read] == [f"n{n}" for n in range(7)]
    assert [r["row"] for r in read if r["error"]] == [2, 5]
    assert "ends the process that reads it" in read[2]["error"]


def test_an_interrupted_run_says_how_far_it_came(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(1500)), tmp_path / "out"
    process = started(notes, "--out", out, "--batch", 10, "--workers", 1)
    wait_for_parts(out, 2)
    # To the whole group, as a terminal sends it.
    os.killpg(process.pid, signal.SIGINT)
    _, complained = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "of 1500 notes written" in complained and "The same command goes on from there." in complained
    assert complained.count("\n") == 1
    assert not list(out.glob(".part-*"))


def test_two_runs_into_one_folder_are_refused(tmp_path: Path) -> None:
    notes, out = json_lines(tmp_path / "notes.jsonl", small_notes(1500)), tmp_path / "out"
    first = started(notes, "--out", out, "--batch", 10, "--workers", 1)
    try:
        wait_for_parts(out, 1)
        second = bulk(notes, "--out", out, "--batch", 10, "--anew")
        assert (second.returncode, "another run is writing here" in second.stderr) == (2, True)
    finally:
        first.kill()
        first.communicate()
