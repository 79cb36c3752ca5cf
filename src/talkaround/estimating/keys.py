"""Names of rows in a price file: component id and place, or the job's name, so that they outlive a new reading."""

from __future__ import annotations

from typing import NamedTuple

from talkaround.models import Position


class Key(NamedTuple):
    """A component and the place words that go with it, in any order."""

    id: str
    words: frozenset[str]


def place_key(id: str, position: Position) -> str:
    """``brake-rotor left front``, ``spark-plug cylinder=3``, ``drag-link right axle=2``."""
    axle = f"axle={position.axle}" if isinstance(position.axle, int) else position.axle
    # A price is for one, so that it holds for both and for each of the two.
    side = None if position.side == "both" else position.side
    words = (side, axle, position.level, position.depth, position.end, position.place)
    return " ".join([id, *(word for word in words if word)])


def key_of(text: str) -> Key:
    """A key as somebody typed it: large letters, order of the place words and spaces do not matter."""
    id, *words = folded(text).replace(",", " ").split() or [""]
    return Key(id, frozenset(words))


def folded(text: str) -> str:
    """Small letters, one space between words."""
    return " ".join(text.casefold().split())


def fits(entry: Key, row: Key) -> bool:
    """Whether what is priced is the row's part, at the row's place or at one that the row's is part of."""
    return entry.id == row.id and entry.words <= row.words
