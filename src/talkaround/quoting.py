"""Input as a refusal quotes it: on one line, cut short, and whatever it holds, fit to be printed."""

from __future__ import annotations

QUOTED = 40
"""Characters of an input that a refusal shows, unless it needs more."""


def clipped(text: str, width: int = QUOTED) -> str:
    """``text`` on one line and cut to ``width`` characters; halves of characters stand as question marks."""
    # Only so much can be seen, so a long text is not gone through to its end.
    flat = " ".join(text[: 10 * width].encode("utf-8", "replace").decode().split())
    return flat if len(flat) <= width else f"{flat[: width - 3]}..."


__all__ = ["QUOTED", "clipped"]
