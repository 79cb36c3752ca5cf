"""Findings of a gold note against the lines of its order: one pairs with one where name, status and place agree.

A line is right where it bears a name that the label accepts (as the lexicon folds names), is good or a defect as the
label says, and names no other place. A line of both sides counts as two.
"""

from collections.abc import Iterable
from typing import Any, NamedTuple

from talkaround.models import Line, Position, RepairOrder
from talkaround.vocabulary import Vocabulary

PLACES = {
    "axle": ("front", "rear"),
    "side": ("left", "right", "center"),
    "level": ("upper", "lower"),
    "depth": ("inner", "outer"),
    "end": ("forward", "rearward"),
}
Name = frozenset[str]


class Score(NamedTuple):
    """How many findings the labels have, how many the order has, and how many of them are the same."""

    wanted: int = 0
    written: int = 0
    same: int = 0

    def __add__(self, other: object) -> "Score":
        assert isinstance(other, Score)
        return Score(*(a + b for a, b in zip(self, other, strict=True)))

    @property
    def f1(self) -> float:
        """Harmonic mean of the share that was found and the share that is right; 1 where there is nothing."""
        total = self.wanted + self.written
        return 2 * self.same / total if total else 1.0


class Item(NamedTuple):
    names: frozenset[Name]
    good: bool
    place: dict[str, str]


def score(labels: dict[str, Any], order: RepairOrder, vocabulary: Vocabulary) -> Score:
    """The findings of ``labels`` against the lines of ``order``, paired so that as many as can be are the same."""
    wanted = [
        Item(_folded(f["component"], vocabulary), f["status"] == "good", _place(f["at"].split()))
        for f in labels["findings"]
    ]
    written = [item for line in order.lines for item in _items(line, vocabulary)]
    return Score(len(wanted), len(written), _most_pairs(wanted, written))


def _folded(names: Iterable[str], vocabulary: Vocabulary) -> frozenset[Name]:
    """Names without the words of place in them, which stand apart in a label and in a line."""
    places = {word for words in PLACES.values() for word in words}
    return frozenset(frozenset(set(vocabulary.folder.phrase(name)) - places) for name in names)


def _place(words: Iterable[str]) -> dict[str, str]:
    axis_of = {word: axis for axis, said in PLACES.items() for word in said}
    return dict(word.split("=", 1) if "=" in word else (axis_of[word], word) for word in words)


def _items(line: Line, vocabulary: Vocabulary) -> list[Item]:
    component = vocabulary.components[line.component.id]
    names = _folded((component.name, *component.names), vocabulary)
    good = line.severity == "good"
    sides = ("left", "right") if line.position.side == "both" else (line.position.side,)
    return [Item(names, good, {**_position(line.position), **({"side": side} if side else {})}) for side in sides]


def _position(position: Position) -> dict[str, str]:
    said = {axis: str(v) for axis in PLACES if axis != "side" and (v := getattr(position, axis)) is not None}
    return said | _place((position.place or "").split())


def _fit(a: Item, b: Item) -> bool:
    clash = any(a.place[axis] != b.place[axis] for axis in a.place.keys() & b.place.keys())
    return bool(a.names & b.names) and a.good == b.good and not clash


def _most_pairs(wanted: list[Item], written: list[Item]) -> int:
    """The greatest number of pairs with nobody in two, by augmenting paths."""
    fits = [[n for n, b in enumerate(written) if _fit(a, b)] for a in wanted]
    owner: dict[int, int] = {}

    def seat(a: int, seen: set[int]) -> bool:
        for b in fits[a]:
            if b not in seen:
                seen.add(b)
                if b not in owner or seat(owner[b], seen):
                    owner[b] = a
                    return True
        return False

    return sum(seat(a, set()) for a in range(len(wanted)))
