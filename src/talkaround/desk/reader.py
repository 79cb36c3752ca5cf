"""The program as the desk uses it: reads notes with the shop's lexicon, and finds parts by what the shop calls them."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz import fuzz, process

from talkaround.judging import Judged
from talkaround.models import Line, Measurement, Note, RepairOrder, Steering
from talkaround.pipeline import read_again, write_order
from talkaround.reading.types import ReadNote
from talkaround.vocabulary import lexicon_digest, load_vocabulary

_KEPT_READ = 256
_SURE = 78
"""How alike a typed name must be to one of the lexicon's, of 100."""


@dataclass(frozen=True, slots=True)
class Known:
    """A component as the type-ahead offers it; ``called`` is the name that was met."""

    id: str
    name: str
    called: str
    system: str


class Reader:
    """Reads with one lexicon; ``reload`` takes it up anew. Safe to use from several threads."""

    def __init__(self, shop_folder: Path | None):
        self.shop_folder = shop_folder
        self._read: OrderedDict[str, tuple[RepairOrder, ReadNote, list[Judged]]] = OrderedDict()
        self._lock = threading.Lock()
        self.reload()

    def reload(self) -> None:
        """Take up the lexicon as it now stands.

        Raises:
            LexiconError: a file of it is not as it should be; the one in use stays.
        """
        folder = self.shop_folder if self.shop_folder and self.shop_folder.is_dir() else None
        # Told first: a file saved meanwhile makes orders look older than they are, and not newer.
        digest, vocabulary = lexicon_digest(folder), load_vocabulary(folder)
        names = [
            (vocabulary_name.lower(), Known(id, comp.name, vocabulary_name, comp.system))
            for id, comp in vocabulary.components.items()
            for vocabulary_name in (comp.name, *comp.names, *comp.short)
        ]
        with self._lock:
            self.vocabulary, self._names = vocabulary, names
            self._typed = [n for n, _ in names]
            self._read.clear()
            self.lexicon = digest

    def read(self, note: Note, steering: Steering, book: str = "") -> tuple[RepairOrder, ReadNote, list[Judged]]:
        """The order of a note, what it was read as, and the finding of each line; kept for the next time."""
        key = hashlib.sha256(f"{self.lexicon}|{steering}|{book}|{note.model_dump_json()}".encode()).hexdigest()
        with self._lock:
            if key in self._read:
                self._read.move_to_end(key)
                return self._read[key]
        made = read_again(note, vocabulary=self.vocabulary, steering=steering, rule_book=book or None)  # type: ignore[arg-type]
        with self._lock:
            self._read[key] = made
            while len(self._read) > _KEPT_READ:
                self._read.popitem(last=False)
        return made

    def lines_of(self, words: str, steering: Steering) -> list[Line]:
        """The lines that a few words give, with their places counted from the first character of ``words``."""
        return write_order(Note(name="words", text=words), vocabulary=self.vocabulary, steering=steering).lines

    def readings_of(self, component: str, words: str, steering: Steering) -> list[Measurement]:
        """The readings that ``words`` such as ``5/32, 4 mm`` say of a component."""
        name = self.vocabulary.components[component].name
        return [
            m.model_copy(update={"evidence": None})
            for part in words.replace(";", ",").split(",")
            if part.strip()
            for line in self.lines_of(f"{name} {part.strip()}", steering)
            if line.component.id == component
            for m in line.measurements
        ]

    def find(self, typed: str, many: int = 8) -> list[Known]:
        """Components by any of their names, the likeliest first: beginning so, then with it inside, then alike."""
        said = " ".join(typed.lower().split())
        if not said:
            return []
        ranked = [(0 if n == said else 1 if n.startswith(said) else 2, len(n), k) for n, k in self._names if said in n]
        out = [k for _, _, k in sorted(ranked, key=lambda r: r[:2])]
        if len({k.id for k in out}) < many and len(said) > 2:
            like = process.extract(said, self._typed, scorer=fuzz.WRatio, limit=many * 3, score_cutoff=_SURE)
            out += [self._names[index][1] for _, _, index in like]
        once: dict[str, Known] = {}
        for k in out:
            once.setdefault(k.id, k)
        return list(once.values())[:many]

    def named(self, typed: str) -> str | None:
        """The id of the one component that a name means; None where it means none or several."""
        said = " ".join(typed.lower().split())
        if said in self.vocabulary.components:
            return said
        own = {k.id for n, k in self._names if n == said and n == k.name.lower()}
        met = own or {k.id for n, k in self._names if n == said}
        return met.pop() if len(met) == 1 else None


__all__ = ["Known", "Reader"]
