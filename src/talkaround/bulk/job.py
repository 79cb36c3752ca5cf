"""What is to be read into which folder, and whether that folder holds part of it already."""

from __future__ import annotations

import hashlib
import json
import secrets
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from itertools import islice
from pathlib import Path

from talkaround.models import RuleBook, Steering
from talkaround.rows import RowsError, count_parquet, is_rows, lines_of, parquet_rows

MANIFEST = "run.json"
_PART = "part-{:06d}.parquet"
_STRAY_AFTER_S = 600
"""Age from which an unfinished part is left over from a killed run; another run at work is younger."""
_SAID = {
    "input": "notes", "rows_a_part": "rows in a part", "lexicon": "lexicon", "talkaround": "version of talkaround",
    "steering": "drive side", "rule_book": "rule book",
}  # fmt: skip

Raw = list[bytes] | list[dict[str, object]]
"""A batch as it is read: lines of JSON not yet taken apart, or rows of Parquet."""


class BulkError(Exception):
    """A run that cannot be made; ``str`` is one line that says what, where and how to mend it."""


@dataclass(frozen=True)
class Job:
    """What every process must know to make a part. ``rows`` is how many there are, None where that is not known.

    ``input`` and ``lexicon`` are digests: what tells these notes and this lexicon from others.
    """

    source: Path
    out: Path
    lexicon_folder: Path | None
    steering: Steering
    rule_book: RuleBook | None
    rows_a_part: int
    input: str
    rows: int | None
    lexicon: str
    talkaround: str

    def part(self, number: int) -> Path:
        return self.out / _PART.format(number)

    def batches(self) -> Iterator[Raw]:
        """The rows, ``rows_a_part`` at a time.

        Raises:
            RowsError: the notes cannot be read to their end.
        """
        files = files_of(self.source)
        if files[0].suffix == ".parquet":
            yield from parquet_rows(files, self.rows_a_part)
            return
        lines = lines_of(self.source)
        while batch := list(islice(lines, self.rows_a_part)):
            yield batch


def prepared(
    source: Path,
    out: Path,
    *,
    lexicon_folder: Path | None = None,
    steering: Steering = "left-hand",
    rule_book: RuleBook | None = None,
    rows_a_part: int = 1000,
    anew: bool = False,
) -> Job:
    """The job, with the folder made ready for it: to go on where it holds part of the same, empty with ``anew``.

    Raises:
        BulkError: the notes or the folder cannot be used, or the folder holds orders of something else.
        LexiconError: the shop's lexicon cannot be used.
    """
    from talkaround.vocabulary import lexicon_digest

    digest, rows = _looked_over(source)
    lexicon = lexicon_digest(lexicon_folder)
    job = Job(source, out, lexicon_folder, steering, rule_book, rows_a_part, digest, rows, lexicon, this_version())
    try:
        out.mkdir(parents=True, exist_ok=True)
        if anew:
            for path in [out / MANIFEST, *out.glob("part-*.parquet")]:
                path.unlink(missing_ok=True)
        _hold_against(job)
        _clear_strays(out)
    except OSError as error:
        raise BulkError(f"{out}: cannot be written ({error.strerror}). Choose another folder with --out.") from None
    return job


def this_version() -> str:
    """The version of talkaround that is installed here."""
    try:
        return version("talkaround")
    except PackageNotFoundError:
        return "not installed"


def files_of(source: Path) -> list[Path]:
    """The files of rows that ``source`` is or holds."""
    if source.is_dir():
        return sorted(p for p in source.iterdir() if p.suffix == ".parquet" and not p.name.startswith("."))
    return [source]


def _looked_over(source: Path) -> tuple[str, int | None]:
    """The digest of the notes and the number of their rows, in one pass over the file."""
    files = files_of(source)
    if not source.exists():
        raise BulkError(f"{source}: there is no such file. Check the name.")
    if not files:
        raise BulkError(f"{source}: holds no .parquet file. Name the file or folder that has the notes.")
    if not is_rows(files[0]):
        raise BulkError(f"{source}: is neither JSON Lines (.jsonl, .ndjson, or packed as .gz) nor Parquet by its name.")
    digest = hashlib.sha256()
    lines = 0
    try:
        for path in files:
            with path.open("rb") as f:
                while block := f.read(1 << 22):
                    digest.update(block)
                    lines += block.count(b"\n")
            digest.update(b"\0")
        if files[0].suffix == ".parquet":
            return digest.hexdigest(), count_parquet(files)
    except OSError as error:
        raise BulkError(f"{source}: cannot be read ({error.strerror}). Check its rights.") from None
    except RowsError as error:
        raise BulkError(str(error)) from None
    return digest.hexdigest(), None if source.suffix == ".gz" else lines


def _hold_against(job: Job) -> None:
    """Write the manifest, or see that the one that is there is of the same job."""
    path = job.out / MANIFEST
    mine = {name: value for name, value in asdict(job).items() if name in _SAID}
    if not path.exists():
        if any(job.out.glob("part-*.parquet")):
            raise BulkError(
                f"{job.out}: holds parts but no {MANIFEST}. Choose another --out, or replace them with --anew."
            )
        draft = job.out / f".{secrets.token_hex(6)}.tmp"
        draft.write_text(json.dumps(mine, indent=1) + "\n", encoding="utf-8")
        draft.replace(path)
        return
    try:
        theirs = json.loads(path.read_text(encoding="utf-8"))
        others = [said for name, said in _SAID.items() if theirs.get(name) != mine[name]]
    except (ValueError, AttributeError):
        others = [f"{MANIFEST} that cannot be read"]
    if others:
        raise BulkError(
            f"{job.out}: holds orders made with another {' and another '.join(others)}. Choose another --out, or read all "
            "of it again with --anew."
        )


def _clear_strays(folder: Path) -> None:
    """Take away what a killed run left half written."""
    for path in folder.glob(".*.tmp"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > _STRAY_AFTER_S:
                path.unlink()


__all__ = ["MANIFEST", "BulkError", "Job", "Raw", "files_of", "prepared", "this_version"]
