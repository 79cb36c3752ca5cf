"""Lexicon files as a shop writes them: broken ones are refused in one line that says how to mend them."""

import re
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import get_args

import pytest

from project_notes import ROOT
from talkaround.models import ConditionId
from talkaround.vocabulary import LexiconError, Vocabulary, load_vocabulary

PART = """\
# what this shop calls them

[coffee-urn]
name = "coffee urn"
names = ["tea urn"]
system = "body"
"""


def write(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def refusal(shop: Path | None) -> str:
    """What the shop is told about its lexicon: one line."""
    with pytest.raises(LexiconError) as caught:
        load_vocabulary(shop)
    line = str(caught.value)
    assert "\n" not in line
    return line


# refused: where (the line from 1, or None where there is none to name), and words of the problem and of the mend

BROKEN = {
    "wrong key": (PART + 'colour = "red"\n', 7, ["coffee-urn", "colour", "known keys", "names"]),
    "missing key": (PART.replace('system = "body"\n', ""), 3, ["coffee-urn", "system", "missing"]),
    "wrong kind of value": (PART.replace('["tea urn"]', "4"), 5, ["coffee-urn", "names"]),
    "unknown system": (PART.replace('"body"', '"bodywork"'), 6, ["coffee-urn", "system", "bodywork"]),
    "unknown kind": (PART + 'kind_of = "kettle"\n', 7, ["coffee-urn", "kind_of", "kettle"]),
    "unknown part": (
        PART + 'served_as = [{ part = "urn-kit", source = "common practice" }]\n', 7, ["served_as", "urn-kit"],
    ),
    "unknown companion": (
        PART + 'goes_with = [{ part = "urn-tap", source = "common practice" }]\n', 7, ["goes_with", "urn-tap"],
    ),
    "unknown quantity": (PART + 'measured = ["turns"]\n', 7, ["measured", "turns"]),
    "unknown place": (PART + 'places = ["corner"]\n', 7, ["coffee-urn", "places"]),
    "name of another component": (PART.replace("tea urn", "lower ball joint"), 5, ["lower-ball-joint", "short"]),
    "its name in the plural": (PART.replace("tea urn", "Lower Ball-Joints"), 5, ["lower-ball-joint", "short"]),
    "unclosed list": (PART.replace('urn"]', 'urn"'), 6, ["TOML"]),
    "unclosed quote": (PART.replace('"body"', '"body'), 6, ["TOML"]),
    "doubled table": (PART + PART, 9, ["TOML", "coffee-urn"]),
    "key outside any table": ('shop = "ours"\n' + PART, 1, ["shop", "[name]"]),
}  # fmt: skip


@pytest.mark.parametrize("what", sorted(BROKEN))
def test_a_broken_component_file_is_refused_with_its_line_and_mend(shop: Path, what: str) -> None:
    text, line, words = BROKEN[what]
    path = write(shop, "components/urn.toml", text)
    told = refusal(shop)
    assert told.startswith(f"{path}, line {line}: ")
    assert [word for word in words if word not in told] == []
    assert "; " in told, "no mend is offered"


def test_the_same_component_in_two_files_is_refused_with_both_names(shop: Path) -> None:
    write(shop, "components/a.toml", PART)
    path = write(shop, "components/b.toml", PART.replace("tea urn", "water urn"))
    told = refusal(shop)
    assert told.startswith(f"{path}, line 3: ")
    assert "a.toml" in told


def test_two_new_components_of_one_name_are_refused(shop: Path) -> None:
    path = write(shop, "components/a.toml", PART + '\n[tea-urn]\nname = "tea urn"\nsystem = "body"\n')
    told = refusal(shop)
    assert told.startswith(f"{path}, line 9: ")
    assert "coffee-urn" in told
    assert "tea-urn" in told


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1"])
def test_a_file_that_is_no_utf_8_is_refused(shop: Path, encoding: str) -> None:
    path = write(shop, "components/urn.toml", PART.replace("shop", "café").encode(encoding))
    told = refusal(shop)
    assert told.startswith(f"{path}: ")
    assert "UTF-8" in told


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    told = refusal(tmp_path / "gone")
    assert told.startswith(f"{tmp_path / 'gone'}: ")
    assert "no such folder" in told


@pytest.mark.parametrize(
    "name", ["systems", "quantities", "units", "places", "conditions", "actions", "cues", "spelling"]
)
def test_a_file_missing_from_the_shipped_lexicon_is_refused(shipped: Path, name: str) -> None:
    (shipped / f"{name}.toml").unlink()
    told = refusal(None)
    assert told.startswith(f"{shipped / name}.toml: ")
    assert "missing" in told


@pytest.mark.parametrize(
    ("name", "text", "line", "word"),
    [
        ("conditions.toml", '[wobbly]\nnames = ["wobbles"]\n', 1, "wobbly"),
        ("conditions.toml", '[loose.degrees]\nvast = ["all over the shop"]\n', 1, "degrees"),
        ("actions.toml", '[paint]\nverb = "paint"\nneed = ["paint it"]\n', 2, "verb"),
        ("places.toml", '[corner]\nmeans = "front lefft"\nnames = ["corner"]\n', 2, "lefft"),
        ("judgement.toml", '[wobbly]\nrules = [{ severity = "required", verb = "replace" }]\n', 1, "wobbly"),
        ("judgement.toml", '[worn]\nrules = [{ severity = "red", verb = "replace" }]\n', 2, "rules"),
        ("spelling.toml", '[spelings]\nbrakke = "brake"\n', 1, "spelings"),
        ("parts.toml", PART, None, "components"),
    ],
)
def test_other_broken_files_are_refused_too(shop: Path, name: str, text: str, line: int | None, word: str) -> None:
    path = write(shop, name, text)
    told = refusal(shop)
    assert told.startswith(f"{path}, line {line}: " if line else f"{path}: ")
    assert word in told


# the shipped lexicon


def test_the_shipped_lexicon_covers_the_trade(vocabulary: Vocabulary) -> None:
    assert len(vocabulary.components) >= 1200
    by_system = {component.system for component in vocabulary.components.values()}
    assert set(vocabulary.systems) == by_system
    assert by_system >= {
        "brakes", "steering", "suspension", "tires-and-wheels", "driveline", "engine", "cooling", "belts-and-hoses",
        "fuel", "exhaust-and-emissions", "starting-and-charging", "lamps", "wipers-and-glass",
        "heating-and-air-conditioning", "body", "air-brakes", "running-gear", "high-voltage",
    }  # fmt: skip


def test_every_condition_can_be_said(vocabulary: Vocabulary) -> None:
    said = {tag.value for tags in vocabulary.phrases.values() for tag in tags if tag.kind == "condition"}
    assert said == set(get_args(ConditionId))
    assert len(said) == 27


def test_every_condition_has_a_judgement_that_always_fits(vocabulary: Vocabulary) -> None:
    # "any" holds of what is said of a part whatever its condition, and need not fit.
    last = {key: judgement.rules[-1] for key, judgement in vocabulary.judgements.items() if key != "any"}
    assert set(last) == set(get_args(ConditionId))
    assert [key for key, rule in last.items() if rule.when or rule.unless or rule.degree or rule.said] == []


@pytest.mark.parametrize(
    ("said", "component"),
    [
        ("track rod end", "outer tie rod end"),
        ("anti-roll bar links", "sway bar link"),
        ("propshaft", "driveshaft"),
        ("silencer", "muffler"),
        ("windscreen", "windshield"),
        ("gaiter", "boot"),
        ("tyres", "tire"),
        ("u-joint", "universal joint"),
    ],
)
def test_uk_and_us_names_mean_the_same_component(vocabulary: Vocabulary, said: str, component: str) -> None:
    def meant(name: str) -> set[str]:
        tags = vocabulary.phrases[vocabulary.folder.phrase(name)]
        return {tag.value for tag in tags if tag.kind in ("component", "short")}

    assert meant(said) & meant(component)


# the wheel


def test_the_wheel_carries_the_lexicon(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--quiet", "--wheel-dir", str(tmp_path)]
    done = subprocess.run(build, capture_output=True, text=True, check=False)
    if done.returncode and re.search(
        r"hatchling|connection|network|timed? ?out|No module named pip", done.stderr, re.IGNORECASE
    ):
        pytest.skip("the build backend (hatchling) cannot be fetched here, so no wheel can be built")
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("*.whl")
    inside = {name for name in zipfile.ZipFile(wheel).namelist() if name.startswith("talkaround/lexicon/")}
    here = {
        f"talkaround/lexicon/{path.relative_to(ROOT / 'lexicon').as_posix()}"
        for path in (ROOT / "lexicon").rglob("*.*")
    }
    assert inside == here
