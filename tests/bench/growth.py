"""How the reading grows: ``growth.py note GIVEN WORDS KIND``, ``growth.py build GIVEN 0 [FOLDER]`` and
``growth.py lexicon GIVEN SECONDS [FOLDER]`` print figures as JSON.

A note of so many words is made of the given notes, one after the other. A lexicon is cut down by a shop's folder that
switches parts off, and extended by one that has parts with invented names.
"""

from __future__ import annotations

import json
import math
import random
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, get_args

from given import stretch
from readers import peak_mib
from talkaround.models import Note, NoteKind
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary, load_vocabulary, read_lexicon

_SHORT_NOTES_S = 0.5
"""Notes are read until this much time has gone by, seconds, so that a short one is no matter of chance."""
_NAMES_EACH = 12
_TABLES_A_FILE = 2_000
_TRADE_WORDS = "brake steering cooling door seat lamp pump valve bracket hose seal arm".split()


def note(given: dict[str, Any], words: int, kind: NoteKind) -> dict[str, float]:
    """``us_word``: microseconds a word of notes of that length; ``peak_mib``; ``lines`` of the last order."""
    vocabulary = load_vocabulary()
    texts = [one["note"]["text"] for one in given["notes"]]
    write_order(Note(name="warm", text=stretch(texts, 500), kind=kind), vocabulary=vocabulary)
    took, read, lines = 0.0, 0, 0
    while took < _SHORT_NOTES_S:
        made = Note(name="joined", text=stretch(texts, words, first=read), kind=kind)
        begun = time.perf_counter()
        lines = len(write_order(made, vocabulary=vocabulary).lines)
        took += time.perf_counter() - begun
        read += 1
    return {"us_word": took / read / words * 1e6, "lines": lines, "peak_mib": peak_mib()}


def lexicon(given: dict[str, Any], seconds: float, shop: Path | None) -> dict[str, float]:
    """``names`` of parts, ``load_s`` (from the cache where it is kept), ``words_s`` and ``peak_mib``."""
    begun = time.perf_counter()
    vocabulary = load_vocabulary(shop)
    load_s = time.perf_counter() - begun
    notes = [(Note.model_validate(one["note"]), one["steering"]) for one in given["notes"]]
    words = sum(len(made.text.split()) for made, _ in notes)

    def once() -> float:
        begun = time.perf_counter()
        for made, side in notes:
            write_order(made, vocabulary=vocabulary, steering=side)
        return time.perf_counter() - begun

    once()
    times: list[float] = []
    while sum(times) < seconds or not times:
        times.append(once())
    return {
        "names": len(part_names(vocabulary)), "load_s": load_s, "words_s": words * len(times) / sum(times),
        "peak_mib": peak_mib(),
    }  # fmt: skip


def built(shop: Path | None) -> dict[str, float]:
    """``built_s``: seconds to build the lexicon from its files; it is then kept in the cache."""
    begun = time.perf_counter()
    read_lexicon(shop)
    built_s = time.perf_counter() - begun
    load_vocabulary(shop)
    return {"built_s": built_s}


def part_names(vocabulary: Vocabulary) -> list[tuple[str, ...]]:
    """Every phrase that names a part, alone or shared."""
    return [p for p, tags in vocabulary.phrases.items() if any(t.kind in ("component", "short") for t in tags)]


def write_shop(folder: Path, names: int) -> None:
    """A shop's folder that leaves, or makes up, about so many names of parts."""
    vocabulary = load_vocabulary()
    (folder / "components").mkdir(parents=True)
    more = names - len(part_names(vocabulary))
    rows = _invented(more) if more > 0 else _switched_off(vocabulary, names)
    # A lexicon file may have so many texts and no more.
    for n in range(0, len(rows), _TABLES_A_FILE):
        text = "\n".join(rows[n : n + _TABLES_A_FILE]) + "\n"
        (folder / "components" / f"bench-{n // _TABLES_A_FILE}.toml").write_text(text, "utf-8")


def _switched_off(vocabulary: Vocabulary, names: int) -> list[str]:
    of: dict[str, int] = dict.fromkeys(vocabulary.components, 0)
    for tags in vocabulary.phrases.values():
        for id in {t.value for t in tags if t.kind in ("component", "short")}:
            of[id] += 1
    order = sorted(of)
    random.Random(7).shuffle(order)
    kept = 0
    rows = []
    for id in order:
        if kept < names:
            kept += of[id]
        else:
            rows.append(f"[{id}]\noff = true")
    return rows


def _invented(names: int) -> list[str]:
    dice = random.Random(7)
    known: dict[str, None] = {}
    while len(known) < names:
        syllables = "".join(dice.choice("bdfgklmnprtvz") + dice.choice("aeiou") for _ in range(3))
        known[f"{dice.choice(_TRADE_WORDS)} {syllables} {dice.choice(_TRADE_WORDS)}"] = None
    made = list(known)
    rows = []
    for n in range(0, names, _NAMES_EACH):
        first, *others = made[n : n + _NAMES_EACH]
        rows.append(f'[invented-{n}]\nname = "{first}"\nnames = {json.dumps(others)}\nsystem = "brakes"')
    return rows


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """The slope of the straight line through the logarithms: 1 where time grows as the size does, 2 as its square."""
    x, y = [math.log(s) for s in sizes], [math.log(s) for s in seconds]
    mid_x, mid_y = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mid_x) * (b - mid_y) for a, b in zip(x, y, strict=True)) / sum((a - mid_x) ** 2 for a in x)


def main(what: str, file: str, size: str, *more: str) -> dict[str, float]:
    given = json.loads(Path(file).read_text("utf-8"))
    if what == "note":
        return note(given, int(size), next(kind for kind in get_args(NoteKind) if kind == more[0]))
    shop = Path(more[0]) if more else None
    return built(shop) if what == "build" else lexicon(given, float(size), shop)


if __name__ == "__main__":
    print(json.dumps(main(*sys.argv[1:])))
