"""Every page in both widths and both schemes, held to axe-core's rules for WCAG 2.2 AA in a real browser.

Those find what a machine can find; that the pages can be worked by keys alone is in ``test_whole_path``.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext

from desk_process import Desk, Person, line_keys, seen
from in_browser import fill_in, keeps_the_rules, sign_in

UNSAFE = (
    "Gray wagon. Left front lower ball joint is about to come apart, do not drive it. Strut is leaking. Horn works. "
    * 2
)
PAGES = {
    "orders": "/", "an order": "/orders/1", "its form": "edit", "taking back": "/orders/1?take=0-11#add-words",
    "history": "/orders/1/history", "signing": "/orders/1/sign", "signed": "/orders/2", "read again": "/orders/1/again",
    "take a note": "/take", "people": "/people", "shop's words": "/teach", "paper": "/orders/1/paper",
    "nothing there": "/orders/99",
}  # fmt: skip


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A desk with an open order that was changed, and a signed one."""
    desk = Desk(tmp_path_factory.mktemp("desk"))
    desk.start()
    ada = Person(desk.url)
    for n in (1, 2):
        order = ada.take(UNSAFE, f"page-{n:020}", description="Gray wagon", vin="11111111111111111", odometer="84210")
        page = ada.get(f"/orders/{order}").text
        ada.post(f"/orders/{order}/line/{line_keys(page)[-1]}", do="strike", seen=seen(page), token=f"token-{n}")
    page = ada.get("/orders/2/sign").text
    ada.post("/orders/2/sign", seen=seen(page), open_too="yes")
    ada.make("Tess", "technician")
    ada.close()
    yield desk
    desk.stop()


@pytest.fixture(scope="module", params=[(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")], ids=str)
def signed_in(request: pytest.FixtureRequest, filled: Desk, chromium: Browser) -> Iterator[BrowserContext]:
    width, scheme = request.param
    with chromium.new_context(viewport={"width": width, "height": 860}, color_scheme=scheme) as context:
        page = context.new_page()
        page.goto(filled.url)
        keeps_the_rules(page)
        fill_in(page)
        page.wait_for_url(f"{filled.url}/")
        page.close()
        yield context


@pytest.mark.parametrize("name", PAGES)
def test_a_pagekeeps_the_rules_and_fits_its_width(name: str, filled: Desk, signed_in: BrowserContext) -> None:
    page = signed_in.new_page()
    path = PAGES[name]
    if path == "edit":
        page.goto(f"{filled.url}/orders/1")
        path = page.locator(".edit-link").first.get_attribute("href") or ""
    page.goto(filled.url + path)
    keeps_the_rules(page)
    page.close()


def test_the_pages_work_without_a_script(filled: Desk, chromium: Browser) -> None:
    """Change a line, with a part by the shop's word for it, in a browser that runs no script."""
    with chromium.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        sign_in(page, filled)
        page.goto(f"{filled.url}/orders/1")
        page.locator(".edit-link").last.click()
        page.get_by_label("Component, by any name").fill("sway bar end")
        page.get_by_role("button", name="Save the line").click()
        # Not one part's name: the page asks which, with what was typed still there.
        assert page.get_by_label("Component, by any name").input_value() == "sway bar end"
        page.get_by_role("radio").first.check()
        page.get_by_role("button", name="Save the line").click()
        assert "sway bar" in page.locator(".line h3").last.inner_text().lower()
