"""A worker's work: a batch of rows becomes a part. The vocabulary is loaded once a process."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection
from typing import Any

from talkaround.bulk import parts
from talkaround.bulk.job import Batch, BulkError, Done, Job, program_version
from talkaround.bulk.rows import Row, RowError, raw_rows, row_of
from talkaround.intake import NoteError
from talkaround.order.facts import FactError, laid_over
from talkaround.pipeline import write_order
from talkaround.vocabulary import LexiconError, Vocabulary, lexicon_digest, load_vocabulary

KILLED = "the note ends the process that reads it, such as by all its memory. Report this fault of the program with the note."
_ERROR_WIDTH = 400
_one_at_a_time = threading.Lock()
_loaded: tuple[Job, Vocabulary] | None = None


def vocabulary_for(job: Job) -> Vocabulary:
    """The vocabulary that ``job`` names. Raises ``BulkError`` where it or the program is another one here."""
    global _loaded
    if _loaded and _loaded[0] == job:
        return _loaded[1]
    if (here := program_version()) != job.program:
        raise BulkError(
            f"a worker has talkaround {here} and the main process {job.program}. Install the same on every machine."
        )
    if not job.out.is_dir():
        raise BulkError(f"{job.out}: a worker does not see this folder. Choose one that every machine reaches.")
    try:
        vocabulary = load_vocabulary(job.shop_folder)
        digest = lexicon_digest(job.shop_folder)
    except (LexiconError, OSError) as error:
        raise BulkError(f"a worker cannot read the lexicon: {error}") from None
    if digest != job.lexicon:
        raise BulkError(
            f"a worker has the lexicon {digest} and the main process {job.lexicon}. Bring the same files to every machine."
        )
    _loaded = job, vocabulary
    return vocabulary


def work(
    job: Job,
    batch: Batch,
    killers: Collection[int] = (),
    *,
    before: Callable[[int], None] = lambda n: None,
    wanted: Callable[[], bool] = lambda: True,
) -> Done:
    """Read a batch and write its part. Raises ``BulkError`` where that cannot be.

    The notes at ``killers`` (places in the batch) are not read: they ended a process. ``before`` is called with each
    place before its note is read; what is not ``wanted`` any more at the end is not written.
    """
    with _one_at_a_time:
        vocabulary = vocabulary_for(job)
        rows: list[dict[str, Any]] = []
        for n, raw in enumerate(raw_rows(batch)):
            before(n)
            rows.append({"row": batch.first + n, **_columns(raw, batch.first + n, job, vocabulary, n in killers)})
        parts.write(job.out, batch.number, rows, job.run, wanted)
    return Done(batch.number, len(rows), sum("error" in row for row in rows))


def ready(job: Job) -> None:
    """Raises ``BulkError`` where this process cannot do ``job``."""
    with _one_at_a_time:
        vocabulary_for(job)


def try_note(job: Job, note: Batch) -> None:
    """Read a batch of one note, to see whether that can be lived through; nothing is written."""
    with _one_at_a_time:
        vocabulary = vocabulary_for(job)
        for raw in raw_rows(note):
            _columns(raw, note.first, job, vocabulary, kills=False)


def _columns(raw: Any, number: int, job: Job, vocabulary: Vocabulary, kills: bool) -> dict[str, Any]:
    known: dict[str, Any] = {}
    try:
        if kills:
            known = _known(raw)
            raise RowError(KILLED.rstrip("."))
        row = row_of(raw)
        known = row.model_dump(include={"id", "technician", "shop", "date"})
        facts = row.facts()
        note = row.note(row.id or f"row {number}")
        order = write_order(
            note,
            vocabulary=vocabulary,
            steering=row.steering or job.steering,
            rule_book=row.rule_book or job.rule_book,
        )
        if any(facts.values()):
            order.vehicle = laid_over(order.vehicle, facts)
        return known | parts.columns_of(order)
    except (RowError, FactError) as error:
        return (known or _known(raw)) | {"error": _one_line(f"{error}.")}
    except NoteError as error:
        return (known or _known(raw)) | {"error": _one_line(str(error))}
    except Exception as error:
        what = f"nothing could be made of it ({type(error).__name__}: {error})."
        return (known or _known(raw)) | {"error": _one_line(f"{what} Report this fault of the program with the note.")}


def _known(raw: Any) -> dict[str, Any]:
    """What can be told of a row that is refused."""
    names = ("id", "technician", "shop", "date") if isinstance(raw, dict) else ()
    known = {}
    for name in names:
        try:
            known[name] = getattr(Row.model_validate({"text": "-", name: raw.get(name)}), name)
        except ValueError:
            known[name] = None
    return known


def _one_line(text: str) -> str:
    # A lone half of a character is in no UTF-8 file.
    flat = " ".join(text.encode("utf-8", "replace").decode().split())
    return flat if len(flat) <= _ERROR_WIDTH else f"{flat[: _ERROR_WIDTH - 3]}..."
