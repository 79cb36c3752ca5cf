"""A note as it comes in (typed file, standard input, timed transcript, recording) to ``Note``.

A typed note's text is the file's text exactly as given, line ends and all. A transcript's text is what was said,
without cue numbers, timings and tags; ``utterances`` says where in it each stretch lies and when it was said. A
recording is a transcript too, once a listener has written it down.
"""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from talkaround.models import Note, NoteKind, Utterance

from . import _captions, _recogniser, _stretches
from ._decoding import NotText, check_plain, decode
from ._problem import Malformed, NoteError
from ._stretches import Stretch

__all__ = [
    "NOTE_LIMIT",
    "SOUND_LIMIT",
    "STANDARD_INPUT",
    "UTTERANCES_LIMIT",
    "Listener",
    "NoteError",
    "is_recording",
    "note_from_bytes",
    "note_from_transcript",
    "read_note",
    "sound_file",
    "stem_of",
]

Listener = Callable[[Path], dict[str, Any]]
"""Writes the recording in a file down, as a recogniser's transcript; raises ``NoteError``."""

STANDARD_INPUT = "-"
NOTE_LIMIT = 2_000_000
"""Bytes that a typed note may have, and characters that a transcript may have said."""
SOUND_LIMIT = 4_000_000_000
"""Bytes that a recording may have."""
UTTERANCES_LIMIT = 200_000
"""Timed stretches that a transcript may have: more words than are said in a day."""
_TIMINGS_FACTOR = 10  # a transcript's file is this much larger than what it says, at most

_READERS: dict[str, Callable[[str], list[Stretch]]] = {
    ".srt": _captions.read_srt,
    ".vtt": _captions.read_vtt,
    ".json": _recogniser.read_json,
}
_SOUND = {
    ".3gp", ".aac", ".aif", ".aiff", ".amr", ".caf", ".flac", ".m4a", ".m4b", ".mka", ".mkv", ".mov", ".mp3", ".mp4",
    ".oga", ".ogg", ".opus", ".wav", ".webm", ".wma",
}  # fmt: skip
_TRANSCRIBE = "Check the recording and transcribe it again"


def read_note(
    source: str | Path, *, stdin: BinaryIO | None = None, limit: int = NOTE_LIMIT, listener: Listener | None = None
) -> Note:
    """Read the note at ``source``, a path or ``-`` for standard input.

    ``stdin`` is the byte stream that ``-`` stands for (the process's own unless given); ``limit`` as ``NOTE_LIMIT``;
    ``listener`` writes recordings down. Raises ``NoteError``.
    """
    if str(source) == STANDARD_INPUT:
        stream = sys.stdin.buffer if stdin is None else stdin
        data = stream.read(limit * _TIMINGS_FACTOR + 1)
        if len(data) > limit * _TIMINGS_FACTOR:
            raise _too_large("standard input", limit)
        return note_from_bytes(data, source="standard input", name="stdin", limit=limit)
    path = Path(source)
    suffix = path.suffix.lower()
    if is_recording(source):
        sound_file(source)
        if listener is None:
            raise NoteError(
                str(source), "is a recording, and nobody listens to it", "Name a recogniser, or give a transcript"
            )
        return note_from_transcript(listener(path), source=str(path), name=stem_of(source), limit=limit)
    data = _bytes_of(path, limit * _TIMINGS_FACTOR if suffix in _READERS else limit)
    return note_from_bytes(data, source=str(path), name=stem_of(source), suffix=suffix or ".txt", limit=limit)


def note_from_bytes(data: bytes, *, source: str, name: str, suffix: str | None = None, limit: int = NOTE_LIMIT) -> Note:
    """``data`` as a note called ``name``; ``source`` is what a refusal calls it.

    ``suffix`` (``.srt``, ``.vtt``, ``.json``, anything else for typed text) names the form; without it a transcript
    is known by its first lines. Raises ``NoteError``.
    """
    try:
        text = decode(data)
        reader = _READERS.get(_form_of(text) if suffix is None else suffix)
        _refuse_if_blank(source, text)
        utterances: list[Utterance] = []
        if reader is not None:
            text, utterances = _stretches.join(reader(text))
            check_plain(text)
    except NotText as error:
        raise NoteError(source, str(error), error.mend) from None
    except Malformed as error:
        mend = "Mend that place or export the transcript again"
        raise NoteError(source, f"malformed transcript, {error}", mend) from None
    return _note(source, name, text, utterances, "typed" if reader is None else "transcript", limit)


