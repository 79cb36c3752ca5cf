"""What a recogniser writes that nobody said: the same over and over, and the words that it was told to expect."""

from __future__ import annotations

import re
import zlib

# Text that shrinks this much says little else than itself again; the figure that recognisers of this kind go by.
_SHRINKS = 2.4
# So many of the words to expect, one after the other as they were told, is no speech.
_ECHOED = 3


def made_up(text: str, primed_with: tuple[str, ...]) -> bool:
    """Whether ``text`` goes round in circles or only says back what the recogniser was primed with."""
    return _circles(text) or _echoes(text, primed_with)


def _circles(text: str) -> bool:
    data = text.encode()
    return len(data) >= 40 and len(data) / len(zlib.compress(data)) > _SHRINKS


def _echoes(text: str, primed_with: tuple[str, ...]) -> bool:
    flat = _flat(text)
    runs = (" ".join(map(_flat, primed_with[n : n + _ECHOED])) for n in range(len(primed_with) - _ECHOED + 1))
    return any(f" {run} " in f" {flat} " for run in runs)


def _flat(text: str) -> str:
    return " ".join(word for word in re.findall(r"\w+", text.lower()) if word != "the")
