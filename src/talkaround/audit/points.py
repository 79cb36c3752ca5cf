"""The rules behind the points of ``documentation.toml``: on which occasions a point was due in an order, and was it kept.

Each rule has the name of its table. Pure, like the reading: an order and the vocabulary in, occasions out.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from talkaround.judging import CONCLUDED_CONDITION
from talkaround.models import SEVERITIES, Line, RepairOrder, Severity
from talkaround.vocabulary import Phrase, Vocabulary
from talkaround.vocabulary.folding import Word
from talkaround.vocabulary.schema import DocumentationPoint, alternatives

TOLD = "told"
"""The kind of the cues that say that the customer was told."""
_MUST = ("unsafe", "required")


class Occasion(NamedTuple):
    """A point was due, and was kept or not: ``begin`` to ``end`` are the words of the note that it is about.

    ``system`` is empty where it is about the note as a whole, ``said`` the words that made the difference, if any did.
    """

    point: str
    met: bool
    system: str = ""
    begin: int = 0
    end: int = 0
    said: str = ""


class Phrases:
    """Phrases to be met in a note, without spaCy: orders were read already, and few words of them are looked at."""

    def __init__(self, phrases: Iterable[Phrase]):
        self._by_first: dict[str, list[Phrase]] = {}
        for phrase in sorted({p for p in phrases if p}, key=len, reverse=True):
            self._by_first.setdefault(phrase[0], []).append(phrase)

    def in_words(self, words: Sequence[Word]) -> Iterator[tuple[Word, Word, Phrase]]:
        """First and last word of each phrase that stands there: from the left, at each word the longest one."""
        folds = [w.fold for w in words]
        n = 0
        while n < len(folds):
            for phrase in self._by_first.get(folds[n], ()):
                if tuple(folds[n : n + len(phrase)]) == phrase:
                    yield words[n], words[n + len(phrase) - 1], phrase
                    n += len(phrase) - 1
                    break
            n += 1


class Written:
    """An order with what the rules look at; ``vin`` and ``odometer`` tell whether these were given beside the note."""

    def __init__(self, order: RepairOrder, points: Points, *, vin: bool = False, odometer: bool = False):
        self.order, self.vocabulary = order, points.vocabulary
        self.words = points.vocabulary.folder.scan(order.note.text)
        self._begins = [w.begin for w in self.words]
        self.vin = vin or bool(order.vehicle and order.vehicle.vin)
        self.odometer = odometer or bool(order.vehicle and order.vehicle.odometer)
        self.faults = [x for x in order.lines if x.severity != "good"]

    def words_of(self, line: Line) -> list[Word]:
        """The words of the note that the line rests on, folded, in the order of its evidence."""
        words: list[Word] = []
        for e in line.evidence:
            words += self.words[bisect_left(self._begins, e.begin) : bisect_left(self._begins, e.end)]
        return words

    def is_walkaround(self, point: DocumentationPoint) -> bool:
        """Whether the order has so many lines that it is a walkaround and no single job."""
        return len(self.order.lines) >= point.from_lines


Rule = Callable[[Written, "Points", DocumentationPoint], Iterator[Occasion]]


class Points:
    """The points of a vocabulary, ready to be held against orders."""

    def __init__(self, vocabulary: Vocabulary):
        self.vocabulary = vocabulary
        self.system_of = {c.name: c.system for c in vocabulary.components.values()}
        self.points = {id: vocabulary.documentation[id] for id in RULES if id in vocabulary.documentation}
        self._looked_for = {id: Phrases(self._phrases(p)) for id, p in self.points.items()}
        self._empty = set(self._phrases(self.points["words-that-say"])) if "words-that-say" in self.points else set()
        self._trade = Phrases(vocabulary.phrases)

    def _phrases(self, point: DocumentationPoint) -> Iterator[Phrase]:
        for name in point.words:
            for spelled_out in alternatives(name):
                yield self.vocabulary.folder.phrase(spelled_out)

    def of(self, written: Written) -> Iterator[Occasion]:
        """Every occasion on which a point was due in the order."""
        for id, point in self.points.items():
            yield from RULES[id](written, self, point)

    def met_words(self, id: str, words: Sequence[Word]) -> tuple[Word, Word] | None:
        """First and last of the words that the point looks for, where they first stand."""
        return next(((first, last) for first, last, _ in self._looked_for[id].in_words(words)), None)

    def customer_told(self, words: Sequence[Word]) -> bool:
        """Whether the words say that the customer was told, as the reading knows it; what he told is no telling of his."""
        return any(
            t.kind == TOLD for _, _, phrase in self._trade.in_words(words) for t in self.vocabulary.phrases[phrase]
        )

    def empty_words(self, written: Written, line: Line) -> str:
        """The words that say nothing and stand alone for what is wrong with the line; empty where more is said."""
        if line.measurements or "words-that-say" not in self.points:
            return ""
        words = written.words_of(line)
        found = self.met_words("words-that-say", words)
        if found is None or self._names_condition(words, line.component.id):
            return ""
        first, last = found
        return written.order.note.text[first.begin : last.end].lower()

    def _names_condition(self, words: Sequence[Word], component: str) -> bool:
        """Whether a condition of the component is said in other words than those that say nothing."""
        # A shop may have switched off since what an order of years ago names.
        scopes = self.vocabulary.scopes_of(component) if component in self.vocabulary.components else None
        for _, _, phrase in self._trade.in_words(words):
            for tag in self.vocabulary.phrases[phrase]:
                fits = not tag.scope or scopes is None or not scopes.isdisjoint(tag.scope)
                if tag.kind == "condition" and fits and phrase not in self._empty:
                    return True
        return False


def _occasion(point: str, met: bool, line: Line, said: str = "") -> Occasion:
    spans = [(e.begin, e.end) for e in line.evidence] or [(0, 0)]
    return Occasion(point, met, line.component.system, min(b for b, _ in spans), max(e for _, e in spans), said)


def _applies(point: DocumentationPoint, line: Line, v: Vocabulary) -> bool:
    id = line.component.id
    return id in v.components and (not point.when or not v.scopes_of(id).isdisjoint(point.when))


# ----- what is said of a line -----------------------------------------------------------------------------------------


def place_given(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Pads and other sets are bought by the axle, so their side need not be said."""
    for line in w.faults:
        comp = w.vocabulary.components.get(line.component.id)
        if comp is None or not _applies(point, line, w.vocabulary):
            continue
        of_more = [a for a in comp.places if a not in comp.seldom]
        wanted = [a for a in ("axle", "side") if a in of_more and not (a == "side" and comp.sold != "each")]
        if wanted:
            given = all(getattr(line.position, axis) is not None for axis in wanted)
            yield _occasion("place-given", given, line)


