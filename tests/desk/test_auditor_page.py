"""The auditor's page: who may open it, what is counted, and that it can be read in every width, on paper and without eyes."""

from __future__ import annotations

import re
import threading
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Route

import reports
from at_hand import Shop, Tab
from in_browser import keeps_the_rules
from talkaround.audit import Asked
from talkaround.audit.page import as_html
from talkaround.audit.report import Report
from talkaround.desk.pages import auditing


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Asked]:
    """What the page asked for; it is told the rich report each time."""
    wanted: list[Asked] = []

    def told(_store: object, _vocabulary: object, asked: Asked) -> Report:
        wanted.append(asked)
        return reports.rich()

    monkeypatch.setattr(auditing, "of_desk", told)
    return wanted


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_only_an_auditor_may_look(shop: Shop, asked: list[Asked]) -> None:
    for name in ("Tess", "Wren"):
        tab = shop.sit(name)
        for path in ("/audit", "/audit?period=month"):
            answer = tab.get(path)
            assert answer.status_code == 403 and "Only an auditor" in answer.text, (name, path)
        assert 'href="/audit"' not in tab.get("/").text
    assert shop.nobody().get("/audit?period=month", follow_redirects=False).status_code == 303
    assert asked == []
    aud = shop.sit("Aud")
    assert 'href="/audit"' in aud.get("/").text and aud.get("/audit").status_code == 200
    assert asked == [], "nothing is counted before it is asked for"
    assert "Gus" in aud.get("/audit?period=month").text


def test_what_was_chosen_is_what_is_counted(shop: Shop, asked: list[Asked]) -> None:
    page = shop.sit("Aud").get(
        "/audit?first=2026-01-05&last=2026-03-31&period=quarter&technician=Tess&system=brakes"
    ).text  # fmt: skip
    one = asked[0]
    assert (str(one.first), str(one.last), one.period) == ("2026-01-05", "2026-03-31", "quarter")
    assert (one.technicians, one.systems) == ({"Tess"}, {"brakes"})
    # What was chosen stands in the form again.
    for kept in ('value="2026-01-05"', 'value="2026-03-31"', "<option selected>quarter", "<option selected>Tess",
                 '<option value="brakes" selected>'):  # fmt: skip
        assert kept in page, kept
    shop.sit("Aud").get("/audit?first=&last=&period=week&technician=&system=&since=&what=&sample=&seed=")
    assert asked[1] == Asked(period="week")
    page = shop.sit("Aud").get("/audit?period=month&since=2026-02-01&what=training&sample=12&seed=7").text
    two = asked[2]
    assert (str(two.since), two.since_what, two.sample, two.seed) == ("2026-02-01", "training", 12, 7)
    for kept in ('value="2026-02-01"', 'value="training"', 'value="12"', 'value="7"'):
        assert kept in page, kept


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("first=soon&period=month", "is no day: write it as 2026-03-01"),
        ("first=2026-03-02&last=2026-03-01&period=month", "the first day, 2026-03-02, is after the last"),
        ("period=fortnight", "choose one of week, month, quarter, year"),
        ("period=month&technician=Nobody", "no technician &#39;Nobody&#39;"),
        ("period=month&since=soon", "is no day: write it as 2026-03-01"),
        ("period=month&sample=many", "is no number for how many to draw: write one from 0 to 1,000"),
        ("period=month&sample=99999", "is no number for how many to draw"),
        ("period=month&seed=-1", "is no number for the seed"),
        ("period=month&system=wings", "no system &#39;wings&#39;"),
    ],
)
def test_what_cannot_be_counted_is_told_in_a_line(shop: Shop, asked: list[Asked], query: str, told: str) -> None:
    answer = shop.sit("Aud").get(f"/audit?{query}")
    assert answer.status_code == 400 and told.lower() in answer.text.lower() and 'role="alert"' in answer.text
    assert asked == []


