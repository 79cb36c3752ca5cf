"""A shop's folder and a copy of the shipped lexicon, to be written and damaged at will."""

import shutil
from pathlib import Path

import pytest

import talkaround.vocabulary
from project_notes import ROOT


class Shop:
    """A lexicon folder of a shop's own."""

    def __init__(self, folder: Path):
        self.folder = folder

    def write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return path


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
    """Tests leave nothing in the user's cache folder; those of the cache itself turn it on for a folder of their own."""
    monkeypatch.setenv("TALKAROUND_NO_CACHE", "1")
