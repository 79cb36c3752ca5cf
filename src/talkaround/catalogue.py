"""The vocabulary laid open for ``talkaround lexicon``: list, counts, cards, what a phrase is read as, what is wrong."""

from __future__ import annotations

import json
import shutil
import sys
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from talkaround.amounts import amount, number

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from talkaround.reading.types import Mention, Quantity
    from talkaround.vocabulary import Lexicon, Phrase, Tag, Vocabulary
    from talkaround.vocabulary.checking import Checked
    from talkaround.vocabulary.folding import Word

# Remarks of one topic that are shown before the others are only counted.
SOME = 10


# ----- list


@dataclass(frozen=True)
class Entry:
    """One component; ``names`` are all that it is known by, the canonical one first."""

    id: str
    name: str
    names: tuple[str, ...]
    system: str


def entries(vocabulary: Vocabulary) -> list[Entry]:
    """Every component of ``vocabulary``, in its order."""
    return [
        Entry(id, part.name, tuple(dict.fromkeys((part.name, *part.names, *part.short))), part.system)
        for id, part in vocabulary.components.items()
    ]


def as_json(listed: Iterable[Entry]) -> str:
    """The components as a JSON list, one object each."""
    return json.dumps([asdict(entry) for entry in listed], indent=1, ensure_ascii=False)


def as_table(listed: Iterable[Entry]) -> str:
    """One line a component: name, system, other names; cut to the width of a terminal, whole anywhere else."""
    rows = [("component", "system", "other names")]
    rows += [(entry.name, entry.system, ", ".join(entry.names[1:])) for entry in listed]
    first, second = (max(len(row[column]) for row in rows) for column in (0, 1))
    lines = [f"{name:<{first}}  {system:<{second}}  {others}".rstrip() for name, system, others in rows]
    if sys.stdout.isatty():
        width = shutil.get_terminal_size().columns
        lines = [line if len(line) <= width else f"{line[: width - 3]}..." for line in lines]
    return "\n".join(lines)


def counts(vocabulary: Vocabulary) -> dict[str, int]:
    """How much the vocabulary holds. Names and phrasings that fold to the same words are counted once."""
    said: dict[str, set[Phrase]] = {"conditions": set(), "degrees": set(), "actions": set(), "work states": set()}
    cues: dict[str, set[Phrase]] = {}
    own: set[Phrase] = set()
    shared: set[Phrase] = set()
    places: set[Phrase] = set()
    for phrase, tags in vocabulary.phrases.items():
        for tag in tags:
            if tag.kind == "component":
                own.add(phrase)
            elif tag.kind == "short":
                shared.add(phrase)
            elif tag.kind == "place":
                places.add(phrase)
            elif tag.kind == "condition":
                said["degrees" if tag.more else "conditions"].add(phrase)
            elif tag.kind == "action":
                said["work states" if tag.more == "done" else "actions"].add(phrase)
            elif tag.kind in ("degree", "work"):
                said["degrees" if tag.kind == "degree" else "work states"].add(phrase)
            else:
                cues.setdefault(tag.kind, set()).add(phrase)
    talk = set().union(*said.values(), *cues.values())
    out = {
        "components": len(vocabulary.components),
        "names": len(own | shared),
        "names of one component": len(own),
        "shared names": len(shared - own),
        "phrasings": len(talk),
        **{f"phrasings of {name}": len(phrases) for name, phrases in said.items()},
        "phrasings of cues": len(set().union(*cues.values())),
        **{f"cue {kind}": len(cues[kind]) for kind in sorted(cues)},
        "place phrases": len(places),
        "ambiguous words": len(vocabulary.ambiguous),
        "mishearings": len(vocabulary.mishearings),
        "quantities": len(vocabulary.quantities),
        "units": len(vocabulary.units),
        "limits": len(vocabulary.limits),
    }
    books = Counter(limit.book for limit in vocabulary.limits.values())
    return {**out, **{f"limits {book}": number for book, number in sorted(books.items())}}


def counts_as_table(counted: dict[str, int]) -> str:
    """One line for each kind of thing that the lexicon has: its name and how many there are."""
    width = max(map(len, counted))
    return "\n".join(f"{name:<{width}}  {number:>7,}" for name, number in counted.items())


