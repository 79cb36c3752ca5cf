"""The audit as an HTML page: what comes first, what is drawn and what is told of it, and that nothing runs or is fetched."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest

import reports
from talkaround.audit.page import as_html, body
from talkaround.audit.page.charts import interval, p_chart
from talkaround.audit.report import Chart, Period

VOID = {"meta"}


class Element:
    def __init__(self, tag: str, attributes: dict[str, str]):
        self.tag, self.attributes = tag, attributes
        self.children: list[Element | str] = []

    @property
    def text(self) -> str:
        words = "".join(c if isinstance(c, str) else f" {c.text} " if c.tag in ("td", "th", "li", "p") else c.text
                        for c in self.children if isinstance(c, str) or c.tag not in ("style", "title"))  # fmt: skip
        return re.sub(r"\s+", " ", words).strip()

    def all(self, tag: str, **attributes: str) -> list[Element]:
        wanted = {k.rstrip("_"): v for k, v in attributes.items()}
        found: list[Element] = []
        for c in self.children:
            if isinstance(c, str):
                continue
            if c.tag == tag and all(v in c.attributes.get(k, "").split() for k, v in wanted.items()):
                found.append(c)
            found += c.all(tag, **attributes)
        return found


class Reader(HTMLParser):
    """Reads markup strictly: every element is closed in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("", {})
        self._open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {k: v or "" for k, v in attrs})
        self._open[-1].children.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self._open[-1].children.append(data)


def read(markup: str) -> Element:
    reader = Reader()
    reader.feed(markup)
    reader.close()
    assert len(reader._open) == 1, "something is left open"
    return reader.root


@pytest.fixture(scope="module")
def page() -> Element:
    return read(as_html(reports.rich()))


def row(section: Element, heading: str, who: str) -> Element:
    """The row of somebody in the table of a point."""
    table = next(d for d in section.all("details", class_="one-point") if d.all("h3")[0].text == heading)
    return next(r for r in table.all("tr") if r.all("th") and r.all("th")[0].text == who)


def section(page: Element, id: str) -> Element:
    return page.all("section", class_=id)[0]


def number(element: Element, name: str) -> float:
    return float(element.attributes[name].rstrip("%"))


@pytest.mark.parametrize("make", [reports.rich, reports.quiet, reports.empty], ids=lambda f: f.__name__)
def test_nothing_runs_and_nothing_is_fetched(make: object) -> None:
    markup = as_html(make())  # type: ignore[operator]
    root = read(markup)
    for tag in ("script", "link", "img", "iframe", "object", "base", "form"):
        assert not root.all(tag), tag
    assert "url(" not in markup and "@import" not in markup and "http://" not in markup and "https://" not in markup

    def walk(element: Element) -> None:
        for child in element.children:
            if isinstance(child, Element):
                # The desk's Content-Security-Policy leaves such styles out.
                assert "style" not in child.attributes, child.tag
                assert not [a for a in child.attributes if a.startswith("on")]
                assert child.attributes.get("href", "#").startswith("#")
                walk(child)

    walk(root)


def test_what_is_said_comes_before_all_figures(page: Element) -> None:
    main = page.all("main")[0]
    headings = [h.text for h in main.all("h2")]
    assert headings == [
        "What stands out", "Before and since: 2026-03-01, training on places", "Everybody, point by point", "By technician",
        "By shop", "By system", "Over time", "Agreement with the rule book", "Vehicles seen again",
        "Words that say nothing", "A sample to read by hand", "Remarks", "How to read this",
    ]  # fmt: skip
    before = main.text[: main.text.index("Everybody, point by point", main.text.index("Chart"))]
    for said in (
        "1,240 orders with 10,412 lines from 2025-06-02 to 2026-05-29, by 12 technicians in 3 shops",
        "not how anybody works on a vehicle", reports.STANDS_OUT, "front pads are getting low", reports.CHANGED,
        reports.BETTER,
    ):  # fmt: skip
        assert said in before, said
    out = section(page, "stands-out").text
    assert reports.NO_DIFFERENCE not in out, "what shows no difference does not stand out"
    row = next(r for r in section(page, "before-after").all("tr") if r.text.startswith("Reading given"))
    assert row.text.endswith("+1 (−5 to +7)")


