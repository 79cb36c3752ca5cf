"""How serious a finding is and what is done about it.

Each finding is judged by itself: nothing said of another component reaches in here. ``severity`` has the rules of how
serious it is; the work and the part to fit are concluded here.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from talkaround.judging.limits import measure
from talkaround.judging.severity import (
    by_the_book,
    by_words,
    past_published_limit,
    said_outright,
    severity_of,
    strongest_rule,
)
from talkaround.models import Basis, Measurement, Severity
from talkaround.reading.types import Finding, Said, Why
from talkaround.vocabulary import Vocabulary

_SHOWN_BY_ACTION = {
    "adjust": "misadjusted",
    "align": "misadjusted",
    "tighten": "loose",
    "fill": "low",
    "clean": "contaminated",
}


@dataclass(slots=True)
class Judged:
    """A finding with everything that a line needs."""

    finding: Finding
    severity: Severity
    verb: str
    part: str | None
    measurements: list[Measurement]
    basis: Basis
    why: list[Why] = field(default_factory=list)
    also: list[str] = field(default_factory=list)
    """Components fitted along with it."""
    look_at: list[str] = field(default_factory=list)
    """Components to be looked at beside it."""
    said: Severity | None = None
    """What the technician's own words make of it."""
    by_book: Severity | None = None
    """What the rule book makes of what was found."""


CONCLUDED_CONDITION = frozenset({"condition.from-reading", "condition.from-action"})
"""Rules that conclude a condition where none was said."""
CONCLUDED_GOOD = "severity.reading-passes"
"""The rule that concludes that a component is good where nobody said so."""


def judge(finding: Finding, vocabulary: Vocabulary, book: str) -> Judged:
    """Judge one finding. ``finding.conditions`` may gain what a failed or near reading shows."""
    why = list(finding.why)
    measured = [measure(r, finding, vocabulary, book) for r in finding.readings]
    measurements = [m.measurement for m in measured]
    verdicts = [m.verdict for m in measurements if m.verdict]
    defects = bool(finding.conditions)
    said = said_outright(finding)
    own, by_book = by_words(finding, vocabulary), by_the_book(finding, measured, vocabulary)
    if finding.good and past_published_limit(measured) is not None:
        # "Fine" does not make a part pass that its own reading fails.
        finding.good = False
        why.append(Why("severity", "severity.reading-over-word", "its reading fails, whatever word was said of it"))
    if not defects and not finding.good and ("fail" in verdicts or "near" in verdicts):
        worst = next((m for m in measured if m.measurement.verdict == "fail"), None)
        worst = worst or next(m for m in measured if m.measurement.verdict == "near")
        finding.conditions.append(Said(worst.shows))
        why.append(Why("conditions", "condition.from-reading", "the reading is at or near its limit"))
    if not finding.conditions and not (finding.good and finding.work is None) and finding.verb in _SHOWN_BY_ACTION:
        finding.conditions.append(Said(_SHOWN_BY_ACTION[finding.verb]))
        why.append(
            Why(
                "conditions",
                "condition.from-action",
                f"work to {finding.verb} it was named, and that is done where it is {_SHOWN_BY_ACTION[finding.verb]}",
            )
        )
    played = any(m.quantity in ("play", "end-play") and m.value > 0 for m in measurements)
    if not finding.conditions and not finding.good and played and (said or finding.verb):
        finding.conditions.append(Said("loose"))
        why.append(Why("conditions", "condition.from-reading", "play was measured, and work was named"))
    severity = severity_of(finding, measured, vocabulary, why)
    verb = _verb(finding, severity, vocabulary, why)
    part = _part(finding, verb, vocabulary, why)
    basis: Basis = "measured" if measurements else "observed"
    return Judged(finding, severity, verb, part, measurements, basis, why, said=own, by_book=by_book)


# ----- action --------------------------------------------------------------------------------------------------------


def _verb(f: Finding, severity: Severity, v: Vocabulary, why: list[Why]) -> str:
    if severity == "good":
        return "none"
    if "none" in f.severity and f.verb in (None, "monitor") and severity == "monitor":
        why.append(Why("action", "action.left-as-it-is", "the note says to leave it as it is"))
        return "none"
    if f.verb:
        verb = f.verb
        comp = v.components[f.component]
        if verb == "replace" and comp.kind == "service" and f.component.endswith("alignment"):
            return "align"
        return verb
    if f.work == "declined" and not f.conditions:
        return "none"
    if severity == "monitor":
        return "monitor"
    if f.not_traced:
        why.append(Why("action", "action.cause-not-found", "the cause has not been found yet"))
        return "diagnose"
    if f.conditions:
        rule = strongest_rule(f, v)
        verb = rule.verb
        if verb == "monitor":
            verb = "replace"
        why.append(Why("action", f"action.{rule.condition}", f"{rule.condition}: common practice for this part"))
        return verb
    if severity in ("required", "unsafe", "suggested"):
        comp = v.components[f.component]
        # A fluid that was done is a fluid that was changed.
        changed = comp.kind == "part" or (comp.kind == "fluid" and f.work == "done")
        verb = "align" if f.component.endswith("alignment") else "replace" if changed else "diagnose"
        why.append(Why("action", "action.need-said", "the note says that it is needed"))
        return verb
    return "monitor"


def _part(f: Finding, verb: str, v: Vocabulary, why: list[Why]) -> str | None:
    if verb != "replace":
        return None
    if f.part:
        return f.part
    why.append(Why("part", "part.component-itself", "the part is fitted as such"))
    return f.component
