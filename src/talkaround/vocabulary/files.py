"""Reads lexicon files: the shipped folder and, laid over it, a shop's own."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel, ValidationError

from talkaround.quoting import clipped
from talkaround.vocabulary.folding import SPELLING_TABLES, WRITTEN_TABLES
from talkaround.vocabulary.schema import PHRASE_LIMIT

# A heading: "quoted", 'quoted' or bare, of the table itself or of one inside it.
_HEAD = re.compile(r"""\s*\[\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*[\].]""")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
# What a lexicon folder may hold.
KNOWN = (
    "components", "actions.toml", "ambiguous.toml", "cautions.toml", "conditions.toml", "cues.toml", "documentation.toml",
    "judgement.toml", "limits.toml", "mishearings.toml", "ordinary.toml", "places.toml", "plain.toml", "quantities.toml",
    "recogniser.toml", "spelling.toml", "systems.toml", "units.toml",
)  # fmt: skip
FILE_LIMIT = 2_000_000
"""Bytes that a lexicon file may have; the largest that is shipped has a twentieth of it."""
MOST_TOLD = 200
"""Mistakes in one file that are told one by one."""
NAMES_LIMIT = 50_000
"""Texts that a lexicon file may hold, keys among them."""
# Keys of a shop's table that say what becomes of the one below it.
_OFF, _DROP = "off", "drop"
# Lists in which the first entry that fits stands, so that a shop's go before the shipped ones; and pairs of numbers.
_FIRST_WINS = {"rules", "words"}
_REPLACED = {"usual", "only_between"}


class LexiconError(Exception):
    """A lexicon file that cannot be used. Its text is one line: file, line, problem, mend."""

    def __init__(self, path: Path | str, line: int | None, problem: str, mend: str):
        self.path, self.line, self.problem, self.mend = str(path), line, problem, mend
        where = f"{path}, line {line}" if line else f"{path}"
        # Names that are quoted in it may be of any length.
        super().__init__(f"{' '.join(where.split())}: {clipped(problem, 300)}; {clipped(mend, 800)}")


Tell = Callable[[LexiconError], None]
"""Takes a problem: raises it, or keeps it and lets the reading go on."""


def refuse(error: LexiconError) -> None:
    """The :data:`Tell` of a run: the first problem ends it."""
    raise error


class Source(NamedTuple):
    """A file that a table stands in, and the file's text."""

    path: Path
    text: str


class Entry(NamedTuple):
    """One table of the lexicon, with where it stands: in a shop's file and in the shipped one where both have it."""

    id: str
    record: Any
    path: Path
    line: int | None
    sources: tuple[Source, ...] = ()

    def where(self, name: str | None = None, key: str | None = None) -> tuple[Path, int | None]:
        """The file and line of ``name`` (a text in the table), else of ``key``, else of the table's heading."""
        for source in reversed(self.sources):
            line = line_of_text(source.text, self.id, name) if name is not None else None
            if line is None and key is not None:
                line = line_of_key(source.text, self.id, key)
            if line is not None:
                return source.path, line
        return self.path, self.line

    def line_in(self, source: Source) -> int | None:
        """The line, from 1, where the table begins in one of its files."""
        return line_of(source.text, self.id)


def shipped_folder() -> Path:
    """The lexicon that travels with the package; in a checkout, the one at its top level."""
    inside = Path(__file__).resolve().parent.parent / "lexicon"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[3] / "lexicon"


def files_of(folder: Path) -> list[Path]:
    """Every TOML file that stands in a lexicon folder or right below it, in a fixed order, refused ones too."""
    return sorted(p for pattern in ("*.toml", "*/*.toml") for p in folder.glob(pattern) if p.is_file())


def line_of(text: str, table: str, key: str | None = None) -> int | None:
    """The line, from 1, where ``[table]`` (or ``key`` in it) stands in a TOML text; None where it does not."""
    found = line_of_key(text, table, key) if key is not None else None
    return found or next((n for n, _ in _rows(text, table)), None)


