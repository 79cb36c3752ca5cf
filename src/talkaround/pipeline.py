"""A note through every room once: reading, judging, order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from talkaround.judging import Judged, add_companions, ask, judge
from talkaround.judging import rule_book as book_for
from talkaround.models import Note, RepairOrder, RuleBook, Steering
from talkaround.order import assemble, in_rank, position_of
from talkaround.reading import read
from talkaround.reading.types import ReadNote
from talkaround.vocabulary import Vocabulary

if TYPE_CHECKING:
    from talkaround.output.explanation import Explanation


def write_order(
    note: Note, *, vocabulary: Vocabulary, steering: Steering = "left-hand", rule_book: RuleBook | None = None
) -> RepairOrder:
    """The repair order of a note. Pure: the same note, vocabulary, drive side and rule book give the same order.

    Readings are held against ``rule_book``; without one, against the book that goes with the drive side and the vehicle.
    """
    found = read(note, vocabulary, steering)
    return _ordered(note, found, vocabulary, steering, rule_book or _book_of(found, vocabulary, steering))[0]


def read_again(
    note: Note, *, vocabulary: Vocabulary, steering: Steering = "left-hand", rule_book: RuleBook | None = None
) -> tuple[RepairOrder, ReadNote, list[Judged]]:
    """The same order with what it was made from: what was read, and the judged finding of each line, line by line."""
    found = read(note, vocabulary, steering)
    order, judged = _ordered(note, found, vocabulary, steering, rule_book or _book_of(found, vocabulary, steering))
    return order, found, [judged[n] for n in in_rank(judged, vocabulary)]


def explain_order(
    note: Note, *, vocabulary: Vocabulary, steering: Steering = "left-hand", rule_book: RuleBook | None = None
) -> Explanation:
    """The same order, with what each clause of the note gave and the rules and limits behind every line."""
    from talkaround.judging.rules import limits_used
    from talkaround.output.explanation import Explanation
    from talkaround.reading.explaining import read_and_record

    recorded = read_and_record(note, vocabulary, steering)
    book = rule_book or _book_of(recorded.read, vocabulary, steering)
    order, judged = _ordered(note, recorded.read, vocabulary, steering, book)
    # No two lines are of one component at one place.
    by_what = {(j.finding.component, position_of(j.finding.place).model_dump_json()): j for j in judged}
    limits = {
        line.number: limits_used(by_what[line.component.id, line.position.model_dump_json()], vocabulary, book)
        for line in order.lines
    }
    names = {id: component.name for id, component in vocabulary.components.items()}
    return Explanation(order, recorded, limits, names)


def _book_of(found: ReadNote, vocabulary: Vocabulary, steering: Steering) -> RuleBook:
    return book_for(steering, {vocabulary.components[f.component].system for f in found.findings})


def _ordered(
    note: Note, found: ReadNote, vocabulary: Vocabulary, steering: Steering, book: RuleBook
) -> tuple[RepairOrder, list[Judged]]:
    judged = [judge(f, vocabulary, book) for f in found.findings if f.says_something()]
    add_companions(judged, vocabulary)
    order = assemble(note, found, judged, ask(judged, vocabulary, found), vocabulary, steering)
    order.rule_book = book
    return order, judged
