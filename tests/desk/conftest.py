"""Desks to test with. ``TALKAROUND_TEST_DESK=1`` makes a missing browser or PostgreSQL a failure instead of a skip."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, sync_playwright

from at_hand import Shop
from desk_process import Desk, Person, Postgres, browser, has_postgres
from project_notes import SAMPLES
from talkaround.desk.reader import Reader

MUST = os.environ.get("TALKAROUND_TEST_DESK") == "1"


def _missing(what: str) -> None:
    if MUST:
        pytest.fail(f"{what} is missing, and TALKAROUND_TEST_DESK=1 says that it must not be")
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    if not has_postgres():
        _missing("PostgreSQL")
    server = Postgres()
    yield server
    server.stop()


@pytest.fixture(scope="session")
def browsers() -> Iterator[BrowserType]:
    """What starts browsers; there can be only one of it in a process."""
    with sync_playwright() as p:
        yield p.chromium


@pytest.fixture(scope="session")
def chromium(browsers: BrowserType) -> Iterator[Browser]:
    path = browser()
    if path is None:
        _missing("Chromium")
    made = browsers.launch(
        executable_path=path,
        args=["--no-sandbox", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"],
    )
    yield made
    made.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def desk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty store, once in SQLite and once in PostgreSQL."""
    store = request.getfixturevalue("postgres").database() if request.param == "postgresql" else None
    made = Desk(tmp_path, store)
    made.start()
    yield made
    made.stop()


@pytest.fixture
def plain_desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty SQLite store."""
    made = Desk(tmp_path)
    made.start()
    yield made
    made.stop()


@pytest.fixture
def writer(plain_desk: Desk) -> Iterator[Person]:
    """The first account of ``plain_desk``."""
    person = Person(plain_desk.url)
    yield person
    person.close()


@pytest.fixture
def tab(chromium: Browser) -> Iterator[BrowserContext]:
    """A browser of one's own at desk width, with nothing in it yet; an error in a script fails the test."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, permissions=["microphone"])
    errors: list[Any] = []
    context.on("weberror", lambda error: errors.append(error))
    yield context
    context.close()
    assert not errors, [str(e.error) for e in errors]


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Reader:
    """Reads with the shipped lexicon; its shop has a place for words of its own, and none yet."""
    return Reader(tmp_path_factory.mktemp("shop") / "lexicon")


@pytest.fixture
def shop(tmp_path: Path, reader: Reader) -> Iterator[Shop]:
    """A desk in this process, with its people signed up."""
    made = Shop(tmp_path, reader)
    yield made
    made.close()


@pytest.fixture(scope="session")
def note() -> str:
    """A dictated sample note."""
    return (SAMPLES / "sedan-front-end-dictated.txt").read_text("utf-8")
