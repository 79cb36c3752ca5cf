"""The shop's own lexicon: a word that writers mend the same way three times is offered to it, and put in only when told."""

from __future__ import annotations

import re
import shutil
import tempfile
import threading
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import func, select

from talkaround.desk.drafts import where_of
from talkaround.desk.orders import Open, note_of, now, steering_of
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account, MendedWord, NoteRow, OrderRow, Taught
from talkaround.models import Line
from talkaround.vocabulary import LexiconError, Vocabulary, load_vocabulary

TIMES = 3
"""How many orders a word is mended on before it is offered."""
NOTES_TRIED = 300
OURS = "components/taught-at-the-desk.toml"
_ONE_AT_A_TIME = threading.Lock()


@dataclass(slots=True)
class Offer:
    """Words that writers mended into one component, and on how many orders."""

    words: str
    component: str
    name: str
    orders: int


@dataclass(slots=True)
class Trial:
    """What a word would change: of each order that would be read otherwise, its id, name, and its lines before and after."""

    tried: int
    changed: list[tuple[int, str, list[str], list[str]]]


def note_mended_word(store: Store, reader: Reader, o: Open, line: Line, component: str, by: Account) -> None:
    """Keep in mind which word of the note a writer took for another component than the program did."""
    words = _word_for(o.note.text, line, reader.vocabulary)
    if words:
        with store.writing() as s:
            s.add(MendedWord(order_id=o.id, words=words, component=component, by_id=by.id, at=now()))


def _word_for(text: str, line: Line, v: Vocabulary) -> str:
    """The longest name of the line's component that stands in its words; empty where none does."""
    comp = v.components[line.component.id]
    said = " ".join(text[e.begin : e.end] for e in line.evidence).lower()
    names = sorted({n.lower() for n in (comp.name, *comp.names, *comp.short)}, key=len, reverse=True)
    return next((n for n in names if re.search(rf"(?<!\w){re.escape(n)}s?(?!\w)", said)), "")


def offers(store: Store, v: Vocabulary) -> list[Offer]:
    """Words that are due to be offered and were neither taken nor turned down."""
    with store.reading() as s:
        many = func.count(func.distinct(MendedWord.order_id))
        query = select(MendedWord.words, MendedWord.component, many).group_by(MendedWord.words, MendedWord.component)
        rows = list(s.execute(query.having(many >= TIMES)))
        settled = {(t.words, t.component) for t in s.scalars(select(Taught))}
    return [Offer(w, c, v.components[c].name, n) for w, c, n in rows if (w, c) not in settled and c in v.components]


def written(taken: list[tuple[str, str]], v: Vocabulary) -> str:
    """The lexicon file that gives each of the words to its component, and takes it from whatever had it."""
    names: dict[str, list[str]] = {}
    drops: dict[str, list[str]] = {}
    for words, component in taken:
        names.setdefault(component, []).append(words)
        for id, comp in v.components.items():
            drops.setdefault(id, []).extend(
                n for n in (*comp.names, *comp.short) if n.lower() == words and id != component
            )
    out = ["# Words that writers taught at the desk. Written by the desk; mend what is wrong here, or take a word out."]
    for id in sorted({k for k, d in drops.items() if d} | names.keys()):
        out.append(f"\n[{id}]")
        if id in names:
            out.append(f"names = [{', '.join(_quoted(n) for n in names[id])}]")
        if drops.get(id):
            out.append(f"drop = [{', '.join(_quoted(n) for n in drops[id])}]")
    return "\n".join(out) + "\n"


def _quoted(words: str) -> str:
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def trial(store: Store, reader: Reader, words: str, component: str) -> Trial:
    """Read the newest notes with the word taught, and tell what would be read otherwise; nothing is written.

    Raises:
        LexiconError: the word cannot be put into the shop's lexicon as it is.
    """
    with _with_the_word(store, reader, words, component) as shop:
        taught = Reader(shop)
    with store.reading() as s:
        query = select(NoteRow, OrderRow.id).join(OrderRow, OrderRow.note_id == NoteRow.id).order_by(NoteRow.id.desc())
        rows = list(s.execute(query.limit(NOTES_TRIED)))
    changed = []
    for row, order_id in rows:
        note = note_of(row)
        steering = steering_of(row.facts)
        before, after = (
            [f"{where_of(x)}: {x.severity}" for x in r.read(note, steering)[0].lines] for r in (reader, taught)
        )
        if before != after:
            changed.append(
                (order_id, row.name, [x for x in before if x not in after], [x for x in after if x not in before])
            )
    return Trial(len(rows), changed)


def teach(store: Store, reader: Reader, words: str, component: str, by: Account, *, take: bool) -> None:
    """Put the word into the shop's lexicon and read with it from now on; or, not ``take``, do not offer it again.

    Raises:
        LexiconError: the lexicon would not be good; nothing is written.
    """
    with _ONE_AT_A_TIME:
        if take:
            with _with_the_word(store, reader, words, component) as shop:
                load_vocabulary(shop)
            # The file first: a desk that ends here offers the word again, and does not believe that it has it.
            _write(shop_folder_of(reader), [*_taken(store), (words, component)], load_vocabulary(None))
            reader.reload()
        with store.writing() as s:
            if s.get(Taught, (words, component)) is None:
                s.add(Taught(words=words, component=component, taken=take, by_id=by.id, at=now()))


@contextmanager
def _with_the_word(store: Store, reader: Reader, words: str, component: str) -> Iterator[Path]:
    """A copy of the shop's lexicon that has the word, for as long as it is looked at."""
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "lexicon"
        if reader.shop_folder and reader.shop_folder.is_dir():
            shutil.copytree(reader.shop_folder, shop)
        _refuse_what_the_shop_wrote(reader, words, component)
        _write(shop, [*_taken(store), (words, component)], load_vocabulary(None))
        yield shop


def _refuse_what_the_shop_wrote(reader: Reader, words: str, component: str) -> None:
    """A table stands in one file of a folder only, and a file that people wrote is not written over."""
    folder = shop_folder_of(reader)
    wanted = set(tomllib.loads(written([(words, component)], load_vocabulary(None))))
    for path in sorted((folder / OURS).parent.glob("*.toml")):
        for id in sorted(wanted & set(tomllib.loads(path.read_text("utf-8")))) if path.name != Path(OURS).name else ():
            key = "names" if id == component else "drop"
            raise LexiconError(
                str(path), None, f"has a table [{id}] of the shop's own", f"add {words!r} to its {key} there by hand"
            )


def shop_folder_of(reader: Reader) -> Path:
    """The shop's lexicon folder, where taught words go. Raises ``LexiconError`` where the desk has none."""
    if reader.shop_folder is None:
        mend = "start it with --lexicon DIR"
        raise LexiconError("the desk", None, "was started without a lexicon folder of the shop", mend)
    return reader.shop_folder


def _taken(store: Store) -> list[tuple[str, str]]:
    with store.reading() as s:
        return [(t.words, t.component) for t in s.scalars(select(Taught).where(Taught.taken).order_by(Taught.at))]


def _write(folder: Path, taken: list[tuple[str, str]], shipped: Vocabulary) -> None:
    text = written(taken, shipped)
    tomllib.loads(text)
    path = folder / OURS
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_suffix(".new")
    beside.write_text(text, "utf-8")
    beside.replace(path)


__all__ = ["NOTES_TRIED", "OURS", "TIMES", "Offer", "Trial", "note_mended_word", "offers", "teach", "trial"]