def test_where_nothing_stands_out_it_says_so() -> None:
    rich = reports.rich()
    calm = rich.model_copy(update={"stands_out": [], "charts": rich.charts[1:2], "before_after": []})
    assert "Nothing stands out: nobody lies apart" in section(read(as_html(calm)), "stands-out").text
    one = read(as_html(reports.quiet()))
    assert "Nothing stands out; there is nobody to compare with." in section(one, "stands-out").text
    assert "Nobody lies apart" not in one.text
    empty = read(as_html(reports.empty()))
    assert "There was no order to audit." in section(empty, "stands-out").text
    assert "Nothing stands out" not in empty.text


def test_words_of_notes_and_names_are_words(page: Element) -> None:
    assert "<script>alert(1)</script> Left rear tire is bald." in page.text
    assert 'tires <worn> & "bald"' in page.text
    assert row(section(page, "technicians"), "Place given", "Dana & Sons <b>")


def test_nobody_is_ranked(page: Element) -> None:
    tables = section(page, "technicians").all("table")
    assert len(tables) == len(reports.POINTS) + 1
    for table in tables:
        names = [r.all("th")[0].text for r in table.all("tbody")[0].all("tr")]
        assert names == [t for t in reports.TECHNICIANS if t in names] and len(names) >= 11


def test_what_says_the_most_is_not_folded_up(page: Element) -> None:
    blocks = {d.all("h3")[0].text: d for d in section(page, "technicians").all("details", class_="one-point")}
    unfolded = [heading for heading, d in blocks.items() if "open" in d.attributes]
    assert unfolded == ["Reading given", "Right part came"]
    assert reports.STANDS_OUT in blocks["Reading given"].all("summary")[0].text
    assert "Nobody lies apart" in blocks["Place given"].all("summary")[0].text
    # Three shops are seen at a glance, and are not compared with each other.
    assert all("open" in d.attributes for d in section(page, "shops").all("details"))
    assert "lies apart" not in section(page, "shops").text


def test_a_row_tells_in_figures_what_it_draws(page: Element) -> None:
    gus = row(section(page, "technicians"), "Reading given", "Gus")
    # 37 of 120 is 30.8 of 100; its interval by Wilson's formula is 23.3 to 39.6 (worked out by hand).
    assert gus.all("td")[-1].text == "31% (23 to 40) 37 of 120"
    dot, line = gus.all("circle")[0], next(x for x in gus.all("line") if x.attributes["y1"] == x.attributes["y2"])
    assert number(dot, "cx") == pytest.approx(30.8, abs=0.1)
    assert (number(line, "x1"), number(line, "x2")) == pytest.approx((23.3, 39.6), abs=0.1)
    assert "Gus" in gus.all("title")[0].children[0]


def test_too_few_is_told_in_words_and_drawn_hollow(page: Element) -> None:
    technicians = section(page, "technicians")
    zed, ada = (row(technicians, "Reading given", who) for who in ("Zed", "Ada"))
    assert "too few to tell" in zed.text and "too few to tell" not in ada.text

    def look(r: Element) -> tuple[bool, bool]:
        line = next(x for x in r.all("line") if x.attributes["y1"] == x.attributes["y2"])
        return r.all("circle")[0].attributes["fill"] == "currentColor", "stroke-dasharray" in line.attributes

    assert look(ada) == (True, False)
    assert look(zed) == (False, True)


def test_what_was_never_due_has_no_mark() -> None:
    never = read(as_html(reports.quiet()))
    rows = [r for r in section(never, "everybody").all("tr") if "never due" in r.text]
    assert len(rows) == 1 and not rows[0].all("svg")


