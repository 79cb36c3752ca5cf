"""The recogniser itself: a faster-whisper model on this machine, found by name or folder. Nothing is ever fetched."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .listening import Said, Timed

if TYPE_CHECKING:
    from .sound import Samples

_INSTALL = "Install it from the folder of talkaround: python -m pip install '.[voice]'"
_HOW = '"Dictating" in README.md says how to get one'
# Parts of a model folder; the vocabulary is .txt or .json. Without the tokenizer the library would fetch one.
_NEEDED = ("model.bin", "config.json", "tokenizer.json", "vocabulary.*")
# Room for the words to expect, in the tokens of the model; it would take 223. No larger model was at hand to try more with.
_PRIMING_TOKENS = 70
# Tokens in a row that may be said again where it went in circles before; people do repeat a phrase.
_REPEATABLE = 9


class RecogniserError(Exception):
    """A recogniser that cannot be used: what is wrong, and how to mend it."""

    def __init__(self, problem: str, mend: str) -> None:
        super().__init__(problem, mend)
        self.problem = problem
        self.mend = mend

    def __str__(self) -> str:
        return f"{self.problem}. {self.mend}."


def load(name: str | None, expected: Iterable[str] = ()) -> Model:
    """The model called ``name``, a folder or the name of one that the library keeps on this machine.

    ``expected`` are words that it is primed with, most telling first, as many as there is room for.
    Raises ``RecogniserError``.
    """
    library = _library()
    if not name:
        raise RecogniserError(
            "is a recording, and no recogniser is given",
            f"Name a faster-whisper model folder with --recogniser or TALKAROUND_RECOGNISER; {_HOW}",
        )
    folder = _folder(library, name)
    missing = [part for part in _NEEDED if not any(folder.glob(part))]
    if missing:
        raise RecogniserError(
            f"the recogniser {folder} is no whole faster-whisper model folder: {missing[0]} is missing",
            f"Copy the folder again; {_HOW}",
        )
    try:
        return Model(
            library.WhisperModel(str(folder), device="cpu", compute_type="int8", local_files_only=True), expected
        )
    except Exception as error:
        reason = " ".join(str(error).split()) or type(error).__name__
        raise RecogniserError(
            f"the recogniser {folder} cannot be loaded ({reason[:200]})", f"Copy the folder again; {_HOW}"
        ) from None


class Model:
    """A loaded model, primed with trade words."""

    def __init__(self, model: Any, expected: Iterable[str] = ()) -> None:
        self._model = model
        self.primed_with = tuple(self._fitting(expected))

    def write_down(self, samples: Samples, *, primed: bool, careful: bool = False) -> Iterator[Said]:
        """As :class:`Recogniser` has it. One temperature only, as the others draw by chance."""
        found, _ = self._model.transcribe(
            samples,
            language="en",
            beam_size=5,
            temperature=0.0,
            condition_on_previous_text=False,
            no_repeat_ngram_size=_REPEATABLE + 1 if careful else 0,
            # The only prompt that is given again with each half minute.
            hotwords=_sentence(self.primed_with) if primed and self.primed_with else None,
            vad_filter=True,
            word_timestamps=True,
        )
        for segment in found:
            words = tuple(Timed(w.word, float(w.start), float(w.end)) for w in segment.words or ())
            yield Said(words, segment.avg_logprob, segment.no_speech_prob)

    def _fitting(self, expected: Iterable[str]) -> list[str]:
        chosen: list[str] = []
        for word in expected:
            if len(self._model.hf_tokenizer.encode(_sentence((*chosen, word))).ids) > _PRIMING_TOKENS:
                break
            chosen.append(word)
        return chosen


def _sentence(words: Iterable[str]) -> str:
    """As a sentence: a recogniser goes on in the manner of its prompt, and a bare list costs it full stops and articles."""
    return f"We look over the vehicle: the {', the '.join(words)}."


def _library() -> Any:
    try:
        with warnings.catch_warnings():
            # Of what the library itself imports; nothing that a user could mend.
            warnings.simplefilter("ignore")
            import faster_whisper
    except ImportError as error:
        what = "is not installed" if error.name == "faster_whisper" else f"does not work here ({error})"
        raise RecogniserError(f"is a recording, and sound needs the voice extra, which {what}", _INSTALL) from None
    return faster_whisper


def _folder(library: Any, name: str) -> Path:
    given = Path(name).expanduser()
    if given.is_dir():
        return given
    if given.exists():
        raise RecogniserError(f"the recogniser {given} is a file, and should be a folder of files", "Name the folder")
    try:
        return Path(library.download_model(name, local_files_only=True))
    except Exception:
        # Refused names and models that are not there come as errors of half a dozen kinds.
        raise RecogniserError(
            f'there is no folder "{name}", and no recogniser of that name on this machine',
            f"Nothing is fetched by itself; {_HOW}",
        ) from None
