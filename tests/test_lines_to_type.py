"""Every line that a README tells somebody to type is typed here, in a folder such as his, and gives what the page says.

What cannot be typed here says why, and which tests do it instead.
"""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest
from typer.testing import CliRunner

from project_notes import ROOT, SAMPLES
from talkaround import cli

PAGES = {page: (ROOT / page).read_text("utf-8") for page in ("README.md", "lexicon/README.md")}
ELSEWHERE = {
    "python3 -m venv": "makes an environment; test_readme.py holds the second line to what the checks run",
    ".venv/bin/pip install": "installs; tests/supply is about what",
    ".venv/bin/python -c": "fetches a model",
    ".venv/bin/python tests/bench": "measures for a quarter of an hour, on a machine that is kept quiet",
    "talkaround write walk.m4a": "needs a recogniser; tests/hearing/test_hear_command.py has a stand-in for one",
    "talkaround hear walk.m4a": "needs a recogniser; tests/hearing/test_hear_command.py has a stand-in for one",
    "talkaround desk": "serves until it is ended; tests/desk/test_starting.py",
}
# What the pages call something of the reader's own, and what stands for it here.
STANDS_FOR = {"ORDERS": "kept", "NOTE": "bay-3.txt", "DIR": "our-lexicon", "TEXT": "nearside drop link"}
NOTES = ("Left front tire is at 3/32, replace it. Battery tested good.", "Wiper blades are torn, replace them.")


def lines() -> list[str]:
    """Every line to type, once: those of the blocks, and whole commands within a sentence."""
    found = []
    for text in PAGES.values():
        blocks = "".join(re.findall(r"```sh\n(.*?)```", text, re.DOTALL)).splitlines()
        found += [re.split(r"\s+#", line)[0] for line in blocks] + re.findall(r"`(talkaround \w+ [^`]+)`", text)
    first = found[0].rpartition("&& .venv/bin/")[2]
    # In a sentence the name of a command is no line: it has nothing behind it.
    return list(dict.fromkeys([first, *found]))


def marked(kind: str) -> str:
    (body,) = re.findall(rf"<!-- {kind} -->\n```\w+\n(.*?)```", PAGES["README.md"], re.DOTALL)
    return str(body)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What the pages take for granted: notes, orders that are kept, price files, a lexicon of the shop's own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sample_notes").symlink_to(SAMPLES)
    (tmp_path / "bay-3.txt").write_text(marked("note: bay-3"), "utf-8")
    for name in ("shop", "job"):
        (tmp_path / f"{name}.toml").write_text(marked(f"prices: {name}"), "utf-8")
    (tmp_path / "notes").mkdir()
    for n, text in enumerate(NOTES):
        (tmp_path / "notes" / f"note-{n}.txt").write_text(text, "utf-8")
    rows = [{"id": f"n{n}", "date": f"2026-0{8 + n}-20", "text": text} for n, text in enumerate(NOTES)]
    (tmp_path / "notes.jsonl").write_text("".join(json.dumps(row) + "\n" for row in rows), "utf-8")
    (tmp_path / "our-lexicon" / "components").mkdir(parents=True)
    (example,) = re.findall(r"```toml\n# our-lexicon/components/ours.toml\n(.*?)```", PAGES["README.md"], re.DOTALL)
    (tmp_path / "our-lexicon" / "components" / "ours.toml").write_text(example, "utf-8")
    return tmp_path


def typed(line: str, folder: Path) -> str:
    """What the line prints; it must end well."""
    words, _, into = line.partition(" > ")
    said = [STANDS_FOR.get(word, word) for word in shlex.split(words)]
    said = [name for word in said for name in (sorted(map(str, Path().glob(word))) if "*" in word else [word])]
    if "kept" in said:
        CliRunner().invoke(cli.app, ["bulk", "notes.jsonl", "--out", "kept"])
    if "orders/bay-3.json" in said:
        CliRunner().invoke(cli.app, ["write", "bay-3.txt", "--format", "json", "--out", "orders"])
    result = CliRunner().invoke(cli.app, said[1:])
    assert result.exit_code == 0, (line, result.output)
    if into:
        (folder / into).write_text(result.stdout, "utf-8")
    return result.stdout


