"""What each rule of the judging means, in one line, and which limits a finding's readings were held against."""

from __future__ import annotations

from talkaround.judging.judge import Judged
from talkaround.judging.limits import limit_for, quantity_of
from talkaround.vocabulary import Vocabulary

RULES = {
    "condition.from-reading": "the reading shows what is wrong, and the note names nothing else",
    "condition.from-action": "the work named tells what is wrong",
    "severity.reading-over-word": "a reading past a published limit, of a part that was called fine",
    "severity.reading-fails": "a reading is past its limit",
    "severity.reading-near": "a reading is near its limit, by the margin given",
    "severity.reading-dangerous": "a reading is past the figure from which the rule book calls it dangerous",
    "severity.play-allowed": "the play that was measured is within its published limit",
    "severity.about-to-part": "the note says that it is about to come off, break or burst",
    "severity.metal-to-metal": "the note says that it is worn through to the metal",
    "severity.cord-showing": "the note says that it is worn through to the cord",
    "severity.control-lost": "the note says that the vehicle hardly stops or steers",
    "severity.live-wire": "the note says that a live conductor lies bare",
    "severity.fumes": "the note says that exhaust gets into the cab",
    "severity.fire": "the note says that it can catch fire",
    "severity.due": "maintenance that is due, and nothing presses it",
    "severity.reading-passes": "a reading was given and nothing was said against it",
    "severity.work-was-named": "the note names the work, with no softer word",
    "severity.left-as-it-is": "the note says to leave it as it is",
    "severity.unclear": "the note says too little to judge",
    "action.left-as-it-is": "the note says to leave it as it is",
    "action.cause-not-found": "the cause has not been found yet, so it is to be found first",
    "action.need-said": "the note says that something is needed, not what; a part is replaced, an alignment set",
    "also.goes-with": "is fitted along with the part, by common practice",
    "look-at.beside-it": "is looked at along with the part, for the one overloads or shows the other",
    "part.component-itself": "the part is replaced by one of its kind",
}

BY_CONDITION = {
    "severity": "how serious this condition is on such a part where the note says no more",
    "action": "what is done about this condition on such a part where the note says no more",
}
"""Rules named after a condition, such as ``severity.worn``: what ``lexicon/judgement.toml`` says of it."""


def limits_used(judged: Judged, vocabulary: Vocabulary, book: str) -> list[str | None]:
    """For each reading the id of the limit of ``limits.toml`` that it was held against; None where none was."""
    f = judged.finding
    ids: list[str | None] = []
    for reading, measured in zip(f.readings, judged.measurements, strict=True):
        limit = None
        if reading.limit is None and measured.limit is not None:
            quantity = quantity_of(f.component, reading.unit, vocabulary, reading.value)
            limit = limit_for(f, quantity, vocabulary, book, reading)
        ids.append(next((id for id, known in vocabulary.limits.items() if known is limit), None))
    return ids


__all__ = ["BY_CONDITION", "RULES", "limits_used"]
