"""The components of a vocabulary as lists for people and programs: all of them, or those near a name."""

from __future__ import annotations

import json
import re
import shutil
import sys
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from talkaround.vocabulary import Vocabulary

NEAR = 80  # of 100, from where on a word is taken for another
SHOWN = 8


@dataclass(frozen=True)
class Entry:
    """One component; ``names`` are all that it is known by, the canonical one first."""

    id: str
    name: str
    names: tuple[str, ...]
    system: str
    places: tuple[str, ...]


def entries(vocabulary: Vocabulary) -> list[Entry]:
    """Every component of ``vocabulary``, in its order."""
    return [
        Entry(id, part.name, tuple(dict.fromkeys((part.name, *part.names, *part.short))), part.system, part.places)
        for id, part in vocabulary.components.items()
    ]


def find(among: Iterable[Entry], text: str, limit: int = SHOWN) -> list[Entry]:
    """The entries called ``text``, and after them the nearest others, best first, up to ``limit`` in all."""
    wanted = _folded(text)
    if not wanted:
        return []
    exact: list[Entry] = []
    near: list[tuple[float, Entry]] = []
    for entry in among:
        names = [_folded(name) for name in entry.names]
        if wanted in names:
            exact.append(entry)
        elif nearness := max(_nearness(wanted, name) for name in names):
            near.append((nearness, entry))
    near.sort(key=lambda pair: (-pair[0], len(pair[1].name), pair[1].id))
    return [*exact, *(entry for _, entry in near)][: max(limit, len(exact))]


def _nearness(wanted: str, name: str) -> float:
    """How like ``wanted`` the ``name`` is, 0 to 100; 0 where a word of ``wanted`` has none like it in ``name``."""
    from rapidfuzz import fuzz

    words = name.split()
    if all(any(fuzz.ratio(word, other, score_cutoff=NEAR) for other in words) for word in wanted.split()):
        return fuzz.token_sort_ratio(wanted, name)
    # One word written as two, or two as one.
    return fuzz.ratio(wanted.replace(" ", ""), name.replace(" ", ""), score_cutoff=NEAR)


def as_json(listed: Iterable[Entry]) -> str:
    rows = [asdict(entry) for entry in listed]
    for row in rows:
        del row["places"]
    return json.dumps(rows, indent=1, ensure_ascii=False)


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


def as_cards(listed: Iterable[Entry]) -> str:
    """A few lines a component: name and id, system, other names, what its place is told by."""
    cards = []
    for entry in listed:
        lines = [f"{entry.name} ({entry.id})", f"  system  {entry.system}"]
        if entry.names[1:]:
            lines.append(f"  names   {', '.join(entry.names[1:])}")
        lines.append(f"  places  {', '.join(entry.places) or 'one on the vehicle'}")
        cards.append("\n".join(lines))
    return "\n\n".join(cards)


def _folded(text: str) -> str:
    """Letters and digits alone, so that case, hyphens and spacing do not tell names apart."""
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))
