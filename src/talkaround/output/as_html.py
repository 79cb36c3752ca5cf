"""The order as one HTML page that carries everything it needs: for the screen, the phone and the printer."""

from __future__ import annotations

import re
from collections.abc import Iterable
from importlib.resources import files

from talkaround.models import RepairOrder, Severity
from talkaround.output import _view
from talkaround.output._estimate_view import EstimateView, PriceRow
from talkaround.output._marks import SHAPES
from talkaround.output._markup import Safe as _Safe
from talkaround.output._markup import css_string
from talkaround.output._markup import el as _el
from talkaround.output._markup import join as _join
from talkaround.output._view import Aside, Entry, Group, Page, Quote, Report, Reread

# Nothing may be fetched and nothing may run, even if a note should find a way past the escaping.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_COLUMNS = ("No.", "What and where", "Found", "To do")


def render(order: RepairOrder) -> str:
    """One self-contained HTML document without script and without anything to fetch."""
    page = _view.page(order)
    title = f"Repair order: {page.heading or page.note_name}"
    style = files("talkaround.output").joinpath("order.css").read_text(encoding="utf-8")
    style = style.replace("RUNNING-FOOT", css_string(title))
    head = _join(
        (
            _Safe('<meta charset="utf-8">'),
            _Safe(f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'),
            _Safe('<meta name="viewport" content="width=device-width, initial-scale=1">'),
            _Safe('<meta name="color-scheme" content="light dark">'),
            _el("title", title),
            _el("style", _Safe(style)),
        )
    )
    body = _el(
        "main",
        _header(page),
        _concerns(page.concerns),
        _findings(page),
        _good(page.good),
        _cautions(page.cautions),
        _estimate(page.estimate, page),
        _sign_off(page),
        _for_the_shop(page),
    )
    language = "en-GB" if page.british else "en-US"
    return f'<!DOCTYPE html>\n<html lang="{language}">\n<head>{head}</head>\n<body>\n{body}\n</body>\n</html>\n'


def _mark(severity: Severity) -> _Safe:
    shape = f'<svg class="mark" viewBox="0 0 16 16" role="img" aria-label="{severity}">{SHAPES[severity]}</svg>'
    return _Safe(shape)


def _blank(said: str = "") -> _Safe:
    """Room for a pen on paper; ``said`` stands in its place on the screen."""
    return _el("span", _el("span", said, class_="unsaid") if said else "", class_="blank")


def _box(label: str) -> _Safe:
    return _el("span", _el("span", class_="box", aria_hidden="true"), label, class_="tick")


def _quotes(quotes: Iterable[Quote]) -> _Safe:
    said: list[str] = []
    for quote in quotes:
        at = ("\N{NO-BREAK SPACE}", _el("span", quote.clock, class_="clock")) if quote.clock else ()
        said += [" "] if said else []
        said.append(_el("span", _el("q", quote.text), *at))
    return _join(said)


def _whole(words: str) -> str:
    """The words as a sentence in which no number is parted from its unit at the end of a row."""
    return re.sub(r"(?<=\d) (?=\S)", "\N{NO-BREAK SPACE}", _view.sentence(words))


def _section(name: str, heading: str, *children: str) -> _Safe:
    return _el("section", _el("h2", heading, id=f"{name}-heading"), *children, class_=name,
               aria_labelledby=f"{name}-heading")  # fmt: skip


def _header(page: Page) -> _Safe:
    facts = [
        _el("div", _el("dt", label), _el("dd", value if value else _blank("not in the note")),
            class_="fact" if value else "fact unknown")
        for label, value in page.facts
    ]  # fmt: skip
    plans = [_el("div", _el("dt", label), _el("dd", text), class_="fact plan") for label, text in page.plans]
    counts = [_el("li", _mark(severity), " ", _el("b", str(count)), f" {severity}") for severity, count in page.tally]
    if page.questions:
        counts.append(
            _el(
                "li",
                _el("a", _el("b", str(len(page.questions))), " to ask back", href="#questions-heading"),
                class_="asks",
            )
        )
    return _el(
        "header",
        _shop(page.estimate),
        _el("p", _el("b", "Repair order"), _el("span", f"from the note {page.note_name}"), class_="kind"),
        _el("h1", page.heading) if page.heading else _el("h1", "Vehicle", _blank("not named in the note")),
        _el("dl", *facts, *plans, class_="facts"),
        _el("p", page.summary, class_="summary") if page.summary else "",
        _el("ul", *counts, class_="tally", aria_label="How many lines of each rank") if counts else "",
    )


def _concerns(concerns: tuple[Report, ...]) -> _Safe:
    items = []
    for concern in concerns:
        about = ", ".join(word for word in (concern.about, *concern.symptoms) if word)
        same = [q.text.strip(" .").casefold() for q in concern.quotes] == [concern.text.strip(" .").casefold()]
        items.append(
            _el(
                "li",
                _el("b", _quotes(concern.quotes) if same else concern.text),
                _join((" ", _el("span", about, class_="about"))) if about else "",
                "" if same or not concern.quotes else _el("p", _quotes(concern.quotes), class_="words"),
            )
        )
    none = _el("p", "The note reports nothing from the customer.", class_="none")
    return _section("concerns", "What the customer reports", _el("ul", *items) if items else none)


def _findings(page: Page) -> _Safe:
    if not page.groups:
        return _section("findings", "Findings", _el("p", "The note names nothing to do or to watch.", class_="none"))
    heads = [_el("th", name, scope="col") for name in (*_COLUMNS, f"State, {page.word('authorized')}?")]
    bodies: list[str] = []
    for group in page.groups:
        bodies.append(_group_head(group))
        bodies.extend(_finding(entry, page) for entry in group.entries)
    return _section("findings", "Findings", _el("table", _el("thead", _el("tr", *heads)), *bodies))


def _group_head(group: Group) -> _Safe:
    many = "line" if len(group.entries) == 1 else "lines"
    cell = _el(
        "th",
        _mark(group.severity),
        _el("span", group.heading, class_="plain"),
        " · ",
        _el("span", group.severity, class_="rank"),
        " · ",
        _el("span", f"{len(group.entries)} {many}", class_="count"),
        colspan="5",
        scope="rowgroup",
    )
    return _el("tbody", _el("tr", cell), class_=f"group {group.severity}")


def _title(entry: Entry) -> _Safe:
    where = _join((", ", _el("span", entry.position, class_="where"))) if entry.position else ""
    return _join((_el("span", entry.component, class_="component"), where))


def _finding(entry: Entry, page: Page) -> _Safe:
    asked = [_join((" ", _el("a", f"question {n}", href=f"#question-{n}"))) for n in entry.questions]
    has_more = bool(entry.quotes or entry.three_cs or entry.because)
    what = _el(
        "th",
        _title(entry),
        _el("span", "Open:", *asked, class_="open") if asked else "",
        scope="row",
        class_="what",
    )
    found = _el(
        "td",
        _el("div", _view.sentence(entry.found)) if entry.found else "",
        *(_el("div", _whole(reading), class_="reading") for reading in (*entry.brief_readings, *entry.codes)),
        _el("div", "Reported, not seen by the technician", class_="aside") if entry.reported else "",
        class_="found",
    )
    todo = _el(
        "td",
        _el("div", _el("b", entry.action), class_="action"),
        _el("div", "Part: ", entry.part) if entry.part else "",
        _el("div", "With it: ", ", ".join(entry.also)) if entry.also else "",
        _el("div", "Look at: ", ", ".join(entry.look_at)) if entry.look_at else "",
        class_="todo",
    )
    asked_for = _el("span", f"{page.word('authorized')}?", class_="narrow")
    state = _el(
        "td",
        _el("div", entry.state, class_="work") if entry.state else "",
        _el("div", asked_for, _box("yes"), " ", _box("no"), class_="agree") if entry.to_authorize else "",
        class_="state",
        rowspan="2" if has_more else "",
    )
    number = _el("td", _mark(entry.severity), " ", str(entry.number), class_="number")
    main = _el("tr", number, what, found, todo, state)
    more: list[str] = []
    if entry.quotes:
        more.append(_el("p", _quotes(entry.quotes), class_="words"))
    if entry.three_cs:
        pairs = (_el("div", _el("dt", label), _el("dd", said)) for label, said in entry.three_cs)
        more.append(_el("dl", *pairs, class_="three-cs"))
    if entry.because:
        reasons = (_el("li", reason) for reason in entry.because)
        more.append(_el("details", _el("summary", "Why it stands so"), _el("ul", *reasons), class_="why"))
    rest = _el("tr", _el("td", class_="gutter"), _el("td", *more, colspan="3", class_="more")) if has_more else ""
    return _el("tbody", main, rest, class_=f"line {entry.severity}", id=f"line-{entry.number}")


def _good(entries: tuple[Entry, ...]) -> _Safe:
    if not entries:
        return _Safe("")
    rows = [
        _el(
            "tr",
            _el("td", _mark("good"), " ", str(entry.number), class_="number"),
            _el("th", _title(entry), scope="row"),
            _el("td", _whole(entry.in_short), class_="found"),
            _el("td", _quotes(entry.quotes), class_="words"),
            id=f"line-{entry.number}",
        )
        for entry in entries
    ]
    heads = [_el("th", name, scope="col") for name in ("No.", "What and where", "Reading", "Words of the note")]
    table = _el("table", _el("thead", _el("tr", *heads)), _el("tbody", *rows))
    return _section("good", _view.HEADINGS["good"], table)


def _for_the_shop(page: Page) -> _Safe:
    """What the writer and the parts counter need and the customer does not: a sheet of its own on paper."""
    return _el(
        "div",
        _el("p", "For the shop, not for the customer’s copy", class_="copy"),
        _questions(page),
        _parts(page),
        _set_aside(page.asides),
        _mended(page.mended),
        class_="for-the-shop",
    )


def _parts(page: Page) -> _Safe:
    if not page.parts:
        return _Safe("")
    rows = []
    for part in page.parts:
        name = _join((_el("b", part.name), f", {part.where}" if part.where else ""))
        notes = "; ".join(w for w in (part.make, *part.why) if w)
        rows.append(
            _el(
                "tr",
                _el("td", part.state, class_="state"),
                _el("td", part.quantity, class_="count"),
                _el("th", name, scope="row"),
                _el("td", part.for_lines, class_="lines"),
                _el("td", notes, class_="note"),
            )
        )
    columns = ("State", "Count", "Part and place", "For", "Note")
    heads = [_el("th", name, scope="col", class_=name.split()[0].lower()) for name in columns]
    table = _el("table", _el("thead", _el("tr", *heads)), _el("tbody", *rows))
    together = [
        _el("li", _el("b", job.name), f": lines {', '.join(map(str, job.lines))}") for job in page.together
    ]  # fmt: skip
    one_job = f"One job each, so that the {page.word('labor')} is counted once:"
    jobs = (_el("p", one_job, class_="one-job"), _el("ul", *together, class_="together")) if together else ()
    return _section("parts", "Parts", table, *jobs)


def _questions(page: Page) -> _Safe:
    questions = page.questions
    if not questions:
        return _section("questions", "To ask back", _el("p", "Nothing is left open.", class_="none"))
    items = []
    for question in questions:
        about: str = ""
        if question.about:
            about = _el("a", f"line {question.line}: {question.about}", href=f"#line-{question.line}", class_="about")
        boxes = [_join((_box(choice), " ")) for choice in question.choices]
        if not boxes:
            boxes = [_el("span", class_="blank")]
        items.append(
            _el("li", _el("b", question.text), " " if about else "", about, _el("p", *boxes, class_="choices"),
                id=f"question-{question.number}")
        )  # fmt: skip
    more = _el("p", f"and {page.questions_left} more, less costly", class_="more") if page.questions_left else ""
    return _section("questions", "To ask back", _el("ol", *items), more)


def _set_aside(asides: tuple[Aside, ...]) -> _Safe:
    if not asides:
        return _Safe("")
    count = sum(len(aside.passages) for aside in asides)
    said = "1 passage" if count == 1 else f"{count} passages"
    items = []
    for aside in asides:
        passages: list[str] = []
        for quote, note in aside.passages:
            passages.append(_join((" ", _quotes((quote,)), f" ({note})" if note else "")))
        items.append(_el("div", _el("dt", aside.reason), _el("dd", *passages)))
    folded = _el("details", _el("summary", f"{said} of the note on no line of this order, and why"), _el("dl", *items))
    return _section("set-aside", "Set aside", folded)


def _mended(mended: tuple[Reread, ...]) -> _Safe:
    """For the writer on the screen: the customer's paper does without."""
    if not mended:
        return _Safe("")
    items = (_el("div", _el("dt", _el("q", m.heard)), _el("dd", m.read, " ", _el("span", m.how, class_="about")))
             for m in mended)  # fmt: skip
    summary = f"{len(mended)} {'wording' if len(mended) == 1 else 'wordings'} read otherwise than the note has them"
    folded = _el("details", _el("summary", summary), _el("dl", *items))
    return _section("mended", "Heard and read as", folded)


def _cautions(cautions: tuple[str, ...]) -> _Safe:
    if not cautions:
        return _Safe("")
    return _section("cautions", "Cautions", _el("ul", *(_el("li", text) for text in cautions)))


def _estimate(view: EstimateView, page: Page) -> _Safe:
    """What it costs, row by row, with room for a pen where no price is known."""

    def cell(value: str, class_: str) -> _Safe:
        return _el("td", value if value else _blank(), class_=class_)

    def block(heading: str, many: str, each: str, rows: tuple[PriceRow, ...]) -> list[str]:
        heads = [_el("th", heading, scope="col")]
        heads += [_el("th", name, scope="col", class_="figure") for name in (many, each, "Amount")]
        head = _el("tr", *heads, class_="heads")
        body = [
            _el(
                "tr",
                _el("th", row.what, " " if row.detail else "", _el("span", row.detail, class_="about") if row.detail else "",
                    scope="row"),
                cell(row.many, "figure many"),
                _el("td", class_="figure each") if row.many in ("fixed", "to fill") else cell(row.each, "figure each"),
                cell(row.amount, "figure amount"),
            )
            for row in rows
        ]  # fmt: skip
        return [_el("tbody", head, *body)] if rows else []

    sums = [
        _el("tr", _el("th", label, scope="row", colspan="3"), cell(value, "figure amount"))
        for label, value in view.sums
    ]
    total = _el("tr", _el("th", view.total_label, scope="row", colspan="3"), cell(view.total, "figure amount"),
                class_="total")  # fmt: skip
    table = _el(
        "table",
        *block("Parts", "How many", "Each", view.parts),
        *block(page.word("Labor"), "Hours", "An hour", view.labor),
        _el("tbody", *sums, total, class_="sums"),
    )
    rate = _el("p", f"{page.word('Labor')} rate and how it is reckoned: ", view.rate or _blank(), class_="rate")
    return _section(
        "estimate",
        "Estimate",
        table,
        _el("p", view.partial, class_="partial") if view.partial else "",
        rate,
        _el("p", f"Not charged: {view.left_out}.", class_="about") if view.left_out else "",
        _el("p", "Parts are new unless it says used, rebuilt or reconditioned. ", view.rounding, class_="about"),
        _el("h3", "Only if something must be taken apart to find the fault (not in the total)"),
        _el("div", *(_field(label, "wide", value) for label, value in view.tear_down), class_="row"),
    )


def _field(label: str, width: str = "", value: str = "") -> _Safe:
    filled = _el("span", value, class_="filled") if value else _blank()
    return _el("div", _el("span", label, class_="label"), filled, class_=f"field {width}".strip())


def _choice(label: str, *choices: str) -> _Safe:
    boxes = [_join((_box(c), " ")) for c in choices]
    return _el("div", _el("span", label, class_="label"), _el("span", *boxes), class_="field choice")


def _shop(view: EstimateView) -> _Safe:
    """Who writes this order, at the head of the paper."""
    return _el("div", *(_field(label, "", value) for label, value in view.shop), class_="shop")


def _sign_off(page: Page) -> _Safe:
    agreed_how = ("in person", "phone", "e-mail", "text")
    return _section(
        "sign-off",
        "Agreed and signed",
        _el("p", _view.REPLACED_PARTS, class_="beyond"),
        _el(
            "div",
            _choice("Replaced parts", "give back", "show", "not wanted"),
            _choice("Parts fitted", "new", "used", "rebuilt", "reconditioned"),
            class_="row choices",
        ),
        _el(
            "div",
            _el("h3", f"{page.word('Authorized')} before the work begins"),
            _field(f"{page.word('Authorized')} by", "wide"),
            _field("Date"),
            _field("Time"),
            _choice("How", *agreed_how),
            _field("Phone or e-mail", "wide", page.estimate.visit["phone"]),
            class_="row signatures",
        ),
        _el("p", "Work beyond this order only after the customer has agreed to it:", class_="beyond"),
        _el(
            "div",
            _field(f"Added parts and {page.word('labor')}", "full"),
            _field("Added cost"),
            _field("New total"),
            _field("Date"),
            _field("Time"),
            _field("Agreed by", "wide"),
            _field("Phone number called, or e-mail", "wide"),
            class_="row signatures",
        ),
        _el(
            "div",
            _el("h3", "When the work is done"),
            _field("Technician", "wide"),
            _field("Date"),
            _field("Odometer out"),
            class_="row signatures",
        ),
        _el("p", "Left and right are as seen from the driver’s seat. Quoted words are the technician’s own. ",
            _view.LOCAL_RULES, class_="foot"),
    )  # fmt: skip
