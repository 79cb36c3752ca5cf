"""Keeps the built vocabulary in the user's cache folder, so that it is read from its TOML files only once.

A stored vocabulary belongs to exactly the files that it was made of: its name and its head hold a digest of every byte
of them, of the program's own reading code and of the Python version. Its content is plain data (texts, numbers, lists)
that goes through the same models as the files do. Whatever is odd about it (cut short, another digest, unreadable),
it is passed over without a word and written anew. ``TALKAROUND_NO_CACHE=1`` turns it off.
"""

from __future__ import annotations

import hashlib
import marshal
import os
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from functools import cache, partial
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from talkaround.vocabulary.alikes import frozen_alikes, thawed_alikes
from talkaround.vocabulary.building import Lexicon
from talkaround.vocabulary.files import files_of
from talkaround.vocabulary.folding import Folder
from talkaround.vocabulary.schema import (
    Ambiguous,
    Caution,
    Component,
    DocumentationPoint,
    Judgement,
    Limit,
    Quantity,
    System,
    Unit,
)
from talkaround.vocabulary.terms import MisheardWords, Phrase, Tag, Vocabulary

_MAGIC = b"talkaround vocabulary 1\n"
_DIGEST = 32
# Lexicons that are kept: the shipped one, a shop's, and those of the last few edits.
_KEPT = 6
_Model = TypeVar("_Model", bound=BaseModel)


def turned_off() -> bool:
    """Whether ``TALKAROUND_NO_CACHE`` asks to do without the cache."""
    return os.environ.get("TALKAROUND_NO_CACHE", "") not in ("", "0")


def cache_folder() -> Path | None:
    """The folder for what can be made again, by the habit of the system; None where the user has no home."""
    with suppress(RuntimeError, OSError):
        if sys.platform == "win32":
            local = os.environ.get("LOCALAPPDATA")
            return (Path(local) if local else Path.home() / "AppData" / "Local") / "talkaround" / "cache"
        if sys.platform == "darwin":
            return Path.home() / "Library" / "Caches" / "talkaround"
        # By the standard, a relative path counts as not set.
        given = Path(os.environ.get("XDG_CACHE_HOME", ""))
        return (given if given.is_absolute() else Path.home() / ".cache") / "talkaround"
    return None


def key_of(folders: list[Path]) -> bytes | None:
    """The digest that a stored vocabulary of ``folders`` must bear; None where a file cannot be read."""
    try:
        return hashlib.blake2b(_code_digest() + digest_of(folders), digest_size=_DIGEST).digest()
    except OSError:
        return None


def digest_of(folders: list[Path]) -> bytes:
    """Digest of every byte of the files of ``folders``, and of their names. Raises ``OSError``."""
    digest = hashlib.blake2b(digest_size=_DIGEST)
    for folder in folders:
        paths = files_of(folder)
        digest.update(f"\n{len(paths)} ".encode())
        for path in paths:
            content = path.read_bytes()
            name = path.relative_to(folder).as_posix()
            digest.update(f"{len(name)} {name} {len(content)} ".encode("utf-8", "surrogateescape"))
            digest.update(content)
    return digest.digest()


@cache
def _code_digest() -> bytes:
    """Digest of the code that makes a vocabulary of files, and of what its stored form hangs on."""
    here = Path(__file__).resolve().parent
    digest = hashlib.blake2b(f"{sys.version} {marshal.version} {sys.byteorder}\n".encode(), digest_size=_DIGEST)
    for path in [here.parent / "models.py", *sorted(here.glob("*.py"))]:
        digest.update(path.read_bytes())
    return digest.digest()


def load(folder: Path, key: bytes) -> Vocabulary | None:
    """The vocabulary that is stored for ``key``; None where there is none, or none that can be trusted."""
    try:
        stored = _path(folder, key).read_bytes()
    except OSError:
        return None
    head = len(_MAGIC)
    sum_at, data_at = head + _DIGEST, head + 2 * _DIGEST
    if stored[:head] != _MAGIC or stored[head:sum_at] != key:
        return None
    data = memoryview(stored)[data_at:]
    if hashlib.blake2b(data, digest_size=_DIGEST).digest() != stored[sum_at:data_at]:
        return None
    try:
        return _thawed(marshal.loads(data))
    except (ValueError, TypeError, EOFError, KeyError, IndexError, AttributeError):
        return None


