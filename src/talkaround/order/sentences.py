"""The three Cs of a line as plain sentences: concern, cause, correction. They say no more than the line does."""

from __future__ import annotations

from talkaround.amounts import amount
from talkaround.models import Line, Measurement, Steering

_CONDITION = {
    "worn": "worn", "unevenly-worn": "worn unevenly", "scored": "scored", "loose": "loose or has play",
    "torn": "torn",
    "cracked": "cracked", "broken": "broken", "bent": "bent or out of shape", "leaking": "leaking",
    "seeping": "seeping", "seized": "seized or binding", "corroded": "corroded", "noisy": "noisy",
    "vibrating": "vibrating", "contaminated": "contaminated", "low": "low", "high": "too high", "missing": "missing",
    "disconnected": "disconnected", "misadjusted": "out of adjustment", "inoperative": "not working", "weak": "weak",
    "burnt": "burnt or overheated", "aged": "aged", "punctured": "punctured", "due": "due for service",
    "incorrect": "not the right one or not fitted rightly",
}  # fmt: skip
_DEGREE = {"slight": "slightly ", "moderate": "moderately ", "severe": "badly ", "complete": "completely "}
_DEGREE_FITS = frozenset({
    "worn", "unevenly-worn", "scored", "torn", "cracked", "bent", "leaking", "seeping", "corroded", "contaminated",
    "misadjusted", "burnt", "aged", "weak",
})  # fmt: skip
_DO = {
    "replace": "Replace", "repair": "Repair", "adjust": "Adjust", "align": "Align", "machine": "Machine",
    "clean": "Clean",
    "lubricate": "Lubricate", "fill": "Fill", "flush": "Flush", "tighten": "Tighten", "diagnose": "Diagnose",
    "monitor": "Look again at",
}  # fmt: skip
_DID = {
    "replace": "Replaced", "repair": "Repaired", "adjust": "Adjusted", "align": "Aligned", "machine": "Machined",
    "clean": "Cleaned", "lubricate": "Lubricated", "fill": "Filled", "flush": "Flushed", "tighten": "Tightened",
    "diagnose": "Diagnosed", "monitor": "Looked again at",
}  # fmt: skip
_UK = {"tire": "tyre", "Tire": "Tyre", "aluminum": "aluminium", "center": "centre", "color": "colour", "gage": "gauge"}


def three_cs(line: Line, steering: Steering) -> tuple[str, str, str]:
    """Concern, cause and correction of a line; empty where there is nothing to say."""
    name = spelled(" ".join(w for w in (_where(line), _named(line)) if w), steering)
    if line.severity == "good":
        readings = _readings(line.measurements)
        return "", f"{_cap(name)} inspected and found good{': ' + readings if readings else ''}.", ""
    cause = ""
    if line.conditions:
        said = [
            (_DEGREE.get(c.degree or "", "") if c.id in _DEGREE_FITS else "") + _CONDITION[c.id]
            for c in line.conditions
        ]
        cause = f"{_cap(name)} {'are' if _is_plural(name) else 'is'} {_listed(said)}"
    readings = _readings(line.measurements)
    if readings:
        cause = f"{cause} ({readings})" if cause else f"{_cap(name)} measured: {readings}"
    cause = cause + "." if cause else ""
    return "", cause, _correction(line, name, steering)


def _correction(line: Line, name: str, steering: Steering) -> str:
    verb = line.action.verb
    if verb == "none":
        return "Declined by the customer." if line.work == "declined" else ""
    fitted = line.action.part
    thing = f"the {name}"
    if verb == "replace" and fitted and fitted.id != line.component.id:
        thing = f"the {name} by fitting the {spelled(fitted.name, steering)} that it comes with"
    if line.work == "done":
        return f"{_DID[verb]} {thing}."
    todo = f"{_DO[verb]} {thing}"
    if verb == "monitor":
        return f"{todo} at the next visit."
    tail = {
        "ordered": " Part on order.",
        "wrong-part": " The part that came is wrong; the right one is still needed.",
        "declined": " Declined by the customer.",
    }
    return f"{todo}.{tail.get(line.work, '')}"


def _where(line: Line) -> str:
    p = line.position
    words: list[str] = [p.side if p.side not in (None, "both") else "left and right" if p.side == "both" else ""]
    axle = f"axle {p.axle}" if isinstance(p.axle, int) else p.axle or ""
    words.append(axle)
    for w in (p.level, p.depth, p.end):
        if w and w not in line.component.name.split():
            words.append(w)
    name = line.component.name.split()
    kept = [w for w in words if w and w not in name]
    extra = f" ({p.place.replace('=', ' ')})" if p.place else ""
    return " ".join(kept) + extra


def _named(line: Line) -> str:
    return line.component.name


def _readings(measurements: list[Measurement]) -> str:
    return ", ".join(
        amount(m.value, m.unit, m.bound)
        + (f" against {amount(m.limit, m.unit)}" if m.limit is not None and m.verdict in ("fail", "near") else "")
        for m in measurements
    )


def spelled(text: str, steering: Steering) -> str:
    """UK spelling under right-hand drive."""
    if steering == "left-hand":
        return text
    return " ".join(_UK.get(w, w) for w in text.split(" "))


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]


def _is_plural(name: str) -> bool:
    return False


def _listed(items: list[str]) -> str:
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]
