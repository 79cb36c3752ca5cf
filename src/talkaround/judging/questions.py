"""What the writer must ask back, because the note leaves it open and the work cannot be ordered without it."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from talkaround.judging.judge import Judged
from talkaround.models import QuestionField
from talkaround.reading.places import axes_of, implied
from talkaround.reading.types import ReadNote
from talkaround.vocabulary import Vocabulary


@dataclass(slots=True)
class Asked:
    """``judged`` is the index of the finding asked about, or None for the whole order."""

    judged: int | None
    field: QuestionField
    text: str
    choices: list[str] = dataclasses.field(default_factory=list)


def ask(judged: list[Judged], vocabulary: Vocabulary, read: ReadNote | None = None) -> list[Asked]:
    """One short question for each place that is missing from work still to be done, and for what the reading doubts."""
    out: list[Asked] = []
    for doubt in read.doubts if read else ():
        about = next((n for n, j in enumerate(judged) if j.finding is doubt.finding), None)
        out.append(Asked(about, doubt.field, doubt.text, doubt.choices))  # type: ignore[arg-type]
    for n, j in enumerate(judged):
        f = j.finding
        if j.severity == "good" or f.work == "done" or j.verb in ("none",):
            continue
        comp = vocabulary.components[f.component]
        axes = axes_of(comp) - set(comp.seldom)
        name = comp.name
        axle_open = "axle" in axes and f.place.axle is None and implied(comp).axle is None
        side_open = "side" in axes and f.place.side is None and not _read_by_axle(f.component)
        axle_open = axle_open or ("axle" in f.ask_for and f.place.axle is None)
        side_open = side_open or ("side" in f.ask_for and f.place.side is None)
        if j.verb == "monitor" and not (axle_open and side_open) and not f.ask_for:
            continue
        if axle_open:
            out.append(Asked(n, "axle", f"Which axle is the {name} on?", ["front", "rear"]))
        if side_open:
            out.append(Asked(n, "side", f"Which side is the {name} on?", ["left", "right", "both"]))
    return out


def _read_by_axle(component: str) -> bool:
    return any(w in component for w in ("pad", "shoe", "lining"))
