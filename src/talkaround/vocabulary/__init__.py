"""The trade's vocabulary: reads and checks ``lexicon/`` and builds the matchers once."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, get_args

from talkaround.models import ConditionId
from talkaround.vocabulary.files import Entry, LexiconError, check_names, line_of, parse, read_tables, shipped_folder
from talkaround.vocabulary.folding import SPELLING_TABLES, Folder
from talkaround.vocabulary.schema import (
    ActionWords,
    Ambiguous,
    Component,
    ConditionWords,
    Cue,
    Judgement,
    Limit,
    Mishearing,
    PlaceWord,
    Quantity,
    System,
    Unit,
)

if TYPE_CHECKING:
    from talkaround.vocabulary.matching import Matcher

Phrase = tuple[str, ...]
LONG_WORD = 6
"""Letters of a word in which a slip of the keyboard is mended."""


class Tag(NamedTuple):
    """What a phrase of the lexicon may mean.

    ``kind`` is ``component``, ``short``, ``place``, ``condition``, ``action`` or the kind of a cue;
    ``value`` what it says of that kind; ``more`` a degree, a form (``need``, ``done``) or nothing; ``scope`` the
    systems, kinds or ids that the phrase is limited to.
    """

    kind: str
    value: str
    more: str | None = None
    scope: tuple[str, ...] = ()


@dataclass(slots=True, frozen=True)
class MisheardWords:
    said: Phrase
    beside: frozenset[str]


@dataclass
class Vocabulary:
    """Everything that the reading and the judging know of the trade."""

    components: dict[str, Component]
    systems: dict[str, System]
    quantities: dict[str, Quantity]
    units: dict[str, Unit]
    folder: Folder
    limits: dict[str, Limit]
    judgements: dict[str, Judgement]
    phrases: dict[Phrase, tuple[Tag, ...]]
    mishearings: dict[Phrase, MisheardWords]
    unit_phrases: dict[Phrase, str]
    ambiguous: dict[Phrase, Ambiguous]
    kinds: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """General component -> the more exact ones (``kind_of`` turned round)."""
    name_phrases: dict[str, tuple[Phrase, ...]] = field(default_factory=dict)

    @cached_property
    def matcher(self) -> Matcher:
        """The phrase matcher over all phrases; built on first use, for it brings spaCy with it."""
        from talkaround.vocabulary.matching import Matcher

        return Matcher(self.phrases)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every single folded word that some phrase is made of."""
        return frozenset(w for p in self.phrases for w in p)

    @cached_property
    def long_words(self) -> frozenset[str]:
        """Those of ``words`` that are long enough for a slip of the keyboard to be told from another word."""
        return frozenset(w for w in self.words if len(w) >= LONG_WORD)