def line_of_key(text: str, table: str, key: str) -> int | None:
    """The line, from 1, where ``key`` stands in ``[table]`` or heads a table inside it."""
    mark = re.escape(key)
    wanted = re.compile(rf"^\s*[\"']?{mark}[\"']?\s*[=.]|^\s*\[.*\.\s*[\"']?{mark}[\"']?\s*\]")
    return next((n for n, row in _rows(text, table) if wanted.match(row)), None)


def line_of_text(text: str, table: str, name: str) -> int | None:
    """The line, from 1, where ``name`` stands in quotes in ``[table]`` or heads it."""
    written = name.replace("\\", "\\\\").replace('"', '\\"')
    rows = _rows(text, table)
    return next((n for n, row in rows if f'"{written}"' in row or f"'{name}'" in row), None)


def _rows(text: str, table: str) -> Iterator[tuple[int, str]]:
    """The lines of ``[table]`` and of the tables inside it, each with its number from 1."""
    inside = False
    for n, row in enumerate(text.splitlines(), 1):
        if head := _HEAD.match(row):
            inside = (head[1] or head[2] or head[3]) == table
        if inside:
            yield n, row


def heads(text: str) -> dict[str, int]:
    """The line, from 1, where each table of a TOML text begins."""
    lines: dict[str, int] = {}
    for n, row in enumerate(text.splitlines(), 1):
        if head := _HEAD.match(row):
            lines.setdefault(head[1] or head[2] or head[3], n)
    return lines


def parse(path: Path) -> tuple[str, dict[str, dict[str, Any]]]:
    """The text of a lexicon file and its tables.

    Raises:
        LexiconError: the file is missing, is no UTF-8 or no TOML, or holds something that is no table.
    """
    try:
        with path.open("rb") as file:
            data = file.read(FILE_LIMIT + 1)
        if len(data) > FILE_LIMIT:
            problem = f"the file is larger than a lexicon file may be ({FILE_LIMIT / 1e6:g} MB)"
            raise LexiconError(path, None, problem, "leave out what is not said, or split it")
        # TOML ends its lines alike, whatever the machine's habit.
        text = data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except FileNotFoundError:
        raise LexiconError(path, None, "the file is missing", "put it back or reinstall talkaround") from None
    except UnicodeDecodeError:
        raise LexiconError(path, None, "the file is no UTF-8 text", "save it as UTF-8") from None
    except OSError as e:
        raise LexiconError(path, None, f"the file cannot be read ({e.strerror})", "check its permissions") from None
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as e:
        at = re.search(r"line (\d+)", str(e))
        line = int(at[1]) if at else len(text.splitlines()) or None
        raise LexiconError(
            path, line, f"not well-formed TOML: {e}", "mend the quotes, brackets or doubled key there"
        ) from None
    except (RecursionError, ValueError):
        # Python refuses numbers of thousands of digits with another error than broken TOML.
        problem = "holds lists as deep or numbers as long as no lexicon has"
        raise LexiconError(path, None, problem, "take them out") from None
    if (many := _texts_in(tables)) > NAMES_LIMIT:
        problem = f"the file holds {many:,} texts, more than a lexicon file may ({NAMES_LIMIT:,})"
        raise LexiconError(path, None, problem, "leave out what is not said, or split it")
    for name, table in tables.items():
        if not isinstance(table, dict):
            line = line_of("[_]\n" + text, "_", name)
            raise LexiconError(
                path, line and line - 1, f"{name!r} stands outside any table", "put it under a [name] heading"
            )
    return text, tables


def _texts_in(value: Any) -> int:
    if isinstance(value, dict):
        return len(value) + sum(map(_texts_in, value.values()))
    return sum(map(_texts_in, value)) if isinstance(value, list) else isinstance(value, str)


