"""Looks a whole lexicon over: every mistake, and remarks on what works but may not do what was meant."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from talkaround.vocabulary import read_lexicon
from talkaround.vocabulary.building import Lexicon
from talkaround.vocabulary.files import Entry, LexiconError
from talkaround.vocabulary.schema import PLACE_WORDS, Component, alternatives
from talkaround.vocabulary.terms import Phrase, Tag, Vocabulary

Read = Callable[[str, Vocabulary], Phrase]
"""How a note's words come out: folded, and with mishearings mended."""

TOPICS = {
    "references": "Names of nothing: no component, system or limit is so called",
    "unreachable": "Cannot match: a note with these words is read as other words",
    "two-meanings": "Two meanings: a component's name that is also a condition, action, place or cue",
    "swallows": "Hides a word: a name that takes in a condition or place, which is then not read",
    "hidden-names": "Hides a name: one component's own name is a shared name of another",
    "near-duplicates": "Near-duplicates: names of two components that differ by a letter, a space or the order",
    "no-place": "No place rule: components that look as if a vehicle had several",
}
# Cues that turn what is said around; a name that takes one in changes the meaning of the clause.
_TELLING = frozenset({"condition", "severity", "negation", "good"})
# Words and names of fewer letters differ by one as a rule (LCA and UCA, rim and trim).
_SHORT_WORD, _SHORT_NAME = 4, 9
_MOST = 0.75  # of the components of one kind, from where on the others are taken to be exceptions
_FEWEST = 4


# Place words and the axis that they say something of.
_AXIS = {
    "front": "axle", "rear": "axle", "left": "side", "right": "side", "driver": "side", "passenger": "side",
    "nearside": "side", "offside": "side", "upper": "level", "lower": "level", "inner": "depth", "outer": "depth",
}  # fmt: skip


class Remark(NamedTuple):
    """Something worth a look; ``places`` are the files and lines that it is about, the one to look into first."""

    topic: str
    text: str
    places: tuple[tuple[Path, int | None], ...]


class Checked(NamedTuple):
    """Errors by file and line, and remarks by topic; ``lexicon`` is what is left without what is wrong."""

    errors: list[LexiconError]
    remarks: list[Remark]
    lexicon: Lexicon


def check(shop_folder: Path | None, read: Read) -> Checked:
    """Look over the shipped lexicon with a shop's folder laid over it; ``read`` tells how a name in a note is read.

    Raises:
        LexiconError: there is no such folder.
    """
    errors: list[LexiconError] = []
    lexicon = read_lexicon(shop_folder, errors.append)
    errors.sort(key=lambda e: (e.path, e.line or 0))
    remarks = [r for look in _LOOKS for r in look(lexicon)]
    remarks += _unreachable(lexicon, read)
    order = list(TOPICS)
    remarks.sort(key=lambda r: (order.index(r.topic), str(r.places[0][0]), r.places[0][1] or 0, r.text))
    return Checked(errors, remarks, lexicon)


def _remark(topic: str, text: str, *places: tuple[Path, int | None]) -> Remark:
    return Remark(topic, text, places)


def _near_duplicates(lexicon: Lexicon) -> Iterator[Remark]:
    """Names of two components that differ by the order of their words, a space or one letter."""
    v = lexicon.vocabulary
    owner = {phrase: id for id, phrases in v.name_phrases.items() for phrase in phrases}
    rank = {id: n for n, id in enumerate(v.components)}
    alike: dict[tuple[str, str], list[tuple[Phrase, Phrase, str]]] = defaultdict(list)

    def pair(a: Phrase, b: Phrase, how: str) -> None:
        """Keeps the two, the one that came to the lexicon later first."""
        if rank[owner[a]] < rank[owner[b]]:
            a, b = b, a
        if owner[a] != owner[b]:
            alike[owner[a], owner[b]].append((a, b, how))

    for how, key in (("the order of its words", _sorted), ("a space", _joined)):
        groups: dict[object, list[Phrase]] = defaultdict(list)
        for phrase in owner:
            groups[key(phrase)].append(phrase)
        for group in groups.values():
            for n, a in enumerate(group):
                for b in group[:n]:
                    pair(a, b, how)
    beside: dict[str, set[str]] = defaultdict(set)
    for word, other in _one_letter_apart({w for p in owner for w in p if w.isalpha() and len(w) >= _SHORT_WORD}):
        beside[word].add(other)
    for phrase in owner:
        for n, word in enumerate(phrase):
            for other in beside.get(word, ()):
                changed = (*phrase[:n], other, *phrase[n + 1 :])
                if changed in owner and changed < phrase and sum(map(len, phrase)) >= _SHORT_NAME:
                    pair(phrase, changed, "a letter")
    for (one, two), cases in alike.items():
        a, b, how = cases[0]
        first, second = lexicon.origins[a, Tag("component", one)], lexicon.origins[b, Tag("component", two)]
        more = f" (and {len(cases) - 1} more of their names)" if len(cases) > 1 else ""
        text = f"[{one}] {first[1]!r} is but for {how} the name {second[1]!r} of [{two}]{more}"
        yield _remark("near-duplicates", text, first[0].where(first[1]), second[0].where(second[1]))