def test_the_desk_answers_while_it_counts_and_counts_one_at_a_time(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    started, go_on = threading.Event(), threading.Event()

    def slowly(*_: object) -> Report:
        started.set()
        assert go_on.wait(20)
        return reports.quiet()

    monkeypatch.setattr(auditing, "of_desk", slowly)
    aud, tess = shop.sit("Aud"), shop.sit("Tess")
    answers: list[Any] = []
    with aud.client:
        counting = threading.Thread(target=lambda: answers.append(aud.get("/audit?period=month")))
        counting.start()
        try:
            assert started.wait(20)
            # Both go through the same loop that serves the one that counts.
            assert aud.get("/").status_code == 200
            second = aud.get("/audit?period=month")
            assert second.status_code == 503 and "Another audit is being counted" in second.text
        finally:
            go_on.set()
            counting.join(20)
        assert answers[0].status_code == 200 and "Nothing stands out" in answers[0].text
        assert aud.get("/audit?period=month").status_code == 200
    assert tess.get("/audit").status_code == 403


def test_what_the_audit_needs_and_is_not_there_is_told(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def without(*_: object) -> Report:
        raise ModuleNotFoundError("No module named 'duckdb'", name="duckdb")

    monkeypatch.setattr(auditing, "of_desk", without)
    answer = shop.sit("Aud").get("/audit?period=month")
    assert answer.status_code == 503 and "The audit needs duckdb" in answer.text and "talkaround[audit]" in answer.text


def test_the_notes_of_the_desk_are_audited(shop: Shop) -> None:
    """The whole way: notes that were taken at this desk, counted as they were written."""
    tess, theo = shop.sit("Tess"), shop.sit("Theo")
    tess.take(
        "one", "Left front brake pads are at 2 mm, replace. Horn works.", vin="11111111111111111", odometer="84210"
    )
    tess.take("two", "Left rear tire is bald, replace it.")
    theo.take("three", "Ball joint is worn. Horn works.")
    page = shop.sit("Aud").get("/audit?period=month").text
    said = words(page)
    assert "this desk: 3 orders" in said and "2 technicians" in said
    # One of the three bears a VIN: 1 of 3, by hand.
    assert re.search(r"VIN Is the vehicle identification number there\?.*?33% \(\d+ to \d+\) 1 of 3", said), said[:3000]
    only = words(shop.sit("Aud").get("/audit?period=month&technician=Theo").text)
    assert "this desk: 1 order " in only
    assert re.search(r"VIN Is the vehicle identification number there\?.*?0% \(0 to \d+\) 0 of 1", only)


def test_an_example_leads_to_its_order(shop: Shop, asked: list[Asked]) -> None:
    page = shop.sit("Aud").get("/audit?period=month").text
    assert '<a href="/orders/41">order 41</a>' in page


# ----- in a browser ---------------------------------------------------------------------------------------------------


def _served_by(tab: Tab) -> Any:
    """Answers a browser's requests by the desk in this process, its headers with them."""

    def answer(route: Route) -> None:
        got = tab.get(route.request.url.removeprefix("http://desk.test"))
        route.fulfill(status=got.status_code, headers=dict(got.headers), body=got.content)

    return answer


SMALLEST = """[...document.querySelectorAll('.audit *')].filter(e => [...e.childNodes].some(n => n.nodeType == 3 &&
  n.textContent.trim())).filter(e => !e.closest('.hidden, title')).map(e => {
    const drawn = e.closest('svg'), scale = drawn && drawn.viewBox.baseVal && drawn.viewBox.baseVal.width
      ? drawn.getBoundingClientRect().width / drawn.viewBox.baseVal.width : 1
    return (drawn && !drawn.getBoundingClientRect().width) ? 99 : parseFloat(getComputedStyle(e).fontSize) * scale
  }).reduce((a, b) => Math.min(a, b))"""


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (390, "light")])
def test_the_desk_s_page_keeps_the_rules_and_fits(
    width: int, scheme: Any, shop: Shop, asked: list[Asked], chromium: Browser
) -> None:
    aud = shop.sit("Aud")
    with chromium.new_context(viewport={"width": width, "height": 860}, color_scheme=scheme) as context:
        page = context.new_page()
        refused: list[str] = []
        page.on("console", lambda m: refused.append(m.text) if "Content Security Policy" in m.text else None)
        page.route("**/*", _served_by(aud))
        page.goto("http://desk.test/audit")
        keeps_the_rules(page)
        page.get_by_label("System").select_option("brakes")
        page.get_by_role("button", name="Count").click()
        page.wait_for_url("**/audit?*system=brakes*")
        keeps_the_rules(page)
        assert asked[-1].systems == {"brakes"}
        # A drawing would stand 300 by 150 pixels without its style sheet.
        assert page.locator("td.drawn svg").first.bounding_box()["height"] == 20  # type: ignore[index]
        assert page.evaluate(SMALLEST) >= 11, "pixels of the smallest text"
        assert refused == [], "the Content-Security-Policy lets all of it stand"


@pytest.mark.parametrize(
    ("make", "width"), [(reports.rich, 1280), (reports.rich, 390), (reports.quiet, 390), (reports.empty, 390)]
)
def test_the_printable_page_keeps_the_rules_and_fits(width: int, make: Any, chromium: Browser, tmp_path: Path) -> None:
    (tmp_path / "audit.html").write_text(as_html(make()), "utf-8")
    with chromium.new_context(viewport={"width": width, "height": 860}) as context:
        page = context.new_page()
        page.goto((tmp_path / "audit.html").as_uri())
        keeps_the_rules(page)
        assert page.evaluate(SMALLEST) >= 11, "pixels of the smallest text"


@pytest.mark.parametrize("paper", [(794, "A4"), (816, "letter")], ids=lambda p: p[1])
def test_on_paper_nothing_is_cut_off_or_hidden(paper: tuple[int, str], chromium: Browser, tmp_path: Path) -> None:
    """The sheet is as wide as its paper at 96 pixels an inch, less the margins of 13 mm."""
    (tmp_path / "audit.html").write_text(as_html(reports.rich()), "utf-8")
    width = paper[0] - round(2 * 13 / 25.4 * 96)
    with chromium.new_context(viewport={"width": width, "height": 1000}) as context:
        page = context.new_page()
        page.goto((tmp_path / "audit.html").as_uri())
        page.emulate_media(media="print")
        over = page.evaluate(
            "[...document.querySelectorAll('main *')].filter(e => !e.closest('.hidden') && "
            "e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 120))"
        )
        assert over == []
        # What folds up on the screen stands open on paper.
        numbers = page.locator("#chart-0 table.numbers")
        assert numbers.bounding_box()["height"] > 50  # type: ignore[index]
