"""The whole way of a note in a real browser: dictated or typed, mended by keys alone, answered, signed, printed."""

from __future__ import annotations

import json
import re

from playwright.sync_api import BrowserContext, Page, expect

from desk_process import PASSWORD, Desk
from in_browser import sign_in

TEN_LINES = """Gray sedan, 84,210 miles. Customer says it squeals in the morning.
Front brake pads are at 2 mm, need pads. Rear pads are at 7 mm, fine.
Left front lower ball joint has play, needs a ball joint.
Strut is leaking, needs a strut.
Right rear tire is at 3/32, needs a tire.
Serpentine belt is cracked, needs a belt. Air filter is dirty, needs one.
Battery tested good. Coolant is fine. Horn works."""


def first_account(page: Page, desk: Desk) -> None:
    page.goto(desk.url)
    page.get_by_label("Your name").fill("Ada Writer")
    page.get_by_label("A password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{desk.url}/")


def take(page: Page, desk: Desk, text: str) -> None:
    """Keep a typed note, and stand before its order."""
    page.goto(f"{desk.url}/take")
    page.get_by_label("What was seen and said").fill(text)
    page.get_by_role("button", name="Keep the note").click()
    page.wait_for_url(re.compile(r"/orders/\d+"))


class Keys:
    """The keyboard, and how often it was pressed."""

    def __init__(self, page: Page):
        self.page, self.pressed = page, 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.pressed += 1

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.pressed += len(text)

    def go(self, *keys: str) -> None:
        """Press keys of which the last one loads a page."""
        self.press(*keys[:-1])
        with self.page.expect_navigation():
            self.press(keys[-1])


def focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.id || document.activeElement.textContent"))


def test_from_a_typed_note_to_the_signed_paper_by_keys_alone(desk: Desk, tab: BrowserContext) -> None:
    page = tab.new_page()
    first_account(page, desk)
    page.goto(f"{desk.url}/take")
    page.get_by_label("What was seen and said").focus()
    page.keyboard.insert_text(TEN_LINES)
    page.get_by_role("button", name="Keep the note").focus()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/orders/\d+"))
    keys = Keys(page)
    expect(page.locator(".line")).to_have_count(10)

    # Every question, one key each; an answer may raise one more, and none comes back.
    settled: list[str] = []
    while page.locator(".ask").count():
        ask = page.locator(".ask.next")
        settled.append(ask.locator("p").inner_text())
        assert settled.count(settled[-1]) == 1
        keys.go("1" if ask.locator("button:not(.quiet)").count() else "0")
    assert len(settled) >= 3
    # A field by the shop's own word for it.
    page.locator("body").evaluate("document.activeElement.blur()")
    keys.press("j")
    before = page.evaluate("document.activeElement.querySelector('h3').textContent")
    keys.go("e")
    assert focused(page) == "component"
    keys.press("ControlOrMeta+a")
    keys.type("cabin filter")
    expect(page.locator("[role=option][aria-selected=true]")).to_contain_text("cabin air filter")
    keys.press("Enter")
    expect(page.locator("#component")).to_have_value("cabin air filter")
    keys.go("Enter")
    assert "abin air filter" in page.evaluate("document.activeElement.querySelector('h3').textContent")
    keys.go("u")
    keys.press("j")
    assert page.evaluate("document.activeElement.querySelector('h3').textContent") == before
    # Strike, and take it back.
    keys.go("s")
    expect(page.locator(".line")).to_have_count(9)
    keys.go("u")
    expect(page.locator(".line")).to_have_count(10)

    keys.go("g")
    expect(page.get_by_role("button", name=re.compile("^Sign as"))).to_be_focused()
    keys.go("Enter")
    expect(page.locator(".standing")).to_contain_text("Signed, revision 1")
    expect(page.locator(".edit-link")).to_have_count(0)
    order = page.url.split("#")[0]

    paper = tab.new_page()
    paper.goto(f"{order}/paper")
    expect(paper.locator("h1")).to_contain_text("sedan", ignore_case=True)
    assert paper.pdf()[:5] == b"%PDF-"
    signed = json.loads(paper.request.get(f"{order}/revisions/1.json").text())
    assert len(signed["lines"]) == 10
    assert signed["vehicle"]["odometer"] == {"value": 84210.0, "unit": "mi"}


def test_a_ten_line_note_is_signed_in_few_keys(desk: Desk, tab: BrowserContext) -> None:
    """Where nothing has to be mended: a key for each question, one to the signing page, and those that sign."""
    page = tab.new_page()
    first_account(page, desk)
    take(page, desk, TEN_LINES)
    keys = Keys(page)
    while page.locator(".ask").count():
        keys.go("1" if page.locator(".ask.next button:not(.quiet)").count() else "0")
        assert keys.pressed < 8
    keys.go("g")
    expect(page.get_by_role("button", name=re.compile("^Sign as"))).to_be_focused()
    keys.go("Enter")
    expect(page.locator(".standing")).to_contain_text("Signed, revision 1")


