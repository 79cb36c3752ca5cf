"""A shop's own folder laid over the shipped lexicon: add, rename, extend, drop names, switch off."""

import re
import tomllib
from pathlib import Path
from typing import get_args

import pytest

from lexicon_folders import Shop
from project_notes import ROOT, gold_notes, order_of
from talkaround.judging.severity import STRENGTH
from talkaround.pipeline import write_order
from talkaround.vocabulary import LexiconError, Vocabulary, load_vocabulary
from talkaround.vocabulary.schema import Component, ConditionId, JudgementRule

PART = """\
[coffee-urn]
name = "coffee urn"
names = ["tea urn"]
system = "body"
"""


def found_in(text: str, vocabulary: Vocabulary) -> list[str]:
    return [line.component.id for line in order_of(text, vocabulary).lines]


def meant(name: str, vocabulary: Vocabulary) -> set[str]:
    """The components that a name may mean."""
    tags = vocabulary.phrases.get(vocabulary.folder.phrase(name), ())
    return {tag.value for tag in tags if tag.kind in ("component", "short")}


# add and extend


def test_an_empty_folder_changes_nothing(shop: Path, vocabulary: Vocabulary) -> None:
    assert load_vocabulary(shop).phrases == vocabulary.phrases


def test_a_component_is_added(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/urn.toml", PART)
    v = load_vocabulary(ours.folder)
    assert set(v.components) - set(vocabulary.components) == {"coffee-urn"}
    assert found_in("Tea urn is cracked, replace it.", v) == ["coffee-urn"]


def test_a_file_that_an_editor_saved_with_a_mark_at_its_start_is_read(ours: Shop) -> None:
    ours.write("components/urn.toml", b"\xef\xbb\xbf" + PART.encode())
    assert "coffee-urn" in load_vocabulary(ours.folder).components


def test_the_names_of_a_component_are_extended(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/steering.toml", '[outer-tie-rod-end]\nnames = ["wiggle stick"]\n')
    v = load_vocabulary(ours.folder)
    assert set(v.components["outer-tie-rod-end"].names) == {
        *vocabulary.components["outer-tie-rod-end"].names, "wiggle stick",
    }  # fmt: skip
    assert set(v.components) == set(vocabulary.components)
    assert found_in("Left wiggle stick is loose, replace it.", v) == ["outer-tie-rod-end"]


def test_a_condition_phrase_and_a_shorthand_are_added(ours: Shop) -> None:
    ours.write("conditions.toml", '[torn]\nnames = ["gone like a kipper"]\n')
    ours.write("spelling.toml", '[shorthand]\ncvbt = "cv boot"\n')
    (line,) = order_of("LF outer cvbt gone like a kipper", load_vocabulary(ours.folder)).lines
    assert [condition.id for condition in line.conditions] == ["torn"]
    assert "boot" in line.component.name


def test_a_limit_is_made_stricter(ours: Shop, vocabulary: Vocabulary) -> None:
    def verdict(v: Vocabulary) -> str | None:
        (line,) = order_of("Left front tire 3/32.", v).lines
        (measurement,) = line.measurements
        return measurement.verdict

    ours.write("limits.toml", "[us-light-tread]\nbelow = 3\n")
    assert verdict(vocabulary) == "near"
    assert verdict(load_vocabulary(ours.folder)) == "fail"


def test_a_shop_s_rule_of_judgement_goes_before_the_shipped_ones(ours: Shop, vocabulary: Vocabulary) -> None:
    rule = '{ when = ["wiper-blade"], severity = "required", verb = "replace" }'
    ours.write("judgement.toml", f"[worn]\nrules = [{rule}]\n")
    note = "Left wiper blade is worn."
    assert [line.severity for line in order_of(note, vocabulary).lines] == ["suggested"]
    assert [line.severity for line in order_of(note, load_vocabulary(ours.folder)).lines] == ["required"]


# rename


def test_a_renamed_component_is_called_so_and_still_known_by_its_old_name(ours: Shop) -> None:
    ours.write("components/ours.toml", '[outer-tie-rod-end]\nname = "steering arm end"\n')
    v = load_vocabulary(ours.folder)
    for said in ("steering arm end", "outer tie rod end", "track rod end"):
        (line,) = order_of(f"Left {said} is loose, replace it.", v).lines
        assert (line.component.id, line.component.name) == ("outer-tie-rod-end", "steering arm end")


def test_a_renamed_component_may_drop_its_old_name(ours: Shop) -> None:
    ours.write("components/ours.toml", '[coolant]\nname = "antifreeze mix"\ndrop = ["coolant"]\n')
    v = load_vocabulary(ours.folder)
    assert meant("antifreeze mix", v) == {"coolant"}
    assert "coolant" not in meant("coolant", v)


# drop names


def test_a_dropped_name_goes_and_the_others_stay(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/ours.toml", '[sway-bar-link]\ndrop = ["Drop Links"]\n')
    v = load_vocabulary(ours.folder)
    assert meant("drop link", vocabulary) == {"sway-bar-link"}
    assert meant("drop link", v) == set()
    assert meant("anti-roll bar link", v) == {"sway-bar-link"}


def test_a_name_moves_from_one_component_to_another(ours: Shop) -> None:
    moved = '[sway-bar-link]\ndrop = ["drop link"]\n\n[control-arm]\nnames = ["drop link"]\n'
    ours.write("components/ours.toml", moved)
    assert meant("drop link", load_vocabulary(ours.folder)) == {"control-arm"}


def test_a_shared_name_and_a_companion_are_dropped(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/ours.toml", '[outer-tie-rod-end]\ndrop = ["rod", "wheel-alignment"]\n')
    v = load_vocabulary(ours.folder)
    assert "outer-tie-rod-end" in meant("rod", vocabulary)
    assert "outer-tie-rod-end" not in meant("rod", v)
    assert [g.part for g in vocabulary.components["outer-tie-rod-end"].goes_with] == ["wheel-alignment"]
    assert v.components["outer-tie-rod-end"].goes_with == ()


def test_a_phrase_of_a_condition_and_a_shorthand_are_dropped(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("conditions.toml", '[worn]\ndrop = ["bald"]\n')
    ours.write("spelling.toml", '[variants]\ndrop = ["tyre"]\n')
    v = load_vocabulary(ours.folder)
    assert [tag.value for tag in vocabulary.phrases[("bald",)] if tag.kind == "condition"] == ["worn"]
    assert ("bald",) not in v.phrases
    assert v.folder.phrase("tyre") == ("tyre",)


# switch off


def test_a_component_is_switched_off(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/ours.toml", "[sunroof-motor]\noff = true\n")
    v = load_vocabulary(ours.folder)
    assert set(vocabulary.components) - set(v.components) == {"sunroof-motor"}
    assert "sunroof-motor" not in {t.value for tags in v.phrases.values() for t in tags}


def test_what_names_a_component_that_is_off_goes_on_without_it(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("components/ours.toml", "[ball-joint]\noff = true\n\n[wheel-alignment]\noff = true\n")
    v = load_vocabulary(ours.folder)
    lower = v.components["lower-ball-joint"]
    assert (vocabulary.components["lower-ball-joint"].kind_of, lower.kind_of) == ("ball-joint", None)
    assert [g.part for g in lower.goes_with] == []
    assert not any({"ball-joint", "wheel-alignment"} & {*x.components, *x.known_from} for x in v.limits.values())
    assert found_in("Left lower ball joint has play, needs one.", v) == ["lower-ball-joint"]


NAMED_BY_RULES = (
    "tire brake-pad wheel-alignment interior-trim engine-oil exhaust-system fuel coolant battery horn".split()
)


@pytest.mark.parametrize("off", [NAMED_BY_RULES, [*NAMED_BY_RULES, "brake-system", "wheel"]], ids=["named", "more"])
def test_a_shop_may_switch_off_parts_that_the_rules_of_the_reading_name(off: list[str], ours: Shop) -> None:
    ours.write("components/ours.toml", "\n".join(f"[{id}]\noff = true\n" for id in off))
    v = load_vocabulary(ours.folder)
    assert not set(off) & set(v.components)
    assert found_in("Left lower ball joint has play. Engine is down on oil, oil leak at the back. LF 5/32.", v)
    for labelled in gold_notes().values():
        ordered = write_order(labelled.note, vocabulary=v, steering=labelled.steering)
        assert not set(off) & {line.component.id for line in ordered.lines}


def test_a_leak_cue_of_an_unknown_part_is_told(ours: Shop) -> None:
    ours.write("cues.toml", '[leak-of-tea]\nkind = "leak-of"\nvalue = "tea"\nnames = ["tea leak"]\n')
    with pytest.raises(LexiconError, match="'tea', which is not in the lexicon"):
        load_vocabulary(ours.folder)


def test_the_kinds_of_a_component_that_is_off_become_kinds_of_the_next_general_one(ours: Shop, shipped: Path) -> None:
    urns = PART + '\n[big-urn]\nname = "big urn"\nsystem = "body"\nkind_of = "coffee-urn"\n'
    urns += '\n[vast-urn]\nname = "vast urn"\nsystem = "body"\nkind_of = "big-urn"\n'
    (shipped / "components" / "urns.toml").write_text(urns, encoding="utf-8")
    ours.write("components/ours.toml", "[big-urn]\noff = true\n")
    assert load_vocabulary(ours.folder).components["vast-urn"].kind_of == "coffee-urn"


def test_a_system_is_switched_off_with_all_its_components(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("systems.toml", "[bus-equipment]\noff = true\n")
    v = load_vocabulary(ours.folder)
    gone = {id for id, c in vocabulary.components.items() if c.system == "bus-equipment"}
    assert gone
    assert set(v.components) == set(vocabulary.components) - gone
    assert "bus-equipment" not in v.systems


def test_a_quantity_is_switched_off_with_its_limits(ours: Shop) -> None:
    ours.write("quantities.toml", "[tread-depth]\noff = true\n")
    v = load_vocabulary(ours.folder)
    assert "tread-depth" not in v.components["tire"].measured
    assert "tread-depth" not in {limit.quantity for limit in v.limits.values()}


def test_a_limit_is_switched_off(ours: Shop, vocabulary: Vocabulary) -> None:
    ours.write("limits.toml", "[us-light-tread]\noff = true\n")
    assert set(vocabulary.limits) - set(load_vocabulary(ours.folder).limits) == {"us-light-tread"}


# mistakes: what is written, the line that is told (None for the whole file), words of the problem and of the mend

MISTAKES = {
    "off for an unknown id": (
        "components/a.toml", "\n[sway-bar-lnk]\noff = true\n", 3, ["switched off", "sway-bar-link"],
    ),
    "off that is not true": ("components/a.toml", '[sway-bar-link]\noff = "yes"\n', 2, ["only be true"]),
    "off = false": ("components/a.toml", "[sway-bar-link]\noff = false\n", 2, ["only be true"]),
    "off and more": ("components/a.toml", '[sway-bar-link]\nnames = ["x"]\noff = true\n', 3, ["names", "alone"]),
    "off for an unknown limit": ("limits.toml", "[us-light-tred]\noff = true\n", 2, ["us-light-tread"]),
    "drop of an unknown name": (
        "components/a.toml", '[sway-bar-link]\ndrop = ["drop linc"]\n', 2, ["drop linc", "not in it", "'drop link'"],
    ),
    "drop of the canonical name": (
        "components/a.toml", '[sway-bar-link]\ndrop = ["sway bar links"]\n', 2, ["its name"],
    ),
    "drop and name at once": (
        "components/a.toml", '[sway-bar-link]\nnames = ["drop links"]\ndrop = ["drop link"]\n', 3, ["names it too"],
    ),
    "drop that is no list": (
        "components/a.toml", '[sway-bar-link]\ndrop = "drop link"\n', 2, ["no list", '["...", "..."]'],
    ),
    "drop in a table inside": (
        "conditions.toml", '[worn]\n[worn.degrees]\ndrop = ["bald"]\n', 3, ["worn.degrees", "under [worn]"],
    ),
    "drop in a new table": (
        "components/a.toml", PART + 'drop = ["pot"]\n', 5, ["coffee-urn", "nothing of this id below"],
    ),
    "drop of an unknown spelling": ("spelling.toml", '[variants]\ndrop = ["tyer"]\n', 2, ["tyer", "'tyre'"]),
    "a misspelt heading": (
        "components/a.toml", '[sway-bar-lnk]\nnames = ["wobble rod"]\n', 1, ["name, system", "[sway-bar-link]"],
    ),
    "a heading that is no id": ("components/a.toml", PART.replace("coffee-urn", "Coffee_Urn"), 1, ["small letters"]),
    "a rename to another's name": (
        "components/a.toml", '[sway-bar-link]\nname = "lower ball joint"\n', 2, ["lower-ball-joint", "short"],
    ),
    "a component that is a kind of itself": (
        "components/a.toml", '[ball-joint]\nkind_of = "lower-ball-joint"\n', 2, ["kind of itself"],
    ),
    "a reading unit that does not fit": ("limits.toml", '[us-light-tread]\nunit = "psi"\n', 2, ["psi", "1/32 in, mm"]),
    "a file in a folder of another name": ("parts/a.toml", PART, None, ["folder", "components"]),
    "a spelling of nothing": ("spelling.toml", '[variants]\ntyre = ""\n', 2, ["tyre", "quotes"]),
}  # fmt: skip


@pytest.mark.parametrize("what", sorted(MISTAKES))
def test_a_mistake_is_one_line_with_its_place_and_mend(ours: Shop, what: str) -> None:
    name, text, line, words = MISTAKES[what]
    path = ours.write(name, text)
    with pytest.raises(LexiconError) as caught:
        load_vocabulary(ours.folder)
    told = str(caught.value)
    assert "\n" not in told
    assert told.startswith(f"{path}, line {line}: " if line else f"{path}: ")
    assert [word for word in words if word not in told] == []


def test_the_shipped_lexicon_has_nothing_below_it_to_switch_off(shipped: Path) -> None:
    path = shipped / "components" / "extra.toml"
    path.write_text("[sway-bar]\noff = true\n", encoding="utf-8")
    with pytest.raises(LexiconError) as caught:
        load_vocabulary()
    assert str(caught.value).startswith(f"{path}, line")


# the guide for shops


def guide() -> dict[str, list[str]]:
    """The examples of the lexicon's README by the file that each says it belongs to."""
    text = (ROOT / "lexicon" / "README.md").read_text("utf-8")
    examples: dict[str, list[str]] = {}
    for block in re.findall(r"```toml\n(.*?)```", text, re.DOTALL):
        heading, _, example = block.partition("\n")
        examples.setdefault(heading.removeprefix("# "), []).append(example)
    return examples


def test_every_example_of_the_guide_can_be_copied(ours: Shop) -> None:
    examples = guide()
    assert len(examples) >= 9
    for name, texts in examples.items():
        for n, text in enumerate(texts):
            shop = Shop(ours.folder / f"{name.replace('/', '-')}-{n}")
            shop.write(name, text)
            load_vocabulary(shop.folder)


def test_the_guide_s_examples_do_what_it_says(ours: Shop) -> None:
    for name, texts in guide().items():
        for n, text in enumerate(texts):
            # A folder has one components folder with many files, and one of each other file.
            if name.startswith("components/"):
                if "off = true" not in text and "rubber hat" not in text:
                    ours.write(f"components/part-{n}.toml", text)
            elif name != "systems.toml":
                ours.write(name, text)
    v = load_vocabulary(ours.folder)
    (line,) = order_of("Left outer CV boot gone like a kipper, bin it and fit another.", v).lines
    assert ([c.id for c in line.conditions], line.action.verb) == (["torn"], "replace")
    assert found_in("Brewer is leaking.", v) == ["tea-urn"]
    assert found_in("Right front wobble rod is loose.", v) == ["sway-bar-link"]
    assert found_in("Left front wbrg is noisy.", v) == ["wheel-bearing"]
    (line,) = order_of("Left front tire 3/32.", v).lines
    assert [m.verdict for m in line.measurements] == ["fail"]


def test_the_guide_names_every_file() -> None:
    text = (ROOT / "lexicon" / "README.md").read_text("utf-8")
    assert [p.name for p in (ROOT / "lexicon").glob("*.toml") if f"`{p.name}`" not in text] == []


def test_the_guide_tells_every_key_of_a_part_and_of_a_rule() -> None:
    text = (ROOT / "lexicon" / "README.md").read_text("utf-8")
    keys = {key for cell in re.findall(r"^\| ([^|]*) \|", text, re.MULTILINE) for key in re.findall(r"`(\w+)`", cell)}
    examples = "".join(re.findall(r"```toml\n(.*?)```", text, re.DOTALL))
    shown = set(re.findall(r"^(\w+) =", examples, re.MULTILINE))
    assert [key for key in Component.model_fields if key not in keys | shown] == []
    assert [key for key in JudgementRule.model_fields if key not in keys] == []


def test_the_guide_counts_the_conditions_and_names_what_a_rule_may_wait_for() -> None:
    text = (ROOT / "lexicon" / "README.md").read_text("utf-8")
    assert f"There are {len(get_args(ConditionId))} conditions" in text
    cues = tomllib.loads((ROOT / "lexicon" / "cues.toml").read_text("utf-8"))
    values = {cue["value"] for cue in cues.values() if cue["kind"] == "severity"}
    (row,) = re.findall(r"^\| `said` \|.*$", text, re.MULTILINE)
    # The others are urgency, which no rule waits for.
    urgency = {*STRENGTH, "advised", "none"}
    assert set(re.findall(r"`(\w+)`", row)) - {"said", "value"} == values - urgency


def test_the_readme_s_example_can_be_copied(ours: Shop, vocabulary: Vocabulary) -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    (example,) = re.findall(r"```toml\n# our-lexicon/components/ours.toml\n(.*?)```", text, re.DOTALL)
    ours.write("components/ours.toml", example)
    v = load_vocabulary(ours.folder)
    assert v.components["sway-bar-link"].name == "drop link"
    assert meant("sway link", vocabulary) == {"sway-bar-link"}
    assert meant("sway link", v) == set()
    assert "sunroof-motor" not in v.components
