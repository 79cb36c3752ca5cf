"""A transcript as a file: a recogniser's JSON, timed captions, or plain text. All of them are read again by intake."""

from __future__ import annotations

import json
from typing import Any

from talkaround.intake import note_from_transcript

ENDINGS = {"json": ".json", "srt": ".srt", "text": ".txt"}


def as_format(transcript: dict[str, Any], format: str) -> str:
    """``transcript`` as :func:`listen` gives it, in one of ``ENDINGS``."""
    if format == "json":
        return json.dumps(transcript, indent=1, ensure_ascii=False) + "\n"
    note = note_from_transcript(transcript, source="transcript", name="transcript")
    if format == "text":
        return f"{note.text}\n"
    cues = [
        f"{number}\n{_clock(u.start_s or 0.0)} --> {_clock(u.end_s or 0.0)}\n{note.text[u.begin : u.end]}\n"
        for number, u in enumerate(note.utterances, 1)
    ]
    return "\n".join(cues)


def _clock(seconds: float) -> str:
    thousandths = round(seconds * 1000)
    minutes, rest = divmod(thousandths, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d},{rest % 1000:03d}"
