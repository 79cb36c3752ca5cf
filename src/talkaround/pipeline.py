"""A note through every room once: reading, judging, order."""

from __future__ import annotations

from talkaround.judging import ask, judge, rule_book
from talkaround.models import Note, RepairOrder, Steering
from talkaround.order import assemble
from talkaround.reading import read
from talkaround.vocabulary import Vocabulary


def write_order(note: Note, *, vocabulary: Vocabulary, steering: Steering = "left-hand") -> RepairOrder:
    """The repair order of a note. Pure: the same note, vocabulary and drive side give the same order."""
    found = read(note, vocabulary, steering)
    book = rule_book(steering)
    judged = [judge(f, vocabulary, book) for f in found.findings if f.says_something()]
    return assemble(note, found, judged, ask(judged, vocabulary), vocabulary, steering)