def check_names(folder: Path, tell: Tell = refuse) -> None:
    """Tell of each file of ``folder`` that nobody would read."""
    for path in files_of(folder):
        if path.parent == folder and path.name not in KNOWN:
            mend = f"put components into {folder.name}/components/, or use one of: {', '.join(KNOWN[1:])}"
            tell(LexiconError(path, None, "no lexicon file has this name", mend))
        elif path.parent not in (folder, folder / "components"):
            mend = f"put it into {folder.name}/ or {folder.name}/components/"
            tell(LexiconError(path, None, "no lexicon file is read from this folder", mend))


class Reader:
    """Reads the tables of several folders, each laid over those before it.

    In a later folder a table adds to the one of the same heading (lists grow, tables inside it merge, all else is
    replaced), takes names out of it (``drop = ["..."]``) or switches it off (``off = true``). A component that gets
    another ``name`` keeps its old one among its names.
    """

    def __init__(self, folders: list[Path], tell: Tell = refuse):
        self.folders, self._tell = folders, tell
        self._told: dict[str, int] = {}
        self.off: dict[str, dict[str, dict[str, Any]]] = {}
        """What was switched off: by file, id and table."""
        self.same: Callable[[str], Any] = str.casefold
        """What two texts must have in common to be one name; the folding, once the spelling is read."""

    def tell(self, error: LexiconError) -> None:
        """Tell a problem; of one file so many, and then that there are more."""
        told = self._told[error.path] = self._told.get(error.path, 0) + 1
        if told == MOST_TOLD + 1:
            error = LexiconError(
                error.path, error.line, f"more than {MOST_TOLD} mistakes", "mend those before it first"
            )
        if told <= MOST_TOLD + 1:
            self._tell(error)

    def _is_enough(self, path: Path) -> bool:
        """Whether more problems of a file need not be looked for: each is looked up in it, and among all names."""
        return self._told.get(str(path), 0) > MOST_TOLD

    def parse(self, path: Path) -> tuple[str, dict[str, dict[str, Any]]]:
        """What the file says of itself and its records by id; empty where it is broken, which was told."""
        try:
            return parse(path)
        except LexiconError as error:
            self.tell(error)
            return "", {}

    def tables(self, name: str, model: type[BaseModel]) -> list[Entry]:
        """Every record of ``name`` (a file, or a folder of files), checked against ``model``."""
        laid: dict[str, tuple[dict[str, Any], tuple[Source, ...]]] = {}
        off = self.off.setdefault(name, {})
        for depth, folder in enumerate(self.folders):
            place = folder / name
            paths = sorted(place.glob("*.toml")) if place.is_dir() else [place] if place.exists() or depth == 0 else []
            below = dict(laid)
            seen: dict[str, Path] = {}
            for path in paths:
                text, here = self.parse(path)
                for key, table in here.items():
                    if key in seen:
                        line = line_of(text, key)
                        self.tell(
                            LexiconError(path, line, f"[{key}] stands in {seen[key].name} too", "keep one of the two")
                        )
                        continue
                    seen[key] = path
                    base, sources = below.get(key, (None, ()))
                    source = Source(path, text)
                    if _OFF in table:
                        if self._switches_off(key, table, base, below, source):
                            off[key] = laid.pop(key)[0]
                        continue
                    table = self._without_dropped(key, table, base, below, source, model)
                    laid[key] = table, (*sources, source)
        lines: dict[Path, dict[str, int]] = {}
        out: list[Entry] = []
        for key, (table, sources) in laid.items():
            path, text = sources[-1]
            if path not in lines:
                lines[path] = heads(text)
            entry = Entry(key, None, path, lines[path].get(key), sources)
            if name == "components" and not _ID.fullmatch(key):
                mend = "use small letters, digits and single hyphens, as in [sway-bar-link]"
                self.tell(LexiconError(path, entry.line, f"[{key}] is no id of a component", mend))
                continue
            try:
                out.append(entry._replace(record=model.model_validate(table)))
            except ValidationError as e:
                if self._is_enough(path):
                    continue
                for error in _problems(entry, e, model, [k for k in laid if k != key] if len(sources) == 1 else []):
                    self.tell(error)
        return out

    def spelling(self) -> dict[str, dict[str, str]]:
        """The tables of ``spelling.toml``, a later folder's laid over an earlier one's."""
        out: dict[str, dict[str, str]] = {}
        for depth, folder in enumerate(self.folders):
            path = folder / "spelling.toml"
            if depth and not path.exists():
                continue
            text, tables = self.parse(path)
            for name, table in tables.items():
                if name not in SPELLING_TABLES + WRITTEN_TABLES:
                    mend = f"known tables: {', '.join(SPELLING_TABLES + WRITTEN_TABLES)}"
                    self.tell(LexiconError(path, line_of(text, name), f"[{name}] is no table of spelling", mend))
                    continue
                known = out.setdefault(name, {})
                for word, stands_for in table.items():
                    if word == _DROP and isinstance(stands_for, list):
                        for dropped in stands_for:
                            if self._is_enough(path):
                                break
                            if known.pop(str(dropped), None) is None:
                                line = line_of(text, name, word)
                                problem = f"[{name}] drops {dropped!r}, which is not in it"
                                self.tell(LexiconError(path, line, problem, _instead(str(dropped), known)))
                    elif not isinstance(stands_for, str) or not stands_for.strip():
                        line = line_of(text, name, word)
                        self.tell(LexiconError(path, line, f"{word!r} stands for no word", "put the word in quotes"))
                    else:
                        known[word] = stands_for
        return out

    def _switches_off(
        self, key: str, table: dict[str, Any], base: dict[str, Any] | None, known: Iterable[str], source: Source
    ) -> bool:
        problem = mend = ""
        if table[_OFF] is not True:
            problem, mend = f"[{key}] off can only be true", "write off = true, or leave the line out"
        elif base is None:
            problem, mend = f"[{key}] is switched off, but there is none of this id", _instead(key, known)
        elif len(table) > 1:
            others = ", ".join(k for k in table if k != _OFF)
            problem, mend = (
                f"[{key}] is switched off and says more ({others})",
                "keep off = true alone, or leave it out",
            )
        if problem:
            self.tell(LexiconError(source.path, line_of(source.text, key, _OFF), problem, mend))
        return not problem

    def _without_dropped(
        self,
        key: str,
        table: dict[str, Any],
        base: dict[str, Any] | None,
        known: Iterable[str],
        source: Source,
        model: type[BaseModel],
    ) -> dict[str, Any]:
        """``table`` laid over ``base``, with the names that it drops taken out."""
        table = dict(table)
        wanted = table.pop(_DROP, [])

        def wrong(problem: str, mend: str) -> None:
            line = line_of(source.text, key, _DROP)
            self.tell(LexiconError(source.path, line, f"[{key}] {problem}", mend))

        for inner, value in table.items():
            if isinstance(value, dict) and _DROP in value:
                wrong(f"drop stands under [{key}.{inner}]", f"put it right under [{key}]")
                value.pop(_DROP)
        if not isinstance(wanted, list) or not all(isinstance(w, str) for w in wanted):
            wrong("drop is no list of names", 'write drop = ["...", "..."]')
            wanted = []
        if base is None:
            if wanted:
                wrong("drops names, but there is nothing of this id below it", _instead(key, known))
            return table
        renamed = "name" in table and "names" in model.model_fields and table["name"] != base.get("name")
        if renamed and isinstance(table["name"], str):
            base = {**base, "names": [base["name"], *base.get("names", [])]}
        said = {self.same(n) for n in _texts(table)}
        for name in wanted:
            if self._is_enough(source.path):
                break
            fold = self.same(name)
            if fold in said:
                wrong(f"drops {name!r} and names it too", "keep one of the two")
            elif not renamed and isinstance(base.get("name"), str) and self.same(base["name"]) == fold:
                wrong(f"drops {name!r}, which is its name", 'give it another with name = "...", or switch it off')
            else:
                left = _less(base, fold, self.same)
                if left == base:
                    wrong(f"drops {name!r}, which is not in it", _instead(name, _texts(base)))
                base = left
        return _merged(base, table)


