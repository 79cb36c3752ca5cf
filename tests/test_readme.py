"""The README keeps its word: its example is the program's real output, and its commands are those of the checks.

``python tests/test_readme.py --write`` puts the outputs of today into the README.
"""

import inspect
import os
import re
import subprocess
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest

from talkaround import cli
from talkaround.audit import concluding, statistics
from talkaround.bulk.rows import Row
from talkaround.cli import Format
from talkaround.desk import teach
from talkaround.estimating import price, read_prices
from talkaround.models import SEVERITIES, Note
from talkaround.output import explanation, terminal
from talkaround.pipeline import explain_order, write_order
from talkaround.vocabulary import load_vocabulary

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
TEXT = README.read_text("utf-8")
OPTION = r"(?<![\w-])--[a-z][\w-]*"
BLOCK = r"<!-- {kind}: (?P<name>[\w-]+) -->\n```text\n(?P<body>.*?)```\n"


def block(kind: str) -> re.Match[str]:
    """The one marked block of this kind."""
    (found,) = re.finditer(BLOCK.format(kind=kind), TEXT, re.DOTALL)
    return found


def shown() -> str:
    """What a terminal shows for the note of the README."""
    note = block("note")
    return terminal.render(write_order(Note(name=note["name"], text=note["body"]), vocabulary=load_vocabulary()))


def explained() -> str:
    """What ``--explain`` prints for the sentence that the README gives before it."""
    sentence = block("explained-note")
    note = Note(name=sentence["name"], text=sentence["body"])
    return explanation.render(explain_order(note, vocabulary=load_vocabulary()))


def commands() -> list[str]:
    return [line for lines in re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL) for line in lines.splitlines()]


def test_the_library_does_what_the_page_shows() -> None:
    """What is printed, worked out by hand."""
    first, second = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)

    def printed(code: str) -> str:
        return subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
        ).stdout

    assert printed(first) == "lower ball joint left required replace\n"
    component, spans = printed(second).splitlines()
    assert component == "lower-ball-joint"
    assert spans == "[('lower-ball-joint', '1', 'left front lower ball joint is loose replace it')]"


def test_the_example_is_the_real_output() -> None:
    assert block("order")["name"] == block("note")["name"]
    assert block("order")["body"] == shown(), "run: python tests/test_readme.py --write"


def test_the_example_of_an_explanation_is_the_real_output() -> None:
    assert block("explanation")["body"] == explained(), "run: python tests/test_readme.py --write"


def test_the_explanation_tells_the_limit_and_the_words() -> None:
    """Written by hand: pads at three millimeters, near the limit, and advised in so many words."""
    told = " ".join(block("explanation")["body"].split())
    for words in ('"three millimeters" 3 mm', "limit us-light-pad", "suggested: as said in clause 2"):
        assert words in told


def test_the_example_says_what_the_note_says() -> None:
    """Written by hand: what a reader of the note wants to see in any case."""
    order = block("order")["body"]
    for words in (
        "Lower ball joint, right front",
        "Brake hose, right front",
        "3 mm",
        "Which side is the rear brake caliper on?",
    ):
        assert words in order
    assert "squeals" in order.split("NEEDS DOING")[0]


def test_the_job_comes_first_in_one_paragraph() -> None:
    title, job, following = TEXT.split("\n\n")[:3]
    assert title.startswith("# ")
    assert "repair order" in job
    assert "\n" not in job
    assert following.startswith("## ")


def test_the_checks_run_the_readme_s_second_line() -> None:
    second = commands()[1]
    assert all(tool in second for tool in ("venv", "pip install", "ruff", "mypy", "pytest"))
    assert second in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_what_the_commands_name_is_there() -> None:
    first = commands()[0]
    assert [path for path in re.findall(r"sample_notes/\S+", first) if not (ROOT / path).is_file()] == []
    assert ".[test]" in commands()[1]
    assert "test" in tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["optional-dependencies"]


def test_every_format_and_exit_status_is_told() -> None:
    for format in Format:
        assert f"| `{format.value}` |" in TEXT
    for status in (0, 1, 2, 130):
        assert f"\n| {status} |" in TEXT


COMMANDS = (
    "write", "price", "hear", "desk", "bulk", "audit", "schema", "lexicon list", "lexicon find", "lexicon why",
    "lexicon check",
)  # fmt: skip


@cache
def options_of(command: str) -> set[str]:
    """The options that a command's help names, less the help itself."""
    asked = [sys.executable, "-m", "talkaround.cli", *command.split(), "--help"]
    told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout
    return set(re.findall(OPTION, told)) - {"--help"}


def test_every_option_of_the_lines_to_type_exists() -> None:
    lines = [line.split(" #")[0] for line in [*commands(), *re.findall(r"`(talkaround [^`]*)`", TEXT)]]
    for command in COMMANDS:
        typed = {o for line in lines if f"talkaround {command} " in line for o in re.findall(OPTION, line)}
        assert typed <= options_of(command), command


def test_every_option_is_told() -> None:
    told = set(re.findall(OPTION, TEXT))
    assert {command: options_of(command) - told for command in COMMANDS} == {command: set() for command in COMMANDS}


def test_the_desk_s_options_are_all_in_its_table() -> None:
    table = TEXT.split("### The service desk")[1].split("| Option |")[1].split("\n\n")[0]
    assert set(re.findall(OPTION, table)) == options_of("desk")


