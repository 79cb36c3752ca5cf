"""Which line a trouble code or a tire's mark belongs to; what belongs to none is the vehicle's."""

from __future__ import annotations

from talkaround.reading.types import Clause, Finding, Identifier, ReadNote
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

_ON_TIRES = frozenset({"tire-size", "date-code"})
# A powertrain code (SAE J2012: those with a P) says nothing of these systems, nor a body or chassis code of a tire.
_NO_POWERTRAIN = frozenset(
    "brakes air-brakes steering suspension tires-and-wheels lamps wipers-and-glass body restraints-and-seats chassis "
    "coupling running-gear".split()
)
# Characters that may lie between a part and a code of its sentence.
_NEAR = 80


def place_identifiers(
    found: list[Identifier], out: ReadNote, clauses: list[Clause], words: list[Word], vocabulary: Vocabulary
) -> None:
    """Give each identifier to the findings of its own clause, else to the nearest one of its sentence.

    A size or date code goes to tires only, a date only to what its own words are said of.
    The words of a code become evidence of whatever it goes to.
    """
    for x in found:
        owners = _owners(x, out.findings, clauses, words, vocabulary)
        for f in owners:
            f.identifiers.append(x)
            if not any(b <= x.begin and x.end <= e for b, e in f.spans):
                f.spans.append((x.begin, x.end))
        if not owners and x.kind != "date":
            out.vehicle.identifiers.append(x)
            out.vehicle.spans.append((x.begin, x.end))


def _owners(
    x: Identifier, findings: list[Finding], clauses: list[Clause], words: list[Word], vocabulary: Vocabulary
) -> list[Finding]:
    if x.of_all:
        return []
    fit = [f for f in findings if f.says_something()]
    fit = [f for f in fit if _may_have(f.component, x, vocabulary)]
    # A stroke within a date may part two clauses.
    inside = [f for f in fit if all(any(b <= at < e for b, e in f.spans) for at in (x.begin, x.end - 1))]
    if inside or x.kind == "date":
        return inside
    here = next((c for c in clauses if words[c.begin].begin <= x.begin < words[c.end - 1].end), None)
    if here is None:
        return []
    sentence = [c for c in clauses if c.sentence == here.sentence]
    begin, end = words[sentence[0].begin].begin, words[sentence[-1].end - 1].end
    near: list[tuple[int, bool, Finding]] = []
    for f in fit:
        of_sentence = [(b, e) for b, e in f.spans if begin <= b and e <= end]
        if of_sentence:
            gap, behind = min((x.begin - e, False) if e <= x.begin else (b - x.end, True) for b, e in of_sentence)
            if gap <= _NEAR:
                near.append((gap, behind, f))
    if not near:
        return []
    nearest = min((gap, behind) for gap, behind, _ in near)
    return [f for gap, behind, f in near if (gap, behind) == nearest]


def _may_have(component: str, x: Identifier, vocabulary: Vocabulary) -> bool:
    if x.kind in _ON_TIRES:
        return _is_tire(component, vocabulary)
    if x.kind == "trouble-code":
        system = vocabulary.components[component].system
        return system not in (_NO_POWERTRAIN if x.value.startswith("P") else {"tires-and-wheels"})
    return True


def _is_tire(component: str, vocabulary: Vocabulary) -> bool:
    return component == "tire" or "tread-depth" in vocabulary.components[component].measured


__all__ = ["place_identifiers"]
