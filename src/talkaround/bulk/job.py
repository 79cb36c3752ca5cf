"""What the main process and its workers tell each other."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from talkaround.models import RuleBook, Steering

MANIFEST = "run.json"
"""The file of a run's folder that says what its parts were made from."""


class BulkError(Exception):
    """A run that cannot go on; ``str`` is one line that says what, where and how to mend it."""


@dataclass(frozen=True)
class Job:
    """What every worker has to know. ``out`` and ``shop_folder`` are the same paths on every machine.

    ``lexicon`` and ``program`` are the digests that a worker's own must equal; ``run`` is that of the manifest.
    """

    out: Path
    run: str
    lexicon: str
    program: str
    shop_folder: Path | None = None
    steering: Steering = "left-hand"
    rule_book: RuleBook | None = None


@dataclass(frozen=True)
class Batch:
    """Consecutive rows as they stand in the input, from row ``first`` on; they become part ``number``.

    ``data`` is either a line of JSON for each row, None for one that is too long, or a table in Arrow's stream format.
    """

    number: int
    first: int
    rows: int
    data: list[bytes | None] | bytes


@dataclass(frozen=True)
class Done:
    """A part that is written whole."""

    number: int
    rows: int
    errors: int


@dataclass
class Outcome:
    """How far a run is; kept up to date, so that it also tells how far an interrupted one came.

    ``before`` are the notes that an earlier run had done, ``done`` all that are, ``errors`` those with an error.
    ``waited_s`` is the time in which the main process had nothing to do but wait for its workers.
    """

    notes: int = 0
    done: int = 0
    errors: int = 0
    before: int = 0
    seconds: float = 0
    waited_s: float = 0

    def so_far(self) -> str:
        """In words, without a full stop."""
        earlier = f", {self.before} of them by an earlier run" if self.before else ""
        return f"{self.done} of {self.notes} notes written{earlier}, {self.errors} with an error"


def program_version() -> str:
    """The version with a digest of the program's own code: a checkout changes without its number."""
    here = Path(__file__).resolve().parent.parent
    digest = hashlib.blake2b(digest_size=6)
    for path in sorted(here.rglob("*.py")):
        digest.update(path.relative_to(here).as_posix().encode() + b"\0" + path.read_bytes())
    try:
        number = version("talkaround")
    except PackageNotFoundError:
        number = "not installed"
    return f"{number} ({digest.hexdigest()})"
