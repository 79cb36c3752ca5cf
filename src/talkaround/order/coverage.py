"""Every word of the note is accounted for: in evidence, or set aside with a reason."""

from __future__ import annotations

import re

from talkaround.models import SetAside

_WORD = re.compile(r"\w+")


def merged(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans in order, with those that touch or overlap made one."""
    out: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((begin, end))
    return out


def less(text: str, asides: list[SetAside], spans: list[tuple[int, int]]) -> list[SetAside]:
    """The asides without the characters of ``spans``; one that has a span in its middle becomes two."""
    for begin, end in spans:
        cut: list[SetAside] = []
        for a in asides:
            if end <= a.begin or a.end <= begin:
                cut.append(a)
                continue
            pieces = (_trimmed(text, a.begin, min(begin, a.end)), _trimmed(text, max(end, a.begin), a.end))
            cut += [a.model_copy(update={"begin": b, "end": e}) for b, e in pieces if b < e]
        asides = cut
    return asides


def _trimmed(text: str, begin: int, end: int) -> tuple[int, int]:
    """The stretch without the blanks and marks at its ends."""
    words = [m.span() for m in _WORD.finditer(text, begin, max(begin, end))]
    return (words[0][0], words[-1][1]) if words else (begin, begin)


def set_aside_rest(text: str, kept: list[tuple[int, int]], asides: list[SetAside]) -> list[SetAside]:
    """``asides`` less what stands in evidence, and as chatter every stretch with a word that neither holds."""
    covered = bytearray(len(text))
    for kept_begin, kept_end in kept:
        covered[kept_begin:kept_end] = b"\1" * (kept_end - kept_begin)
    out: list[SetAside] = []
    for a in sorted(asides, key=lambda a: (a.begin, a.end)):
        if any(not all(covered[m.start() : m.end()]) for m in _WORD.finditer(text, a.begin, a.end)):
            out.append(a)
            covered[a.begin : a.end] = b"\1" * (a.end - a.begin)
    begin: int | None = None
    end = 0
    for m in _WORD.finditer(text):
        if all(covered[m.start() : m.end()]):
            if begin is not None:
                out.append(SetAside(begin=begin, end=end, reason="chatter"))
                begin = None
            continue
        if begin is None:
            begin = m.start()
        end = m.end()
    if begin is not None:
        out.append(SetAside(begin=begin, end=end, reason="chatter"))
    return sorted(out, key=lambda a: (a.begin, a.end))
