"""The order as Markdown: the same content in the same order as the printed page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from talkaround.models import RepairOrder
from talkaround.output import _view
from talkaround.output._estimate_view import EstimateView
from talkaround.output._view import Entry, Page, Quote

_ANYWHERE = re.compile(r"[\\`*_\[\]<>|~&$]|:(?=//)|(?<=www)\.|@(?=\w)|(?<=\w)@")
_BLANK = "________________"
_AT_START = re.compile(r"^(?:[#+\-=]|\d+(?=[.)]))")


def render(order: RepairOrder) -> str:
    """Markdown with tables and task lists; whatever the note holds is shown as it stands and formats nothing."""
    return "\n".join(_document(_view.page(order))).rstrip("\n") + "\n"


def _text(words: str) -> str:
    """Words on one row, with every mark that Markdown or HTML would act on made harmless."""
    escaped = _ANYWHERE.sub(lambda m: "\\" + m.group(), " ".join(words.split()))
    return _AT_START.sub(lambda m: m.group() + "\\" if m.group().isdigit() else "\\" + m.group(), escaped)


def _quotes(quotes: Iterable[Quote]) -> str:
    return " … ".join(f"“{_text(q.text)}”" + (f" ({q.clock})" if q.clock else "") for q in quotes)


def _document(page: Page) -> Iterator[str]:
    yield from _head(page)
    yield from _concerns(page)
    yield from _findings(page)
    yield from _good(page)
    yield from _parts(page)
    yield from _questions(page)
    yield from _asides(page)
    if page.mended:
        yield from ("## Heard and read as", "")
        yield from (f"- “{_text(m.heard)}”: {_text(m.read)} ({m.how})" for m in page.mended)
        yield ""
    if page.cautions:
        yield from ("## Cautions", "")
        yield from (f"- {_text(text)}" for text in page.cautions)
        yield ""
    yield from _estimate(page.estimate, page)
    yield from _to_sign(page)


def _head(page: Page) -> Iterator[str]:
    yield f"# Repair order: {_text(page.heading) if page.heading else _BLANK}"
    yield ""
    yield "; ".join(f"{label}: {_text(value) or _BLANK}" for label, value in page.estimate.shop)
    yield ""
    yield f"From the note {_text(page.note_name)}. Left and right are as seen from the driver’s seat."
    yield ""
    for label, value in page.facts:
        yield f"- {label}: {_text(value) if value else _BLANK}"
    for label, text in page.plans:
        yield f"- {label}: {_text(text)}"
    if page.summary:
        yield from ("", _text(page.summary), "")
    if page.tally:
        yield f"- Lines: {', '.join(f'{count} {severity}' for severity, count in page.tally)}"
    yield ""


def _concerns(page: Page) -> Iterator[str]:
    yield from ("## What the customer reports", "")
    for concern in page.concerns:
        about = ", ".join(_text(w) for w in (concern.about, *concern.symptoms) if w)
        yield f"- **{_text(concern.text)}**" + (f" ({about})" if about else "")
        if concern.quotes:
            yield f"  - From the note: {_quotes(concern.quotes)}"
    if not page.concerns:
        yield "The note reports nothing from the customer."
    yield ""


def _findings(page: Page) -> Iterator[str]:
    yield from ("## Findings", "")
    if not page.groups:
        yield from ("The note names nothing to do or to watch.", "")
    for group in page.groups:
        yield from (f"### {group.mark} {group.heading} ({group.severity})", "")
        for entry in group.entries:
            yield from _entry(entry, page)
        yield ""


def _good(page: Page) -> Iterator[str]:
    if not page.good:
        return
    yield from (f"## {_view.HEADINGS['good']}", "", "| No. | What and where | Reading | Words of the note |",
                "|---|---|---|---|")  # fmt: skip
    for entry in page.good:
        yield f"| {entry.number} | {_text(entry.title)} | {_text(entry.in_short)} | {_quotes(entry.quotes)} |"
    yield ""


def _parts(page: Page) -> Iterator[str]:
    if not page.parts:
        return
    yield from ("## Parts", "", "| State | Count | Part and place | For | Note |", "|---|---|---|---|---|")
    for part in page.parts:
        name = f"{part.name}, {part.where}" if part.where else part.name
        notes = "; ".join(w for w in (part.make, *part.why) if w)
        yield f"| {part.state} | {part.quantity} | {_text(name)} | {part.for_lines} | {_text(notes)} |"
    yield ""
    for job in page.together:
        yield f"- One job: {_text(job.name)}, lines {', '.join(map(str, job.lines))}"
    if page.together:
        yield ""


def _questions(page: Page) -> Iterator[str]:
    yield from ("## To ask back", "")
    for question in page.questions:
        about = f" (line {question.line}: {_text(question.about)})" if question.about else ""
        yield f"{question.number}. **{_text(question.text)}**{about}"
        for choice in question.choices or (_BLANK,):
            yield f"   - [ ] {choice if choice == _BLANK else _text(choice)}"
    if page.questions_left:
        yield f"{len(page.questions) + 1}. and {page.questions_left} more, less costly"
    if not page.questions:
        yield "Nothing is left open."
    yield ""


def _asides(page: Page) -> Iterator[str]:
    if not page.asides:
        return
    yield from ("## Set aside", "")
    for aside in page.asides:
        passages = (_quotes([quote]) + (f" ({_text(note)})" if note else "") for quote, note in aside.passages)
        yield f"- {aside.reason}: {', '.join(passages)}"
    yield ""


def _to_sign(page: Page) -> Iterator[str]:
    yield from ("", "## Agreed and signed", "", _text(_view.REPLACED_PARTS), "")
    yield "- Replaced parts: ☐ give back ☐ show ☐ not wanted"
    yield "- Parts fitted: ☐ new ☐ used ☐ rebuilt ☐ reconditioned"
    phone = _text(page.estimate.visit["phone"]) or _BLANK
    yield from ("", f"{page.word('Authorized')} before the work begins:", "")
    yield from (f"- {label}: {_BLANK}" for label in (f"{page.word('Authorized')} by", "Date", "Time"))
    yield "- How: ☐ in person ☐ phone ☐ e-mail ☐ text"
    yield f"- Phone or e-mail: {phone}"
    yield from ("", "Work beyond this order only after the customer has agreed to it:", "")
    added = (f"Added parts and {page.word('labor')}", "Added cost", "New total", "Date", "Time", "Agreed by",
             "Phone number called, or e-mail")  # fmt: skip
    yield from (f"- {label}: {_BLANK}" for label in added)
    yield from ("", "When the work is done:", "")
    yield from (f"- {label}: {_BLANK}" for label in ("Technician", "Date", "Odometer out"))
    yield from ("", _view.LOCAL_RULES)


def _estimate(view: EstimateView, page: Page) -> Iterator[str]:
    yield from ("## Estimate", "")
    for heading, many, each, rows in (
        ("Parts", "How many", "Each", view.parts),
        (page.word("Labor"), "Hours", "An hour", view.labor),
    ):
        if rows:
            yield from (f"| {heading} | {many} | {each} | Amount |", "|---|--:|--:|--:|")
            for row in rows:
                what = row.what + (f" ({row.detail})" if row.detail else "")
                cells = (row.many, "-" if row.many in ("fixed", "to fill") else row.each, row.amount)
                yield f"| {_text(what)} | {' | '.join('-' if c == '-' else _text(c) or '______' for c in cells)} |"
            yield ""
    for label, value in (*view.sums, (view.total_label, view.total)):
        yield f"- {_text(label)}: {_text(value) or _BLANK}"
    if view.partial:
        yield f"- {_text(view.partial)}"
    yield f"- {page.word('Labor')} rate and how it is reckoned: {_text(view.rate) or _BLANK}"
    if view.left_out:
        yield f"- Not charged: {_text(view.left_out)}."
    yield from ("", _text(f"Parts are new unless it says used, rebuilt or reconditioned. {view.rounding}"))
    yield from ("", "Only if something must be taken apart to find the fault (not in the total):", "")
    yield from (f"- {label}: {_text(value) or _BLANK}" for label, value in view.tear_down)


def _entry(entry: Entry, page: Page) -> Iterator[str]:
    yield f"- **{entry.number} · {_text(entry.component)}**" + (f", {_text(entry.position)}" if entry.position else "")
    if entry.questions:
        yield f"  - Open: {', '.join(f'question {n}' for n in entry.questions)}"
    found = "; ".join((*entry.conditions, *entry.readings, *entry.codes))
    if found:
        reported = " (reported, not seen by the technician)" if entry.reported else ""
        yield f"  - Found: {_text(found)}{reported}"
    yield f"  - To do: {_text(entry.to_do)}"
    if entry.state:
        agree = f"; {page.word('authorized')}: ☐ yes ☐ no" if entry.to_authorize else ""
        yield f"  - State: {entry.state}{agree}"
    for label, said in entry.three_cs:
        yield f"  - {label}: {_text(said)}"
    if entry.quotes:
        yield f"  - From the note: {_quotes(entry.quotes)}"
    for reason in entry.because:
        yield f"  - Why: {_text(reason)}"