def _sorted(phrase: Phrase) -> object:
    return tuple(sorted(phrase))


def _joined(phrase: Phrase) -> object:
    return "".join(phrase)


def _one_letter_apart(words: set[str]) -> Iterator[tuple[str, str]]:
    """Both ways round, the words that one letter tells apart: another, missing, or swapped with its neighbour."""
    from rapidfuzz.distance import OSA

    shapes: dict[str, list[str]] = defaultdict(list)
    for word in words:
        for shape in {word, *(word[:n] + word[n + 1 :] for n in range(len(word)))}:
            shapes[shape].append(word)
    seen: set[tuple[str, str]] = set()
    for group in shapes.values():
        for a in group:
            for b in group:
                if a != b and (a, b) not in seen:
                    seen.add((a, b))
                    if OSA.distance(a, b, score_cutoff=1) == 1:
                        yield a, b


def _two_meanings(lexicon: Lexicon) -> Iterator[Remark]:
    for phrase, tags in lexicon.vocabulary.phrases.items():
        parts = [t for t in tags if t.kind in ("component", "short")]
        others = [t for t in tags if t.kind not in ("component", "short")]
        if not parts or not others:
            continue
        (e, name), (other, said) = lexicon.origins[phrase, parts[0]], lexicon.origins[phrase, others[0]]
        more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
        meanings = ", ".join(dict.fromkeys(_meaning(t) for t in others))
        text = f"{name!r} names [{parts[0].value}]{more}, and is also said for: {meanings}"
        yield _remark("two-meanings", text, e.where(name), other.where(said))


def _meaning(tag: Tag) -> str:
    return " ".join(x for x in (tag.kind, tag.value, f"({tag.more})" if tag.more else "") if x)


def _swallows(lexicon: Lexicon) -> Iterator[Remark]:
    """Names made of a condition and another name, or of a place and another name of the same component."""
    v = lexicon.vocabulary
    for id, phrases in v.name_phrases.items():
        c = v.components[id]
        for phrase in phrases:
            for cut in range(1, len(phrase)):
                for part, rest in ((phrase[:cut], phrase[cut:]), (phrase[cut:], phrase[:cut])):
                    meaning = _hidden_by(part, rest, id, c, v)
                    if meaning is None:
                        continue
                    e, name = lexicon.origins[phrase, Tag("component", id)]
                    other, said = lexicon.origins[part, meaning]
                    text = f"[{id}] {name!r} is read whole, so that {' '.join(part)!r} in it is no {_meaning(meaning)}"
                    yield _remark("swallows", text, e.where(name), other.where(said))


def _hidden_by(part: Phrase, rest: Phrase, id: str, c: Component, v: Vocabulary) -> Tag | None:
    """What ``part`` of a name would say if the ``rest``, the same component's name, stood alone; None for nothing."""
    tags = v.phrases.get(part, ())
    own = {Tag("component", id), *([Tag("component", c.kind_of)] if c.kind_of else [])}
    # A word that is a name too ("water" in "water pump") is meant as one.
    if not own & set(v.phrases.get(rest, ())) or any(t.kind in ("component", "short") for t in tags):
        return None
    for tag in tags:
        if tag.kind in _TELLING and (not tag.scope or not v.scopes_of(id).isdisjoint(tag.scope)):
            return tag
        if tag.kind == "place":
            said = {w for w in tag.value.split() if _AXIS.get(w) in c.places}
            if said - set(c.implies.split()):
                return tag
    return None


def _hidden_names(lexicon: Lexicon) -> Iterator[Remark]:
    for phrase, tags in lexicon.vocabulary.phrases.items():
        own = [t for t in tags if t.kind == "component"]
        shared = [t for t in tags if t.kind == "short" and t.value not in {o.value for o in own}]
        if own and shared:
            (e, name), (other, said) = lexicon.origins[phrase, own[0]], lexicon.origins[phrase, shared[0]]
            more = f" and {len(shared) - 1} more" if len(shared) > 1 else ""
            text = f"[{own[0].value}] has {name!r} for its own name; it is a shared name of [{shared[0].value}]{more}"
            yield _remark("hidden-names", text, e.where(name), other.where(said))


