"""Why an order is as it is, as plain text: clause by clause what was tagged, which rule fired and what it gave.

Then how each line was judged, and what the rules mean that were named.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from talkaround.amounts import amount
from talkaround.catalogue import quantity_words, some_tags
from talkaround.judging.rules import BY_CONDITION
from talkaround.judging.rules import RULES as JUDGING
from talkaround.models import Condition, ConditionId, Line, RepairOrder
from talkaround.order import position_of
from talkaround.order.rules import RULES as ORDER
from talkaround.output import _view
from talkaround.reading.explaining import Recorded, Step, Touched
from talkaround.reading.rules import RULES as READING
from talkaround.reading.types import Aside, Finding, Mention, Place

WIDTH = 88
_LABEL = 10
# So many owners of a shared name are told; the others are only counted.
_SOME = 4
_WORD = re.compile(r"\w")
_CONDITION_IDS = frozenset(get_args(ConditionId))
# What a finding holds, in the order in which it is told.
_FIELDS = ("good", "conditions", "readings", "severity", "verb", "part", "quantity", "work", "not_traced")
# What is told of a line, in order, and what it is headed.
_JUDGED = {
    "component": "component", "position": "position", "conditions": "fault", "severity": "severity", "action": "action",
    "part": "part",
}  # fmt: skip
# The fields of a finding that tell it, the first that any clause filled.
_FILLED_BY: dict[str, tuple[set[str], ...]] = {
    "component": ({"component"},),
    "position": ({"place"},),
    "conditions": ({"conditions"},),
    "severity": ({"severity", "good"}, {"verb"}),
    "action": ({"verb"},),
    "part": ({"part"},),
}


@dataclass(frozen=True, slots=True)
class Explanation:
    """An order and everything that led to it.

    ``limits`` holds, for each line's number, the id of the limit behind each of its measurements, or None; ``names`` the
    name of each component by its id.
    """

    order: RepairOrder
    recorded: Recorded
    limits: dict[int, list[str | None]]
    names: dict[str, str]


def meaning(rule: str) -> str | None:
    """What a rule means, in one line; None for one that nobody described."""
    topic, _, saw = rule.partition(".")
    known = READING.get(rule) or JUDGING.get(rule) or ORDER.get(rule)
    if known is None and topic in BY_CONDITION and saw in _CONDITION_IDS:
        return BY_CONDITION[topic]
    return known


def render(explanation: Explanation, width: int = WIDTH) -> str:
    """The explanation in rows of at most ``width`` characters, without colour or control characters."""
    rows: list[str] = []
    for indent, hang, text in _Pages(explanation).rows():
        shown = _view.clean(re.sub(r"[ \t\r\n]+", " ", text)).strip()
        if not shown and not indent:
            rows.append("")
            continue
        rows += textwrap.wrap(
            shown, max(width, 40), initial_indent=indent, subsequent_indent=hang, break_on_hyphens=False
        )
    return "\n".join(row.rstrip() for row in rows).strip("\n") + "\n"


_Row = tuple[str, str, str]
_EMPTY: _Row = ("", "", "")


class _Pages:
    """The rows of one explanation; ``named`` gathers the rules that rows name without their meaning."""

    def __init__(self, explanation: Explanation) -> None:
        self.e = explanation
        self.order, self.text = explanation.order, explanation.order.note.text
        vehicle = self.order.vehicle
        self.british = vehicle is not None and vehicle.steering == "right-hand"
        self.numbers = {(li.component.id, li.position.model_dump_json()): li.number for li in self.order.lines}
        self.gone = {id(t.finding) for step in explanation.recorded.steps for t in step.touched if t.how == "gone"}
        # A clause of nothing but a line end says nothing to anybody.
        worded = [s for s in explanation.recorded.steps if s.touched or _WORD.search(self.text, s.begin, s.end)]
        self.steps = dict(enumerate(worded, 1))
        self.clauses: dict[int, dict[int, set[str]]] = {}
        """For each line's number, the clauses that it comes from, with the fields that each filled."""
        for number, step in self.steps.items():
            for touched in step.touched:
                line = self._line_of(touched)
                if line is not None:
                    self.clauses.setdefault(line, {}).setdefault(number, set()).update(touched.changed)
        self.named: dict[str, None] = {}

    def _line_of(self, touched: Touched) -> int | None:
        f = touched.finding
        key = (f.component, position_of(f.place).model_dump_json())
        return None if id(f) in self.gone else self.numbers.get(key)

    def rows(self) -> Iterator[_Row]:
        yield ("", "", f"EXPLANATION: {self.order.note.name}")
        yield ("", "", " | ".join(self._facts()))
        yield _EMPTY
        yield ("", "", "WHAT EACH CLAUSE GAVE")
        if not self.steps:
            yield ("  ", "  ", "The note has no words.")
        for number, step in self.steps.items():
            yield from self._clause(number, step)
        yield _EMPTY
        yield ("", "", "HOW EACH LINE WAS JUDGED")
        if not self.order.lines:
            yield ("  ", "  ", "There are no lines.")
        for line in self.order.lines:
            yield from self._line(line)
        loose = [q for q in self.order.questions if q.line is None]
        if loose:
            yield _EMPTY
            yield ("", "", "ASKED OF NO LINE")
            yield from (("  - ", "    ", q.text) for q in loose)
        mended = _view.rereadings(self.order.mended)
        if mended:
            yield _EMPTY
            yield ("", "", "WHAT WAS HEARD AND READ AS")
            yield from (("  - ", "    ", f'"{m.heard}": {m.read} ({m.how})') for m in mended)
        if self.named:
            yield _EMPTY
            yield ("", "", "WHAT THE RULES MEAN")
            alike: dict[str, list[str]] = {}
            for rule in sorted(self.named):
                alike.setdefault(meaning(rule) or "not described", []).append(rule)
            yield from (("  ", "      ", f"{', '.join(rules)}: {what}") for what, rules in alike.items())

    def _facts(self) -> Iterator[str]:
        vehicle = self.order.vehicle
        if vehicle is not None:
            yield f"Drive side {vehicle.steering} drive"
        yield f"Rule book {_view.RULE_BOOKS.get(self.order.rule_book, self.order.rule_book)}"
        if vehicle is not None:
            told = (("Vehicle", vehicle.description), ("VIN", vehicle.vin), ("Plate", vehicle.plate))
            yield from (f"{label} {value}" for label, value in told if value)
            if vehicle.odometer is not None:
                yield f"Odometer {amount(vehicle.odometer.value, vehicle.odometer.unit)}"
            yield from (_view.sentence(_view.identifier_words(x)) for x in vehicle.identifiers)

    # ----- clauses ----------------------------------------------------------------------------------------------------

    def _clause(self, number: int, step: Step) -> Iterator[_Row]:
        yield _EMPTY
        yield (f"{number:>3}  ", " " * 5, f'"{self.text[step.begin : step.end]}"{self._time(step.begin)}')
        tags = [f'"{self._of_words(m.begin, m.end)}" {self._meant(m)}' for m in step.clause.mentions]
        yield _row("tags", "; ".join(tags) or "none")
        numbers = [f'"{self._of_words(q.begin, q.end)}" {quantity_words(q)}' for q in step.clause.quantities]
        if numbers:
            yield _row("numbers", "; ".join(numbers))
        yield _row("rule", f"{step.rule}: {meaning(step.rule) or 'not described'}")
        gave = [*self._gave(step)]
        if not gave:
            yield _row("gave", "nothing on the order")
        for label, text in gave:
            yield _row(label, text)

    def _gave(self, step: Step) -> Iterator[tuple[str, str]]:
        for touched in step.touched:
            yield "gave", self._finding(touched)
            for why in touched.why:
                self.named[why.rule] = None
                yield "", f"{why.field} by {why.rule}: {why.text}"
        if step.report is not None:
            about = f" about the {self.e.names.get(step.report.about, step.report.about)}" if step.report.about else ""
            symptoms = f": {', '.join(step.report.symptoms)}" if step.report.symptoms else ""
            yield "gave", f"a concern{about}{symptoms}, as somebody reports it"
        if step.topic:
            yield "gave", f"a topic, {', '.join(self.e.names[id] for id in step.topic)}, of which something is to come"
        if step.place is not None:
            yield "place", f"{_where(step.place, '', self.british) or 'none in force'} from here on"
        for doubt in step.doubts:
            yield "asks", doubt.text
        for aside in step.asides:
            yield "aside", self._aside(step, aside)

    def _finding(self, touched: Touched) -> str:
        f = touched.then
        number = self._line_of(touched)
        name = self.e.names[f.component]
        where = _where(f.place, name, self.british)
        title = (f"line {number}, " if number is not None else "") + name + (f", {where}" if where else "")
        if touched.how == "gone":
            return f"{title}: no line any more"
        if touched.how == "new":
            return f"{title}: {'; '.join(_held(f, _FIELDS, self.e.names)) or 'named, nothing said of it yet'}"
        changed = [*(["another part"] if "component" in touched.changed else [])]
        changed += ["another place"] if "place" in touched.changed else []
        changed += _held(f, touched.changed, self.e.names, emptied=True)
        return f"{title}: {'; '.join(changed) or 'spoken of again, nothing new'}"

    def _aside(self, step: Step, aside: Aside) -> str:
        reason = _view.REASONS.get(aside.reason, aside.reason).lower() + (f" ({aside.note})" if aside.note else "")
        if (aside.begin, aside.end) == (step.begin, step.end):
            return reason
        return f'{reason}: "{self.text[aside.begin : aside.end]}"'

    def _meant(self, m: Mention) -> str:
        """What a stretch of words was tagged as, parts by their names."""
        own = [self.e.names[t.value] for t in m.of("component")]
        shared = [self.e.names[t.value] for t in m.of("short")]
        rest = tuple(t for t in m.tags if t.kind not in ("component", "short"))
        more = f" and {len(shared) - _SOME} more" if len(shared) > _SOME else ""
        told = [f"part {' or '.join(own)}"] if own else []
        told += [f"shared name of {', '.join(shared[:_SOME])}{more}"] if shared else []
        told += [some_tags(rest)] if rest else []
        return ", ".join(told)

    def _of_words(self, begin: int, end: int) -> str:
        words = self.e.recorded.words
        return self.text[words[begin].begin : words[end - 1].end]

    def _time(self, begin: int) -> str:
        heard = (u.start_s for u in self.order.note.utterances if u.begin <= begin < u.end and u.start_s is not None)
        start = next(heard, None)
        return "" if start is None else f" ({_view.clock(start)})"

    # ----- lines ------------------------------------------------------------------------------------------------------

    def _line(self, line: Line) -> Iterator[_Row]:
        yield _EMPTY
        where = _view.position_words(line.position, line.component.name, self.british)
        clauses = self.clauses.get(line.number, {})
        origin = f" (clause{'s' if len(clauses) > 1 else ''} {', '.join(map(str, clauses))})" if clauses else ""
        yield (f"{line.number:>3}  ", " " * 5, line.component.name + (f", {where}" if where else "") + origin)
        reasons: dict[str, list[str]] = {}
        for why in line.because:
            # What speaks for good is not why something is bad.
            if why.field != "severity" or line.severity == "good" or not why.rule.startswith(("good.", "ruled-out.")):
                reasons.setdefault(why.field, []).append(f"{why.rule}, {why.text}")
                self.named[why.rule] = None
        values = {
            "component": line.component.name if "component" in reasons else "",
            "position": where,
            "conditions": ", ".join(map(_view.condition_words, line.conditions)),
            "severity": line.severity,
            "action": _view.action_words(line.action).lower(),
            "part": line.action.part.name if line.action.part else "",
        }
        for field, label in _JUDGED.items():
            told = "; ".join(reasons.pop(field, ())) or self._said_in(clauses, field)
            if values[field]:
                yield _row(label, f"{values[field]}: {told}")
            if field == "conditions":
                yield from self._readings(line, reasons.pop("measurements", []))
        for field, told_of in reasons.items():
            yield _row("", f"{field}: {'; '.join(told_of)}")
        yield from (_row("asks", q.text) for q in self.order.questions if q.line == line.number)

    def _readings(self, line: Line, reasons: list[str]) -> Iterator[_Row]:
        for measurement, limit in zip(line.measurements, self.e.limits[line.number], strict=True):
            by = f": limit {limit}" if limit else ": no limit holds for it" if measurement.limit is None else ""
            yield _row("reading", _view.reading(measurement) + by)
        yield from (_row("", reason) for reason in reasons)

    def _said_in(self, clauses: dict[int, set[str]], field: str) -> str:
        """The last clause that says it; "keep an eye on it" tells how serious it is by the action."""
        for filled_by in _FILLED_BY[field]:
            said = [number for number, filled in clauses.items() if filled & filled_by]
            if said:
                return f"as said in clause {said[-1]}"
        return "goes with the severity" if field == "action" else "as said in the note"


