"""Timed stretches of speech, and how they become the text of a note."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from talkaround.models import Utterance

_SENTENCE_END = re.compile(r"[.!?…][\"')\]”’]*$")


@dataclass(frozen=True)
class Stretch:
    """What was said from ``start_s`` to ``end_s`` (seconds; None where the transcript does not tell)."""

    text: str
    start_s: float | None = None
    end_s: float | None = None


def join(stretches: Iterable[Stretch]) -> tuple[str, list[Utterance]]:
    """One text and where each stretch lies in it: a new line after a finished sentence, a space inside one."""
    utterances: list[Utterance] = []
    parts: list[str] = []
    length = 0
    for stretch in stretches:
        text = " ".join(stretch.text.split())
        if not text:
            continue
        if parts:
            parts.append("\n" if ends_sentence(parts[-1]) else " ")
            length += 1
        parts.append(text)
        utterances.append(Utterance(begin=length, end=length + len(text), start_s=stretch.start_s, end_s=stretch.end_s))
        length += len(text)
    return "".join(parts), utterances


def ends_sentence(text: str) -> bool:
    """Whether the text ends as a sentence does; closing quotation marks and brackets are passed over."""
    return _SENTENCE_END.search(text) is not None
