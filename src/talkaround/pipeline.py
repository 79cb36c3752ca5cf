"""A note through every room once: reading, judging, order."""

from __future__ import annotations

from talkaround.judging import ask, judge
from talkaround.judging import rule_book as book_for
from talkaround.models import Note, RepairOrder, RuleBook, Steering
from talkaround.order import assemble
from talkaround.reading import read
from talkaround.vocabulary import Vocabulary


def write_order(
    note: Note, *, vocabulary: Vocabulary, steering: Steering = "left-hand", rule_book: RuleBook | None = None
) -> RepairOrder:
    """The repair order of a note. Pure: the same note, vocabulary, drive side and rule book give the same order.

    Readings are held against ``rule_book``; without one, against the book that goes with the drive side.
    """
    found = read(note, vocabulary, steering)
    book = rule_book or book_for(steering)
    judged = [judge(f, vocabulary, book) for f in found.findings if f.says_something()]
    order = assemble(note, found, judged, ask(judged, vocabulary, found), vocabulary, steering)
    order.rule_book = book
    return order
