"""The trade's vocabulary: reads and checks ``lexicon/`` and builds the matchers once."""

from __future__ import annotations

from pathlib import Path

from talkaround.vocabulary import cache
from talkaround.vocabulary.building import Lexicon, build
from talkaround.vocabulary.files import LexiconError, Tell, refuse, shipped_folder
from talkaround.vocabulary.terms import LONG_WORD, Phrase, Tag, Vocabulary, many_new_objects


def load_vocabulary(shop_folder: Path | None = None) -> Vocabulary:
    """Read the shipped lexicon and, laid over it, the shop's own folder; from the cache where nothing has changed.

    Raises:
        LexiconError: a file is not as it should be; its text says which, where, and how to mend it.
    """
    folders = _folders(shop_folder)
    place = None if cache.turned_off() else cache.cache_folder()
    key = cache.key_of(folders) if place else None
    with many_new_objects():
        if place is None or key is None:
            return build(folders).vocabulary
        stored = cache.load(place, key)
        if stored is not None:
            return stored
        lexicon = build(folders)
        # A file that was saved meanwhile must not be kept under the digest of its old text.
        if cache.key_of(folders) == key:
            cache.store(place, key, lexicon)
        return lexicon.vocabulary


def read_lexicon(shop_folder: Path | None = None, tell: Tell = refuse) -> Lexicon:
    """Read the same without the cache, and keep where everything stands.

    Each problem goes to ``tell``; where that does not raise, what is wrong is left out.

    Raises:
        LexiconError: there is no such folder, or ``tell`` raised it.
    """
    return build(_folders(shop_folder), tell)


def lexicon_digest(shop_folder: Path | None = None) -> str:
    """What tells this lexicon, with the shop's folder over it, from any other: hexadecimal, of all its files.

    Raises:
        LexiconError: there is no such folder.
        OSError: a file cannot be read.
    """
    return cache.digest_of(_folders(shop_folder)).hex()[:16]


def _folders(shop_folder: Path | None) -> list[Path]:
    folders = [shipped_folder()]
    if shop_folder is not None:
        try:
            there = shop_folder.is_dir()
        except OSError:
            # Such as a name that is too long for any folder.
            there = False
        if not there:
            raise LexiconError(
                shop_folder, None, "there is no such folder", "name the folder that holds your lexicon files"
            )
        folders.append(shop_folder)
    return folders


__all__ = [
    "LONG_WORD",
    "Lexicon",
    "LexiconError",
    "Phrase",
    "Tag",
    "Vocabulary",
    "lexicon_digest",
    "load_vocabulary",
    "read_lexicon",
]