def reading_given(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each part that is measured, while its work is open and what was found does not make a reading needless."""
    for line in w.order.lines:
        found = {c.id for c in line.conditions}
        measurable = not found or found & set(point.conditions)
        if measurable and line.work in ("proposed", "declined") and _applies(point, line, w.vocabulary):
            yield _occasion("reading-given", bool(line.measurements), line)


def twin_read(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each reading of a left or right part: the other side of that axle was measured as well."""
    read = [
        x
        for x in w.order.lines
        if any(m.quantity in point.quantities for m in x.measurements) and _applies(point, x, w.vocabulary)
    ]
    for line in read:
        if line.position.side not in ("left", "right"):
            continue
        twin = any(
            x.component.id == line.component.id
            and x.position.axle == line.position.axle
            and x.position.side not in (line.position.side, None)
            for x in read
        )
        yield _occasion("twin-read", twin, line)


def condition_named(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each fault: it is said what is wrong, by a condition that was not concluded or by a reading."""
    for line in w.faults:
        if line.work != "wrong-part" and _applies(point, line, w.vocabulary):
            concluded = any(b.rule in CONCLUDED_CONDITION for b in line.because)
            named = bool(line.measurements) or (bool(line.conditions) and not concluded)
            yield _occasion("condition-named", named and not points.empty_words(w, line), line)


def words_that_say(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each fault: words such as "bad" do not stand alone for what is wrong."""
    for line in w.faults:
        empty = points.empty_words(w, line)
        yield _occasion("words-that-say", not empty, line, empty)


def action_said(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each fault whose work is open: what to do was said and not concluded."""
    for line in w.faults:
        if line.work == "proposed":
            yield _occasion("action-said", all(b.field != "action" for b in line.because), line)


# ----- what is said to the customer -----------------------------------------------------------------------------------


def concern_answered(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """By a finding on what it is about or on its system, good ones too; by any fault where it is about nothing named."""
    not_found = points.met_words("concern-answered", w.words) is not None
    for concern in w.order.concerns:
        system = points.system_of.get(concern.about or "", "")
        taken_up = any(x.component.system == system for x in w.order.lines) if system else bool(w.faults)
        answered = not_found or taken_up
        spans = [(e.begin, e.end) for e in concern.evidence] or [(0, 0)]
        yield Occasion("concern-answered", answered, system, min(b for b, _ in spans), max(e for _, e in spans))


def unsafe_told(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each unsafe line not mended: the note says that the customer was told, or declined it."""
    unsafe = [x for x in w.order.lines if x.severity == "unsafe" and x.work != "done"]
    told = bool(unsafe) and points.customer_told(w.words)
    for line in unsafe:
        yield _occasion("unsafe-told", told or line.work == "declined", line)


# ----- what the note covers -------------------------------------------------------------------------------------------


def good_recorded(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due once in a walkaround: it has a line for something found good."""
    if w.is_walkaround(point):
        yield Occasion("good-recorded", len(w.faults) < len(w.order.lines))


def systems_covered(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due in a walkaround for each system that the point lists: a line speaks of it."""
    if w.is_walkaround(point):
        spoken_of = {x.component.system for x in w.order.lines}
        for system in point.systems:
            yield Occasion("systems-covered", system in spoken_of, system)


def vin_given(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due once in an order: its VIN, beside the note or in it."""
    yield Occasion("vin-given", w.vin)


def odometer_given(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due once in an order: its odometer reading, beside the note or in it."""
    yield Occasion("odometer-given", w.odometer)


def final_check(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due once where work was done: the note says that it was tried or checked."""
    done = [x for x in w.order.lines if x.work == "done"]
    if done:
        checked = points.met_words("final-check", w.words) is not None
        first = _occasion("final-check", checked, done[0])
        yield first._replace(system="")


# ----- severity against the rule book ---------------------------------------------------------------------------------


def not_played_down(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """To suggest what must be done is how the trade talks; to watch it, or to suggest what is unsafe, plays it down."""
    for line, said, book in _both_opinions(w):
        if book in _MUST:
            yield _occasion("not-played-down", _steps(said, book) < 2, line)


def not_played_up(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """One step more than the rule book asks is the technician's own judgement."""
    for line, said, book in _both_opinions(w):
        if book not in _MUST:
            yield _occasion("not-played-up", said not in _MUST or _steps(book, said) < 2, line)


def _both_opinions(w: Written) -> Iterator[tuple[Line, Severity, Severity]]:
    """The lines of work not yet done with what was said and what the rule book says."""
    for line in w.order.lines:
        if line.severity_said and line.severity_by_book and line.work != "done":
            yield line, line.severity_said, line.severity_by_book


def _steps(milder: Severity, graver: Severity) -> int:
    return SEVERITIES.index(milder) - SEVERITIES.index(graver)


# ----- parts ----------------------------------------------------------------------------------------------------------


def right_part(w: Written, points: Points, point: DocumentationPoint) -> Iterator[Occasion]:
    """Due on each part fetched that differs left and right: the one that came was not of the wrong side."""
    for line in w.order.lines:
        fetched = line.work in ("ordered", "wrong-part") or (line.work == "done" and line.action.verb == "replace")
        comp = w.vocabulary.components.get(line.action.part.id if line.action.part else line.component.id)
        if fetched and comp is not None and "side" in comp.places:
            yield _occasion("right-part", line.work != "wrong-part", line)


RULES: dict[str, Rule] = {
    "place-given": place_given,
    "reading-given": reading_given,
    "twin-read": twin_read,
    "condition-named": condition_named,
    "words-that-say": words_that_say,
    "action-said": action_said,
    "concern-answered": concern_answered,
    "unsafe-told": unsafe_told,
    "good-recorded": good_recorded,
    "systems-covered": systems_covered,
    "vin-given": vin_given,
    "odometer-given": odometer_given,
    "final-check": final_check,
    "not-played-down": not_played_down,
    "not-played-up": not_played_up,
    "right-part": right_part,
}

__all__ = ["RULES", "Occasion", "Points", "Written"]
