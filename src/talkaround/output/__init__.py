"""A repair order as a file: JSON, Markdown, CSV, one HTML page, or a price file to fill in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from talkaround.models import RepairOrder

if TYPE_CHECKING:
    from talkaround.output._view import Page

SUFFIXES = {"json": ".json", "markdown": ".md", "csv": ".csv", "html": ".html", "prices": ".prices.toml"}
"""Every format that ``render`` knows, with the ending of its files."""


def render(order: RepairOrder, format: str) -> str:
    """The whole order as text in ``json``, ``markdown``, ``csv``, ``html`` or ``prices``.

    CSV keeps the CRLF line ends of RFC 4180, so write it without newline translation, in UTF-8 like the rest.
    Raises ValueError for any other format.
    """
    # Each format is imported only when asked for, so that the command line starts fast.
    if format == "json":
        from talkaround.output.as_json import render as render_json

        return render_json(order)
    if format == "markdown":
        from talkaround.output.as_markdown import render as render_markdown

        return render_markdown(order)
    if format == "csv":
        from talkaround.output.as_csv import render as render_csv

        return render_csv(order)
    if format == "html":
        from talkaround.output.as_html import render as render_html

        return render_html(order)
    if format == "prices":
        from talkaround.output.as_prices import render as render_prices

        return render_prices(order)
    raise ValueError(f"no output format {format!r}: choose one of {', '.join(SUFFIXES)}")


def in_words(order: RepairOrder) -> Page:
    """The order as the pages show it: every field in words, and every quotation a slice of the note."""
    from talkaround.output._view import page

    return page(order)