# ----- find


def found(lexicon: Lexicon, text: str) -> str:
    """What is known of the components that ``text`` means or comes near to; empty where there are none."""
    from talkaround.vocabulary.cards import cards, find

    matches = find(lexicon.vocabulary, text)
    return cards(lexicon, text, matches) if matches else ""


# ----- check


def check(shop_folder: Path | None) -> Checked:
    """Look the shipped lexicon over, with a shop's folder laid over it.

    Raises:
        LexiconError: there is no such folder.
    """
    from talkaround.reading.words import read_words
    from talkaround.vocabulary import checking

    def read(name: str, v: Vocabulary) -> Phrase:
        return tuple(w.fold for w in read_words(name, v, spoken=True, by_sound=False).words)

    return checking.check(shop_folder, read)


def report(checked: Checked, shop_folder: Path | None, *, everything: bool) -> str:
    """Errors first, then remarks by topic; of a shop only what its own files have a part in, unless ``everything``."""
    from talkaround.vocabulary.cards import shown
    from talkaround.vocabulary.checking import TOPICS

    lines: list[str] = []
    for error in checked.errors:
        where = shown(error.path) + (f", line {error.line}" if error.line else "")
        lines.append(" ".join(f"error: {where}: {error.problem}; {error.mend}".split()))
    remarks = checked.remarks
    if shop_folder is not None and not everything:
        remarks = [r for r in remarks if any(path.is_relative_to(shop_folder) for path, _ in r.places)]
    for topic, heading in TOPICS.items():
        these = [r for r in remarks if r.topic == topic]
        if not these:
            continue
        lines += ["", f"{heading} ({len(these):,})"] if lines else [f"{heading} ({len(these):,})"]
        some = these if everything else these[:SOME]
        for remark in some:
            # The shop's own file first, where it has a part in it.
            places = sorted(remark.places, key=lambda p: shop_folder is None or not p[0].is_relative_to(shop_folder))
            path, line = places[0]
            lines.append(f"  {shown(path)}{f', line {line}' if line else ''}: {remark.text}")
        if len(these) > len(some):
            lines.append(f"  and {len(these) - len(some):,} more; --all shows them")
    counted = counts(checked.lexicon.vocabulary)
    total = [
        f"{counted['components']:,} components, {counted['names']:,} names",
        _number(len(checked.errors), "error"),
        _number(len(remarks), "remark"),
    ]
    hidden = len(checked.remarks) - len(remarks)
    of_others = f" ({hidden:,} more on the shipped files alone; --all shows them)" if hidden else ""
    return "\n".join([*lines, *([""] if lines else []), f"{'; '.join(total)}{of_others}."])


def _number(n: int, thing: str) -> str:
    return f"{n:,} {thing}{'' if n == 1 else 's'}" if n else f"no {thing}s"


# ----- why


def why(lexicon: Lexicon, text: str) -> str:
    """How ``text`` is tagged: its words as folded and mended, numbers, what was recognized, and what lost to it."""
    from talkaround.reading.tagging import recognized
    from talkaround.reading.words import read_words

    v = lexicon.vocabulary
    words = read_words(text, v, spoken=True).words
    if not words:
        return "There are no words in it."
    _, quantities, _, other, mentions = recognized(text, words, v)

    def slice_of(begin: int, end: int) -> str:
        return " ".join(text[words[begin].begin : words[end - 1].end].split())

    lines = ["words", *_words(text, words, v)]
    lines += ["", "recognized"]
    for m in mentions:
        lines.append(f"  {slice_of(m.begin, m.end)!r}")
        phrase = tuple(w.fold for w in words[m.begin : m.end])
        lines += [f"    {tag_words(t)}{_origin(lexicon, phrase, t)}" for t in m.tags[:SOME]]
        if len(m.tags) > SOME:
            lines.append(f"    and {len(m.tags) - SOME} more")
    if not mentions:
        lines.append("  nothing")
    lost = list(_lost(lexicon, words, mentions, [(q.begin, q.end) for q in quantities], other))
    if lost:
        lines += ["", "lost"]
        lines += [f"  {slice_of(b, e)!r} {some_tags(tags)}: {reason}" for b, e, tags, reason in lost]
    if quantities:
        lines += ["", "numbers"]
        for q in quantities:
            lines.append(f"  {slice_of(q.begin, q.end)!r} {quantity_words(q)}")
    left = [n for n in range(len(words)) if words[n].fold.isalnum()]
    known = {n for m in mentions for n in range(m.begin, m.end)}
    known |= {n for q in quantities for n in range(q.begin, q.end)} | {n for b, e in other for n in range(b, e)}
    unknown = [slice_of(n, n + 1) for n in left if n not in known]
    if unknown:
        lines += ["", f"not in the lexicon: {', '.join(dict.fromkeys(unknown))}"]
    return "\n".join(lines)


