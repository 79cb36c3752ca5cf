"""Makes a vocabulary of the tables that lexicon files hold, and holds the tables against each other."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel

from talkaround.models import ConditionId
from talkaround.vocabulary.alikes import build_alikes
from talkaround.vocabulary.files import Entry, LexiconError, Reader, Tell, check_names, refuse
from talkaround.vocabulary.folding import Folder
from talkaround.vocabulary.schema import (
    DOCUMENTATION_RULES,
    ActionWords,
    Ambiguous,
    Caution,
    Component,
    ConditionWords,
    Cue,
    DocumentationPoint,
    Expected,
    Judgement,
    Limit,
    Mishearing,
    OrdinaryWords,
    PlaceWord,
    Plain,
    Quantity,
    System,
    Unit,
    alternatives,
)
from talkaround.vocabulary.terms import MisheardWords, Phrase, Tag, Vocabulary


@dataclass
class Lexicon:
    """A vocabulary with the tables that it was made of, for whoever asks where something stands."""

    vocabulary: Vocabulary
    spelling: dict[str, dict[str, str]]
    entries: dict[str, list[Entry]]
    """Tables by file name (``components`` for that folder)."""
    origins: dict[tuple[Phrase, Tag], tuple[Entry, str]] = field(default_factory=dict)
    """The table that a tag of a phrase comes from, and the name as it is typed there."""


def build(folders: list[Path], tell: Tell = refuse) -> Lexicon:
    """Read the lexicon of ``folders``, each laid over those before it.

    Every problem goes to ``tell``. Where that does not raise, what is wrong is left out and the reading goes on.
    """
    for lexicon in folders:
        check_names(lexicon, tell)
    reader = Reader(folders, tell)
    spelling = reader.spelling()
    folder = Folder(spelling)
    folded: dict[str, Phrase] = {}

    def phrase_of(name: str) -> Phrase:
        found = folded.get(name)
        if found is None:
            found = folded[name] = folder.phrase(name)
        return found

    reader.same = phrase_of
    models: dict[str, type[BaseModel]] = {
        "systems.toml": System, "quantities.toml": Quantity, "units.toml": Unit, "components": Component,
        "limits.toml": Limit, "places.toml": PlaceWord, "conditions.toml": ConditionWords, "actions.toml": ActionWords,
        "cues.toml": Cue, "mishearings.toml": Mishearing, "ambiguous.toml": Ambiguous, "judgement.toml": Judgement,
        "ordinary.toml": OrdinaryWords, "cautions.toml": Caution, "documentation.toml": DocumentationPoint,
        "plain.toml": Plain,
        "recogniser.toml": Expected,
    }  # fmt: skip
    tables = {name: reader.tables(name, model) for name, model in models.items()}
    if any(reader.off.values()):
        _let_go(tables, reader.off)
    systems: dict[str, System] = {e.id: e.record for e in tables["systems.toml"]}
    quantities: dict[str, Quantity] = {e.id: e.record for e in tables["quantities.toml"]}
    units: dict[str, Unit] = {e.id: e.record for e in tables["units.toml"]}
    entries = tables["components"] = _with_systems(tables["components"], systems, tell)
    components: dict[str, Component] = {e.id: e.record for e in entries}
    _check_references(entries, components, quantities, tell)
    tables["limits.toml"] = _sound_limits(tables["limits.toml"], components, quantities, units, tell)

    tags: dict[Phrase, list[Tag]] = {}
    origins: dict[tuple[Phrase, Tag], tuple[Entry, str]] = {}

    def add(names: Iterable[str], tag: Tag, e: Entry) -> None:
        for name in names:
            for spelled_out in alternatives(name):
                phrase = phrase_of(spelled_out)
                if phrase and tag not in tags.setdefault(phrase, []):
                    tags[phrase].append(tag)
                    origins[phrase, tag] = e, name

    name_phrases: dict[str, tuple[Phrase, ...]] = {}
    for e, names in _component_names(entries, phrase_of, tell):
        name_phrases[e.id] = tuple(names)
        for phrase, name in names.items():
            tag = Tag("component", e.id)
            tags.setdefault(phrase, []).append(tag)
            origins[phrase, tag] = e, name
    # A shared name lists its components by system, the systems of a passenger car first.
    rank = {s: n for n, s in enumerate(systems)}
    for e in sorted(entries, key=lambda e: rank[e.record.system]):
        add(e.record.short, Tag("short", e.id), e)
    for e in tables["places.toml"]:
        add(e.record.names, Tag("place", e.record.means), e)
    for e in tables["conditions.toml"]:
        if not _is_condition(e, tell):
            continue
        add(e.record.names, Tag("condition", e.id), e)
        for degree, names_of in e.record.degrees.items():
            add(names_of, Tag("condition", e.id, degree), e)
        for scope, names_of in e.record.only_for.items():
            add(names_of, Tag("condition", e.id, None, (scope,)), e)
    for e in tables["actions.toml"]:
        add(e.record.need, Tag("action", e.record.verb, "need"), e)
        add(e.record.done, Tag("action", e.record.verb, "done"), e)
    unit_phrases = {phrase_of(name): unit_id for unit_id, unit in units.items() for name in unit.names}
    for e in tables["cues.toml"]:
        if _names_component(e) and e.record.value not in components:
            _tell_unknown(e, "value", str(e.record.value), tell)
            continue
        add(e.record.names, Tag(e.record.kind, e.record.value or "", None), e)
    tables["documentation.toml"] = [e for e in tables["documentation.toml"] if _is_documentation_rule(e, tell)]
    mishearings: dict[Phrase, tuple[MisheardWords, ...]] = {}
    for e in tables["mishearings.toml"]:
        said = phrase_of(e.id)
        record: Mishearing = e.record
        about = [
            frozenset(w for name in names for w in phrase_of(name))
            for names in (record.beside, record.behind, record.before, record.not_behind, record.not_before)
        ]
        for heard in (*record.heard, *record.ask):
            ask = heard in record.ask
            phrase = phrase_of(heard)
            if phrase == said:
                continue
            mishearings[phrase] = (*mishearings.get(phrase, ()), MisheardWords(said, e.id, ask, *about))

    ambiguous = {}
    for e in tables["ambiguous.toml"]:
        owners = (*([e.record.usual] if e.record.usual else []), *e.record.near)
        unknown = [ref for ref in owners if ref not in components]
        for ref in unknown:
            _tell_unknown(e, "near" if ref in e.record.near else "usual", ref, tell)
        if unknown:
            continue
        ambiguous[phrase_of(e.id)] = e.record
        for ref in owners:
            tag = Tag("short", ref)
            known = tags.setdefault(phrase_of(e.id), [])
            if tag not in known and Tag("component", ref) not in known:
                known.append(tag)
                origins[phrase_of(e.id), tag] = e, e.id

    tables["judgement.toml"] = [e for e in tables["judgement.toml"] if e.id == "any" or _is_condition(e, tell)]
    kinds: dict[str, list[str]] = {}
    for e in entries:
        if e.record.kind_of:
            kinds.setdefault(e.record.kind_of, []).append(e.id)
    kinds_of = {p: frozenset(t.kind for t in of) for p, of in tags.items()}
    ordinary = {w for e in tables["ordinary.toml"] for word in e.record.words.split() for w in folder.fold(word)}
    vocabulary = Vocabulary(
        components=components,
        systems=systems,
        quantities=quantities,
        units=units,
        folder=folder,
        limits={e.id: e.record for e in tables["limits.toml"]},
        judgements={e.id: e.record for e in tables["judgement.toml"]},
        phrases={p: tuple(t) for p, t in tags.items()},
        mishearings=mishearings,
        unit_phrases=unit_phrases,
        ambiguous=ambiguous,
        kinds={k: tuple(v) for k, v in kinds.items()},
        name_phrases=name_phrases,
        plain={e.id: e.record.says or "" for e in tables["plain.toml"]},
        cautions={e.id: e.record for e in tables["cautions.toml"]},
        documentation={e.id: e.record for e in tables["documentation.toml"]},
        british=spelling.get("british", {}),
        everyday=" ".join(sorted(ordinary)),
        make_alikes=partial(build_alikes, kinds_of),
        expected=_expected(tables["recogniser.toml"], {*tags, *unit_phrases}, phrase_of, tell, folders[-1]),
    )
    return Lexicon(vocabulary, spelling, tables, origins)


def _expected(
    entries: list[Entry], known: set[Phrase], phrase_of: Callable[[str], Phrase], tell: Tell, last: Path
) -> tuple[str, ...]:
    """What a recogniser is told to expect: words of the lexicon only. Those that a shop has taken out of it go too."""
    words: list[str] = []
    for e in entries:
        for word in e.record.words:
            path, line = e.where(word, "words")
            if phrase_of(word) in known:
                words.append(word)
            elif path.parent == last:
                problem = f"[{e.id}] words names {word!r}, which no other file of the lexicon has"
                tell(LexiconError(path, line, problem, "mend its spelling, or add it to the file that it belongs to"))
    return tuple(dict.fromkeys(words))


def _let_go(tables: dict[str, list[Entry]], off: dict[str, dict[str, dict[str, Any]]]) -> None:
    """Take out of the tables what names something that was switched off; what cannot be without it goes too."""
    systems, units, quantities = off["systems.toml"], off["units.toml"], off["quantities.toml"]
    gone: dict[str, str | None] = {id: table.get("kind_of") for id, table in off["components"].items()}
    gone |= {e.id: e.record.kind_of for e in tables["components"] if e.record.system in systems}

    def kind(of: str | None) -> str | None:
        seen: set[str] = set()
        while of in gone and of not in seen:
            seen.add(of)
            of = gone[of]
        return None if of in gone else of

    def left(ids: Iterable[str]) -> tuple[str, ...]:
        return tuple(id for id in ids if id not in gone)

    def changed(e: Entry, **fields: Any) -> Entry:
        return e._replace(record=e.record.model_copy(update=fields))

    tables["quantities.toml"] = [
        changed(
            e,
            units=tuple(u for u in e.record.units if u not in units),
            bare={k: u for k, u in e.record.bare.items() if u not in units},
        )
        for e in tables["quantities.toml"]
    ]
    tables["components"] = [
        changed(
            e,
            kind_of=kind(e.record.kind_of),
            part_of=left(e.record.part_of),
            holds=None if e.record.holds in gone else e.record.holds,
            measured=tuple(m for m in e.record.measured if m not in quantities),
            served_as=tuple(s for s in e.record.served_as if s.part not in gone),
            goes_with=tuple(g for g in e.record.goes_with if g.part not in gone),
            look_at=tuple(g for g in e.record.look_at if g.part not in gone),
        )
        for e in tables["components"]
        if e.id not in gone
    ]
    tables["limits.toml"] = [
        changed(e, components=left(e.record.components), known_from=left(e.record.known_from))
        for e in tables["limits.toml"]
        if left(e.record.components) and e.record.quantity not in quantities and e.record.unit not in units
    ]
    ambiguous = []
    for e in tables["ambiguous.toml"]:
        near = {id: words for id, words in e.record.near.items() if id not in gone}
        usual = None if e.record.usual in gone else e.record.usual
        if usual or near:
            ambiguous.append(changed(e, usual=usual, near=near))
    tables["ambiguous.toml"] = ambiguous
    tables["cues.toml"] = [e for e in tables["cues.toml"] if not (_names_component(e) and e.record.value in gone)]


def _names_component(cue: Entry) -> bool:
    """Whether a cue's value is the part that a leak is of."""
    return bool(cue.record.kind == "leak-of")