def load_vocabulary(shop_folder: Path | None = None) -> Vocabulary:
    """Read the shipped lexicon and, laid over it, the shop's own folder.

    Raises:
        LexiconError: a file is not as it should be; its text says which, where, and how to mend it.
    """
    folders = [shipped_folder()]
    if shop_folder is not None:
        if not shop_folder.is_dir():
            raise LexiconError(
                shop_folder, None, "there is no such folder", "name the folder that holds your lexicon files"
            )
        folders.append(shop_folder)
    for lexicon in folders:
        check_names(lexicon)
    folder = Folder(_spelling(folders))
    systems = {e.id: e.record for e in read_tables("systems.toml", System, folders)}
    quantities = {e.id: e.record for e in read_tables("quantities.toml", Quantity, folders)}
    units = {e.id: e.record for e in read_tables("units.toml", Unit, folders)}
    entries = list(read_tables("components", Component, folders))
    components: dict[str, Component] = {e.id: e.record for e in entries}
    _check_references(entries, components, systems, quantities)
    limits = list(read_tables("limits.toml", Limit, folders))
    _check_limits(limits, components, quantities, units)

    tags: dict[Phrase, list[Tag]] = {}

    def add(names: Iterable[str], tag: Tag) -> None:
        for name in names:
            phrase = folder.phrase(name)
            if phrase and tag not in tags.setdefault(phrase, []):
                tags[phrase].append(tag)

    name_phrases = _component_names(entries, folder)
    for component_id, phrases in name_phrases.items():
        for phrase in phrases:
            tags.setdefault(phrase, []).append(Tag("component", component_id))
    # A shared name lists its components by system, the systems of a passenger car first.
    rank = {s: n for n, s in enumerate(systems)}
    for e in sorted(entries, key=lambda e: rank[e.record.system]):
        add(e.record.short, Tag("short", e.id))
    for e in read_tables("places.toml", PlaceWord, folders):
        add(e.record.names, Tag("place", e.record.means))
    for e in read_tables("conditions.toml", ConditionWords, folders):
        _check_condition(e)
        add(e.record.names, Tag("condition", e.id))
        for degree, names in e.record.degrees.items():
            add(names, Tag("condition", e.id, degree))
        for scope, names in e.record.only_for.items():
            add(names, Tag("condition", e.id, None, (scope,)))
    for e in read_tables("actions.toml", ActionWords, folders):
        add(e.record.need, Tag("action", e.record.verb, "need"))
        add(e.record.done, Tag("action", e.record.verb, "done"))
    unit_phrases = {folder.phrase(name): unit_id for unit_id, unit in units.items() for name in unit.names}
    for e in read_tables("cues.toml", Cue, folders):
        add(e.record.names, Tag(e.record.kind, e.record.value or "", None))
    mishearings = {}
    for e in read_tables("mishearings.toml", Mishearing, folders):
        said = folder.phrase(e.id)
        for heard in e.record.heard:
            mishearings[folder.phrase(heard)] = MisheardWords(
                said, frozenset(w for b in e.record.beside for w in folder.phrase(b))
            )

    ambiguous = {}
    for e in read_tables("ambiguous.toml", Ambiguous, folders):
        for ref in (e.record.usual, *e.record.near):
            if ref not in components:
                raise LexiconError(
                    e.path,
                    e.line,
                    f"[{e.id}] names {ref!r}, which is not in the lexicon",
                    "mend the id or add its table",
                )
        ambiguous[folder.phrase(e.id)] = e.record
        for ref in (e.record.usual, *e.record.near):
            tag = Tag("short", ref)
            known = tags.setdefault(folder.phrase(e.id), [])
            if tag not in known and Tag("component", ref) not in known:
                known.append(tag)

    judgements = list(read_tables("judgement.toml", Judgement, folders))
    for e in judgements:
        _check_condition(e)
    kinds: dict[str, list[str]] = {}
    for e in entries:
        if e.record.kind_of:
            kinds.setdefault(e.record.kind_of, []).append(e.id)
    return Vocabulary(
        components=components,
        systems=systems,
        quantities=quantities,
        units=units,
        folder=folder,
        limits={e.id: e.record for e in limits},
        judgements={e.id: e.record for e in judgements},
        phrases={p: tuple(t) for p, t in tags.items()},
        mishearings=mishearings,
        unit_phrases=unit_phrases,
        ambiguous=ambiguous,
        kinds={k: tuple(v) for k, v in kinds.items()},
        name_phrases=name_phrases,
    )


def _spelling(folders: list[Path]) -> dict[str, dict[str, str]]:
    """The tables of ``spelling.toml``, a later folder's laid over an earlier one's."""
    out: dict[str, dict[str, str]] = {}
    for depth, folder in enumerate(folders):
        path = folder / "spelling.toml"
        if depth and not path.exists():
            continue
        text, tables = parse(path)
        for name, table in tables.items():
            if name not in SPELLING_TABLES:
                mend = f"known tables: {', '.join(SPELLING_TABLES)}"
                raise LexiconError(path, line_of(text, name), f"[{name}] is no table of spelling", mend)
            for word, stands_for in table.items():
                if not isinstance(stands_for, str):
                    raise LexiconError(
                        path, line_of(text, name, word), f"{word!r} stands for no word", "put the word in quotes"
                    )
            out.setdefault(name, {}).update(table)
    return out


