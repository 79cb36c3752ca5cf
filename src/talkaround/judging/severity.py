"""How serious a finding is, by named rules in a fixed order.

What the technician says outright; what is dangerous in itself, by what is said of it, by its condition or by a reading
past a dangerous figure, which no softer word lowers; a reading against the rule book; the condition and what the part
does for safety; the work that is named. Nothing said of another component reaches in here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from talkaround.amounts import amount
from talkaround.judging.limits import Bound, Measured, margin
from talkaround.models import Severity
from talkaround.reading.types import Finding, Said, Why
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import JudgementRule

STRENGTH = {"unsafe": 4, "required": 3, "suggested": 2, "monitor": 1}

# What the note says of a part that is dangerous in itself (``value`` of a severity cue), and the rule that it is.
_SIGNS = {
    "parting": ("severity.about-to-part", "about to come off, break or burst"),
    "metal": ("severity.metal-to-metal", "worn through to the metal"),
    "cord": ("severity.cord-showing", "worn through to the cord"),
    "helpless": ("severity.control-lost", "the vehicle hardly stops or steers with it"),
    "live": ("severity.live-wire", "a live conductor lies bare"),
    "fumes": ("severity.fumes", "exhaust gets to the people in it"),
    "fire": ("severity.fire", "it can catch fire"),
}
_DOES = {
    "steer": "it steers the vehicle",
    "stop": "it stops the vehicle",
    "hold": "it keeps a part on the vehicle",
    "carry": "it carries load",
    "burn": "it can burn or scald",
    "see": "it is there to see or be seen by",
}
_WORK = frozenset("replace repair adjust align machine clean lubricate fill flush tighten diagnose".split())
_OF_NEED = frozenset({"replace", "repair", "adjust", "tighten"})


_OF_URGENCY = frozenset({*STRENGTH, "advised", "needs", "none"})


@dataclass(slots=True)
class ByRule:
    """What ``judgement.toml`` says of a condition on a component."""

    severity: Severity
    verb: str
    condition: str
    of_degree: str = ""
    yields: bool = False
    sign: str | None = None

    @property
    def why(self) -> str:
        """The id of the rule: of the sign where there is one, else of the condition."""
        return _SIGNS[self.sign][0] if self.sign in _SIGNS else f"severity.{self.condition}"


def severity_of(f: Finding, measured: Sequence[Measured], v: Vocabulary, why: list[Why]) -> Severity:
    """The severity of a finding with its readings; what was concluded and not said is added to ``why``."""
    said = said_outright(f)
    verdicts = [m.measurement.verdict for m in measured if m.measurement.verdict]
    defect = bool(f.conditions)
    if "unsafe" in said:
        return "unsafe"
    danger = _danger(f, measured, v, outright=bool(said or f.verb or "none" in f.severity))
    if danger is not None:
        softer = said or "none" in f.severity
        why.append(_and(danger, "what the note says of its urgency does not lower it") if softer else danger)
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
    failed = past_published_limit(measured)
    if f.verb == "monitor" and defect and not said and f.work is None and failed is None:
        return "monitor"
    if "none" in f.severity and defect and not {"unsafe", "required", "suggested"} & set(said) and failed is None:
        why.append(Why("severity", "severity.left-as-it-is", "the note says to leave it as it is"))
        return "monitor"
    if said:
        strongest = _strongest_said(f, said, v)
        if failed is not None and STRENGTH[strongest] < STRENGTH["required"]:
            why.append(_and(failed, "what the note says of its urgency does not lower it"))
            return "required"
        return strongest
    if f.work is None and defect and all(c.id == "due" for c in f.conditions) and f.verb != "align":
        why.append(Why("severity", "severity.due", "due by time or distance"))
        return "suggested"
    if f.verb in _OF_NEED and f.work in (None, "ordered", "wrong-part") and (defect or f.work):
        why.append(Why("severity", "severity.work-was-named", f"the note says to {f.verb} it, with no softer word"))
        return "required"
    if "fail" in verdicts and not f.good:
        why.append(_reading_fails(next(m for m in measured if m.measurement.verdict == "fail")))
        return "required"
    near = next((m for m in measured if m.measurement.verdict == "near"), None)
    if defect or _has_sign(f, v):
        rule = strongest_rule(f, v)
        allowed = _play_allowed(f, measured)
        if allowed is not None:
            why.append(allowed)
            return "monitor"
        if near is not None and STRENGTH.get(rule.severity, 0) <= STRENGTH["suggested"]:
            why.append(_reading_near(near))
            return "suggested"
        why.append(Why("severity", rule.why, _in_words(rule, f, v)))
        # What was dangerous has been put right on this visit.
        return "required" if rule.severity == "unsafe" else rule.severity
    if f.good:
        return "good"
    if f.verb in _WORK or f.work:
        why.append(Why("severity", "severity.work-was-named", "the note names work to be done and nothing more"))
        return "required"
    if f.verb == "monitor":
        return "monitor"
    if measured:
        why.append(Why("severity", "severity.reading-passes", "the reading was given and nothing was said against it"))
        return "good"
    why.append(Why("severity", "severity.unclear", "the note says too little to judge"))
    return "monitor"


def by_words(f: Finding, v: Vocabulary) -> Severity | None:
    """What the technician's own words make of the finding, whatever was found; None where they say nothing of urgency.

    To name the work is no word on its urgency, but to watch it or to leave it is.
    """
    said = said_outright(f)
    if "unsafe" in said:
        return "unsafe"
    if said:
        strongest = _strongest_said(f, said, v)
        # "They can wait, just keep an eye on them."
        return "monitor" if strongest == "suggested" and f.verb == "monitor" else strongest
    if f.verb == "monitor" or "none" in f.severity:
        return "monitor"
    # "Cracked, but OK for now" is no good part.
    return ("monitor" if f.conditions else "good") if f.good else None


def by_the_book(f: Finding, measured: Sequence[Measured], v: Vocabulary) -> Severity | None:
    """What the readings and the conditions make of the finding by the rule book, whatever is said of its urgency.

    None where it has neither. Call it before conditions are concluded from readings.
    """
    bare = replace(f, severity=[s for s in f.severity if s not in _OF_URGENCY], verb=None, work=None, good=False)
    if _danger(bare, measured, v, outright=True) is not None:
        return "unsafe"
    verdicts = {m.measurement.verdict for m in measured}
    if "fail" in verdicts:
        return "required"
    if _play_allowed(bare, measured) is not None:
        return "monitor"
    if f.conditions:
        rule = strongest_rule(bare, v).severity
        if "near" in verdicts and STRENGTH.get(rule, 0) < STRENGTH["suggested"]:
            return "suggested"
        return "required" if rule == "unsafe" else rule
    return "suggested" if "near" in verdicts else "good" if "pass" in verdicts else None


def said_outright(f: Finding) -> list[str]:
    """The severities that the note says of the finding, in the order it was said; to advise is to suggest."""
    words = ["suggested" if s == "advised" else s for s in f.severity]
    return [s for s in words if s in STRENGTH]


def _strongest_said(f: Finding, said: list[str], v: Vocabulary) -> Severity:
    only_advised = "advised" in f.severity and not {"suggested", "required"} & set(f.severity)
    if only_advised and f.conditions and (f.verb == "monitor" or strongest_rule(f, v).severity == "monitor"):
        return "monitor"
    # "Suggest a new one, it needs it": the stronger word stands, but watching outweighs a bare need of nothing.
    strongest = max(said, key=lambda s: STRENGTH[s])
    if strongest == "required" and "suggested" in said and "needs" not in said:
        softer_first = said.index("suggested") < said.index("required")
        strongest = "suggested" if softer_first and f.verb != "replace" else strongest
    return strongest  # type: ignore[return-value]


# ----- what is dangerous in itself ------------------------------------------------------------------------------------


def _danger(f: Finding, measured: Sequence[Measured], v: Vocabulary, outright: bool) -> Why | None:
    """Why the finding is unsafe whatever is said of its urgency; None where it is not, or was put right on this visit.

    A rule that ``yields`` gives way to any word on the urgency (``outright``).
    """
    if f.work == "done":
        return None
    for rule in _rules(f, v):
        if rule.severity == "unsafe" and not (rule.yields and outright):
            return Why("severity", rule.why, _in_words(rule, f, v))
    for m in measured:
        if m.dangerous is not None:
            x = m.measurement
            edge = amount(m.dangerous.edge, x.unit)
            text = f"{amount(x.value, x.unit, x.bound)}, past the dangerous figure of {edge} ({m.dangerous.source})"
            return Why("severity", "severity.reading-dangerous", text)
    return None


# ----- readings -------------------------------------------------------------------------------------------------------


def past_published_limit(measured: Sequence[Measured]) -> Why | None:
    """Why a reading past a published limit is required, whatever the note would leave; a habit is no such limit."""
    return next((_reading_fails(m) for m in measured if m.measurement.verdict == "fail" and m.published), None)


def _reading_fails(m: Measured) -> Why:
    x = m.measurement
    text = f"{amount(x.value, x.unit, x.bound)} against {amount(x.limit or 0, x.unit)} ({x.limit_source})"
    return Why("severity", "severity.reading-fails", text)


def _play_allowed(f: Finding, measured: Sequence[Measured]) -> Why | None:
    """Why play within a published limit is only watched, where nothing else is said of the part."""
    if any(c.id != "loose" or c.degree is not None for c in f.conditions) or not f.conditions:
        return None
    for m in measured:
        x = m.measurement
        if x.quantity in ("play", "end-play") and x.verdict == "pass" and m.published:
            limit = f"{amount(x.limit or 0, x.unit)} ({x.limit_source})"
            return Why("severity", "severity.play-allowed", f"{amount(x.value, x.unit, x.bound)} of at most {limit}")
    return None


def _reading_near(m: Measured) -> Why:
    x = m.measurement
    side: Bound = m.bound or "below"
    limit = f"the limit of {amount(x.limit or 0, x.unit)} ({x.limit_source})"
    left = margin(x.value, x.limit or 0)
    where = "above" if side == "below" else "below"
    # "A hair under three" leaves a little less than the number does.
    about = {"under": "less than ", "over": "more than "}.get(x.bound or "", "") if side == "below" else ""
    text = f"{about}{amount(left, x.unit)} {where} {limit}" if left else f"at {limit}"
    return Why("severity", "severity.reading-near", text)


# ----- condition and role ---------------------------------------------------------------------------------------------


def strongest_rule(f: Finding, v: Vocabulary) -> ByRule:
    """The most serious of what ``judgement.toml`` says of the finding's conditions on this component."""
    best: ByRule | None = None
    for rule in _rules(f, v):
        if best is None or STRENGTH.get(rule.severity, 0) > STRENGTH.get(best.severity, 0):
            best = rule
    return best or ByRule("suggested", "diagnose", f.conditions[0].id if f.conditions else "any")