def _no_place(lexicon: Lexicon) -> Iterator[Remark]:
    """Components without a place rule whose general one has one, or whose like in the same system nearly all have."""
    v = lexicon.vocabulary
    alike: dict[tuple[str, str], list[Component]] = defaultdict(list)
    for other in v.components.values():
        if other.kind == "part":
            alike[other.system, other.name.split()[-1]].append(other)
    for e in lexicon.entries["components"]:
        c: Component = e.record
        if c.kind != "part" or c.places or c.implies:
            continue
        reason = ""
        general = v.components.get(c.kind_of or "")
        like = alike[c.system, c.name.split()[-1]]
        placed = sum(bool(x.places) for x in like)
        if general is not None and general.places:
            reason = f"it is a kind of [{c.kind_of}], which has {', '.join(general.places)}"
        elif len(like) >= _FEWEST and placed >= _MOST * len(like):
            reason = f"{placed} of {len(like)} components of {c.system} that end in {c.name.split()[-1]!r} have one"
        if reason:
            yield _remark("no-place", f"[{e.id}] has no places: {reason}", (e.path, e.line))


def _references(lexicon: Lexicon) -> Iterator[Remark]:
    """What the reading would pass over in silence: scopes, units and limits of no such name."""
    v = lexicon.vocabulary
    tails = {id.split("-", n)[-1] for id in v.components for n in range(id.count("-") + 1)}
    roles = {r for c in v.components.values() for r in c.safety}
    said_outright = {e.record.value for e in lexicon.entries["cues.toml"] if e.record.kind == "severity"}
    scopes = tails | set(v.components) | set(v.systems) | {"part", "fluid", "system", "service"}

    def unknown(e: Entry, key: str, refs: Iterable[str], known: Iterable[str], what: str) -> Iterator[Remark]:
        for ref in dict.fromkeys(refs):
            if ref not in known:
                where = e.where(ref, ref if key == "only_for" else key)
                yield _remark("references", f"[{e.id}] {key} names {ref!r}, which is no {what}", where)

    for e in lexicon.entries["conditions.toml"]:
        yield from unknown(e, "only_for", e.record.only_for, scopes, "system, kind or component")
    for e in lexicon.entries["judgement.toml"]:
        whens = [w for rule in e.record.rules for w in (*rule.when, *rule.unless)]
        signs = [rule.said for rule in e.record.rules if rule.said]
        yield from unknown(e, "rules", signs, said_outright, "value of a severity cue")
        yield from unknown(e, "rules", whens, scopes | roles, "system, kind, component or part in safety")
    for e in lexicon.entries["cautions.toml"]:
        yield from unknown(e, "when", e.record.when, scopes | roles, "system, kind, component or part in safety")
        yield from unknown(e, "unless", e.record.unless, scopes, "system, kind or component")
    for e in lexicon.entries["documentation.toml"]:
        yield from unknown(e, "when", e.record.when, scopes, "system, kind or component")
        yield from unknown(e, "systems", e.record.systems, v.systems, "system")
        yield from unknown(e, "quantities", e.record.quantities, v.quantities, "quantity")
    for e in lexicon.entries["limits.toml"]:
        yield from unknown(e, "stands_beside", e.record.stands_beside, v.limits, "limit")
    for e in lexicon.entries["quantities.toml"]:
        yield from unknown(e, "units", (*e.record.units, *e.record.bare.values()), v.units, "unit")
    for e in lexicon.entries["components"]:
        words = [w for w in e.record.implies.split() if "=" not in w]
        yield from unknown(e, "implies", words, PLACE_WORDS, "word of place")


def _unreachable(lexicon: Lexicon, read: Read) -> Iterator[Remark]:
    v = lexicon.vocabulary
    # A name of many alternatives is the origin of as many phrases: each is folded once.
    spelled_out: dict[str, dict[Phrase, str]] = {}
    for (phrase, tag), (e, name) in lexicon.origins.items():
        if tag != v.phrases[phrase][0]:
            continue
        if name not in spelled_out:
            spelled_out[name] = {v.folder.phrase(x): x for x in alternatives(name)}
        typed = spelled_out[name].get(phrase, name)
        found = read(typed, v)
        # "a c" is joined to "ac": no harm where the one is a name of the same thing.
        if tag not in v.phrases.get(found, ()):
            text = f"[{e.id}] {typed!r} can never be found: in a note it is read as {' '.join(found)!r}"
            yield _remark("unreachable", text, e.where(name))
    for e in lexicon.entries["components"]:
        for name in (e.record.name, *e.record.names, *e.record.short):
            if not v.folder.phrase(name):
                yield _remark("unreachable", f"[{e.id}] {name!r} holds no words", e.where(name))


_LOOKS = (_references, _two_meanings, _swallows, _hidden_names, _near_duplicates, _no_place)

__all__ = ["TOPICS", "Checked", "Remark", "check"]
