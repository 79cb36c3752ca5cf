"""The audit as one HTML page that carries everything it needs; its body is the desk's page of the audit too."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from importlib.resources import files

from talkaround.audit._wording import (
    CAUTION,
    TOO_FEW,
    VISIT_KINDS,
    between,
    counted,
    kappa_words,
    met_of,
    nothing,
    percent,
    played,
    said,
    scope_sentence,
    what_stands_out,
)
from talkaround.audit.page.charts import axis, interval, interval_legend, legend, p_chart
from talkaround.audit.report import Agreement, Chart, Example, Point, Report, Row, Seen, Share
from talkaround.models import SEVERITIES
from talkaround.output._markup import Safe, css_string, el, join
from talkaround.output._view import clean

# Nothing may be fetched and nothing may run, even if a note should find a way past the escaping.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"

_FEW_ROWS = 6
"""A table of no more rows is not folded up."""

Link = Callable[[str], str]
"""The name of an order -> the address of its page, empty where it has none."""


def look() -> str:
    """The style sheet of the body, for whatever page it stands on."""
    return files("talkaround.audit.page").joinpath("audit.css").read_text(encoding="utf-8")


def as_html(report: Report) -> str:
    """One self-contained HTML document without script and without anything to fetch, for screen, phone and A4 or letter."""
    title = "How findings are documented"
    sheet = files("talkaround.audit.page").joinpath("sheet.css").read_text(encoding="utf-8")
    foot = f"Audit of notes: {report.scope.place}"
    head = join(
        (
            Safe('<meta charset="utf-8">'),
            Safe(f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'),
            Safe('<meta name="viewport" content="width=device-width, initial-scale=1">'),
            Safe('<meta name="color-scheme" content="light">'),
            el("title", f"{title}: {report.scope.place}"),
            el("style", Safe(sheet.replace("RUNNING-FOOT", css_string(foot)) + look())),
        )
    )
    header = el("header", el("p", el("b", "Audit of notes"), class_="kind"), el("h1", title))
    main = el("main", header, body(report))
    return f'<!DOCTYPE html>\n<html lang="en-US">\n<head>{head}</head>\n<body>\n{main}\n</body>\n</html>\n'


def body(report: Report, link: Link = lambda order: "") -> Safe:
    """The report below its heading, as markup to stand on a page that has :func:`look`; ``link`` leads to an order."""
    sections = [section for section in _sections(report, link) if section]
    names = [el("li", el("a", heading, href=f"#{id}-heading")) for id, heading, _ in sections]
    contents = el("nav", el("ul", *names), class_="contents", aria_label="In this audit")
    whole = el(
        "div",
        el("p", scope_sentence(report.scope), class_="scope"),
        el("p", CAUTION, class_="caution"),
        contents,
        *(_section(*section) for section in sections),
        class_="audit",
    )
    return Safe(clean(whole))


Section = tuple[str, str, Sequence[str]]


def _sections(report: Report, link: Link) -> Iterator[Section]:
    """Id, heading and what stands below it, in the order of the page; none for what there is nothing of."""
    points = {p.id: p for p in report.points}
    yield "stands-out", "What stands out", _stands_out(report, link)
    if report.before_after:
        yield "before-after", f"Before and since: {report.marked}", _before_after(report, points)
    yield "everybody", "Everybody, point by point", _everybody(report)
    for id, heading, one, rows in (
        ("technicians", "By technician", "Technician", report.technicians),
        ("shops", "By shop", "Shop", report.shops),
        ("systems", "By system", "System", report.systems),
    ):
        if rows:
            yield id, heading, _by(one, rows, report)
    if report.charts:
        yield "charts", "Over time", _charts(report, points)
    if report.agreement:
        yield "agreement", "Agreement with the rule book", _agreement(report.agreement)
    if report.visits.vehicles:
        yield "visits", "Vehicles seen again", _visits(report, link)
    if report.empty_words:
        yield "empty-words", "Words that say nothing", _empty_words(report)
    if report.sample:
        yield "sample", "A sample to read by hand", _sample(report, link)
    if report.remarks:
        yield "remarks", "Remarks", (el("ul", *(el("li", r) for r in report.remarks), class_="sentences"),)
    yield "to-read-it", "How to read this", _how(report)


def _section(id: str, heading: str, children: Sequence[str]) -> Safe:
    return el("section", el("h2", heading, id=f"{id}-heading"), *children, class_=id, aria_labelledby=f"{id}-heading")


# ----- what comes first -----------------------------------------------------------------------------------------------


def _stands_out(report: Report, link: Link) -> Sequence[str]:
    if not what_stands_out(report):
        return (el("p", nothing(report), class_="nothing"),)
    items: list[Safe] = []
    for one in report.stands_out:
        examples = el("ul", *(_example(e, link) for e in one.examples), class_="examples") if one.examples else ""
        items.append(el("li", el("b", one.sentence), examples))
    for n, chart in enumerate(report.charts):
        if chart.changed_from is not None:
            items.append(el("li", el("b", chart.sentence), " ", el("a", "Chart", href=f"#chart-{n}")))
    items += [el("li", el("b", b.sentence)) for b in report.before_after if b.tells]
    return (el("ul", *items, class_="findings"),)


def _example(example: Example, link: Link) -> Safe:
    words = join((": ", el("q", example.words))) if example.words else ""
    return el("li", _order(example.order, link), *_day(example.date), words)


def _day(day: str) -> Sequence[str]:
    return (", ", el("span", day, class_="day")) if day else ()


def _order(name: str, link: Link) -> Safe:
    address = link(name)
    return el("a", f"order {name}", href=address) if address else join((f"order {name}",))


def _before_after(report: Report, points: dict[str, Point]) -> Sequence[str]:
    rows = [
        el("tr", el("th", _name(b.point, points), scope="row"), *(_figures(s) for s in (b.before, b.after)),
           el("td", f"{_signed(b.difference)} ({_signed(b.low)} to {_signed(b.high)})", class_="figures"))
        for b in report.before_after
    ]  # fmt: skip
    heads = ("Point", "Before", "Since", "Difference, points of 100")
    table = el("table", _heads(*heads), el("tbody", *rows), class_="numbers before-since")
    told = [b.sentence for b in report.before_after if b.tells]
    none = el("p", "These numbers show no difference.")
    return (el("ul", *(el("li", sentence) for sentence in told), class_="sentences") if told else none, table)


def _signed(x: float) -> str:
    rounded = round(x * 100)
    return "0" if not rounded else f"{'+' if rounded > 0 else '−'}{abs(rounded)}"


def _name(id: str, points: dict[str, Point]) -> str:
    name = points[id].name if id in points else id
    return name[:1].upper() + name[1:]


# ----- shares with their intervals ------------------------------------------------------------------------------------


def _everybody(report: Report) -> Sequence[str]:
    none = Share(met=0, due=0, low=0, high=1, few=True)
    bodies = []
    for p in report.points:
        share = report.everybody.points.get(p.id, none)
        label = el("th", el("span", _first_up(p.name), class_="name"), " ", el("span", p.asks, class_="question"),
                   scope="rowgroup", colspan="2")  # fmt: skip
        bodies.append(el("tbody", el("tr", label, class_="label"),
                         el("tr", el("td", _drawn(p.name, share), class_="drawn"), _figures(share))))  # fmt: skip
    if not bodies:
        return (el("p", "There is nothing to tell.", class_="about"),)
    table = el("table", _interval_heads(""), *bodies, class_="intervals points")
    return (interval_legend(""), table, *_score(report.everybody))


def _first_up(words: str) -> str:
    return words[:1].upper() + words[1:]


def _score(row: Row) -> Sequence[str]:
    s = row.score
    if s is None:
        return ()
    of = counted(s.orders, "note")
    return (
        el("p", f"All points together, weighted: a note keeps {percent(s.mean)} of what it is asked for "
                f"({between(s.low, s.high)}), the mean of {of}.", class_="score"),
    )  # fmt: skip


def _by(one: str, rows: list[Row], report: Report) -> Sequence[str]:
    """A small table a point, each with a row for everyone who was ever asked for it, by name."""
    compared = rows is report.technicians and len(rows) > 1
    tables: list[Safe] = []
    for point in report.points:
        those = [(r.who, r.points[point.id]) for r in rows if point.id in r.points]
        if not those:
            continue
        whole = report.everybody.points.get(point.id)
        beside = whole.share if whole else None
        apart = [s.sentence for s in report.stands_out if s.point == point.id] if compared else []
        said = [f"Everybody together: {percent(beside)}."] if beside is not None else []
        said += apart or (["Nobody lies apart from the others."] if compared else [])
        shown = [_share_row(who, f"{who}, {point.name}", share, beside) for who, share in those]
        tables.append(_one_point(_first_up(point.name), one, " ".join(said), shown, unfolded=bool(apart)))
    scored = [_mean_row(r) for r in rows if r.score]
    if scored:
        meant = "What a note keeps of what it is asked for, the mean of each one’s notes."
        tables.append(_one_point("All points together, weighted", one, meant, scored, unfolded=False))
    return (interval_legend("everybody together"), el("div", *tables, class_="figures-grid"))


def _one_point(heading: str, one: str, sentence: str, rows: Sequence[str], *, unfolded: bool) -> Safe:
    """Its sentence stands above the table, which is folded up on a screen where it is long and nobody stands out."""
    table = _interval_table(one, rows, el("span", f"{heading}: {sentence}", class_="hidden"))
    summary = el("summary", el("h3", heading), el("p", sentence))
    opened = "open" if unfolded or len(rows) <= _FEW_ROWS else ""
    return el("details", summary, table, class_="one-point", open=opened)


def _interval_table(one: str, rows: Sequence[str], caption: str) -> Safe:
    return el("table", el("caption", caption), _interval_heads(one), el("tbody", *rows), class_="intervals")


def _interval_heads(one: str, drawn: str = "Share and interval", figures: str = "Share, kept of due",
                    ends: tuple[str, str, str] = ("0", "50", "100%")) -> Safe:  # fmt: skip
    scale = el("th", el("span", drawn, class_="hidden"), axis(ends), scope="col", class_="drawn")
    return el("thead", el("tr", el("th", one, scope="col") if one else "", scale,
                          el("th", figures, scope="col", class_="figures")))  # fmt: skip


def _share_row(label: str, name: str, share: Share, beside: float | None = None) -> Safe:
    drawn = _drawn(name, share, beside)
    return el("tr", el("th", label, scope="row"), el("td", drawn, class_="drawn"), _figures(share))


def _drawn(name: str, share: Share, beside: float | None = None) -> str:
    if not share.due:
        return ""
    told = f"{name}: {percent(share.share)}, {between(share.low, share.high)}"
    return interval(share.low, share.high, share.share, few=share.few, name=told, beside=beside)


def _mean_row(row: Row) -> Safe:
    s = row.score
    assert s is not None
    told = f"{row.who}: {percent(s.mean)}, {between(s.low, s.high)}"
    figures = _figures_cell(percent(s.mean), between(s.low, s.high), counted(s.orders, "note"), s.few)
    drawn = interval(s.low, s.high, s.mean, few=s.few, name=told)
    return el("tr", el("th", row.who, scope="row"), el("td", drawn, class_="drawn"), figures)


def _figures(share: Share) -> Safe:
    if not share.due:
        return el("td", "never due", class_="figures")
    return _figures_cell(percent(share.share), between(share.low, share.high), met_of(share), share.few)


def _figures_cell(share: str, interval_: str, of: str, few: bool) -> Safe:
    parts = [el("b", share), " ", el("span", f"({interval_})"), " ", el("span", of, class_="of")]
    return el("td", *parts, *((" ", el("em", TOO_FEW)) if few else ()), class_="figures")


def _heads(*names: str) -> Safe:
    return el("thead", el("tr", *(el("th", name, scope="col") for name in names)))


# ----- over time ------------------------------------------------------------------------------------------------------


def _charts(report: Report, points: dict[str, Point]) -> Sequence[str]:
    charts = [_chart(n, chart, points) for n, chart in enumerate(report.charts)]
    return (legend(), el("div", *charts, class_="charts-grid"))


def _chart(n: int, chart: Chart, points: dict[str, Point]) -> Safe:
    whose = f"{_name(chart.point, points)}, {chart.who or 'everybody'}"
    rows = [
        el("tr", el("th", p.period, scope="row"), el("td", f"{p.met:,} of {p.due:,}"),
           el("td", percent(p.met / p.due if p.due else None)), el("td", between(p.lower, p.upper) if p.due else "-"),
           el("td", "beyond" if p.outside else ""))
        for p in chart.periods
    ]  # fmt: skip
    table = el("table", _heads("Period", "Kept of due", "Share", "Limits", ""), el("tbody", *rows), class_="numbers")
    drawn = p_chart(chart, f"chart-{n}-title") if any(p.due for p in chart.periods) else ""
    return el(
        "figure",
        el("figcaption", el("h3", whose), el("p", chart.sentence)),
        drawn,
        el("details", el("summary", "The numbers", el("span", f" of {whose}", class_="hidden")), table)
        if drawn
        else "",
        id=f"chart-{n}",
    )


# ----- agreement ------------------------------------------------------------------------------------------------------


def _agreement(agreements: list[Agreement]) -> Sequence[str]:
    least = min((a.low for a in agreements if a.low is not None), default=0.0)
    floor = 0.0 if least >= 0 else -0.5 if least >= -0.5 else -1.0
    ends = (f"{floor:g}".replace("-", "−"), f"{(floor + 1) / 2:g}", "1")
    rows = [_agreement_row(a, floor) for a in agreements]
    caption = (
        "Cohen’s kappa, linear weights: 1 where both always say the same, 0 where they agree as often as by chance."
    )
    heads = _interval_heads("Technician", "Kappa and interval", "Kappa, lines, played down and up", ends)
    table = el("table", el("caption", caption), heads, el("tbody", *rows), class_="intervals kappas")
    whole, rest = agreements[0], agreements[1:]
    others = [el("details", el("summary", a.who), _ranks(a)) for a in rest if a.lines]
    each = (el("h3", "The same, technician by technician"), *others) if others else ()
    return (
        el("p", "Lines on which the technician said how serious it is and the rule book says so too."),
        table,
        _ranks(whole),
        el("div", *each, class_="each-rank") if each else "",
    )


def _agreement_row(a: Agreement, floor: float) -> Safe:
    drawn: str = ""
    if a.kappa is not None and a.low is not None and a.high is not None:
        low, high, at = ((x - floor) / (1 - floor) for x in (a.low, a.high, a.kappa))
        drawn = interval(low, high, at, few=a.few, name=f"{a.who or 'Everybody'}: kappa {kappa_words(a)}")
    down, up = played(a)
    few = (" ", el("em", TOO_FEW)) if a.few else ()
    kappa, _, brackets = kappa_words(a).partition(" (")
    figures = (
        el("b", kappa), " ", el("span", brackets and f"({brackets}"), " ",
        el("span", counted(a.lines, "line"), class_="of"), " ",
        el("span", f"{down:,} down, {up:,} up", class_="of"), *few,
    )  # fmt: skip
    return el("tr", el("th", a.who or "Everybody", scope="row", class_="" if a.who else "whole"),
              el("td", drawn, class_="drawn"), el("td", *figures, class_="figures"))  # fmt: skip


def _ranks(a: Agreement) -> Safe:
    """The five by five counts; the diagonal is framed, what was played down lies below it and what was played up above."""
    down, up = played(a)
    same = a.lines - down - up
    rows = []
    for r, cells in enumerate(a.table):
        shown = [
            el("td", f"{n:,}" if n else "·", class_="same" if r == c else "down" if r > c else "up")
            for c, n in enumerate(cells)
        ]
        rows.append(el("tr", el("th", SEVERITIES[r], scope="row"), *shown))
    heads = el(
        "thead",
        el("tr", el("td", "said by the technician"), el("th", "by the rule book", scope="colgroup", colspan="5")),
        el("tr", el("td"), *(el("th", s, scope="col") for s in SEVERITIES)),
    )
    caption = (
        f"{a.who or 'Everybody'}: of {counted(a.lines, 'line')}, {same:,} alike (framed), {down:,} played down (below the "
        f"frames), {up:,} played up (above them)."
    )
    return el("table", el("caption", caption), heads, el("tbody", *rows), class_="ranks")


# ----- vehicles, words, sample ----------------------------------------------------------------------------------------


def _visits(report: Report, link: Link) -> Sequence[str]:
    v = report.visits
    told = el("p", f"{counted(v.seen_again, 'vehicle')} of {v.vehicles:,} that are known by VIN or plate "
                   f"{'was' if v.seen_again == 1 else 'were'} seen more than once.")  # fmt: skip
    blocks = []
    for kind, words in VISIT_KINDS.items():
        count, examples = v.counts.get(kind, 0), v.examples.get(kind, [])
        heading = el("h3", f"{_first_up(words)}: {count:,}")
        if not examples:
            blocks.append(el("div", heading, class_="of-kind"))
            continue
        first = f"The first {len(examples)}:" if count > len(examples) else ""
        seen = el("ul", *(_seen(s, link) for s in examples), class_="examples")
        blocks.append(el("div", heading, el("p", first, class_="about") if first else "", seen, class_="of-kind"))
    return (told, *blocks)


def _seen(s: Seen, link: Link) -> Safe:
    def visit(state: str, order: str, day: str) -> Safe:
        return join((f"{state} (" if state else "(", _order(order, link), *_day(day), ")"))

    return el("li", el("b", s.what), f", {s.vehicle}: ", visit(s.was, s.first, s.first_date), ", then ",
              visit(s.now, s.then, s.then_date))  # fmt: skip


def _empty_words(report: Report) -> Sequence[str]:
    rows = [el("tr", el("th", el("q", words), scope="row"), el("td", f"{n:,}")) for words, n in report.empty_words]
    table = el("table", _heads("Words", "Lines"), el("tbody", *rows), class_="numbers words-of-nothing")
    return (el("p", "Lines that say what is wrong with a part by these words alone."), table)


def _sample(report: Report, link: Link) -> Sequence[str]:
    s = report.sample
    assert s is not None
    told = (
        f"{counted(len(s.orders), 'order')} drawn at random; the seed {s.seed} draws the same again. To know a share of what "
        f"is found by hand to within {s.precision * 100:g} points of 100 takes {counted(s.needed, 'order')}."
    )
    items = []
    for order in s.orders:
        facts = ", ".join(w for w in (order.date, order.technician, order.shop) if w)
        heading = el("h3", join((_order(order.order, link),)), el("span", f" {facts}", class_="about"))
        items.append(el("li", heading, el("blockquote", order.text)))
    return (el("p", told), el("ol", *items, class_="drawn-orders"))


# ----- how to read it -------------------------------------------------------------------------------------------------


def _how(report: Report) -> Sequence[str]:
    of_100 = f"{report.scope.confidence * 100:g}"
    units = said(p.unit for p in report.points)
    explained = (
        ("Occasion", f"A point is due only where it applies: counted here by {', '.join(units) or 'line'}. “34 of 52” means "
                     "that it was due on 52 occasions and kept on 34 of them."),
        ("Interval", "The numbers in brackets are a Wilson interval: if audits like this one were made again and again, "
                     f"{of_100} of 100 such intervals would hold the true share."),
        ("Overlapping intervals", "Where two intervals overlap, these numbers show no difference between the two."),
        (_first_up(TOO_FEW), "So few occasions that nothing should be concluded from them; drawn hollow and dashed."),
        ("Standing out", "Whoever is named as standing out lies apart from all the others together even after the interval "
                         "was widened for the number of comparisons made, so that chance alone names nobody."),
        ("Order of the rows", "By name. Nobody is ranked."),
        ("Over time", "The dashed limits are where a period would lie by chance alone. They are wider where there is less "
                      "to count. A lasting change is one that the periods after it keep to."),
        ("Played down, played up", "The technician said that it is less serious than the rule book does, or more."),
    )  # fmt: skip
    weights = ", ".join(f"{p.name} {p.weight:g}" for p in report.points)
    terms = [el("div", el("dt", term), el("dd", meaning)) for term, meaning in explained]
    if weights:
        terms.append(el("div", el("dt", "Weights"), el("dd", f"All points together are weighted so: {weights}.")))
    return (el("dl", *terms),)


__all__ = ["Link", "as_html", "body", "look"]
