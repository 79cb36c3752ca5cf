"""How serious a finding is and what is done about it.

Severity, in this order: what the technician says outright; a reading against the rule book; the condition and what the
component does for safety. Nothing said of another component reaches in here: each finding is judged by itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from talkaround.amounts import amount
from talkaround.judging.limits import measure
from talkaround.models import Basis, Measurement, Severity
from talkaround.reading.types import Finding, Said, Why
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import JudgementRule, in_scope

_SHOWN_BY_ACTION = {
    "adjust": "misadjusted",
    "align": "misadjusted",
    "tighten": "loose",
    "fill": "low",
    "clean": "contaminated",
}
_STRENGTH = {"unsafe": 4, "required": 3, "suggested": 2, "monitor": 1}


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


def judge(finding: Finding, vocabulary: Vocabulary, book: str) -> Judged:
    """Judge one finding. ``finding.conditions`` may gain what a failed or near reading shows."""
    why = list(finding.why)
    measured = [measure(r, finding, vocabulary, book) for r in finding.readings]
    measurements = [m.measurement for m in measured]
    verdicts = [m.verdict for m in measurements if m.verdict]
    defects = bool(finding.conditions)
    said = [s for s in finding.severity if s in _STRENGTH]
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
    severity = _severity(finding, said, measurements, vocabulary, why)
    verb = _verb(finding, severity, vocabulary, why)
    part = _part(finding, verb, vocabulary, why)
    basis: Basis = "reported" if finding.reported else "measured" if measurements else "observed"
    return Judged(finding, severity, verb, part, measurements, basis, why)


# ----- severity ------------------------------------------------------------------------------------------------------


def _severity(f: Finding, said: list[str], measurements: list[Measurement], v: Vocabulary, why: list[Why]) -> Severity:
    verdicts = [m.verdict for m in measurements if m.verdict]
    defect = bool(f.conditions)
    if "unsafe" in said:
        return "unsafe"
    if (
        f.good
        and not defect
        and "required" not in said
        and f.work not in ("done", "ordered", "wrong-part")
        and f.verb in (None, "none", "monitor")
        and "fail" not in verdicts
    ):
        return "good"
    if "none" in f.severity and defect and not {"unsafe", "required", "suggested"} & set(said):
        why.append(Why("severity", "severity.left-as-it-is", "the note says to leave it as it is"))
        return "monitor"
    if said:
        # "Suggest a new one, it needs it": the stronger word stands, but watching outweighs a bare need of nothing.
        strongest = max(said, key=lambda s: _STRENGTH[s])
        if strongest == "required" and "suggested" in said and "needs" not in said:
            strongest = (
                "suggested" if said.index("suggested") < said.index("required") and f.verb != "replace" else strongest
            )
        return strongest  # type: ignore[return-value]
    if (
        f.verb in ("replace", "repair", "adjust", "tighten")
        and f.work in (None, "ordered", "wrong-part")
        and (defect or f.work)
    ):
        why.append(Why("severity", "severity.work-was-named", f"the note says to {f.verb} it, with no softer word"))
        return "required"
    if "fail" in verdicts and not f.good:
        m = next(m for m in measurements if m.verdict == "fail")
        why.append(
            Why(
                "severity",
                "severity.reading-fails",
                f"{amount(m.value, m.unit, m.bound)} against {amount(m.limit or 0, m.unit)} ({m.limit_source})",
            )
        )
        return "required"
    if defect:
        by_condition = _strongest_rule(f, v)
        severity: Severity = by_condition.severity
        if "near" in verdicts and _STRENGTH.get(severity, 0) < _STRENGTH["suggested"]:
            severity = "suggested"
        why.append(
            Why(
                "severity",
                f"severity.{by_condition.condition}",
                f"{by_condition.condition}{by_condition.of_degree}, common practice for this part",
            )
        )
        return severity
    if f.good:
        return "good"
    if (
        f.verb
        in (
            "replace",
            "repair",
            "adjust",
            "align",
            "machine",
            "clean",
            "lubricate",
            "fill",
            "flush",
            "tighten",
            "diagnose",
        )
        or f.work
    ):
        why.append(Why("severity", "severity.work-was-named", "the note names work to be done and nothing more"))
        return "required"
    if f.verb == "monitor":
        return "monitor"
    if measurements:
        why.append(Why("severity", "severity.reading-passes", "the reading was given and nothing was said against it"))
        return "good"
    why.append(Why("severity", "severity.unclear", "the note says too little to judge"))
    return "monitor"


@dataclass(slots=True)
class _ByCondition:
    severity: Severity
    verb: str
    condition: str
    of_degree: str


def _rule_for(said: Said, component: str, v: Vocabulary) -> JudgementRule | None:
    comp = v.components[component]
    judgement = v.judgements.get(said.id)
    for rule in judgement.rules if judgement else ():
        if rule.degree is not None and rule.degree != said.degree:
            continue
        if rule.when and not any(
            in_scope(w, component, comp) or w in comp.safety or comp.kind_of == w for w in rule.when
        ):
            continue
        return rule
    return None


def _strongest_rule(f: Finding, v: Vocabulary) -> _ByCondition:
    best: _ByCondition | None = None
    for said in f.conditions:
        rule = _rule_for(said, f.component, v)
        if rule is None:
            continue
        if best is None or _STRENGTH.get(rule.severity, 0) > _STRENGTH.get(best.severity, 0):
            best = _ByCondition(rule.severity, rule.verb, said.id, f", {said.degree}" if said.degree else "")
    return best or _ByCondition("suggested", "diagnose", f.conditions[0].id, "")


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
        rule = _strongest_rule(f, v)
        verb = rule.verb
        if verb == "monitor":
            verb = "replace"
        why.append(Why("action", f"action.{rule.condition}", f"{rule.condition}: common practice for this part"))
        return verb
    if severity in ("required", "unsafe", "suggested"):
        comp = v.components[f.component]
        verb = "align" if f.component.endswith("alignment") else "replace" if comp.kind == "part" else "diagnose"
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
