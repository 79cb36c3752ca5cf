"""A shop's folder and a copy of the shipped lexicon, to be written and damaged at will."""

import shutil
from pathlib import Path

import pytest

import talkaround.vocabulary
from lexicon_folders import Shop
from project_notes import ROOT


@pytest.fixture
def ours(tmp_path: Path) -> Shop:
    shop = Shop(tmp_path / "our lexicon")
    (shop.folder / "components").mkdir(parents=True)
    return shop


@pytest.fixture
def shop(ours: Shop) -> Path:
    return ours.folder


@pytest.fixture
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the shipped lexicon, used in its place."""
    folder = tmp_path / "lexicon"
    shutil.copytree(ROOT / "lexicon", folder)
    monkeypatch.setattr(talkaround.vocabulary, "shipped_folder", lambda: folder)
    return folder


@pytest.fixture(autouse=True)
def no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests leave nothing in the user's cache folder; those of the cache turn it on, in a folder of their own."""
    monkeypatch.setenv("TALKAROUND_NO_CACHE", "1")