def store(folder: Path, key: bytes, lexicon: Lexicon) -> None:
    """Keep the vocabulary for ``key``, whole or not at all; a folder that takes no files is passed over."""
    data = marshal.dumps(_frozen(lexicon))
    content = _MAGIC + key + hashlib.blake2b(data, digest_size=_DIGEST).digest() + data
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, scrap = tempfile.mkstemp(dir=folder, prefix="vocabulary-", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(scrap).replace(_path(folder, key))
        except BaseException:
            with suppress(OSError):
                Path(scrap).unlink()
            raise
        _clear(folder)


def _path(folder: Path, key: bytes) -> Path:
    return folder / f"vocabulary-{key.hex()[:24]}.bin"


def _clear(folder: Path) -> None:
    """Leave the newest few vocabularies."""
    kept = sorted(folder.glob("vocabulary-*.bin"), key=lambda p: p.stat().st_mtime, reverse=True)
    for path in kept[_KEPT:]:
        with suppress(OSError):
            path.unlink()


def _frozen(lexicon: Lexicon) -> dict[str, Any]:
    """The vocabulary as plain data. Equal texts are one text, so that each is written once."""
    v = lexicon.vocabulary
    one: dict[Any, Any] = {}

    def phrase(p: Phrase) -> Phrase:
        found: Phrase = one.setdefault(p, tuple(one.setdefault(w, w) for w in p))
        return found

    def records(of: Mapping[Any, BaseModel]) -> dict[Any, Any]:
        return {key: record.model_dump(exclude_unset=True) for key, record in of.items()}

    tags: dict[Tag, int] = {}
    groups: dict[tuple[Tag, ...], int] = {}
    phrases = {phrase(p): groups.setdefault(t, len(groups)) for p, t in v.phrases.items()}
    for group in groups:
        for tag in group:
            tags.setdefault(tag, len(tags))
    return {
        "components": records(v.components),
        "systems": records(v.systems),
        "quantities": records(v.quantities),
        "units": records(v.units),
        "spelling": lexicon.spelling,
        "limits": records(v.limits),
        "judgements": records(v.judgements),
        "tags": [tuple(tag) for tag in tags],
        "groups": [tuple(tags[tag] for tag in group) for group in groups],
        "phrases": phrases,
        "mishearings": {phrase(p): [_plain(m) for m in of] for p, of in v.mishearings.items()},
        "cautions": records(v.cautions),
        "documentation": records(v.documentation),
        "plain": v.plain,
        "everyday": v.everyday,
        # Only what was spoken is held against sounds, so they stay closed until then.
        "alikes": frozen_alikes(v.alikes),
        "unit_phrases": {phrase(p): unit for p, unit in v.unit_phrases.items()},
        "ambiguous": records(v.ambiguous),
        "kinds": v.kinds,
        "name_phrases": {id: tuple(phrase(p) for p in names) for id, names in v.name_phrases.items()},
        "expected": v.expected,
    }


def _thawed(data: dict[str, Any]) -> Vocabulary:
    def records(name: str, model: type[_Model]) -> dict[Any, _Model]:
        return {key: model.model_validate(record) for key, record in data[name].items()}

    tags = [Tag(kind, value, more, scope) for kind, value, more, scope in data["tags"]]
    groups = [tuple([tags[n] for n in group]) for group in data["groups"]]
    return Vocabulary(
        components=records("components", Component),
        systems=records("systems", System),
        quantities=records("quantities", Quantity),
        units=records("units", Unit),
        folder=Folder(data["spelling"]),
        limits=records("limits", Limit),
        judgements=records("judgements", Judgement),
        phrases={phrase: groups[n] for phrase, n in data["phrases"].items()},
        mishearings={
            p: tuple([MisheardWords(said, name, ask, *map(frozenset, about)) for said, name, ask, about in of])
            for p, of in data["mishearings"].items()
        },
        unit_phrases=data["unit_phrases"],
        ambiguous=records("ambiguous", Ambiguous),
        kinds=data["kinds"],
        name_phrases=data["name_phrases"],
        cautions=records("cautions", Caution),
        documentation=records("documentation", DocumentationPoint),
        plain=data["plain"],
        british=data["spelling"].get("british", {}),
        everyday=data["everyday"],
        make_alikes=partial(thawed_alikes, data["alikes"]),
        expected=data["expected"],
    )


def _plain(m: MisheardWords) -> tuple[Phrase, str, bool, list[list[str]]]:
    about = (m.beside, m.behind, m.before, m.not_behind, m.not_before)
    return m.said, m.name, m.ask, [sorted(words) for words in about]


__all__ = ["cache_folder", "digest_of", "key_of", "load", "store", "turned_off"]
