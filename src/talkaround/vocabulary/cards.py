"""Finds a component by any name or near one, and tells everything that is known of it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from talkaround.amounts import amount
from talkaround.vocabulary.building import Lexicon
from talkaround.vocabulary.files import Entry
from talkaround.vocabulary.schema import Component, Limit
from talkaround.vocabulary.terms import Vocabulary

NEAR = 80  # of 100, from where on a word is taken for another
_NEAR_IN_ALL = 60
SHOWN = 8
_IN_FULL = 3
_BOOKS = ("us-light", "us-commercial", "uk", "eu", "any")
_MARKS = {"read": "read", "memory": "from memory", "habit": "common practice"}
_SOLD = {
    "each": "",
    "axle-set": "as the set for an axle",
    "set": "as one set for the vehicle",
    "fill": "as much as it takes",
}
_WIDTH = 110


@dataclass(frozen=True)
class Match:
    """A component and why it was found: ``through`` is the name of it that matched, ``score`` how well (to 100)."""

    id: str
    how: Literal["name", "folded", "short", "near", "inside"]
    through: str
    score: float = 100.0


def find(vocabulary: Vocabulary, text: str, limit: int = SHOWN) -> list[Match]:
    """Every component that ``text`` names, then those that it shares a name with, then near ones up to ``limit``.

    Where there are none, those that are named inside it.
    """
    wanted = vocabulary.folder.phrase(text)
    if not any(w.isalnum() for w in wanted):
        return []
    exact: list[Match] = []
    shared: list[Match] = []
    near: list[Match] = []
    typed = " ".join(text.split()).casefold()
    for id, c in vocabulary.components.items():
        own = (c.name, *c.names)
        folded = {vocabulary.folder.phrase(n): n for n in reversed((*own, *c.short))}
        if (same := next((n for n in own if n.casefold() == typed), None)) is not None:
            exact.append(Match(id, "name", same))
        elif wanted in folded:
            through = folded[wanted]
            if through in own:
                exact.append(Match(id, "folded", through))
            else:
                shared.append(Match(id, "short", through))
        else:
            score, name = max(((_nearness(wanted, p), n) for p, n in folded.items()), key=lambda x: x[0])
            if score >= _NEAR_IN_ALL:
                near.append(Match(id, "near", name, score))
    usual = vocabulary.ambiguous.get(wanted)
    shared.sort(key=lambda m: usual is None or m.id != usual.usual)
    near.sort(key=lambda m: (-m.score, len(m.through), m.id))
    found = [*exact, *shared]
    return [*found, *near[: max(0, limit - len(found))]] or _inside(vocabulary, wanted)[:limit]


def _inside(vocabulary: Vocabulary, wanted: tuple[str, ...]) -> list[Match]:
    """The components of the longest name that stands inside ``wanted`` ("driver's seat belt", "rear pads worn")."""
    for length in range(len(wanted) - 1, 0, -1):
        for begin in range(len(wanted) - length + 1):
            part = wanted[begin : begin + length]
            owners = sorted(t.value for t in vocabulary.phrases.get(part, ()) if t.kind in ("component", "short"))
            if owners:
                usual = vocabulary.ambiguous.get(part)
                owners.sort(key=lambda id: usual is None or id != usual.usual)
                return [Match(id, "inside", " ".join(part)) for id in owners]
    return []


def _nearness(wanted: tuple[str, ...], name: tuple[str, ...]) -> float:
    """How like ``wanted`` the ``name`` is, 0 to 100; 0 where a word of ``wanted`` has none like it in ``name``."""
    from rapidfuzz import fuzz

    if all(w in name or any(fuzz.ratio(w, other, score_cutoff=NEAR) for other in name) for w in wanted):
        return fuzz.token_sort_ratio(" ".join(wanted), " ".join(name))
    # One word written as two, or two as one.
    return fuzz.ratio("".join(wanted), "".join(name), score_cutoff=NEAR)


def cards(lexicon: Lexicon, text: str, found: list[Match]) -> str:
    """The found components: in full where few are meant, the best in full where none is, the others a line each."""
    meant = [m for m in found if m.how not in ("near", "inside")]
    full = meant if 0 < len(meant) <= _IN_FULL else [m for m in meant if m.how != "short"] or found[: not meant]
    parts = [_card(lexicon, text, m) for m in full]
    shared = [m for m in meant if m not in full]
    if shared:
        parts.append("\n".join(_shared(lexicon.vocabulary, text, shared)))
    inside = [m for m in found if m.how == "inside" and m not in full]
    if inside:
        rows = [f"  {_named(m.id, lexicon.vocabulary)}" for m in inside]
        parts.append("\n".join([f"{inside[0].through!r} may be also", *rows]))
    near = [m for m in found if m.how == "near" and m not in full]
    if near:
        rows = [f"  {_named(m.id, lexicon.vocabulary)}, by {m.through!r}: {m.score:.0f} of 100" for m in near]
        parts.append("\n".join(["near it", *rows]))
    return "\n\n".join(parts)


def _shared(v: Vocabulary, text: str, matches: list[Match]) -> Iterator[str]:
    """A name of many components: whose it may be, and what decides between them."""
    yield f"{text!r} is a shared name of {len(matches)} components"
    rule = v.ambiguous.get(v.folder.phrase(text))
    if rule is not None:
        said = f"{_named(rule.usual, v)} is meant" if rule.usual else "nobody is sure, and the order asks"
        yield f"  where nothing decides, {said}"
        for id, words in rule.near.items():
            yield f"  {_named(id, v)} is meant beside: {', '.join(words)}"
    for m in matches:
        yield f"  {_named(m.id, v)}, {v.components[m.id].system}"


def _card(lexicon: Lexicon, text: str, match: Match) -> str:
    v = lexicon.vocabulary
    c = v.components[match.id]
    entry = next(e for e in lexicon.entries["components"] if e.id == match.id)
    rows = [("found", _why(text, match, v)), ("stands in", _files(entry))]
    rows += [(key, value) for key, value in _facts(match.id, c, v) if value]
    lines = [f"{c.name} ({match.id})"]
    for key, value in rows:
        lines += textwrap.wrap(
            value, _WIDTH, initial_indent=f"  {key:<13}", subsequent_indent=" " * 15, break_on_hyphens=False
        )
    return "\n".join(lines)


def _why(text: str, match: Match, v: Vocabulary) -> str:
    c = v.components[match.id]
    if match.how == "near":
        return f"no component is called {text!r}; its name {match.through!r} comes near ({match.score:.0f} of 100)"
    if match.how == "inside":
        return f"no component is called {text!r}; {match.through!r} in it is a name of it"
    if match.how == "short":
        others = _owners(match.through, v) - {match.id}
        return f"{match.through!r} is a short name of it" + (f", and of {len(others)} more" if others else "")
    which = "its name" if match.through == c.name else "one of its names"
    if match.how == "name":
        return f"{match.through!r} is {which}"
    return f"{text!r} is folded to {' '.join(v.folder.phrase(text))!r}, and so is {match.through!r}, {which}"


def _owners(name: str, v: Vocabulary) -> set[str]:
    return {t.value for t in v.phrases.get(v.folder.phrase(name), ()) if t.kind in ("component", "short")}


def _files(entry: Entry) -> str:
    return "; ".join(f"{shown(s.path)}, line {line}" for s in entry.sources if (line := entry.line_in(s)))


def _facts(id: str, c: Component, v: Vocabulary) -> Iterator[tuple[str, str]]:
    yield "system", v.systems[c.system].name
    yield "plain words", v.plain_words(id)
    yield "kind", "" if c.kind == "part" else c.kind
    yield "names", ", ".join(c.names)
    yield "short names", "; ".join(_short(name, id, v) for name in c.short)
    above = _above(id, v)[1:]
    yield "kind of", ", a kind of ".join(_named(a, v) for a in above)
    yield "its kinds", ", ".join(_named(k, v) for k in v.kinds.get(id, ()))
    yield "part of", ", ".join(_named(p, v) for p in c.part_of)
    yield "its parts", ", ".join(_named(p, v) for p, other in v.components.items() if id in other.part_of)
    yield "holds", _named(c.holds, v) if c.holds else ""
    yield "held by", ", ".join(_named(p, v) for p, other in v.components.items() if other.holds == id)
    yield "places", ", ".join(f"{a} (seldom)" if a in c.seldom else a for a in c.places) or "one on the vehicle"
    yield "implies", c.implies
    yield "safety", ", ".join(c.safety)
    for name in c.measured:
        quantity = v.quantities[name]
        bare = ", ".join(f"{unit} ({book})" for book, unit in quantity.bare.items())
        units = f"units: {', '.join(quantity.units)}"
        yield "measured", f"{quantity.name}; {units}" + (f"; a bare number is {bare}" if bare else "")
    limits = [(limit, at) for limit in v.limits.values() if (at := _holds_for(limit, above, id)) is not None]
    for limit, at in sorted(limits, key=lambda x: _BOOKS.index(x[0].book)):
        yield "limit", _limit(limit, v) + (f" [of {v.components[at].name}]" if at != id else "")
    for s in c.served_as:
        yield "served as", _rule(_named(s.part, v), s.when, s.source)
    for heading, companions in (("goes with", c.goes_with), ("look at", c.look_at)):
        for g in companions:
            when = [f"when the work is {g.when}"] if g.when else []
            when += [f"where it is found {' or '.join(g.found)}"] if g.found else []
            yield heading, _rule(_named(g.part, v), ", ".join(when), g.source)
    yield "sold", ", ".join(w for w in (_SOLD[c.sold], "the same part left and right" if c.alike else "") if w)
    yield "opens", c.opens or ""
    yield "in pairs", f"replaced in pairs on an axle ({c.paired})" if c.paired else ""


def _named(id: str, v: Vocabulary) -> str:
    return f"{v.components[id].name} ({id})"


def _short(name: str, id: str, v: Vocabulary) -> str:
    others = len(_owners(name, v) - {id})
    rule = v.ambiguous.get(v.folder.phrase(name))
    said = [f"shared with {others} more"] if others else []
    if rule is not None and rule.usual:
        said.append("usually this one" if rule.usual == id else f"usually {v.components[rule.usual].name}")
    if rule is not None and id in rule.near:
        said.append(f"this one beside {', '.join(rule.near[id])}")
    return f"{name} ({', '.join(said)})" if said else name


def _above(id: str, v: Vocabulary) -> list[str]:
    """The component and what it is a kind of, on and on."""
    chain: list[str] = []
    at: str | None = id
    while at is not None and at not in chain and at in v.components:
        chain.append(at)
        at = v.components[at].kind_of
    return chain


def _holds_for(limit: Limit, above: list[str], id: str) -> str | None:
    return next((a for a in (id, *above) if a in limit.components or a in limit.known_from), None)


def _limit(limit: Limit, v: Vocabulary) -> str:
    """One limit as a sentence: rule book, what fails, source, how it was come by and what there is to note."""
    fails = []
    if limit.below is not None:
        fails.append(f"{'at or under' if limit.inclusive else 'under'} {amount(limit.below, limit.unit)}")
    if limit.above is not None:
        fails.append(f"{'at or over' if limit.inclusive else 'over'} {amount(limit.above, limit.unit)}")
    told = f"{limit.book}: {v.quantities[limit.quantity].name} fails {' and '.join(fails)}"
    if limit.near is not None:
        told += f", near from {amount(limit.near, limit.unit)}"
    if limit.axle:
        told += f", {limit.axle} axle"
    if limit.only_if:
        told += f", only if {limit.only_if}"
    if limit.applies == "beside":
        told += ", kept beside and not used"
    return f"{told}; {limit.source} ({_MARKS[limit.mark]})" + (f"; {limit.note}" if limit.note else "")


def _rule(what: str, when: str | None, source: str) -> str:
    return f"{what}{f', {when}' if when else ''} ({source})"


def shown(path: Path | str) -> str:
    """A path as it is short to read: from the working folder where it lies in it."""
    path = Path(path)
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except (ValueError, OSError):
        return str(path)


__all__ = ["NEAR", "SHOWN", "Match", "cards", "find", "shown"]
