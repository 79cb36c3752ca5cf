"""Taking a note on a phone: nothing that was said or typed is lost, and nothing is there twice."""

from __future__ import annotations

import re
import signal
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from desk_process import Desk, Person, browser
from in_browser import fill_in, sign_in

TYPED = "Left front tire is at 2/32, replace it."
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def phone(chromium: Browser) -> Iterator[BrowserContext]:
    """A phone with a microphone; an error in a script fails the test."""
    context = chromium.new_context(viewport=PHONE, permissions=["microphone"], has_touch=True)  # type: ignore[arg-type]
    errors: list[Any] = []
    context.on("weberror", lambda error: errors.append(error))
    yield context
    context.close()
    assert not errors, [str(e.error) for e in errors]


def at_the_take_page(context: BrowserContext, desk: Desk, name: str = "Ada") -> Page:
    """Signed in, with the page ready to open alone."""
    page = context.new_page()
    sign_in(page, desk, name, "/take")
    page.evaluate(
        """async () => { await navigator.serviceWorker.ready;
        for (let i = 0; i < 100 && !(await caches.match("/static/take.js") && await caches.match("/take")); i++)
          await new Promise((go) => setTimeout(go, 50)); }"""
    )
    return page


def record(page: Page, seconds: int = 2) -> None:
    """Start, and come back when so many seconds stand on the clock."""
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.locator("#record-clock")).to_have_text(f"0:0{seconds}", timeout=15_000)


def stop(page: Page) -> None:
    page.get_by_role("button", name="Stop and keep").click()


def settled(page: Page) -> None:
    """No recogniser is given here, and the page of the note has said so."""
    expect(page.locator("#wait")).to_contain_text("type what was said", timeout=20_000)


def notes(person: Person) -> int:
    """How many notes the desk holds."""
    found = re.search(r"to \d+ of (\d+)", person.get("/").text)
    return int(found[1]) if found else 0


def wait_for(what: Callable[[], bool], page: Page, seconds: float = 20) -> None:
    for _ in range(int(seconds * 10)):
        if what():
            return
        page.wait_for_timeout(100)
    raise AssertionError("it did not come true")


def sound_of(person: Person, note: int) -> bytes:
    answer = person.get(f"/notes/{note}/sound")
    assert answer.status_code == 200
    return answer.content


# ----- what is recorded stays on the phone until the desk has it --------------------------------------------------------


