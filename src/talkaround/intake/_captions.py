"""Timed captions, .srt and .vtt, to stretches of speech."""

from __future__ import annotations

import html
import re

from ._problem import Malformed
from ._stretches import Stretch

_CLOCK = r"(?:(\d{1,3}):)?([0-5]?\d):([0-5]?\d)(?:[.,](\d{1,3}))?"
_TIMING = re.compile(rf"\s*{_CLOCK}\s*-->\s*{_CLOCK}(?:\s.*)?")
# Only the tags that captions have: "pads <3 mm" is speech.
_TAG = re.compile(
    r"</?(?:c|i|b|u|s|v|lang|ruby|rt|font)(?:[.\s][^<>]*)?>|<\d[\d.]*:[\d:.]+>|\{\\[^{}]*\}", re.IGNORECASE
)
_ENTITY = re.compile(r"&(?:amp|lt|gt|quot|nbsp|lrm|rlm|#\d{1,6}|#x[0-9a-f]{1,5});", re.IGNORECASE)
_SKIPPED_BLOCK = re.compile(r"(?:NOTE|STYLE|REGION)(?:\s|$)")
_LINE_END = re.compile(r"\r\n|\r|\n")

Lines = list[tuple[int, str]]
"""Line numbers from 1, each with its text."""


def read_srt(text: str) -> list[Stretch]:
    """The cues of an .srt file. Raises ``Malformed``."""
    return _cues(_numbered(text), "00:00:01,000 --> 00:00:04,000")


def read_vtt(text: str) -> list[Stretch]:
    """The cues of a .vtt file, its header and its NOTE, STYLE and REGION blocks left out. Raises ``Malformed``."""
    lines = _numbered(text)
    if not re.match(r"WEBVTT(?:\s|$)", lines[0][1]):
        raise Malformed("line 1", "the header WEBVTT", lines[0][1])
    spoken: Lines = []
    skipping = True
    for index, (number, line) in enumerate(lines):
        starts_block = index > 0 and not lines[index - 1][1].strip()
        if starts_block:
            skipping = _SKIPPED_BLOCK.match(line) is not None
        # A timing ends any block, also where the blank line before it was forgotten.
        if _TIMING.fullmatch(line):
            skipping = False
        if not skipping:
            spoken.append((number, line))
    return _cues(spoken, "00:01.000 --> 00:04.000")


def looks_like_srt(text: str) -> bool:
    """Whether the first or second line that is not blank is a timing."""
    first = [line for line in _LINE_END.split(text[:1000]) if line.strip()][:2]
    return any(_TIMING.fullmatch(line) for line in first)


def _numbered(text: str) -> Lines:
    return list(enumerate(_LINE_END.split(text), start=1))


def _cues(lines: Lines, example: str) -> list[Stretch]:
    """Each cue: a line of its own that names it (may be missing), a timing, then text up to a blank line."""
    stretches: list[Stretch] = []
    said: list[str] = []
    times: tuple[float, float] | None = None

    def close() -> None:
        if times is not None:
            stretches.append(Stretch(" ".join(said), *times))

    for index, (number, line) in enumerate(lines):
        if "-->" in line:
            close()
            times, said = _times(number, line, example), []
        elif not line.strip():
            close()
            times, said = None, []
        elif times is None:
            # The line that names a cue says nothing, so only what comes next is looked at.
            if not _timing_follows(lines, index):
                raise _no_timing(lines, index, f"a timing such as {example}")
        elif not (line.strip().isdigit() and _timing_follows(lines, index)):
            said.append(_plain(line))
    close()
    return stretches


def _timing_follows(lines: Lines, index: int) -> bool:
    return index + 1 < len(lines) and "-->" in lines[index + 1][1]


def _no_timing(lines: Lines, index: int, wanted: str) -> Malformed:
    number, line = lines[index]
    if not line.strip().isdigit():
        return Malformed(f"line {number}", f"a cue number or {wanted}", line)
    if index + 1 == len(lines):
        return Malformed(f"line {number + 1}", wanted, "the end of the file")
    return Malformed(f"line {lines[index + 1][0]}", wanted, lines[index + 1][1])


def _times(number: int, line: str, example: str) -> tuple[float, float]:
    match = _TIMING.fullmatch(line)
    if match is None:
        raise Malformed(f"line {number}", f"a timing such as {example}", line)
    start, end = _seconds(*match.groups()[:4]), _seconds(*match.groups()[4:])
    if end < start:
        raise Malformed(f"line {number}", "a cue that ends after it starts", line)
    return start, end


def _seconds(hours: str | None, minutes: str, seconds: str, fraction: str | None) -> float:
    whole = int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds)
    return float(f"{whole}.{fraction or 0}")


def _plain(line: str) -> str:
    return _ENTITY.sub(lambda found: html.unescape(found[0]), _TAG.sub("", line))
