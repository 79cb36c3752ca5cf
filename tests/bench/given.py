"""What every reader is given: notes and vocabulary as plain data, for processes that may not have this project at all."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from itertools import cycle, islice
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
# Before whatever is installed.
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

_WORD = re.compile(r"\S+")
_TERMS = {"component": "part", "short": "part", "condition": "condition", "action": "action"}
# Which of our cues do what the general libraries know: turn what follows, or what went before, or nothing at all.
_CUES = {
    "negation": {"preceding": ("negation",), "following": ("ruled-out", "good"), "pseudo": ("pseudo-negation",)},
    "hypothesis": {"preceding": ("hypothetical",), "following": ("unsure", "unconfirmed"), "pseudo": ()},
}
_STOPS = ("except", "turn", "correction")


def notes(folder: Path | None) -> list[dict[str, Any]]:
    """The project's own notes, or those of a folder (read as of left-hand drive): ``note`` and ``steering`` of each."""
    if folder is None:
        from project_notes import every_note

        return [{"note": note.model_dump(), "steering": side} for note, side in every_note().values()]
    from talkaround.intake import NoteError, read_note

    files = sorted(p for p in folder.glob("*") if p.suffix in (".txt", ".srt", ".vtt", ".json"))
    if not files:
        raise SystemExit(f"{folder}: no notes there; name a folder that holds .txt, .srt, .vtt or .json files")
    try:
        return [{"note": read_note(path).model_dump(), "steering": "left-hand"} for path in files]
    except NoteError as error:
        raise SystemExit(str(error)) from None


def vocabulary() -> dict[str, Any]:
    """``terms`` (phrases by label) and ``cues`` (by aspect and way, and ``stops``) as the lexicon's files type them.

    Parts stand there in the singular, and are given in the plural too: the others fold no words.
    """
    from talkaround.vocabulary import read_lexicon
    from talkaround.vocabulary.schema import alternatives

    typed: dict[str, set[str]] = {}
    for (_, tag), (_, name) in read_lexicon().origins.items():
        typed.setdefault(tag.kind, set()).update(alternatives(name))
    terms: dict[str, set[str]] = {}
    for kind, label in _TERMS.items():
        terms.setdefault(label, set()).update(typed[kind])
    terms["part"] |= {name + "s" for name in terms["part"] if not name.endswith("s")}

    def phrases(kinds: tuple[str, ...]) -> list[str]:
        return sorted({name for kind in kinds for name in typed[kind]})

    cues = {aspect: {way: phrases(kinds) for way, kinds in ways.items()} for aspect, ways in _CUES.items()}
    # The lexicon's "isnt" has no apostrophe, which our folding takes away and spaCy's tokenizer cuts at.
    cues["negation"]["preceding"].append("n't")
    return {"terms": {label: sorted(names) for label, names in terms.items()}, "cues": cues, "stops": phrases(_STOPS)}


def words_in(text: str) -> int:
    return len(text.split())


def stretch(texts: list[str], words: int, first: int = 0) -> str:
    """Exactly so many words of the notes one after the other from the ``first``, from the front again at the end."""

    def joined() -> Iterator[str]:
        left = words
        for text in islice(cycle(texts), first, None):
            ends = [m.end() for m in islice(_WORD.finditer(text), left)]
            left -= len(ends)
            if ends:
                yield text[: ends[-1]]
            if not left:
                return

    return "\n".join(joined())