def test_every_drawing_says_what_it_shows(page: Element) -> None:
    drawings = page.all("svg", role="img")
    assert len(drawings) > 80
    for svg in drawings:
        assert str(svg.all("title")[0].children[0]).strip()
    for figure in page.all("figure"):
        said = figure.all("figcaption")[0].all("p")[0].text
        for svg in figure.all("svg"):
            title = svg.all("title")[0]
            assert title.attributes["id"] == svg.attributes["aria-labelledby"] and title.children == [said]


# ----- p-charts -------------------------------------------------------------------------------------------------------

CHART = Chart(
    who="", point="p", center=0.5, changed_from="d", sentence="It rose.",
    periods=[
        Period(period="a", met=40, due=100, lower=0.35, upper=0.65, outside=False),
        Period(period="b", met=0, due=0, lower=0, upper=1, outside=False),
        Period(period="c", met=20, due=100, lower=0.35, upper=0.65, outside=True),
        Period(period="d", met=60, due=100, lower=0.35, upper=0.65, outside=False),
        Period(period="e", met=320, due=400, lower=0.425, upper=0.575, outside=True),
    ],
)  # fmt: skip


def heights(chart: Chart) -> list[float]:
    """Where the marks stand, top of the drawing first; a diamond by its topmost corner and half its height."""
    svg = read(p_chart(chart, "t"))
    dots = [(number(c, "cx"), number(c, "cy")) for c in svg.all("circle")]
    for d in svg.all("path", class_="outside"):
        corners = [float(x) for x in re.findall(r"[\d.]+", d.attributes["d"])]
        dots.append((corners[0], corners[3]))
    return [y for _, y in sorted(dots)]


def test_a_p_chart_puts_each_share_at_its_height() -> None:
    a, c, d, e = heights(CHART)
    assert c > a > d > e, "the higher the share, the higher on the page"
    assert (c - a) == pytest.approx(a - d, abs=0.2) and (d - e) == pytest.approx(a - d, abs=0.2)
    svg = read(p_chart(CHART, "t"))
    assert len(svg.all("circle")) == 2 and len(svg.all("path", class_="outside")) == 2
    center = next(x for x in svg.all("line") if x.attributes.get("stroke-width") == "1.2")
    assert number(center, "y1") == pytest.approx((a + d) / 2, abs=0.2)


def test_limits_are_steps_that_stop_where_nothing_was_due() -> None:
    svg = read(p_chart(CHART, "t"))
    limits = [p for p in svg.all("path") if "stroke-dasharray" in p.attributes]
    assert len(limits) == 4, "an upper and a lower one, on each side of the gap"
    last = max(limits, key=lambda p: p.attributes["d"].count("H"))
    heights_of_steps = set(re.findall(r"V([\d.]+)", last.attributes["d"]))
    assert last.attributes["d"].count("H") == 3 and len(heights_of_steps) == 2


def test_the_change_is_marked_before_its_first_period() -> None:
    svg = read(p_chart(CHART, "t"))
    change = svg.all("g", class_="change")[0]
    assert change.text == "changed from d"
    # Between the marks of b (nothing due) and d, that is right of c and left of d.
    xs = sorted([number(x, "cx") for x in svg.all("circle")])
    c = float(re.findall(r"[\d.]+", svg.all("path", class_="outside")[0].attributes["d"])[0])
    assert c < number(change.all("line")[0], "x1") < xs[-1]
    assert not read(p_chart(CHART.model_copy(update={"changed_from": None}), "t")).all("g")


@pytest.mark.parametrize("many", [1, 2, 12, 52, 120])
def test_no_name_of_a_period_runs_into_the_next_or_over_the_edge(many: int) -> None:
    periods = [p.model_copy(update={"period": f"2026-W{n:02d}"}) for n, p in enumerate([CHART.periods[0]] * many)]
    svg = read(p_chart(CHART.model_copy(update={"periods": periods, "changed_from": None}), "t"))
    width = float(svg.all("svg")[0].attributes["viewbox"].split()[2])
    at = [number(t, "x") for t in svg.all("text") if t.text.startswith("2026")]
    # Eight characters of 12 units are at most 60 wide in the fonts of the page.
    assert at and all(b - a >= 60 for a, b in pairwise(at))
    assert all(30 <= x <= width - 30 for x in at)


