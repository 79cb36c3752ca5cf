"""Lexicon folders that tests write."""

from pathlib import Path


class Shop:
    """A lexicon folder of a shop's own."""

    def __init__(self, folder: Path):
        self.folder = folder

    def write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return path
