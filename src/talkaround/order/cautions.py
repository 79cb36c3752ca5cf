"""The usual cautions, only those that the lines call for; all defer to the maker's service information."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from talkaround.models import Line
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import Caution, in_scope

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
    for caution in vocabulary.cautions.values():
        if any(
            (not caution.verbs or line.action.verb in caution.verbs) and _calls_for(line, caution, vocabulary)
            for line in todo
        ):
            out.append(caution.text)
    return [spelled(text) for text in (*out, _ALWAYS)]


def _calls_for(line: Line, caution: Caution, v: Vocabulary) -> bool:
    """Whether the line's component, or what is fitted for it, is one that the caution is for."""
    ids = {line.component.id, line.action.part.id if line.action.part else line.component.id}
    scopes, light = caution.when, caution.unless
    ids = {id for id in ids if not any(in_scope(w, id, v.components[id]) for w in light)}
    return any(in_scope(w, id, v.components[id]) or w in v.components[id].safety for id in ids for w in scopes)


__all__ = ["cautions_for"]