def test_shares_at_the_ends_stay_in_the_drawing() -> None:
    for share in (0.0, 1.0):
        due = 50
        period = Period(period="a", met=round(share * due), due=due, lower=share, upper=share, outside=False)
        y = heights(Chart(who="", point="p", center=share, periods=[period], sentence="."))[0]
        assert 20 < y < 175
    drawn = read(interval(0, 1, None, few=True, name="nothing"))
    assert not drawn.all("circle")


def test_a_chart_has_its_numbers_as_a_table_too(page: Element) -> None:
    figure = next(f for f in section(page, "charts").all("figure") if f.all("h3")[0].text == "Reading given, Gus")
    cells = [[c.text for c in r.children if isinstance(c, Element)] for r in figure.all("tbody")[0].all("tr")]
    assert len(cells) == 12 and cells[0][:3] == ["2025-06", "8 of 12", "67%"]
    assert cells[4][1:4] == ["0 of 0", "-", "-"]


# ----- the rest -------------------------------------------------------------------------------------------------------


def test_who_plays_down_can_be_read_from_the_counts(page: Element) -> None:
    agreement = section(page, "agreement")
    whole = agreement.all("table", class_="ranks")[0]
    # Counted by hand from the table of the report: below its diagonal 24, above it 10, ten times each.
    assert "of 1,150 lines, 810 alike (framed), 240 played down (below the frames), 100 played up" in whole.text
    required = next(r for r in whole.all("tr") if r.text.startswith("required"))
    assert [(c.text, c.attributes["class"]) for c in required.all("td")] == [
        ("20", "down"), ("200", "same"), ("30", "up"), ("10", "up"), ("·", "up"),
    ]  # fmt: skip
    zed = next(r for r in agreement.all("tr") if r.text.startswith("Zed"))
    assert "not defined" in zed.text and not zed.all("svg")
    everybody = next(r for r in agreement.all("tr") if r.text.startswith("Everybody"))
    assert "0.66 (0.65 to 0.68)" in everybody.text


def test_a_kappa_below_chance_is_drawn_on_an_axis_that_reaches_there() -> None:
    report = reports.rich()
    worse = report.agreement[0].model_copy(update={"kappa": -0.2, "low": -0.4, "high": 0.0})
    table = section(read(body(report.model_copy(update={"agreement": [worse]}))), "agreement").all("table")[0]
    assert [t.text for t in table.all("text")] == ["−0.5", "0.25", "1"]
    # From -0.5 to 1, -0.2 is a fifth of the way.
    assert number(table.all("circle")[0], "cx") == pytest.approx(20)


def test_what_was_seen_again_leads_to_its_orders() -> None:
    report = reports.rich()
    linked = read(body(report, lambda order: f"/notes/{order}" if order.isdecimal() else ""))
    visits = section(linked, "visits")
    came_back = visits.all("div", class_="of-kind")[0]
    assert came_back.all("h3")[0].text == "Deferred, and came back: 14"
    first = came_back.all("li")[0]
    assert first.text == (
        "left front brake pad, 11111111111111111: suggested, 4 mm (order 12, 2025-09-01), then required, 2 mm "
        "(order 88, 2026-01-14)"
    )
    assert [a.attributes["href"] for a in first.all("a")] == ["/notes/12", "/notes/88"]
    long_named = next(x for x in section(linked, "stands-out").all("li") if "gray-wagon" in x.text)
    assert "/notes/gray" not in str([a.attributes for a in long_named.all("a")])
    assert not section(read(body(report)), "visits").all("a")


def test_a_reader_is_told_how_to_read_it(page: Element) -> None:
    told = section(page, "to-read-it").text
    for words in (
        "Wilson interval",
        "95 of 100",
        "no difference",
        "Nobody is ranked",
        "place given 3",
        "right part came 1",
    ):
        assert words in told, words
