"""A whole run: its folder and manifest, what is done already, and the rest given to workers."""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from talkaround.batch import OutputError, OutputFolder, cores, replace_whole
from talkaround.bulk import parts, pool
from talkaround.bulk.job import MANIFEST, Batch, BulkError, Job, Outcome, program_version
from talkaround.bulk.notes import open_notes
from talkaround.models import RuleBook, Steering
from talkaround.progress import counted
from talkaround.vocabulary import lexicon_digest

_LOCK = ".running"
_TOLD = {
    "input": "the notes",
    "rows_per_part": "--batch",
    "lexicon": "the lexicon",
    "program": "the version of talkaround",
    "steering": "--steering",
    "rule_book": "--rule-book",
}


@dataclass(frozen=True)
class Settings:
    """What the command says; without ``workers`` one for each core, with ``scheduler`` none on this machine."""

    notes: Path
    out: Path
    workers: int | None = None
    scheduler: str | None = None
    steering: Steering = "left-hand"
    rule_book: RuleBook | None = None
    shop_folder: Path | None = None
    batch: int = 1000
    anew: bool = False


def run(settings: Settings, outcome: Outcome) -> None:
    """Write the orders of all notes that have none yet; ``outcome`` is kept up to date. Raises ``BulkError``."""
    begun = time.monotonic()
    notes = open_notes(settings.notes)
    outcome.notes = notes.rows
    manifest: dict[str, Any] = {
        "form": 1,
        "input": {"name": settings.notes.name, "sha256": notes.digest, "rows": notes.rows},
        "rows_per_part": settings.batch,
        "lexicon": lexicon_digest(settings.shop_folder),
        "program": program_version(),
        "steering": settings.steering,
        "rule_book": settings.rule_book,
    }
    try:
        out = OutputFolder(settings.out.resolve(), {}, []).path
        with ExitStack() as stack:
            stack.enter_context(_alone(out))
            _sweep(out)
            stack.callback(_sweep, out)
            mark = _begin(out, manifest, anew=settings.anew)
            shop_folder = settings.shop_folder.resolve() if settings.shop_folder else None
            job = Job(
                out, mark, manifest["lexicon"], manifest["program"], shop_folder, settings.steering, settings.rule_book
            )
            there = set(parts.parts_in(out))
            batches = stack.enter_context(closing(notes.batches(settings.batch)))  # type: ignore[type-var]
            left = _left(batches, job, there, outcome)
            # The parts that are there are counted before the bar begins.
            first = next(left, None)
            tell = stack.enter_context(counted("notes", outcome.notes, outcome.done))
            left = _and_then(first, left)
            if settings.scheduler:
                from talkaround.bulk import cluster

                working = cluster.work(job, left, settings.scheduler, outcome)
            else:
                working = pool.work(job, left, settings.workers or cores(), outcome)
            for done in stack.enter_context(closing(working)):  # type: ignore[type-var]
                outcome.done += done.rows
                outcome.errors += done.errors
                tell(outcome.done)
    except OutputError as error:
        raise BulkError(str(error)) from None
    finally:
        outcome.seconds = time.monotonic() - begun


def _left(batches: Iterator[Batch], job: Job, there: set[Path], outcome: Outcome) -> Iterator[Batch]:
    """The batches that have no part yet."""
    for batch in batches:
        found = parts.found(job.out, batch.number, job.run) if parts.path_of(job.out, batch.number) in there else None
        if found is None or found[0] != batch.rows:
            yield batch
            continue
        outcome.done += batch.rows
        outcome.before += batch.rows
        outcome.errors += found[1]


def _and_then(first: Batch | None, rest: Iterator[Batch]) -> Iterator[Batch]:
    if first is not None:
        yield first
        yield from rest


def _begin(out: Path, manifest: dict[str, Any], *, anew: bool) -> str:
    """Put the manifest into the folder, or find it there; gives its digest, which every part bears."""
    path = out / MANIFEST
    mend = "Give --anew to read all again, or choose another folder with --out"
    if anew:
        # The manifest first: parts without one are nobody's, parts with a wrong one would be taken for right.
        for old in (path, *parts.parts_in(out)):
            with suppress(FileNotFoundError):
                old.unlink()
    if path.exists():
        try:
            there = json.loads(path.read_bytes())
            differ = [told for name, told in _TOLD.items() if _compared(there[name]) != _compared(manifest[name])]
        except (ValueError, KeyError, TypeError):
            raise BulkError(f"{path}: is no list of a run as `bulk` writes it. {mend}.") from None
        if differ:
            raise BulkError(f"{out}: holds orders of another run, which differs in {', '.join(differ)}. {mend}.")
    elif parts.parts_in(out):
        raise BulkError(f"{out}: holds orders without their {MANIFEST}. {mend}.")
    else:
        replace_whole(path, json.dumps(manifest, indent=1) + "\n")
    compared = {name: _compared(manifest[name]) for name in _TOLD}
    return hashlib.sha256(json.dumps(compared, sort_keys=True).encode()).hexdigest()[:16]


def _compared(entry: Any) -> Any:
    """Notes are the same under another name."""
    return entry["sha256"] if isinstance(entry, dict) else entry


def _sweep(out: Path) -> None:
    """Take away what a process left that ended while it wrote."""
    for draft in parts.drafts_in(out):
        with suppress(OSError):
            draft.unlink()


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Keep other runs out of the folder; the system lets go of it when the process ends, however it ends."""
    try:
        import fcntl
    except ImportError:
        # Without it two runs write the same parts twice, each whole.
        yield
        return
    with (out / _LOCK).open("wb") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise BulkError(f"{out}: another run is writing here. Wait for it, or choose another folder.") from None
        except OSError:
            # Some shared folders know no locks; see above.
            pass
        yield
