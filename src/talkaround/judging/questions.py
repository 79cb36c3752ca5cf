"""What the writer must ask back, because the note leaves it open and the work cannot be ordered or answered for without it.

Each question is short and has choices where they are known. They come most costly first: the customer's safety, then what
would buy a wrong part, then what would do the wrong work, then what is sensible to know.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from talkaround.judging.judge import Judged
from talkaround.models import SEVERITIES, QuestionField
from talkaround.reading.places import axes_of, implied
from talkaround.reading.placing import AT_THE_WHEELS
from talkaround.reading.types import Doubt, Finding, ReadNote, Reported
from talkaround.vocabulary import Vocabulary

SHOWN = 10
"""How many questions an order shows; the rest are counted."""

_SIDES = {"left": "right", "right": "left"}

_WEARS = {"tread-depth", "pad-thickness", "lining-thickness", "rotor-thickness", "play"}


class Cost(IntEnum):
    """What an answer that is not asked for costs, the dearest first."""

    SAFETY = 0
    WRONG_PART = 1
    CONTRADICTION = 2
    WRONG_WORK = 3
    UNANSWERED = 4
    HALF_A_JOB = 5


@dataclass(slots=True)
class Asked:
    """``judged`` is the index of the finding asked about, or None for the whole order."""

    judged: int | None
    field: QuestionField
    text: str
    choices: list[str] = dataclasses.field(default_factory=list)
    cost: Cost = Cost.WRONG_PART


_COST_OF_DOUBT: dict[str, Cost] = {
    "side": Cost.WRONG_PART, "axle": Cost.WRONG_PART, "component": Cost.WRONG_PART, "measurement": Cost.WRONG_WORK,
    "action": Cost.WRONG_WORK, "understanding": Cost.CONTRADICTION,
}  # fmt: skip


def ask(judged: list[Judged], vocabulary: Vocabulary, read: ReadNote | None = None) -> list[Asked]:
    """Every question that the note leaves open, most costly first; none that it answers."""
    out: list[Asked] = []
    if read is not None:
        out += [_of_doubt(d, judged) for d in read.doubts]
        out += _customer_told(judged, read)
        out += _concerns_unanswered(judged, vocabulary, read)
    for n, j in enumerate(judged):
        if j.severity == "good" or j.finding.work == "done" or j.verb == "none":
            continue
        out += _places_open(n, j, vocabulary)
        out += _twin(n, j, judged, vocabulary)
    once = {(a.judged, a.field, a.text): a for a in out}
    return sorted(
        once.values(),
        key=lambda a: (a.cost, SEVERITIES.index(judged[a.judged].severity) if a.judged is not None else 0),
    )


def _of_doubt(doubt: Doubt, judged: list[Judged]) -> Asked:
    about = next((n for n, j in enumerate(judged) if j.finding is doubt.finding), None)
    return Asked(about, doubt.field, doubt.text, doubt.choices, _COST_OF_DOUBT[doubt.field])  # type: ignore[arg-type]


# ----- where it is ---------------------------------------------------------------------------------------------------


def _places_open(n: int, j: Judged, v: Vocabulary) -> Iterator[Asked]:
    f = j.finding
    comp = v.components[f.component]
    axes = axes_of(comp) - set(comp.seldom)
    axle_open = "axle" in axes and f.place.axle is None and implied(comp).axle is None
    side_open = "side" in axes and f.place.side is None and comp.sold != "axle-set"
    axle_open = axle_open or ("axle" in f.ask_for and f.place.axle is None)
    side_open = side_open or ("side" in f.ask_for and f.place.side is None)
    if j.verb == "monitor" and not (axle_open and side_open) and not f.ask_for:
        return
    where = " ".join(w for w in (f.place.side, _axle_words(f.place.axle or "")) if w)
    name = f"{where} {comp.name}".strip()
    if axle_open:
        text = (
            f"Which axle is the {name} on?"
            if comp.system in AT_THE_WHEELS
            else f"Is the {name} at the front or the rear?"
        )
        yield Asked(n, "axle", text, ["front", "rear"])
    if side_open:
        yield Asked(n, "side", f"Which side is the {name} on?", ["left", "right", "both"])


# ----- the other side ------------------------------------------------------------------------------------------------


def _twin(n: int, j: Judged, judged: list[Judged], v: Vocabulary) -> Iterator[Asked]:
    """What is replaced in pairs, and what was read on one side, where the other side is not mentioned."""
    f = j.finding
    other = _SIDES.get(f.place.side or "")
    comp = v.components[f.component]
    if other is None or f.work == "declined" or f.at_hand or (f.quantity or 1) > 1:
        return
    if any(x.finding.component == f.component and _is_twin(x.finding, f) for x in judged):
        return
    where = f"{other} {comp.name}" if not f.place.axle else f"{other} {_axle_words(f.place.axle)} {comp.name}"
    if comp.paired and comp.system in AT_THE_WHEELS and j.verb == "replace":
        text = f"The {where} is not mentioned, and they are replaced in pairs. Is it replaced too?"
        yield Asked(n, "action", text, ["both", f"{f.place.side} only"], Cost.HALF_A_JOB)
    elif any(m.verdict in ("near", "fail") and m.quantity in _WEARS for m in j.measurements):
        text = f"The {where} is not mentioned. What does it measure?"
        yield Asked(n, "measurement", text, [], Cost.HALF_A_JOB)


def _axle_words(axle: str) -> str:
    return f"axle {axle}" if axle.isdigit() else axle


def _is_twin(x: Finding, f: Finding) -> bool:
    return x.place.axle == f.place.axle and x.place.side == _SIDES[f.place.side or "left"]


# ----- the customer --------------------------------------------------------------------------------------------------


def _customer_told(judged: list[Judged], read: ReadNote) -> Iterator[Asked]:
    unsafe = [n for n, j in enumerate(judged) if j.severity == "unsafe" and j.finding.work != "done"]
    if unsafe and not read.customer_told:
        text = "Was the customer told that it is not to be driven?"
        yield Asked(unsafe[0] if len(unsafe) == 1 else None, "understanding", text, ["yes", "not yet"], Cost.SAFETY)


def _concerns_unanswered(judged: list[Judged], v: Vocabulary, read: ReadNote) -> Iterator[Asked]:
    for r in read.reported:
        if r.confirmed or r.not_confirmed or not (r.about or r.symptoms) or _answered(r, judged, v):
            continue
        if not r.symptoms and r.about in v.components and v.components[r.about].kind == "service":
            # "In for service": why it came, and nothing that could be found.
            continue
        text = f"Reported: “{r.text.rstrip('.!?,; ')}”. What was found?"
        yield Asked(
            None,
            "understanding",
            text,
            ["it is on this order", "could not be reproduced", "not looked at yet"],
            Cost.UNANSWERED,
        )


def _answered(r: Reported, judged: list[Judged], v: Vocabulary) -> bool:
    """Whether a line is about what was reported, or shows the same."""
    about = v.components.get(r.about or "")
    for j in judged:
        comp = v.components[j.finding.component]
        if about is not None and (comp.system == about.system or r.about in (j.finding.component, *comp.part_of)):
            return True
        if about is None and j.severity != "good" and {said.id for said in j.finding.conditions} & set(r.shows):
            return True
    return False


__all__ = ["SHOWN", "Asked", "Cost", "ask"]
