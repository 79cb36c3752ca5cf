"""``talkaround lexicon list``, ``find`` and ``why``: what a shop is shown of its vocabulary."""

import json
import re

import pytest
from typer.testing import CliRunner, Result

from lexicon_folders import Shop
from talkaround import cli


def lexicon(*args: object) -> Result:
    return CliRunner().invoke(cli.app, ["lexicon", *map(str, args)], prog_name="talkaround")


def find(*args: object) -> str:
    result = lexicon("find", *args)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout


def why(*args: object) -> str:
    result = lexicon("why", *args)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout


def facts(card: str) -> dict[str, list[str]]:
    """The rows of a card by their heading, each as one line."""
    rows: dict[str, list[str]] = {}
    heading = ""
    for line in card.splitlines()[1:]:
        if not line.startswith("  "):
            break
        begins, rest = line[2:15].strip(), line[15:].strip()
        heading = begins or heading
        rows.setdefault(heading, [])
        if begins:
            rows[heading].append(rest)
        else:
            rows[heading][-1] += f" {rest}"
    return rows


@pytest.fixture(autouse=True)
def no_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TALKAROUND_LEXICON", raising=False)


# list


def test_the_shipped_lexicon_is_broad() -> None:
    counted = json.loads(lexicon("list", "--count", "--format", "json").stdout)
    assert counted["components"] >= 1200
    assert counted["names"] >= 9000
    assert counted["phrasings"] >= 2500
    for kind in ("conditions", "degrees", "actions", "work states", "cues"):
        assert counted[f"phrasings of {kind}"] >= 100
    assert {book for book in ("us-light", "us-commercial", "uk", "eu") if counted[f"limits {book}"]} == {
        "us-light", "us-commercial", "uk", "eu",
    }  # fmt: skip


def test_counts_are_of_what_is_listed() -> None:
    counted = json.loads(lexicon("list", "--count", "--format", "json").stdout)
    rows = json.loads(lexicon("list", "--format", "json").stdout)
    assert counted["components"] == len(rows) == len({row["id"] for row in rows})
    typed = {name.casefold() for row in rows for name in row["names"]}
    # Spelling variants and plurals of one name are one.
    assert 0.8 * len(typed) <= counted["names"] <= len(typed)


def test_counts_grow_by_what_a_shop_adds(ours: Shop) -> None:
    def counted(*args: object) -> dict[str, int]:
        return json.loads(lexicon("list", "--count", "--format", "json", *args).stdout)

    ours.write("components/urn.toml", '[tea-urn]\nname = "tea urn"\nnames = ["brewer", "brewers"]\nsystem = "body"\n')
    ours.write("conditions.toml", '[torn]\nnames = ["gone like a kipper"]\n')
    before, after = counted(), counted("--lexicon", ours.folder)
    grown = {name: after[name] - before[name] for name in after if after[name] != before[name]}
    assert grown == {
        "components": 1, "names": 2, "names of one component": 2, "phrasings": 1, "phrasings of conditions": 1,
    }  # fmt: skip


def test_the_table_of_counts_is_one_line_a_number() -> None:
    lines = lexicon("list", "--count").stdout.splitlines()
    assert all(re.fullmatch(r"\S.*\s[\d,]+", line) for line in lines)
    assert lines[0].startswith("components ")


# find

URN = """\
[tea-urn]
name = "tea urn"
names = ["brewer", "centre urn"]
short = ["slosher"]
system = "bus-equipment"
kind_of = "urn"
part_of = ["galley"]
holds = "tea"
places = ["side", "level"]
seldom = ["level"]
implies = "rear"
safety = ["burn"]
sold = "axle-set"
alike = true
opens = "the galley wall"
measured = ["temperature"]
served_as = [{ part = "galley", when = "built in", source = "a book on tea" }]
goes_with = [{ part = "tea", when = "replace", source = "common practice" }]
look_at = [{ part = "galley", found = ["leaking"], source = "common practice" }]
paired = "an old habit"

[urn]
name = "urn"
short = ["slosher"]
system = "bus-equipment"

[galley]
name = "galley"
system = "bus-equipment"

[tea]
name = "tea"
system = "bus-equipment"
kind = "fluid"

[tea-urn-tap]
name = "tea urn tap"
system = "bus-equipment"
part_of = ["tea-urn"]
"""
LIMITS = """\
[urn-uk]
book = "uk"
quantity = "temperature"
components = ["urn"]
above = 95
near = 90
unit = "degC"
source = "rule 7 of the tea code"
mark = "read"

[urn-eu]
book = "eu"
quantity = "temperature"
components = ["tea-urn"]
below = 60
inclusive = true
unit = "degC"
source = "directive on tepid tea"
mark = "memory"
note = "the code of the sea has 55"
"""
PLAIN = '[tea-urn]\nsays = "keeps tea hot for a busload"\n'


