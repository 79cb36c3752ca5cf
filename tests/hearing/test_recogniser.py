"""The recogniser: where it is looked for, what is said where it is missing or broken, and what it is told to expect.

A stand-in for the library takes the place of faster-whisper, so that nothing of the voice extra is needed.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from talkaround.hearing import RecogniserError, load
from talkaround.vocabulary import Vocabulary

PARTS = ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt")


class Library(ModuleType):
    """Knows one model by name; counts a word as one token and remembers what it was asked."""

    def __init__(self, folder: Path) -> None:
        super().__init__("faster_whisper")
        self.folder, self.asked, self.options = folder, [], {}
        self.broken: Exception | None = None

    def download_model(self, name: str, *, local_files_only: bool = False) -> str:
        self.asked.append((name, local_files_only))
        if name != "small-shop-model":
            raise ValueError(f"Invalid model size '{name}',\nexpected one of: ...")
        return str(self.folder)

    def WhisperModel(self, folder: str, **options: object) -> Any:
        if self.broken:
            raise self.broken
        self.options = {"folder": folder, **options}
        tokens = SimpleNamespace(encode=lambda text: SimpleNamespace(ids=text.split()))
        return SimpleNamespace(hf_tokenizer=tokens, transcribe=self.transcribe)

    def transcribe(self, samples: object, **options: object) -> tuple[list[Any], None]:
        self.options |= options
        return [], None


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Library:
    folder = tmp_path / "model"
    folder.mkdir()
    for part in PARTS:
        (folder / part).write_text("{}", encoding="utf-8")
    made = Library(folder)
    monkeypatch.setitem(sys.modules, "faster_whisper", made)
    return made


def refusal(make: Callable[[], object]) -> str:
    with pytest.raises(RecogniserError) as caught:
        make()
    line = str(caught.value)
    assert len(line.splitlines()) == 1
    return line


def test_without_the_extra_one_line_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "faster_whisper", None)
    line = refusal(lambda: load("anything"))
    assert "voice extra" in line
    assert "pip install '.[voice]'" in line


@pytest.mark.parametrize("name", [None, ""])
def test_without_a_model_one_line_says_how_to_name_and_get_one(library: Library, name: str | None) -> None:
    line = refusal(lambda: load(name))
    assert all(word in line for word in ("--recogniser", "TALKAROUND_RECOGNISER", "README.md"))


def test_a_model_is_found_by_its_folder_and_by_a_name_on_this_machine(library: Library) -> None:
    for name in (str(library.folder), "small-shop-model"):
        load(name)
        assert library.options["folder"] == str(library.folder)


@pytest.mark.parametrize(
    "name", ["tiny.en", "someone/some-model", "/no/such/folder", "C:\\models\\none", "https://x/y"]
)
def test_nothing_is_fetched_for_a_name_that_is_not_at_hand(library: Library, name: str) -> None:
    line = refusal(lambda: load(name))
    assert f'"{name}"' in line
    assert "Nothing is fetched" in line
    assert all(local for _, local in library.asked)


@pytest.mark.parametrize("missing", PARTS)
def test_a_folder_with_a_part_missing_is_told_before_the_library_fetches_it(library: Library, missing: str) -> None:
    (library.folder / missing).unlink()
    line = refusal(lambda: load(str(library.folder)))
    assert missing.split(".")[0] in line
    assert str(library.folder) in line


def test_a_broken_model_is_told_on_one_line(library: Library) -> None:
    library.broken = RuntimeError("File model.bin is incomplete:\nfailed to read 8 bytes at position 0")
    line = refusal(lambda: load(str(library.folder)))
    assert "incomplete" in line
    assert "Copy the folder again" in line


def test_a_file_is_no_model(library: Library) -> None:
    assert "is a file" in refusal(lambda: load(str(library.folder / "model.bin")))


def test_it_is_primed_with_the_first_words_that_there_is_room_for(library: Library) -> None:
    expected = [f"word{number}" for number in range(500)]
    model = load(str(library.folder), expected)
    assert list(model.primed_with) == expected[: len(model.primed_with)]
    list(model.write_down(None, primed=True))  # type: ignore[arg-type]
    prompt = str(library.options["hotwords"])
    # Half of a recogniser's context of 448 tokens, less one, is all that it would read (faster-whisper's own cut).
    assert 10 < len(prompt.split()) < 223
    assert "word0, the word1," in prompt
    list(model.write_down(None, primed=False))  # type: ignore[arg-type]
    assert library.options["hotwords"] is None


def test_the_same_sound_gives_the_same_words(library: Library) -> None:
    """Common practice: only temperature 0 draws nothing by chance."""
    list(load(str(library.folder)).write_down(None, primed=True))  # type: ignore[arg-type]
    assert library.options["temperature"] == 0


def test_the_shipped_words_to_expect_are_parts_and_sayings_of_the_trade(vocabulary: Vocabulary) -> None:
    first = vocabulary.expected[:8]
    assert {"ball joint", "brake pads", "caliper"} <= set(first)
    named = {p for p, tags in vocabulary.phrases.items() if any(tag.kind in ("component", "short") for tag in tags)}
    assert all(vocabulary.folder.phrase(word) in named for word in first)
