"""The usual cautions, only those that the lines call for; all defer to the maker's service information."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from talkaround.models import Line
from talkaround.vocabulary import Vocabulary

_NOT_TO_BE_DRIVEN = "The vehicle must not be driven until the lines marked unsafe are put right."
_ALWAYS = (
    "This order is made from spoken or typed notes. Check it against the vehicle. The maker's service information, "
    "local codes and licensed practice come first."
)


def cautions_for(lines: Sequence[Line], vocabulary: Vocabulary, spelled: Callable[[str], str]) -> list[str]:
    """The cautions of ``cautions.toml`` that work still to be done calls for, in its order, most pressing first."""
    out = []
    if any(x.severity == "unsafe" and x.work != "done" for x in lines):
        out.append(_NOT_TO_BE_DRIVEN)
    todo = [x for x in lines if x.severity != "good" and x.work not in ("done", "declined")]
    todo = [x for x in todo if x.action.verb not in ("none", "monitor")]
    called: dict[str, set[str]] = {}
    for line in todo:
        for id in {line.component.id, line.action.part.id if line.action.part else line.component.id}:
            for called_for in vocabulary.cautions_of(id):
                called.setdefault(called_for, set()).add(line.action.verb)
    for id, caution in vocabulary.cautions.items():
        verbs = called.get(id, set())
        if verbs and (not caution.verbs or verbs & set(caution.verbs)):
            out.append(caution.text)
    return [spelled(text) for text in (*out, _ALWAYS)]


__all__ = ["cautions_for"]