def _words(text: str, words: list[Word], v: Vocabulary) -> Iterator[str]:
    """Each stretch of ``text`` with the words that it is read as; a mended one is marked."""
    plain: dict[tuple[int, int], list[str]] = {}
    for w in v.folder.scan(text):
        plain.setdefault((w.begin, w.end), []).append(w.fold)
    read: dict[tuple[int, int], list[str]] = {}
    for w in words:
        read.setdefault((w.begin, w.end), []).append(w.fold)
    width = max(len(repr(text[b:e])) for b, e in read)
    for (b, e), folds in read.items():
        mended = "" if plain.get((b, e)) == folds else "  (mended)"
        yield f"  {text[b:e]!r:<{width}}  {' '.join(f if f.strip() else repr(f) for f in folds)}{mended}"


def tag_words(tag: Tag) -> str:
    """What a stretch of words was taken for: the kind, the id or value, and of which parts alone."""
    more = f", {tag.more}" if tag.more else ""
    scope = f", only of {', '.join(tag.scope)}" if tag.scope else ""
    return f"{tag.kind} {tag.value}".rstrip() + more + scope


def quantity_words(q: Quantity) -> str:
    """The numbers and units that a stretch of words was read as."""
    values = " and ".join(amount(x, q.unit) if q.unit else f"{number(x)} without a unit" for x in q.values)
    return values + (" (a limit that is named, no reading)" if q.limit else "")


def some_tags(tags: tuple[Tag, ...], most: int = 4) -> str:
    """The first of the tags in words, and how many more there are."""
    more = f" and {len(tags) - most} more" if len(tags) > most else ""
    return ", ".join(map(tag_words, tags[:most])) + more


def _origin(lexicon: Lexicon, phrase: Phrase, tag: Tag) -> str:
    from talkaround.vocabulary.cards import shown

    origin = lexicon.origins.get((phrase, tag))
    if origin is None:
        return " (by a rule of the reading)"
    entry, name = origin
    path, line = entry.where(name)
    return f" ({name!r} in {shown(path)}{f', line {line}' if line else ''})"


def _lost(
    lexicon: Lexicon,
    words: list[Word],
    mentions: list[Mention],
    numbers: list[tuple[int, int]],
    other: list[tuple[int, int]],
) -> Iterator[tuple[int, int, tuple[Tag, ...], str]]:
    """Candidates that were not taken, with what took their words."""

    def said(begin: int, end: int) -> str:
        return repr(" ".join(w.fold for w in words[begin:end]))

    for begin, end, tags in lexicon.vocabulary.matcher.find([w.fold for w in words]):
        over = [m for m in mentions if m.begin < end and begin < m.end]
        whole = next((m for m in over if (m.begin, m.end) == (begin, end)), None)
        if whole is not None:
            gone = tuple(t for t in tags if t not in whole.tags)
            if gone:
                yield begin, end, gone, "here the words mean the other"
        elif longer := next((m for m in over if m.end - m.begin > end - begin), None):
            yield begin, end, tags, f"inside the longer {said(longer.begin, longer.end)}"
        elif over:
            yield begin, end, tags, f"its words went to {said(over[0].begin, over[0].end)}"
        elif any(b < end and begin < e for b, e in [*numbers, *other]):
            yield begin, end, tags, "its words are a number's"
        else:
            yield begin, end, tags, "standing alone like this it says nothing"


__all__ = [
    "Entry", "as_json", "as_table", "check", "counts", "counts_as_table", "entries", "found", "quantity_words", "report",
    "some_tags", "tag_words", "why",
]  # fmt: skip