def test_a_card_shows_everything_known(ours: Shop) -> None:
    path = ours.write("components/urn.toml", URN)
    ours.write("limits.toml", LIMITS)
    ours.write("plain.toml", PLAIN)
    card = find("tea urn", "--lexicon", ours.folder)
    assert card.startswith("tea urn (tea-urn)\n")
    shown = facts(card)
    temperature = shown.pop("measured")
    assert len(temperature) == 1
    assert temperature[0].startswith("temperature; units: ")
    assert "degC" in temperature[0]
    assert shown == {
        "found": ["'tea urn' is its name"],
        "stands in": [f"{path}, line 1"],
        "system": ["bus equipment"],
        "plain words": ["keeps tea hot for a busload"],
        "names": ["brewer, centre urn"],
        "short names": ["slosher (shared with 1 more)"],
        "kind of": ["urn (urn)"],
        "part of": ["galley (galley)"],
        "its parts": ["tea urn tap (tea-urn-tap)"],
        "holds": ["tea (tea)"],
        "places": ["side, level (seldom)"],
        "implies": ["rear"],
        "safety": ["burn"],
        "limit": [
            "uk: temperature fails over 95 °C, near from 90 °C; rule 7 of the tea code (read) [of urn]",
            "eu: temperature fails at or under 60 °C; directive on tepid tea (from memory); the code of the sea has 55",
        ],
        "served as": ["galley (galley), built in (a book on tea)"],
        "goes with": ["tea (tea), when the work is replace (common practice)"],
        "look at": ["galley (galley), where it is found leaking (common practice)"],
        "sold": ["as the set for an axle, the same part left and right"],
        "opens": ["the galley wall"],
        "in pairs": ["replaced in pairs on an axle (an old habit)"],
    }
    assert facts(find("urn", "--lexicon", ours.folder))["its kinds"] == ["tea urn (tea-urn)"]
    assert facts(find("tea", "--lexicon", ours.folder))["held by"] == ["tea urn (tea-urn)"]
    assert facts(find("galley", "--lexicon", ours.folder))["places"] == ["one on the vehicle"]


@pytest.mark.parametrize(
    ("typed", "component", "reason"),
    [
        ("sway bar link", "sway-bar-link", "'sway bar link' is its name"),
        ("Sway Bar LINK", "sway-bar-link", "is its name"),
        ("anti-roll bar link", "sway-bar-link", "'anti-roll bar link' is one of its names"),
        ("antiroll-bar links", "sway-bar-link", "one of its names"),
        ("tyres", "tire", "'tyres' is folded to 'tire'"),
        ("outer track-rod ends", "outer-tie-rod-end", "one of its names"),
        ("windsheild", "windshield", "comes near"),
        ("swey bar lnkk", "sway-bar-link", "no component is called 'swey bar lnkk'"),
        ("driver's seat belt", "seat-belt", "'seat belt' in it is a name of it"),
        ("rear pads worn", "brake-pad", "'pad' in it is a name of it"),
    ],
)
def test_a_component_is_found_with_the_reason(typed: str, component: str, reason: str) -> None:
    card = find(*typed.split())
    assert f"({component})" in card.splitlines()[0]
    assert reason in " ".join(facts(card)["found"])


def test_near_misses_stand_below_with_the_name_and_score() -> None:
    _, near = find("sway bar link").split("\nnear it\n")
    assert re.search(
        r"^  sway bar link bushing \(sway-bar-link-bushing\), by '[^']+': \d\d of 100$", near, re.MULTILINE
    )


def test_a_name_of_many_lists_them_with_what_decides() -> None:
    shown = find("boot")
    assert re.match(r"'boot' is a shared name of \d\d components\n", shown)
    assert "steering rack boot (steering-rack-boot), steering" in shown
    assert re.search(r"steering rack boot \(steering-rack-boot\) is meant beside: .*rack", shown)


def test_a_shop_s_file_and_the_shipped_one_are_both_named(ours: Shop) -> None:
    path = ours.write("components/ours.toml", '# our words\n[sway-bar-link]\nnames = ["wobble rod"]\n')
    (files,) = facts(find("wobble rod", "--lexicon", ours.folder))["stands in"]
    assert re.search(r"suspension\.toml, line \d+; ", files)
    assert files.endswith(f"{path}, line 2")


@pytest.mark.parametrize("typed", ["zzyzx", "--", "?!"])
def test_nothing_near_is_one_line(typed: str) -> None:
    result = lexicon("find", "--", typed)
    assert (result.exit_code, result.stdout) == (1, "")
    assert len(result.stderr.splitlines()) == 1


# why


def part(shown: str, heading: str) -> list[str]:
    """The lines below a heading."""
    lines = shown.splitlines()
    begin = lines.index(heading) + 1
    return [x.strip() for x in lines[begin : lines.index("", begin) if "" in lines[begin:] else None]]


def test_why_shows_words_tags_and_where_they_come_from(ours: Shop) -> None:
    parts = ours.write("components/urn.toml", '[tea-urn]\nname = "tea urn"\nnames = ["brewer"]\nsystem = "body"\n')
    torn = ours.write("conditions.toml", '[torn.degrees]\nsevere = [\n  "gone like a kipper",\n]\n')
    shown = why("Brewers gone like a kipper", "--lexicon", ours.folder)
    assert "'Brewers'  brewer" in part(shown, "words")
    assert part(shown, "recognized") == [
        "'Brewers'",
        f"component tea-urn ('brewer' in {parts}, line 3)",
        "'gone like a kipper'",
        f"condition torn, severe ('gone like a kipper' in {torn}, line 3)",
    ]


def test_why_shows_what_lost_to_a_longer_match() -> None:
    shown = why("lower ball joint has play")
    lost = [x for x in part(shown, "lost") if "component ball-joint" in x]
    assert lost == ["'ball joint' component ball-joint: inside the longer 'lower ball joint'"]
    assert [x for x in part(shown, "recognized") if x.startswith("component ")][0].startswith(
        "component lower-ball-joint ('lower ball joint' in "
    )


def test_why_shows_numbers_mended_words_and_unknown_ones() -> None:
    shown = why("servant tine belt cracked, front pads 3mm, tires 4/32, frobnicated")
    assert re.search(r"'servant tine belt'\s+serpentine belt\s+\(mended\)", shown)
    assert part(shown, "numbers") == ["'3mm' 3 mm", "'4/32' 4/32 in"]
    assert shown.rstrip().endswith("not in the lexicon: frobnicated")


def test_why_takes_any_text() -> None:
    for text in ("", "?", "½ é 漢字"):
        assert lexicon("why", "--", text).exit_code == 0
