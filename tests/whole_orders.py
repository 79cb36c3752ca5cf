"""What holds of the order of any note: it goes through its JSON, and every word of the note is held by some part of it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from talkaround.models import Note, RepairOrder
from talkaround.vocabulary import Vocabulary


def spans(order: RepairOrder) -> Iterator[tuple[int, int]]:
    """Where in the note each part of the order rests."""
    parts = [*order.lines, *order.concerns, *(part for part in (order.vehicle, order.customer) if part)]
    yield from ((e.begin, e.end) for part in parts for e in part.evidence)
    yield from ((a.begin, a.end) for a in order.set_aside)


def check_whole(order: RepairOrder, note: Note, vocabulary: Vocabulary) -> None:
    assert RepairOrder.model_validate_json(order.model_dump_json()) == order
    assert order.note == note
    held = bytearray(len(note.text))
    for begin, end in spans(order):
        assert 0 <= begin < end <= len(note.text)
        held[begin:end] = b"\1" * (end - begin)
    for m in re.finditer(r"[^\W_]+", note.text):
        assert all(held[m.start() : m.end()]), f"{m[0]!r} is lost"
    for line in order.lines:
        assert line.evidence, f"line {line.number} rests on nothing"
        assert line.component.id in vocabulary.components