def _has_sign(f: Finding, v: Vocabulary) -> bool:
    """Whether the note says something of the part that ``judgement.toml`` judges whatever the condition."""
    return not f.good and _first_rule("any", None, f, v) is not None


def _rules(f: Finding, v: Vocabulary) -> Iterator[ByRule]:
    """What holds of each condition, and of the finding as such (``any``)."""
    of_it = _first_rule("any", None, f, v)
    if of_it is not None:
        condition = f.conditions[0].id if f.conditions else "any"
        yield ByRule(of_it.severity, of_it.verb, condition, yields=of_it.yields, sign=of_it.said)
    for said in f.conditions:
        rule = _first_rule(said.id, said, f, v)
        if rule is not None:
            degree = f", {said.degree}" if said.degree else ""
            yield ByRule(rule.severity, rule.verb, said.id, degree, rule.yields, rule.said)


def _first_rule(table: str, said: Said | None, f: Finding, v: Vocabulary) -> JudgementRule | None:
    comp = v.components[f.component]
    fitting = {*v.scopes_of(f.component), *comp.safety, comp.kind_of}
    judgement = v.judgements.get(table)
    for rule in judgement.rules if judgement else ():
        if rule.degree is not None and not _as_bad(said, rule.degree):
            continue
        if rule.said is not None and rule.said not in f.severity:
            continue
        if rule.when and fitting.isdisjoint(rule.when):
            continue
        if not fitting.isdisjoint(rule.unless):
            continue
        return rule
    return None


def _as_bad(said: Said | None, degree: str) -> bool:
    """Whether the degree said is that of the rule; complete is severe too."""
    degrees = ("severe", "complete") if degree == "severe" else (degree,)
    return said is not None and said.degree in degrees


def _in_words(rule: ByRule, f: Finding, v: Vocabulary) -> str:
    text = _SIGNS[rule.sign][1] if rule.sign in _SIGNS else f"{rule.condition}{rule.of_degree}"
    if rule.severity == "unsafe":
        does = [_DOES[role] for role in v.components[f.component].safety if role in _DOES]
        if does:
            return f"{text}, and {does[0]}"
        return text
    return f"{text}, common practice for this part"


def _and(why: Why, more: str) -> Why:
    return Why(why.field, why.rule, f"{why.text}; {more}")


__all__ = ["STRENGTH", "ByRule", "by_the_book", "by_words", "said_outright", "severity_of", "strongest_rule"]
