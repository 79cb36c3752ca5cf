"""Somebody at a real browser, and what every page is held to there: axe-core's rules for WCAG 2.2 AA, and its width.

axe-core comes with the package ``axe-playwright-python``.
"""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from desk_process import PASSWORD, Desk

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def sign_in(page: Page, desk: Desk, name: str = "Ada", then: str = "/") -> None:
    page.goto(f"{desk.url}/sign-in?then={then}")
    fill_in(page, name)
    page.wait_for_url(f"{desk.url}{then}")


def fill_in(page: Page, name: str = "Ada") -> None:
    """The form of the sign-in page, which is open."""
    page.get_by_label("Your name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def keeps_the_rules(page: Page) -> None:
    found = Axe().run(page, options={"runOnly": RULES}).response["violations"]
    told = [f"{v['id']}: {n['html'][:150]} {n['failureSummary'][:200]}" for v in found for n in v["nodes"]]
    assert not told, "\n".join(told)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "the page is wider than the screen"
