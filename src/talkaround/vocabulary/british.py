"""US words and spellings as a UK reader has them, by the ``[british]`` table of ``spelling.toml``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache

from talkaround.vocabulary.files import shipped_folder

_QUOTED = re.compile("(“[^“”]*”)")


class British:
    """``British({"tire": "tyre"})("Both tires")`` is ``Both tyres``; the longest word or phrase that fits is taken.

    What stands in quotation marks was said so and stays.
    """

    def __init__(self, words: Mapping[str, str]):
        self._words = {us.lower(): uk for us, uk in words.items()}
        longest_first = sorted(self._words, key=len, reverse=True)
        choices = "|".join(re.escape(us) for us in longest_first)
        self._found = re.compile(rf"(?<![\w-])({choices})(s?)(?![\w-])", re.IGNORECASE) if choices else None

    def __call__(self, text: str) -> str:
        """``text`` in the UK reader's words; what stands in quotation marks stays as it is."""
        if self._found is None:
            return text
        parts = _QUOTED.split(text)
        return "".join(p if n % 2 else self._found.sub(self._replaced, p) for n, p in enumerate(parts))

    def _replaced(self, m: re.Match[str]) -> str:
        uk = self._words.get(m[0].lower())
        said = uk if uk is not None else self._words[m[1].lower()] + m[2]
        return said[:1].upper() + said[1:] if m[0][:1].isupper() and not m[0][:2].isupper() else said


@cache
def shipped_british() -> British:
    """The words of the shipped lexicon, for what is written from an order alone."""
    tables = tomllib.loads((shipped_folder() / "spelling.toml").read_text("utf-8"))
    return British(tables["british"])


__all__ = ["British", "shipped_british"]