def test_touching_a_line_lights_its_words_and_touching_words_finds_the_line(desk: Desk, tab: BrowserContext) -> None:
    page = tab.new_page()
    first_account(page, desk)
    take(page, desk, TEN_LINES)
    page.locator(".line", has_text="Right rear").first.locator(".found").click()
    assert "3/32" in " ".join(page.locator("a.said.here").all_inner_texts())
    page.locator("a.said", has_text="Strut is leaking").first.click()
    assert "Strut" in page.evaluate("document.activeElement.querySelector('h3').textContent")


def test_two_writers_at_one_order_lose_nothing(desk: Desk, tab: BrowserContext) -> None:
    page = tab.new_page()
    first_account(page, desk)
    page.goto(f"{desk.url}/people")
    page.get_by_label("Name", exact=True).fill("Bo Writer")
    page.get_by_label("Role").select_option("writer")
    page.get_by_label("A password for the first time").fill(PASSWORD)
    page.get_by_role("button", name="Make the account").click()
    expect(page.get_by_role("status")).to_contain_text("Bo Writer")
    take(page, desk, TEN_LINES)
    order = page.url.split("#")[0]

    assert tab.browser is not None
    with tab.browser.new_context() as elsewhere:
        other = elsewhere.new_page()
        sign_in(other, desk, "Bo Writer")
        other.goto(order)
        for p in (page, other):
            p.locator(".line", has_text="Serpentine").get_by_role("link", name=re.compile("^Change")).click()
            p.wait_for_url(re.compile("edit="))
        page.get_by_label("Severity").select_option("monitor")
        page.get_by_role("button", name="Save the line").click()
        page.wait_for_url(re.compile("at="))
        other.get_by_label("Severity").select_option("unsafe")
        other.get_by_label("Correction").fill("Replace the belt today.")
        other.get_by_role("button", name="Save the line").click()
        expect(other.get_by_role("heading", level=1)).to_contain_text("meanwhile")
        expect(other.locator("main")).to_contain_text("Ada Writer")
        expect(other.locator("main")).to_contain_text("Replace the belt today.")
        other.get_by_role("button", name="Put mine in its place").click()
        other.wait_for_url(re.compile("at="))
        line = other.locator(".line", has_text="Serpentine")
        expect(line).to_contain_text("unsafe")
        expect(line).to_contain_text("Replace the belt today.")
        other.goto(f"{order}/history")
        expect(other.locator(".changes > li")).to_have_count(2)


def test_a_signed_order_is_frozen_and_a_later_change_is_a_numbered_revision(desk: Desk, tab: BrowserContext) -> None:
    page = tab.new_page()
    first_account(page, desk)
    take(page, desk, "Red pickup. Left front tire is at 1/32, replace it.")
    order = page.url.split("#")[0]

    def sign() -> None:
        page.goto(f"{order}/sign")
        if page.locator("#open-too").count():
            page.locator("#open-too").check()
        page.get_by_role("button", name=re.compile("Sign as")).click()
        expect(page.locator(".standing")).to_contain_text("Signed")

    sign()
    page.get_by_role("button", name="Open revision 2").click()
    page.get_by_label("Such as: left front tire is worn, replace").fill("right front tire is at 6/32, good")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".line")).to_have_count(2)
    sign()
    first, second = (json.loads(page.request.get(f"{order}/revisions/{n}.json").text()) for n in (1, 2))
    assert (len(first["lines"]), len(second["lines"])) == (1, 2)


def test_what_is_typed_outlives_a_closed_tab_and_goes_once_it_is_saved(desk: Desk, tab: BrowserContext) -> None:
    page = tab.new_page()
    first_account(page, desk)
    take(page, desk, "Red pickup. Left front tire is at 1/32, replace it. Horn works.")
    form = page.locator(".edit-link").first.get_attribute("href") or ""
    page.goto(desk.url + form)
    page.get_by_label("Correction").fill("Fit the tire that lies in the rack.")
    page.close()
    page = tab.new_page()
    page.goto(desk.url + form)
    expect(page.get_by_label("Correction")).to_have_value("Fit the tire that lies in the rack.")
    page.get_by_role("button", name="Save the line").click()
    page.wait_for_url(re.compile("saved="))
    expect(page.locator(".line").first).to_contain_text("Fit the tire that lies in the rack.")
    page.goto(desk.url + form)
    page.get_by_label("Correction").fill("")
    page.get_by_role("button", name="Save the line").click()
    page.wait_for_url(re.compile("saved="))
    page.goto(desk.url + form)
    expect(page.get_by_label("Correction")).to_have_value(
        "Replace the left front tire. This goes with it: wheel balance and valve stem."
    )