def counted(folder: Path) -> bool:
    """The query of the page on what `bulk` wrote: one line for the tire, one for the battery, one for the blades."""
    assert (folder / "orders" / "run.json").is_file()
    (query,) = re.findall(r"```sql\n(.*?)```", PAGES["README.md"], re.DOTALL)
    rows = duckdb.sql(query).fetchall()
    return sorted(component for component, _, _ in rows) == ["battery", "tire", "wiper-blade"]


GIVES: dict[str, Callable[[str, Path], bool]] = {
    "talkaround write sample_notes/sedan-front-end-dictated.txt --format markdown": lambda said, _: (
        said.startswith("# Repair order") and "## Findings" in said
    ),
    "talkaround write bay-3.txt": lambda said, _: len(json.loads(said)["lines"]) == 4,
    "talkaround write notes/*.txt --format html --out orders": lambda _, at: (
        {p.name for p in (at / "orders").iterdir()} == {"note-0.html", "note-1.html"}
    ),
    "talkaround write bay-3.txt --format prices > job.toml": lambda _, at: (
        '"brake-caliper rear"' in (at / "job.toml").read_text("utf-8")
    ),
    "talkaround write bay-3.txt --prices shop.toml --prices job.toml --format html --out orders": lambda _, at: (
        "442.78" in (at / "orders" / "bay-3.html").read_text("utf-8")
    ),
    "talkaround price orders/bay-3.json --prices job.toml --out priced": lambda _, at: (
        "148.50" in (at / "priced" / "bay-3.html").read_text("utf-8")
    ),
    "talkaround write NOTE --explain": lambda said, _: said.startswith("EXPLANATION: bay-3"),
    "talkaround bulk notes.jsonl --out orders": lambda _, at: counted(at),
    "talkaround audit ORDERS": lambda said, _: "2 orders with 4 lines from 2026-08-20 to 2026-09-20" in said,
    'talkaround audit ORDERS --since "2026-09-01=brake training"': lambda said, _: (
        "BEFORE AND SINCE: 2026-09-01 BRAKE TRAINING" in said
    ),
    "talkaround audit ORDERS --format html --out audit.html": lambda _, at: (
        "<svg" in (text := (at / "audit.html").read_text("utf-8")) and "How findings are documented" in text
    ),
    "talkaround audit ORDERS --sample 60 --seed 7": lambda said, _: "Seed 7" in said and "order n0" in said,
    "talkaround lexicon check DIR": lambda said, _: "no errors" in said,
    "talkaround lexicon check our-lexicon": lambda said, _: "no errors" in said,
    "talkaround lexicon find TEXT": lambda said, _: said.startswith("sway bar link (sway-bar-link)"),
    'talkaround lexicon find "drop link"': lambda said, _: said.startswith("sway bar link (sway-bar-link)"),
    "talkaround lexicon why TEXT": lambda said, _: "nearside" in said and "places.toml" in said,
    'talkaround lexicon why "nearside drop link knocking"': lambda said, _: "conditions.toml" in said,
    "talkaround lexicon list": lambda said, _: "outer tie rod end" in said,
}


def to_type() -> Iterator[str]:
    for line in lines():
        if not line.startswith(tuple(ELSEWHERE)):
            yield line


def test_every_line_is_typed_or_says_why_not() -> None:
    assert set(to_type()) == GIVES.keys()
    unused = [begins for begins in ELSEWHERE if not any(line.startswith(begins) for line in lines())]
    assert unused == []
    named = [path for reason in ELSEWHERE.values() for path in re.findall(r"tests/[\w/]+(?:\.py)?", reason)]
    assert [path for path in named if not (ROOT / path).exists()] == []


@pytest.mark.parametrize("line", GIVES)
def test_a_line_gives_what_the_page_says(line: str, folder: Path) -> None:
    said = typed(line, folder)
    assert GIVES[line](said, folder), said
