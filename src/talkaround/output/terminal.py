"""The order as plain text for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

from talkaround.models import RepairOrder
from talkaround.output import _view
from talkaround.output._estimate_view import EstimateView
from talkaround.output._view import Entry, Page, Quote

WIDTH = 88


def render(order: RepairOrder, width: int = WIDTH) -> str:
    """The order in rows of at most ``width`` characters (40 or more), without colour or control characters."""
    rows: list[str] = []
    for indent, hang, text in _rows(_view.page(order)):
        if not text:
            if rows and rows[-1]:
                rows.append("")
            continue
        rows += textwrap.wrap(
            re.sub(r"[ \t\r\n]+", " ", text).strip(" "),
            max(width, 40),
            initial_indent=indent,
            subsequent_indent=hang,
            break_on_hyphens=False,
        )
    # No-break spaces have done their work once the rows are cut.
    return "\n".join(row.replace("\N{NO-BREAK SPACE}", " ").rstrip() for row in rows).strip("\n") + "\n"


_Row = tuple[str, str, str]
_EMPTY: _Row = ("", "", "")


def _heading(text: str) -> Iterator[_Row]:
    yield _EMPTY
    yield ("", "", text)


def _quotes(quotes: Iterable[Quote]) -> str:
    return " ... ".join(f'"{quote.text}"' + (f" ({quote.clock})" if quote.clock else "") for quote in quotes)


def _rows(page: Page) -> Iterator[_Row]:
    yield from _head(page)
    yield from _concerns(page)
    yield from _findings(page)
    yield from _parts(page)
    yield from _questions(page)
    yield from _asides(page)
    if page.mended:
        yield from _heading("HEARD AND READ AS")
        for mended in page.mended:
            yield ("  - ", "    ", f'"{mended.heard}": {mended.read} ({mended.how})')
    if page.cautions:
        yield from _heading("CAUTIONS")
        for text in page.cautions:
            yield ("  - ", "    ", text)
    if page.estimate.given:
        yield from _estimate(page.estimate, page)


def _head(page: Page) -> Iterator[_Row]:
    yield ("", "", f"REPAIR ORDER: {page.heading or page.note_name}")
    known = [f"{label} {value}" for label, value in page.facts if value]
    yield ("", "", " | ".join(known))
    for label, text in page.plans:
        yield ("", "  ", f"{label}: {text}")
    if page.summary:
        yield ("", "", page.summary)
    if page.tally:
        yield ("", "", ", ".join(f"{count} {severity}" for severity, count in page.tally))


def _concerns(page: Page) -> Iterator[_Row]:
    if not page.concerns:
        return
    yield from _heading("WHAT THE CUSTOMER REPORTS")
    for concern in page.concerns:
        yield ("  - ", "    ", concern.text)
        if concern.quotes and [q.text.lower() for q in concern.quotes] != [concern.text.lower()]:
            yield ("    ", "    ", _quotes(concern.quotes))


def _findings(page: Page) -> Iterator[_Row]:
    for group in page.groups:
        yield from _heading(f"{group.mark} {group.heading.upper()} ({group.severity})")
        for entry in group.entries:
            yield from _entry(entry)
    if not page.groups:
        yield from _heading("The note names nothing to do or to watch.")
    if page.good:
        yield from _heading(f"{_view.MARKS['good']} {_view.HEADINGS['good'].upper()} (good)")
        for entry in page.good:
            said = f"{entry.title}: {entry.in_short}" if entry.in_short else entry.title
            yield (f"{entry.number:>4}  ", " " * 6, said)


def _parts(page: Page) -> Iterator[_Row]:
    if not page.parts:
        return
    yield from _heading("PARTS")
    for part in page.parts:
        where = f", {part.where}" if part.where else ""
        make = f", {part.make}" if part.make else ""
        yield ("  - ", "    ", f"{part.state}: {part.quantity} {part.name}{where} ({part.for_lines}{make})")
    for job in page.together:
        yield ("    ", "    ", f"One job: {job.name}, lines {', '.join(map(str, job.lines))}")


def _questions(page: Page) -> Iterator[_Row]:
    if not page.questions:
        return
    inner = " " * 6
    yield from _heading("TO ASK BACK")
    for question in page.questions:
        line = f" (line {question.line})" if question.line is not None else ""
        yield (f"{question.number:>4}. ", inner, question.text + line)
        if question.choices:
            boxes = (f"[ ]\N{NO-BREAK SPACE}{choice}\N{NO-BREAK SPACE}" for choice in question.choices)
            yield (inner, inner, " ".join(boxes))
    if page.questions_left:
        yield (inner, inner, f"and {page.questions_left} more, less costly")


def _asides(page: Page) -> Iterator[_Row]:
    if not page.asides:
        return
    yield from _heading("SET ASIDE")
    for aside in page.asides:
        passages = (_quotes([quote]) + (f" ({note})" if note else "") for quote, note in aside.passages)
        yield ("  - ", "    ", f"{aside.reason}: {', '.join(passages)}")


def _estimate(view: EstimateView, page: Page) -> Iterator[_Row]:
    yield from _heading("ESTIMATE")
    for rows in (view.parts, view.labor):
        for row in rows:
            one_price = row.many in ("fixed", "to fill")
            reckoned = " × ".join(w for w in (row.many, row.each) if w and not one_price)
            what = row.what + (f" ({row.detail})" if row.detail else "")
            yield ("  - ", "    ", f"{what}: {reckoned + ' = ' if row.each and reckoned else ''}{row.amount or 'open'}")
    for label, value in (*view.sums, (view.total_label, view.total)):
        yield ("  ", "    ", f"{label}: {value or 'open'}")
    for text in (view.partial, f"{page.word('Labor')}: {view.rate}" if view.rate else "", view.rounding):
        if text:
            yield ("  ", "  ", text)


def _entry(entry: Entry) -> Iterator[_Row]:
    yield (f"{entry.number:>4}  ", " " * 6, entry.title)
    inner = " " * 6
    hang = " " * 8
    found = "; ".join((*entry.conditions, *entry.readings, *entry.codes))
    if found:
        yield (inner, hang, _view.sentence(found) + (" (reported, not seen)" if entry.reported else ""))
    state = f" ({entry.state.lower()})" if entry.state else ""
    yield (inner, hang, entry.to_do + state)
    if entry.questions:
        yield (inner, hang, f"Open: {', '.join(f'question {n}' for n in entry.questions)}")
    for label, said in entry.three_cs:
        yield (inner, hang, f"{label}: {said}")
    if entry.quotes:
        yield (inner, hang, _quotes(entry.quotes))
