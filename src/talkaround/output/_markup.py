"""HTML by function: what is not markup already is escaped."""

from __future__ import annotations

import html
from collections.abc import Iterable


class Safe(str):
    """Text that is markup already and must not be escaped again."""

    __slots__ = ()


def el(tag: str, *children: str, **attributes: str) -> Safe:
    """An element; children and attributes that are not markup are escaped. ``class_`` stands for ``class``."""
    attrs = "".join(f' {k.rstrip("_").replace("_", "-")}="{html.escape(v)}"' for k, v in attributes.items() if v)
    return Safe(f"<{tag}{attrs}>{join(children)}</{tag}>")


def join(children: Iterable[str]) -> Safe:
    """Markup one after the other; plain text among it is escaped."""
    return Safe("".join(c if isinstance(c, Safe) else html.escape(c) for c in children))


def css_string(text: str) -> str:
    """A string for a style sheet, every character by number: nothing in a note can then end it."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text[:70]) + '"'


__all__ = ["Safe", "css_string", "el", "join"]