def _check_condition(e: Entry) -> None:
    if e.id not in get_args(ConditionId):
        mend = f"use one of {', '.join(get_args(ConditionId))}"
        raise LexiconError(e.path, e.line, f"[{e.id}] is no condition", mend)


def _check_references(
    entries: list[Entry], components: dict[str, Component], systems: dict[str, System], quantities: dict[str, Quantity]
) -> None:
    for e in entries:
        c: Component = e.record
        wanted: list[tuple[str, str | None, Container[str]]] = [("kind_of", c.kind_of, components)]
        wanted += [("holds", c.holds, components), ("system", c.system, systems)]
        wanted += [("part_of", p, components) for p in c.part_of]
        wanted += [("served_as", s.part, components) for s in c.served_as]
        wanted += [("goes_with", g.part, components) for g in c.goes_with]
        wanted += [("measured", m, quantities) for m in c.measured]
        for key, ref, known in wanted:
            if ref is not None and ref not in known:
                problem = f"[{e.id}] {key} names {ref!r}, which is not in the lexicon"
                raise LexiconError(e.path, e.line, problem, "mend the id or add its table")


def _check_limits(
    entries: list[Entry], components: dict[str, Component], quantities: dict[str, Quantity], units: dict[str, Unit]
) -> None:
    # `stands_beside` is not checked: a shop may switch off the limit that it names.
    for e in entries:
        limit: Limit = e.record
        wanted: list[tuple[str, str, Container[str]]] = [("components", c, components) for c in limit.components]
        wanted += [("known_from", c, components) for c in limit.known_from]
        wanted += [("quantity", limit.quantity, quantities), ("unit", limit.unit, units)]
        for key, ref, known in wanted:
            if ref not in known:
                problem = f"[{e.id}] {key} names {ref!r}, which is not in the lexicon"
                raise LexiconError(e.path, e.line, problem, "mend the id or add its table")
        measured_in = {units[u].dimension for u in quantities[limit.quantity].units if u in units}
        if units[limit.unit].dimension not in measured_in:
            raise LexiconError(
                e.path, e.line, f"[{e.id}] unit {limit.unit!r} is none that {limit.quantity!r} is measured in",
                f"use one of {', '.join(quantities[limit.quantity].units)}",
            )  # fmt: skip


def _component_names(entries: list[Entry], folder: Folder) -> dict[str, tuple[Phrase, ...]]:
    """The folded names of each component; refuses one that two components share."""
    owner: dict[Phrase, Entry] = {}
    general_names = {
        e.id: {folder.phrase(n) for n in (e.record.name, *e.record.names, *e.record.short)} for e in entries
    }
    out: dict[str, tuple[Phrase, ...]] = {}
    for e in entries:
        phrases: dict[Phrase, None] = {}
        for name in (e.record.name, *e.record.names):
            phrase = folder.phrase(name)
            other = owner.setdefault(phrase, e)
            if other.id != e.id:
                raise LexiconError(
                    e.path, e.line, f"[{e.id}] has the name {name!r}, which [{other.id}] in {other.path.name} has too",
                    "keep it in one of them, or put it under `short` in both",
                )  # fmt: skip
            phrases[phrase] = None
        # "front spring" is "spring" with its place said: leave the place word to be read as one.
        short = {folder.phrase(name) for name in e.record.short}
        general = general_names.get(e.record.kind_of or "", set())
        movable = set()
        if "axle" in e.record.places:
            movable |= {"front", "rear"}
        if "side" in e.record.places:
            movable |= {"left", "right", "driver", "passenger"}
        out[e.id] = tuple(
            p
            for n, p in enumerate(phrases)
            if n == 0 or p[0] not in movable or not (p[1:] in phrases or p[1:] in short or p[1:] in general)
        )
    return out


__all__ = ["LONG_WORD", "LexiconError", "Tag", "Vocabulary", "load_vocabulary"]