def _merged(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """A shop's table laid over the shipped one: lists grow, tables merge, all else is replaced."""
    out = dict(old)
    for key, value in new.items():
        if key in _FIRST_WINS and isinstance(value, list) and isinstance(out.get(key), list):
            out[key] = value + out[key]
        elif isinstance(value, list) and isinstance(out.get(key), list) and key not in _REPLACED:
            out[key] = out[key] + [v for v in value if v not in out[key]]
        elif isinstance(value, dict) and isinstance(out.get(key), dict):
            out[key] = _merged(out[key], value)
        else:
            out[key] = value
    return out


def _texts(table: dict[str, Any]) -> list[str]:
    """Every text that stands in a list of the table, or in a list of a table inside it."""
    out: list[str] = []
    for value in table.values():
        if isinstance(value, dict):
            out += _texts(value)
        elif isinstance(value, list):
            out += [v for v in value if isinstance(v, str)]
            out += [v["part"] for v in value if isinstance(v, dict) and isinstance(v.get("part"), str)]
    return out


def _less(table: dict[str, Any], fold: Any, same: Callable[[str], Any]) -> dict[str, Any]:
    """``table`` without the list entries that are one name with ``fold``; of rules, those for the part so called."""

    def goes(value: Any) -> bool:
        named = value.get("part") if isinstance(value, dict) else value
        return isinstance(named, str) and same(named) == fold

    out: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            out[key] = _less(value, fold, same)
        elif isinstance(value, list):
            out[key] = [v for v in value if not goes(v)]
        else:
            out[key] = value
    return out


def _instead(wrong: str, known: Iterable[str]) -> str:
    """A mend for a name that is not known: the nearest one that is."""
    near = difflib.get_close_matches(wrong, list(known), 1, 0.75)
    return f"did you mean {near[0]!r}?" if near else "mend the name or remove it"


_SAID = {
    "extra_forbidden": "is no key that is known here",
    "missing": "is missing",
    "tuple_type": "is no list; write it in square brackets",
    "dict_type": "is no table; write it in curly brackets",
    "string_type": "holds something that is no text in quotes",
    "string_too_short": "holds an empty text",
    "string_too_long": f"holds a text of more than {PHRASE_LIMIT:,} characters",
    "finite_number": "is no number that can be reckoned with",
    "string_pattern_mismatch": "holds something that is no id (small letters, digits, hyphens)",
    "float_parsing": "is no number",
    "float_type": "is no number",
    "bool_type": "is neither true nor false",
}


def _problems(entry: Entry, e: ValidationError, model: type[BaseModel], others: list[str]) -> Iterator[LexiconError]:
    """What is wrong with a table, one problem for each key."""
    errors = e.errors()
    missing = [str(x["loc"][0]) for x in errors if x["type"] == "missing" and len(x["loc"]) == 1]
    seen: set[str | None] = set()
    for error in errors:
        field = str(error["loc"][0]) if error["loc"] else None
        if field in seen:
            continue
        seen.add(field)
        said = _SAID.get(error["type"]) or error["msg"].removeprefix("Value error, ").lower()
        inner = [str(x) for x in error["loc"][1:] if isinstance(x, str) and x != "[key]"]
        subject = f"{field!r} " if field else ""
        if inner and error["type"] in ("missing", "extra_forbidden"):
            subject = f"{field!r} holds a table in which {inner[-1]!r} "
        mend = "mend or remove it"
        if error["type"] == "extra_forbidden" and not inner:
            mend = f"known keys: {', '.join(model.model_fields)}"
        elif error["type"] == "missing" and not inner:
            near = difflib.get_close_matches(entry.id, others, 1, 0.8)
            mend = f"a new table needs {', '.join(missing)}" + (
                f"; to change [{near[0]}], write its id" if near and field == missing[0] else ""
            )
        path, line = entry.where(key=field) if field else (entry.path, entry.line)
        yield LexiconError(path, line, f"[{entry.id}] {subject}{said}", mend)