def _row(label: str, text: str) -> _Row:
    indent = " " * 5
    # The hanging indent puts what goes on under what it goes on from.
    return (f"{indent}{label:<{_LABEL}}", indent + " " * (_LABEL + 2), text)


def _where(place: Place, name: str, british: bool) -> str:
    return _view.position_words(position_of(place), name, british)


def _held(f: Finding, fields: tuple[str, ...], names: dict[str, str], *, emptied: bool = False) -> list[str]:
    """What the ``fields`` of a finding hold, in words; one that holds nothing is told only where it was ``emptied``."""
    told: list[str] = []
    for field in _FIELDS:
        if field in fields:
            words = _words_of(f, field, names)
            if words or emptied:
                told.append(words or f"no {_PLAIN.get(field, field)} any more")
    return told


_PLAIN = {"good": "good word", "conditions": "condition", "readings": "reading", "verb": "action"}


def _words_of(f: Finding, field: str, names: dict[str, str]) -> str:
    if field == "good":
        return "good" if f.good else ""
    if field == "conditions":
        return ", ".join(
            _view.condition_words(Condition.model_validate({"id": c.id, "degree": c.degree})) for c in f.conditions
        )
    if field == "readings":
        return ", ".join(
            _view.clean(amount(r.value, r.unit, r.bound))
            + (f" (limit {_view.clean(amount(r.limit, r.unit))})" if r.limit is not None else "")
            for r in f.readings
        )
    if field == "severity":
        return f"severity {', '.join(f.severity)}" if f.severity else ""
    if field == "verb":
        return f"action {f.verb}" if f.verb else ""
    if field == "part":
        return f"part {names.get(f.part, f.part)}" if f.part else ""
    if field == "quantity":
        return f"quantity {f.quantity}" if f.quantity is not None else ""
    if field == "work":
        return f"work {f.work.replace('-', ' ')}" if f.work else ""
    return "cause not found" if f.not_traced else ""


__all__ = ["Explanation", "meaning", "render"]
