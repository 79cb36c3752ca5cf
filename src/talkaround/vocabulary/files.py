"""Reads lexicon files: the shipped folder and, laid over it, a shop's own."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel, ValidationError

# A heading: "quoted", 'quoted' or bare, of the table itself or of one inside it.
_HEAD = re.compile(r"""\s*\[\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*[\].]""")
# What a lexicon folder may hold.
KNOWN = (
    "components", "actions.toml", "ambiguous.toml", "conditions.toml", "cues.toml", "judgement.toml", "limits.toml",
    "mishearings.toml", "places.toml", "quantities.toml", "spelling.toml", "systems.toml", "units.toml",
)  # fmt: skip


class LexiconError(Exception):
    """A lexicon file that cannot be used. Its text is one line: file, line, problem, mend."""

    def __init__(self, path: Path | str, line: int | None, problem: str, mend: str):
        self.path, self.line, self.problem, self.mend = str(path), line, problem, mend
        where = f"{path}, line {line}" if line else f"{path}"
        super().__init__(" ".join(f"{where}: {problem}; {mend}".split()))


class Entry(NamedTuple):
    """One table of a lexicon file, with where it stands."""

    id: str
    record: Any
    path: Path
    line: int | None


def shipped_folder() -> Path:
    """The lexicon that travels with the package; in a checkout, the one at its top level."""
    inside = Path(__file__).resolve().parent.parent / "lexicon"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[3] / "lexicon"


def line_of(text: str, table: str, key: str | None = None) -> int | None:
    """The line, from 1, where ``[table]`` (or ``key`` in it) stands in a TOML text; None where it does not."""
    head = re.compile(r"^\s*\[\s*[\"']?" + re.escape(table) + r"[\"']?\s*[\].]")
    inside: int | None = None
    for n, row in enumerate(text.splitlines(), 1):
        if head.match(row):
            inside = inside or n
            if key is None:
                return n
        elif inside and re.match(r"^\s*\[", row) and not head.match(row):
            break
        elif inside and key and re.match(r"^\s*[\"']?" + re.escape(key) + r"[\"']?\s*=", row):
            return n
    return inside


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
        text = path.read_text(encoding="utf-8")
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
        line = int(at[1]) if at else None
        raise LexiconError(
            path, line, f"not well-formed TOML: {e}", "mend the quotes, brackets or doubled key there"
        ) from None
    for name, table in tables.items():
        if not isinstance(table, dict):
            line = line_of("[_]\n" + text, "_", name)
            raise LexiconError(
                path, line and line - 1, f"{name!r} stands outside any table", "put it under a [name] heading"
            )
    return text, tables


def check_names(folder: Path) -> None:
    """Refuse a file of ``folder`` that nobody would read.

    Raises:
        LexiconError: a TOML file at its top bears none of the names that a lexicon folder may hold.
    """
    for path in sorted(folder.glob("*.toml")):
        if path.name not in KNOWN:
            mend = f"put components into {folder.name}/components/, or use one of: {', '.join(KNOWN[1:])}"
            raise LexiconError(path, None, "no lexicon file has this name", mend)


def _merged(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """A shop's table laid over the shipped one: lists grow, tables merge, all else is replaced."""
    out = dict(old)
    for key, value in new.items():
        if isinstance(value, list) and isinstance(out.get(key), list):
            out[key] = out[key] + [v for v in value if v not in out[key]]
        elif isinstance(value, dict) and isinstance(out.get(key), dict):
            out[key] = _merged(out[key], value)
        else:
            out[key] = value
    return out


def read_tables(name: str, model: type[BaseModel], folders: list[Path]) -> Iterator[Entry]:
    """Every record of ``name`` (a file, or a folder of files), checked against ``model``.

    A later folder adds tables, extends those of an earlier one, and drops one with ``off = true``.

    Raises:
        LexiconError: something in a file is not as the schema wants it.
    """
    tables: dict[str, tuple[dict[str, Any], Path, str]] = {}
    for depth, folder in enumerate(folders):
        place = folder / name
        paths = sorted(place.glob("*.toml")) if place.is_dir() else [place] if place.exists() or depth == 0 else []
        seen_here: dict[str, Path] = {}
        for path in paths:
            text, here = parse(path)
            for key, table in here.items():
                if key in seen_here:
                    raise LexiconError(
                        path, line_of(text, key), f"[{key}] stands in {seen_here[key].name} too", "keep one of the two"
                    )
                seen_here[key] = path
                base = tables[key][0] if key in tables else {}
                if table.get("off") is True:
                    tables.pop(key, None)
                    continue
                tables[key] = (_merged(base, table), path, text)
    lines: dict[Path, dict[str, int]] = {}
    for key, (table, path, text) in tables.items():
        if path not in lines:
            lines[path] = heads(text)
        try:
            record = model.model_validate(table)
        except ValidationError as e:
            first = e.errors()[0]
            field = str(first["loc"][0]) if first["loc"] else None
            said = {"extra_forbidden": "is no key that is known here", "missing": "is missing"}.get(
                first["type"], first["msg"].lower()
            )
            mend = (
                f"known keys: {', '.join(model.model_fields)}"
                if first["type"] == "extra_forbidden"
                else "mend or remove it"
            )
            raise LexiconError(path, line_of(text, key, field), f"[{key}] {field!r} {said}", mend) from None
        yield Entry(key, record, path, lines[path].get(key))