def test_a_recording_reaches_the_desk_and_leaves_the_phone(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    record(page)
    stop(page)
    page.wait_for_url(re.compile(r"/notes/1$"))
    # A WebM file begins with the EBML mark (RFC 8794, section 11.2.1).
    assert sound_of(writer, 1)[:4] == b"\x1aE\xdf\xa3"
    page.goto(f"{plain_desk.url}/take")
    expect(page.locator("#waiting")).to_be_hidden()


def test_a_lost_connection_keeps_a_recording_and_a_typed_note(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    phone.set_offline(True)
    record(page)
    stop(page)
    expect(page.locator("#record-state")).to_contain_text("It is sent when the desk can be reached")
    page.get_by_label("What was seen and said").fill(TYPED)
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#waiting-list li")).to_have_count(2)
    assert notes(writer) == 0
    phone.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=30_000)
    assert notes(writer) == 2
    # Which of the two goes first is the phone's to say.
    assert any("Left front tire" in writer.get(f"/notes/{note}").text for note in (1, 2))


def test_a_closed_tab_loses_at_most_its_last_second(plain_desk: Desk, writer: Person, phone: BrowserContext) -> None:
    page = at_the_take_page(phone, plain_desk)
    record(page, 4)
    page.close()
    again = phone.new_page()
    # Any page of the desk sends it.
    again.goto(f"{plain_desk.url}/")
    wait_for(lambda: notes(writer) == 1, again)
    again.goto(f"{plain_desk.url}/notes/1")
    settled(again)
    sound = again.locator("audio")
    length = sound.evaluate(
        """async (a) => { a.preload = "auto"; a.muted = true; a.currentTime = 0; await a.play();
        await new Promise((go) => a.addEventListener("ended", go)); return a.currentTime; }"""
    )
    assert length >= 2.5


def test_a_tab_that_still_records_is_left_alone_by_another(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    record(page, 2)
    other = phone.new_page()
    other.goto(f"{plain_desk.url}/take")
    expect(other.locator("#waiting")).to_be_hidden()
    expect(page.locator("#record-clock")).to_have_text("0:05", timeout=15_000)
    assert notes(writer) == 0
    stop(page)
    page.wait_for_url(re.compile(r"/notes/1$"))
    assert notes(writer) == 1


def test_notes_wait_for_a_desk_that_was_killed(plain_desk: Desk, writer: Person, phone: BrowserContext) -> None:
    page = at_the_take_page(phone, plain_desk)
    plain_desk.kill()
    # The page opens though nobody serves it.
    page.goto(f"{plain_desk.url}/take")
    record(page)
    stop(page)
    expect(page.locator("#waiting-list li")).to_have_count(1)
    expect(page.locator("#waiting-state")).to_contain_text("cannot be reached")
    plain_desk.start()
    page.get_by_role("button", name="Send them now").click()
    expect(page.locator("#waiting")).to_be_hidden(timeout=30_000)
    assert notes(writer) == 1
    assert sound_of(writer, 1)


def test_the_desk_killed_while_it_takes_a_note_has_it_once(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    """The note is in the store, its confirmation is lost on the way: the phone sends again, and it is there once."""
    page = at_the_take_page(phone, plain_desk)
    lose = True

    def swallow(route: Any) -> None:
        nonlocal lose
        if lose:
            lose = False
            route.fetch()
            plain_desk.kill()
            route.abort()
        else:
            route.continue_()

    page.route("**/api/notes", swallow)
    page.get_by_label("What was seen and said").fill(TYPED)
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#waiting-state")).to_contain_text("cannot be reached")
    plain_desk.start()
    page.get_by_role("button", name="Send them now").click()
    expect(page.locator("#waiting")).to_be_hidden(timeout=30_000)
    assert notes(writer) == 1


def test_two_tabs_send_one_note_once(plain_desk: Desk, writer: Person, phone: BrowserContext) -> None:
    page = at_the_take_page(phone, plain_desk)
    phone.set_offline(True)
    record(page)
    stop(page)
    expect(page.locator("#waiting-list li")).to_have_count(1)
    other = phone.new_page()
    other.goto(f"{plain_desk.url}/take")
    expect(other.locator("#waiting-list li")).to_have_count(1)
    phone.set_offline(False)
    for tab in (page, other):
        expect(tab.locator("#waiting")).to_be_hidden(timeout=30_000)
    assert notes(writer) == 1


def test_the_same_note_sent_twice_is_one(writer: Person) -> None:
    sent = {"key": "k" * 24, "text": TYPED}
    first, second = (writer.client.post("/api/notes", headers={"x-form-key": writer.key}, data=sent) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["note"] == second.json()["note"]
    assert second.json()["again"]
    other = writer.client.post("/api/notes", headers={"x-form-key": writer.key}, data={**sent, "text": "Horn works."})
    assert other.status_code == 400
    assert notes(writer) == 1


def test_what_was_recorded_outlives_the_browser(
    plain_desk: Desk, writer: Person, chromium: Browser, tmp_path: Path
) -> None:
    def opened() -> BrowserContext:
        return chromium.browser_type.launch_persistent_context(
            tmp_path / "profile",
            executable_path=browser(),
            viewport=PHONE,  # type: ignore[arg-type]
            permissions=["microphone"],
            args=["--no-sandbox", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"],
        )

    phone = opened()
    page = at_the_take_page(phone, plain_desk)
    phone.set_offline(True)
    record(page)
    stop(page)
    expect(page.locator("#waiting-list li")).to_have_count(1)
    phone.close()

    phone = opened()
    try:
        # A browser that was shut is signed out: it says so where it can, and sends when Ada is back.
        page = phone.new_page()
        phone.set_offline(True)
        page.goto(f"{plain_desk.url}/take")
        expect(page.locator("#waiting-list li")).to_have_count(1)
        phone.set_offline(False)
        sign_in(page, plain_desk)
        wait_for(lambda: notes(writer) == 1, page)
        assert sound_of(writer, 1)
    finally:
        phone.close()


def test_a_note_kept_while_signed_out_is_sent_after_signing_in(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    phone.clear_cookies()
    record(page)
    stop(page)
    expect(page.locator("#waiting-state")).to_contain_text("You are signed out")
    assert notes(writer) == 0
    page.get_by_role("link", name="Sign in").click()
    fill_in(page)
    page.wait_for_url(f"{plain_desk.url}/take")
    wait_for(lambda: notes(writer) == 1, page)
    expect(page.locator("#waiting")).to_be_hidden()


def test_a_note_of_one_person_is_never_sent_under_another(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    writer.make("Bo", "technician")
    bo = Person(plain_desk.url, "Bo")
    page = at_the_take_page(phone, plain_desk)
    phone.clear_cookies()
    record(page)
    stop(page)
    expect(page.locator("#waiting-list li")).to_have_count(1)
    sign_in(page, plain_desk, "Bo", "/take")
    expect(page.locator("#waiting-list")).to_contain_text("It waits here for Ada")
    # Bo's own note goes its way beside it.
    page.get_by_label("What was seen and said").fill(TYPED)
    page.get_by_role("button", name="Keep the note").click()
    page.wait_for_url(re.compile(r"/orders/\d+"))
    assert (notes(writer), notes(bo)) == (1, 1)
    sign_in(page, plain_desk, then="/take")
    wait_for(lambda: notes(writer) == 2, page)
    expect(page.locator("#waiting")).to_be_hidden()
    assert notes(bo) == 1
    bo.close()


def test_the_page_that_opens_alone_belongs_to_who_sits_there(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    writer.make("Bo", "technician")
    page = at_the_take_page(phone, plain_desk)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("/sign-in"))
    sign_in(page, plain_desk, "Bo")
    wait_for(lambda: bool(page.evaluate("caches.match('/take').then(Boolean)")), page)
    phone.set_offline(True)
    page.goto(f"{plain_desk.url}/take")
    expect(page.locator(".who")).to_have_text("Bo, technician")


def test_a_connection_that_hangs_does_not_keep_the_page_away(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    assert plain_desk.process is not None
    plain_desk.process.send_signal(signal.SIGSTOP)
    try:
        page.goto(f"{plain_desk.url}/take", timeout=15_000, wait_until="commit")
        expect(page.get_by_role("button", name="Record", exact=True)).to_be_visible(timeout=15_000)
    finally:
        plain_desk.process.send_signal(signal.SIGCONT)


def test_a_half_typed_note_is_there_when_the_page_comes_back(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    page.get_by_label("What was seen and said").fill(TYPED)
    page.get_by_label("Plate").fill("XYZ 123")
    page.close()
    page = phone.new_page()
    page.goto(f"{plain_desk.url}/take")
    expect(page.get_by_label("What was seen and said")).to_have_value(TYPED)
    expect(page.get_by_label("Plate")).to_have_value("XYZ 123")
    page.get_by_role("button", name="Keep the note").click()
    page.wait_for_url(re.compile(r"/orders/\d+"))
    # The vehicle went with its note.
    page.goto(f"{plain_desk.url}/take")
    expect(page.get_by_label("What was seen and said")).to_have_value("")
    expect(page.get_by_label("Plate")).to_have_value("")


# ----- what the desk does not take ---------------------------------------------------------------------------------------


def test_a_typed_note_with_a_wrong_vin_stays_in_the_form(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    page.get_by_label("What was seen and said").fill(TYPED)
    page.get_by_label("VIN").fill("1M8GDM9A0KP042788")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.get_by_role("alert")).to_contain_text("VIN 1M8GDM9A0KP042788")
    expect(page.get_by_label("What was seen and said")).to_have_value(TYPED)
    expect(page.locator("#waiting")).to_be_hidden()
    page.get_by_label("VIN").fill("1M8GDM9AXKP042788")
    page.get_by_role("button", name="Keep the note").click()
    page.wait_for_url(re.compile(r"/orders/\d+"))
    assert notes(writer) == 1


def test_a_recording_with_a_wrong_odometer_is_mended_and_sent(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    page.get_by_label("Odometer", exact=True).fill("abc")
    record(page)
    stop(page)
    expect(page.locator("#waiting-list .trouble")).to_contain_text("The odometer 'abc'")
    assert notes(writer) == 0
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save as a file").click()
    assert saved.value.path().read_bytes()[:4] == b"\x1aE\xdf\xa3"
    page.get_by_label("Odometer", exact=True).fill("84210")
    page.get_by_role("button", name="Send with the vehicle as below").click()
    page.wait_for_url(re.compile(r"/notes/1$"))
    assert notes(writer) == 1


OGG = b"OggS" + bytes(200)


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("note.exe", b"MZ" + bytes(50), "note.exe: is of no kind that can be read"),
        ("note", b"text", "note: is of no kind"),
        ("note.wav", b"", "note.wav: is empty"),
        ("note.txt", b"", "note.txt: is empty"),
        ("note.txt", b" \r\n ", "note.txt: is blank"),
        ("note.wav", OGG, "note.wav: is no .wav recording inside"),
        ("note.mp3", b"<html><script>alert(1)</script>", "note.mp3: is no .mp3 recording inside"),
        ("note.webm", TYPED.encode(), "note.webm: is no .webm recording inside"),
        ("note.txt", OGG, "note.txt: is a recording, not text"),
        ("note.txt", b"%PDF-1.7 and so on", "note.txt: is a PDF document"),
        ("note.txt", b"\xff\xfeL\x00e", "note.txt: begins like UTF-16 text and is damaged"),
        ("note.txt", b"Left front tire \x81\x8d", "note.txt: "),
        ("note.srt", b"no times in here", "note.srt: malformed transcript"),
        ("note.json", b"{", "note.json: malformed transcript"),
        ("../../etc/<script>alert(1)</script>.exe", b"MZ", "script&gt;.exe: is of no kind"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_clear_line_and_what_was_typed_stays(
    writer: Person, name: str, data: bytes, told: str
) -> None:
    fields = {"form_key": writer.key, "key": "k" * 24, "text": "", "description": "Gray sedan", "plate": "XYZ 123"}
    answer = writer.client.post("/take", data=fields, files={"file": (name, data)})
    assert answer.status_code == 400
    line = trouble_in(answer)
    assert told in line
    assert len(line) < 300
    assert "<script>alert" not in answer.text
    assert 'value="Gray sedan"' in answer.text
    assert 'value="XYZ 123"' in answer.text
    assert notes(writer) == 0


def trouble_in(answer: httpx.Response) -> str:
    found = re.search(r'role="alert" id="take-trouble">(.*?)</p>', answer.text, re.DOTALL)
    assert found, answer.text
    return found[1]


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ({"vin": "1M8GDM9A0KP042788"}, "VIN 1M8GDM9A0KP042788"),
        ({"odometer": "abc"}, "odometer"),
        ({"odometer": "-5"}, "odometer"),
        ({"text": " \n "}, "nothing to keep yet"),
    ],
)
def test_a_wrong_fact_is_one_clear_line_and_what_was_typed_stays(
    writer: Person, facts: dict[str, str], told: str
) -> None:
    fields = {"key": "k" * 24, "text": "\nTyped with care.", "description": "Gray sedan", **facts}
    answer = writer.post("/take", **fields)
    assert answer.status_code == 400
    assert told in trouble_in(answer)
    assert 'value="Gray sedan"' in answer.text
    if "text" not in facts:
        assert "Typed with care." in answer.text
    assert notes(writer) == 0


def test_a_typed_note_beside_a_file_is_not_dropped(writer: Person) -> None:
    fields = {"form_key": writer.key, "key": "k" * 24, "text": TYPED}
    answer = writer.client.post("/take", data=fields, files={"file": ("note.txt", b"Horn works.")})
    assert answer.status_code == 400
    assert TYPED in answer.text
    assert notes(writer) == 0


@pytest.mark.parametrize("name", ["../../etc/passwd.txt", "C:\\notes\\passwd.txt", "/passwd.txt", "\x00\x1bpasswd.txt"])
def test_a_file_name_is_only_a_name(writer: Person, name: str) -> None:
    fields = {"form_key": writer.key, "key": "k" * 24, "text": ""}
    answer = writer.client.post("/take", data=fields, files={"file": (name, TYPED.encode())})
    assert answer.url.path == "/orders/1"
    listed = writer.get("/").text
    assert "passwd" in listed or "tire" in listed
    assert "etc" not in listed
    assert "C:" not in listed


# ----- sound --------------------------------------------------------------------------------------------------------------


def test_a_player_can_start_anywhere_in_a_recording(writer: Person) -> None:
    data = b"\x1aE\xdf\xa3" + bytes(range(256)) * 4
    answer = writer.client.post(
        "/api/notes",
        headers={"x-form-key": writer.key},
        data={"key": "k" * 24},
        files={"file": ("note.webm", data)},
    )
    note = answer.json()["note"]

    def part(asked: str) -> httpx.Response:
        return writer.client.get(f"/notes/{note}/sound", headers={"range": asked})

    # RFC 9110, sections 14 and 15.3.7.
    for asked, begin, end in (("bytes=0-3", 0, 4), ("bytes=1000-", 1000, 1028), ("bytes=-8", 1020, 1028),
                              ("bytes=4-999999", 4, 1028)):  # fmt: skip
        answer = part(asked)
        assert answer.status_code == 206
        assert answer.content == data[begin:end]
        assert answer.headers["content-range"] == f"bytes {begin}-{end - 1}/1028"
        assert answer.headers["content-type"] == "audio/webm"
    past = part("bytes=5000-")
    assert past.status_code == 416
    assert past.headers["content-range"] == "bytes */1028"
    whole = part("bytes=" + "9" * 5000 + "-")
    assert whole.content == data


def test_a_recording_of_the_page_can_be_played_from_a_moment_in_it(
    plain_desk: Desk, writer: Person, phone: BrowserContext
) -> None:
    page = at_the_take_page(phone, plain_desk)
    record(page, 4)
    stop(page)
    page.wait_for_url(re.compile(r"/notes/1$"))
    settled(page)
    at = page.locator("audio").evaluate(
        """async (a) => { a.muted = true; a.currentTime = 2; await a.play();
        await new Promise((go) => setTimeout(go, 600)); return a.currentTime; }"""
    )
    assert 2.2 <= at <= 4


# ----- a phone in a gloved hand -------------------------------------------------------------------------------------------


def test_silence_is_told_within_a_few_seconds(
    plain_desk: Desk, writer: Person, chromium: Browser, tmp_path: Path
) -> None:
    silence = tmp_path / "silence.wav"
    with wave.open(str(silence), "wb") as w:
        w.setnchannels(1)
        w.setsampwidth(2)
        w.setframerate(48000)
        w.writeframes(bytes(2 * 48000))
    phone = chromium.browser_type.launch_persistent_context(
        tmp_path / "profile",
        executable_path=browser(),
        permissions=["microphone"],
        args=["--no-sandbox", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
              f"--use-file-for-fake-audio-capture={silence}"],
    )  # fmt: skip
    try:
        page = at_the_take_page(phone, plain_desk)
        record(page, 1)
        expect(page.locator("#record-state")).to_contain_text("no sound comes in", timeout=8_000)
        stop(page)
        page.wait_for_url(re.compile(r"/notes/1$"))
    finally:
        phone.close()


def test_sound_that_comes_in_shows(plain_desk: Desk, writer: Person, phone: BrowserContext) -> None:
    page = at_the_take_page(phone, plain_desk)
    record(page, 1)
    # The browser's own false microphone beeps once a second.
    loudest = page.locator("#record-level").evaluate(
        """async (m) => { let most = 0; for (let i = 0; i < 60; i++) {
        most = Math.max(most, m.value); await new Promise((go) => setTimeout(go, 50)); } return most; }"""
    )
    assert loudest > 0.2
    expect(page.locator("#record-state")).to_have_text("Recording.")
    stop(page)
    page.wait_for_url(re.compile(r"/notes/1$"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_gloved_thumb_reaches_everything(
    plain_desk: Desk, writer: Person, phone: BrowserContext, scheme: Any
) -> None:
    """Targets of 44 px at least (WCAG 2.2, 2.5.5), and recording in the lower half of the screen."""
    page = at_the_take_page(phone, plain_desk)
    page.emulate_media(color_scheme=scheme)
    for target in page.locator("main button, main input:not([type=hidden]):not([type=radio]), main select").all():
        if target.is_visible():
            box = target.bounding_box()
            assert box
            assert box["height"] >= 44, target.evaluate("(e) => e.outerHTML")
    box = page.get_by_role("button", name="Record", exact=True).bounding_box()
    assert box
    assert box["y"] > PHONE["height"] / 2
    assert box["y"] + box["height"] <= PHONE["height"]
    assert box["width"] > PHONE["width"] * 0.8
    expect(page.get_by_role("button", name="Stop and keep")).to_be_hidden()
    # What lies last on the page can be scrolled out from under it.
    keep = page.get_by_role("button", name="Keep the note")
    page.mouse.wheel(0, 5000)
    page.wait_for_timeout(300)
    keep.click(trial=True, timeout=3000)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