def _tell_unknown(e: Entry, key: str, ref: str, tell: Tell) -> None:
    path, line = e.where(ref, key)
    problem = f"[{e.id}] {key} names {ref!r}, which is not in the lexicon"
    tell(LexiconError(path, line, problem, "mend the id or add its table"))


def _is_documentation_rule(e: Entry, tell: Tell) -> bool:
    if e.id in DOCUMENTATION_RULES:
        return True
    tell(
        LexiconError(
            e.path, e.line, f"[{e.id}] is no rule of documentation", f"use one of: {', '.join(DOCUMENTATION_RULES)}"
        )
    )
    return False


def _is_condition(e: Entry, tell: Tell) -> bool:
    if e.id in get_args(ConditionId):
        return True
    mend = f"use one of {', '.join(get_args(ConditionId))}"
    tell(LexiconError(e.path, e.line, f"[{e.id}] is no condition", mend))
    return False


def _with_systems(entries: list[Entry], systems: dict[str, System], tell: Tell) -> list[Entry]:
    for e in entries:
        if e.record.system not in systems:
            _tell_unknown(e, "system", e.record.system, tell)
    return [e for e in entries if e.record.system in systems]


def _check_references(
    entries: list[Entry], components: dict[str, Component], quantities: dict[str, Quantity], tell: Tell
) -> None:
    for e in entries:
        c: Component = e.record
        wanted: list[tuple[str, str | None, Container[str]]] = [("kind_of", c.kind_of, components)]
        wanted += [("holds", c.holds, components)]
        wanted += [("part_of", p, components) for p in c.part_of]
        wanted += [("served_as", s.part, components) for s in c.served_as]
        wanted += [("goes_with", g.part, components) for g in c.goes_with]
        wanted += [("look_at", g.part, components) for g in c.look_at]
        wanted += [("measured", m, quantities) for m in c.measured]
        for key, ref, known in wanted:
            if ref is not None and ref not in known:
                _tell_unknown(e, key, ref, tell)
        seen = {e.id}
        at = c.kind_of
        while at is not None and at in components:
            if at in seen:
                path, line = e.where(key="kind_of")
                tell(LexiconError(path, line, f"[{e.id}] is a kind of itself, by way of {c.kind_of!r}", "mend kind_of"))
                break
            seen.add(at)
            at = components[at].kind_of