def note_from_transcript(transcript: dict[str, Any], *, source: str, name: str, limit: int = NOTE_LIMIT) -> Note:
    """What a listener wrote down of a recording, as a note. Raises ``NoteError``."""
    text, utterances = _stretches.join(_recogniser.stretches_in(transcript))
    return _note(source, name, text, utterances, "audio", limit)


def is_recording(source: str | Path) -> bool:
    """Whether ``source`` is a sound file by its extension."""
    return Path(source).suffix.lower() in _SOUND


def sound_file(source: str | Path) -> Path:
    """The path of a sound file that can be opened and is not empty. Raises ``NoteError``."""
    path = Path(source)
    with _told(path):
        size = _about(path).st_size
        if size > SOUND_LIMIT:
            problem = f"is larger than a recording may be ({SOUND_LIMIT / 1e9:g} GB)"
            raise NoteError(str(path), problem, "Check that it is a note, and save it in a form that packs it tighter")
        if not size:
            raise NoteError(str(path), "is an empty recording", "Record it again or copy it again")
        path.open("rb").close()
    return path


def _note(source: str, name: str, text: str, utterances: list[Utterance], kind: NoteKind, limit: int) -> Note:
    if kind != "typed" and not text:
        raise NoteError(source, "the transcript holds no spoken words", _TRANSCRIBE)
    if len(text) > limit:
        raise _too_large(source, limit)
    if len(utterances) > UTTERANCES_LIMIT:
        problem = f"has {len(utterances):,} timed stretches, more than a note may have ({UTTERANCES_LIMIT:,})"
        raise NoteError(source, problem, "Check that it is a note, and split it by vehicle")
    return Note(name=name, kind=kind, text=text, utterances=utterances)


def stem_of(source: str | Path) -> str:
    """The name that a note and its outputs go by: the file's name without folder and extension."""
    if str(source) == STANDARD_INPUT:
        return "stdin"
    # A file name may hold bytes that are no text; a name must.
    return os.fsencode(Path(source).stem).decode("utf-8", "replace")


def _bytes_of(path: Path, limit: int) -> bytes:
    source = str(path)
    with _told(path):
        if _about(path).st_size > limit:
            raise _too_large(source, limit)
        with path.open("rb") as file:
            data = file.read(limit + 1)
    # A pipe tells no size beforehand.
    if len(data) > limit:
        raise _too_large(source, limit)
    return data


def _about(path: Path) -> os.stat_result:
    about = path.stat()
    if stat.S_ISDIR(about.st_mode):
        raise NoteError(str(path), "is a folder, not a note", f"Name the notes in it, such as {path / '*.txt'}")
    return about


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """What the system says against a file, as a ``NoteError``."""
    source = str(path)
    try:
        yield
    except FileNotFoundError:
        raise NoteError(source, "no such file", "Check the folder and the spelling") from None
    except PermissionError:
        raise NoteError(source, "may not be read by this user", "Change its permissions or copy it elsewhere") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise NoteError(source, f"cannot be read ({reason})", "Check the path and the disk, then try again") from None


def _form_of(text: str) -> str:
    if text.startswith("WEBVTT"):
        return ".vtt"
    if _captions.looks_like_srt(text):
        return ".srt"
    return ".json" if _recogniser.looks_like_json(text) else ".txt"


def _refuse_if_blank(source: str, text: str) -> None:
    if not text:
        raise NoteError(source, "is empty", "Put the note into it and try again")
    if not text.strip():
        raise NoteError(source, "is blank: spaces and line ends only", "Put the note into it and try again")


def _too_large(source: str, limit: int) -> NoteError:
    problem = f"is larger than a note may be ({limit / 1_000_000:g} MB)"
    return NoteError(source, problem, "Check that it is a note, and split it by vehicle")
