"""What goes along with the work on a part: parts fitted with it, and parts to be looked at beside it."""

from __future__ import annotations

from talkaround.judging.judge import Judged
from talkaround.reading.types import Finding, Why
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import Companion

_FITTED = ("replace", "repair")


def add_companions(judged: list[Judged], vocabulary: Vocabulary) -> None:
    """Fill ``also`` and ``look_at`` of what is still to be fitted, leaving out what the order has a line for at that place."""
    for j in judged:
        if j.verb not in _FITTED or j.finding.work in ("done", "declined") or j.severity == "good":
            continue
        comps = vocabulary.components
        fitted = comps[j.part or j.finding.component]
        found = {c.id for c in j.finding.conditions}
        if j.verb == "replace":
            j.also = [
                g.part
                for g in fitted.goes_with
                if _goes_along(g, found) and not _has_line(g.part, j, judged, vocabulary)
            ]
            if j.also:
                names = ", ".join(comps[p].name for p in j.also)
                j.why.append(Why("also", "also.goes-with", f"{names}: common practice with {fitted.name}"))
        faulty = comps[j.finding.component]
        j.look_at = [g.part for g in faulty.look_at if not _has_line(g.part, j, judged, vocabulary)]
        if j.look_at:
            names = ", ".join(comps[p].name for p in j.look_at)
            j.why.append(Why("look_at", "look-at.beside-it", f"{names}: common practice beside {faulty.name}"))


def _goes_along(companion: Companion, found: set[str]) -> bool:
    return not companion.found or bool(found & set(companion.found))


def _has_line(part: str, j: Judged, judged: list[Judged], v: Vocabulary) -> bool:
    """Whether the order speaks of that part, or one that it is a kind of, at this place."""
    return any(
        x is not j
        and x.finding.says_something()
        and part in (x.finding.component, x.part, v.components[x.finding.component].kind_of)
        and _same_place(x.finding, j.finding)
        for x in judged
    )


def _same_place(a: Finding, b: Finding) -> bool:
    return all(
        x is None or y is None or x == y for x, y in ((a.place.axle, b.place.axle), (a.place.side, b.place.side))
    )