def _sound_limits(
    entries: list[Entry],
    components: dict[str, Component],
    quantities: dict[str, Quantity],
    units: dict[str, Unit],
    tell: Tell,
) -> list[Entry]:
    # `stands_beside` is not checked: a shop may switch off the limit that it names.
    sound = []
    for e in entries:
        limit: Limit = e.record
        wanted: list[tuple[str, str, Container[str]]] = [("components", c, components) for c in limit.components]
        wanted += [("known_from", c, components) for c in limit.known_from]
        wanted += [("quantity", limit.quantity, quantities), ("unit", limit.unit, units)]
        unknown = [(key, ref) for key, ref, known in wanted if ref not in known]
        for key, ref in unknown:
            _tell_unknown(e, key, ref, tell)
        if unknown:
            continue
        measured_in = {units[u].dimension for u in quantities[limit.quantity].units if u in units}
        if units[limit.unit].dimension in measured_in:
            sound.append(e)
        else:
            path, line = e.where(key="unit")
            tell(LexiconError(
                path, line, f"[{e.id}] unit {limit.unit!r} is none that {limit.quantity!r} is measured in",
                f"use one of {', '.join(quantities[limit.quantity].units)}",
            ))  # fmt: skip
    return sound


def _component_names(
    entries: list[Entry], phrase_of: Callable[[str], Phrase], tell: Tell
) -> Iterator[tuple[Entry, dict[Phrase, str]]]:
    """The folded names of each component, with each as it is typed; tells of one that two components share."""
    owner: dict[Phrase, Entry] = {}
    general_names = {e.id: {phrase_of(n) for n in (e.record.name, *e.record.names, *e.record.short)} for e in entries}
    for e in entries:
        phrases: dict[Phrase, str] = {}
        for name in (e.record.name, *e.record.names):
            phrase = phrase_of(name)
            other = owner.setdefault(phrase, e)
            if other.id != e.id:
                path, line = e.where(name)
                tell(LexiconError(
                    path, line, f"[{e.id}] has the name {name!r}, which [{other.id}] in {other.path.name} has too",
                    "keep it in one of them, or put it under `short` in both",
                ))  # fmt: skip
                continue
            phrases.setdefault(phrase, name)
        # "front spring" is "spring" with its place said: leave the place word to be read as one.
        short = {phrase_of(name) for name in e.record.short}
        general = general_names.get(e.record.kind_of or "", set())
        movable = set()
        if "axle" in e.record.places:
            movable |= {"front", "rear"}
        if "side" in e.record.places:
            movable |= {"left", "right", "driver", "passenger"}
        yield (
            e,
            {
                p: name
                for n, (p, name) in enumerate(phrases.items())
                if n == 0 or p[0] not in movable or not (p[1:] in phrases or p[1:] in short or p[1:] in general)
            },
        )


__all__ = ["Lexicon", "build"]