def test_every_command_has_its_options_looked_at() -> None:
    def commands_of(*group: str) -> list[str]:
        asked = [sys.executable, "-m", "talkaround.cli", *group, "--help"]
        told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout
        return re.findall(r"^  (\w+) ", told.partition("Commands:")[2], re.MULTILINE)

    every = {name for name in commands_of() if name != "lexicon"} | {f"lexicon {n}" for n in commands_of("lexicon")}
    assert every == set(COMMANDS)


def test_the_numbers_of_the_page_are_the_program_s() -> None:
    """What a reader counts on, each in the page's own words; what may come in is held to in test_input_limits.py."""
    python = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["requires-python"]
    options = inspect.signature(cli.bulk).parameters | inspect.signature(cli.desk).parameters
    precision = inspect.signature(cli.audit).parameters["precision"].default
    for told in (
        f"Python {python.removeprefix('>=')} or newer",
        f"Parquet parts of {options['batch'].default} notes each (`--batch`)",
        f"at port {options['port'].default}",
        f"within `--precision` ({precision}, which is {precision * 100:.0f} of 100)",
        f"fewer than {statistics.FEW} occasions",
        f"the difference is {concluding.WORTH_A_WORD * 100:.0f} of 100 or more",
        f"in the same way on {['no', 'one', 'two', 'three', 'four'][teach.TIMES]} orders",
    ):
        assert told in TEXT, told


def test_every_way_to_install_names_an_extra() -> None:
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["optional-dependencies"]
    named = {name for listed in re.findall(r'"\.\[([\w,]+)\]"', TEXT) for name in listed.split(",")}
    assert named >= {"voice", "desk", "bulk", "audit"}
    assert named <= extras.keys()


def test_the_five_severities_are_told_gravest_first() -> None:
    (told,) = re.findall(r"A severity is one of five words: (.*)", TEXT)
    assert tuple(re.findall(r"`(\w+)`", told)) == SEVERITIES


def test_the_fields_of_a_row_of_notes_are_those_that_are_read() -> None:
    (told,) = re.findall(r"The input is JSON Lines .*", TEXT)
    named = set(re.findall(r"`(\w+)`", told)) - {"typed", "transcript", "mi", "km"}
    assert named == set(Row.model_fields)


def test_the_shop_s_own_words_of_the_readme_are_read(tmp_path: Path) -> None:
    (toml,) = re.findall(r"```toml\n(# our-lexicon/.*?)```", TEXT, re.DOTALL)
    (tmp_path / "components").mkdir()
    (tmp_path / "components" / "ours.toml").write_text(toml, encoding="utf-8")
    ours, shipped = load_vocabulary(tmp_path), load_vocabulary()
    assert ours.components.keys() - shipped.components.keys() == {"tea-urn"}
    assert shipped.components.keys() - ours.components.keys() == {"sunroof-motor"}
    assert "steering arm end" in ours.components["outer-tie-rod-end"].names


def test_the_price_files_of_the_readme_price_its_example(tmp_path: Path) -> None:
    """By hand: pads 61.00 and caliper 148.50 are 209.50; 1.3 h and 0.5 h at 120.00 are 216.00; 8.25% of 209.50 is 17.28."""
    files = []
    for name, toml in re.findall(r"<!-- prices: (\w+) -->\n```toml\n(.*?)```", TEXT, re.DOTALL):
        files.append(tmp_path / f"{name}.toml")
        files[-1].write_text(toml, encoding="utf-8")
    note = block("note")
    order = write_order(Note(name=note["name"], text=note["body"]), vocabulary=load_vocabulary())
    priced = price(order, read_prices(files))
    assert priced.remarks == []
    sums = priced.estimate
    assert [str(s) for s in (sums.parts_subtotal, sums.labor_subtotal, sums.tax, sums.total)] == [
        "209.50", "216.00", "17.28", "442.78",
    ]  # fmt: skip
    assert sums.open


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_links_and_named_folders_are_there(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if not link.startswith("http")]
    folders = re.findall(r"`((?:src|lexicon|tests|sample_notes)/[\w./-]*)`", text)
    assert links + folders
    assert [path for path in links + folders if not (ROOT / path).exists()] == []


def test_the_map_of_the_house_names_every_room_and_every_file_in_it() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    house = ROOT / "src" / "talkaround"
    rooms = [p for p in house.iterdir() if p.is_dir() and (p / "__init__.py").exists()]
    top = [f"src/talkaround/{p.name}/" for p in rooms] + [f"src/talkaround/{p.name}" for p in house.glob("[!_]*.py")]
    assert [path for path in top if f"`{path}`" not in text] == []
    # Files that begin with an underscore are their room's own business.
    inside = [p for room in rooms for p in room.glob("[!_]*.py")]
    named = set(re.findall(r"`(?:[\w./]*/)?(\w+)(?:\.py)?`", text))
    missing = [p.relative_to(house).as_posix() for p in inside if p.stem not in named]
    assert missing == []


def main() -> None:
    text = TEXT
    # From the back, so that what comes before stays where it is.
    for kind, fresh in (("explanation", explained()), ("order", shown())):
        begin, end = block(kind).span("body")
        text = text[:begin] + fresh + text[end:]
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] != ["--write"]:
        sys.exit("usage: python tests/test_readme.py --write")
    main()
