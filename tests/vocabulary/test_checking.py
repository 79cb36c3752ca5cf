"""``talkaround lexicon check``: every mistake at once, and remarks that are worth a look."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from lexicon_folders import Shop
from talkaround import cli


def check(*args: object) -> Result:
    return CliRunner().invoke(cli.app, ["lexicon", "check", *map(str, args)], prog_name="talkaround")


@pytest.fixture(autouse=True)
def no_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TALKAROUND_LEXICON", raising=False)


def errors(result: Result) -> list[str]:
    return [line for line in result.stdout.splitlines() if line.startswith("error: ")]


def remarks(result: Result) -> list[str]:
    return [line.strip() for line in result.stdout.splitlines() if line.startswith("  ") and ": " in line]


def test_the_shipped_lexicon_has_no_mistake() -> None:
    result = check()
    assert (result.exit_code, errors(result)) == (0, [])
    assert re.search(r"[\d,]+ components, [\d,]+ names; no errors; \d+ remarks\.$", result.stdout)


def test_remarks_are_capped_with_their_count_unless_all_are_wanted() -> None:
    few, everything = check(), check("--all")
    assert few.exit_code == everything.exit_code == 0
    headings = re.findall(r"^(\w[^:]*): .* \(([\d,]+)\)$", everything.stdout, re.MULTILINE)
    told = sum(int(number.replace(",", "")) for _, number in headings)
    assert len(remarks(everything)) == told
    assert f"{told} remarks." in few.stdout
    by_topic = re.split(r"\n\n", few.stdout)
    assert max(len(part.splitlines()) for part in by_topic) <= 12
    assert re.search(r"and [\d,]+ more; --all shows them", few.stdout)
    assert "more; --all" not in everything.stdout


def test_every_mistake_is_told_at_once_with_file_and_line(ours: Shop) -> None:
    parts = ours.write(
        "components/ours.toml",
        '[coffee-urn]\nname = "coffee urn"\nsystem = "bodywork"\n\n'
        '[tea-urn]\nname = "lower ball joint"\nsystem = "body"\ncolour = "red"\nplaces = ["corner"]\n\n'
        '[water-urn]\nname = "water urn"\nsystem = "body"\nkind_of = "kettle"\nmeasured = ["turns"]\n\n'
        "[sway-bar-lnk]\noff = true\n\n"
        '[milk-urn]\nname = "milk urn"\nsystem = "body"\nnames = ["lower ball joint"]\n',
    )
    limits = ours.write("limits.toml", '[us-light-tread]\nunit = "psi"\ncomponents = ["tyre"]\n')
    broken = ours.write("cues.toml", '[good]\nnames = ["spot on"\n')
    stray = ours.write("parts.toml", "")
    result = check(ours.folder)
    assert result.exit_code == 1
    expected = [
        (parts, 3, "bodywork"), (parts, 8, "colour"), (parts, 9, "places"), (parts, 14, "kettle"), (parts, 15, "turns"),
        (parts, 18, "sway-bar-link"), (parts, 23, "lower-ball-joint"), (limits, 3, "tyre"), (broken, 2, "TOML"),
        (stray, None, "no lexicon file"),
    ]  # fmt: skip
    told = errors(result)
    assert len(told) == len(expected)
    for path, line, word in expected:
        where = f"error: {path}, line {line}: " if line else f"error: {path}: "
        assert [x for x in told if x.startswith(where) and word in x], (path.name, line, word)
    assert f"{len(expected)} errors" in result.stdout


REMARKS = {
    "letters the wrong way round": ('name = "serpentine blet"', 2, ["serpentine-belt", "letter"]),
    "a letter": ('name = "windsheild"', 2, ["windshield", "letter"]),
    "a space": ('name = "brakehose"', 2, ["space", "brake hose"]),
    "the order of words": ('name = "joint ball lower"', 2, ["order", "lower-ball-joint"]),
    "a condition": ('name = "urn"\nnames = ["rusted"]', 3, ["'rusted'", "condition corroded"]),
    "a cue": ('name = "urn"\nnames = ["customer states"]', 3, ["'customer states'", "reported"]),
    "a condition inside": ('name = "urn"\nnames = ["cracked urn"]', 3, ["'cracked'", "condition cracked", "whole"]),
    "a place inside": ('name = "urn"\nnames = ["upper urn"]\nplaces = ["level"]', 3, ["'upper'", "place upper"]),
    "another's shared name": ('name = "urn"\nnames = ["bellows"]', 3, ["'bellows'", "shared name"]),
    "a shared name that is another's own": ('name = "urn"\nshort = ["windshield"]', 3, ["'windshield'", "shared name"]),
    "no place rule": ('name = "urn"\nkind_of = "ball-joint"', 1, ["no places", "ball-joint"]),
    "read as something else": ('name = "rotter"', 2, ["never be found", "'rotor'"]),
    "an unknown word of place": ('name = "urn"\nimplies = "frunt"', 3, ["implies", "frunt"]),
}


@pytest.mark.parametrize("what", sorted(REMARKS))
def test_what_may_not_do_what_was_meant_is_remarked_on(ours: Shop, what: str) -> None:
    text, line, words = REMARKS[what]
    path = ours.write("components/ours.toml", f'[coffee-urn]\n{text}\nsystem = "suspension"\n')
    result = check(ours.folder)
    assert (result.exit_code, errors(result)) == (0, [])
    told = [x for x in remarks(result) if x.startswith(f"{path}, line {line}: ") and all(w in x for w in words)]
    assert len(told) == 1, result.stdout


def test_a_scope_of_no_component_is_remarked_on(ours: Shop) -> None:
    path = ours.write("conditions.toml", '[worn]\n[worn.only_for]\nbellows-and-whistles = ["gone flat"]\n')
    result = check(ours.folder)
    assert result.exit_code == 0
    assert [x for x in remarks(result) if x.startswith(f"{path}, line 3: ") and "bellows-and-whistles" in x]


def test_a_shop_is_told_of_its_own_files_only(ours: Shop) -> None:
    ours.write("components/ours.toml", '[coffee-urn]\nname = "coffee urn"\nsystem = "body"\n')
    result = check(ours.folder)
    assert (result.exit_code, remarks(result)) == (0, [])
    assert "no remarks" in result.stdout
    assert len(remarks(check(ours.folder, "--all"))) > 50


def test_the_folder_may_come_from_the_environment(ours: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    ours.write("parts.toml", "")
    monkeypatch.setenv("TALKAROUND_LEXICON", str(ours.folder))
    assert len(errors(check())) == 1


def test_a_folder_that_is_not_there_is_bad_usage(tmp_path: Path) -> None:
    result = check(tmp_path / "gone")
    assert (result.exit_code, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 1
    assert "no such folder" in result.stderr


def test_it_does_without_spacy() -> None:
    script = (
        "import sys\nfrom talkaround import cli\n"
        "try: cli.app(['lexicon', 'check'])\nexcept SystemExit as end: assert end.code in (0, None)\n"
        "print('loaded', 'spacy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded False"
