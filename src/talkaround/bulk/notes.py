"""The input, cut into batches: JSON Lines, plain or gzip, or Parquet, a file or a folder of them.

The main process only cuts; what a row holds is for the workers to find out. A batch is a function of the input and the
batch size alone, so that a run that goes on finds its parts again.
"""

from __future__ import annotations

import gzip
import hashlib
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, Protocol, cast

import pyarrow as pa
import pyarrow.parquet as pq

from talkaround.bulk.job import Batch, BulkError
from talkaround.intake import NOTE_LIMIT
from talkaround.quoting import clipped

FIELDS = (
    "text", "id", "technician", "shop", "date", "kind", "steering", "rule_book", "vin", "odometer", "odometer_unit",
    "plate", "utterances",
)  # fmt: skip
LINE_LIMIT = NOTE_LIMIT * 4
"""Bytes that a line of JSON may have, with its escapes and the times of its utterances."""
_BATCH_BYTES = 8_000_000
"""A batch of long notes is closed before its rows are many, so that a worker's memory stays bounded."""
JSON_LINES = (".jsonl", ".ndjson", ".jsonl.gz", ".ndjson.gz")
_ENDINGS = (*JSON_LINES, ".parquet")


class Notes(Protocol):
    """An input that has been looked through once: how many rows, and its digest."""

    digest: str
    """SHA-256 of the input, hexadecimal."""
    rows: int

    def batches(self, size: int) -> Iterator[Batch]:
        """Batches of ``size`` rows or less, in order. Raises ``BulkError`` where the input cannot be read on."""
        ...


def open_notes(path: Path) -> Notes:
    """The notes at ``path``, looked through once. Raises ``BulkError``."""
    try:
        if path.is_dir():
            files = sorted(path.glob("*.parquet"))
            if not files:
                raise BulkError(f"{path}: holds no .parquet file. Name a folder of them, or one file of notes.")
            return _Parquet(path, files)
        if path.name.lower().endswith(".parquet"):
            return _Parquet(path, [path])
        if path.name.lower().endswith(_ENDINGS):
            return _JsonLines(path)
        path.open("rb").close()
    except FileNotFoundError:
        raise BulkError(f"{path}: no such file. Check the folder and the spelling.") from None
    except (OSError, EOFError, zlib.error, UnicodeDecodeError, pa.ArrowException) as error:
        raise _unreadable(path, error) from None
    raise BulkError(f"{path}: is of no kind that can be read. Give one of {', '.join(_ENDINGS)}.")


def lines_of(path: Path) -> Iterator[bytes | None]:
    """The lines of a file that are not blank, packed with gzip or not; None in place of one that is too long.

    Raises ``OSError``, ``EOFError`` or ``zlib.error`` where the file cannot be read on.
    """
    with cast(BinaryIO, gzip.open(path) if path.suffix.lower() == ".gz" else path.open("rb")) as file:
        while line := file.readline(LINE_LIMIT):
            if len(line) < LINE_LIMIT or line.endswith(b"\n"):
                if not line.isspace():
                    yield line
                continue
            while line and not line.endswith(b"\n"):
                line = file.readline(LINE_LIMIT)
            yield None


def one_by_one(batch: Batch) -> Iterator[Batch]:
    """The notes of a batch, each a batch of its own with the batch's number."""
    if isinstance(batch.data, list):
        for n, line in enumerate(batch.data):
            yield Batch(batch.number, batch.first + n, 1, [line])
        return
    with pa.ipc.open_stream(batch.data) as stream:
        table = stream.read_all()
    for n in range(table.num_rows):
        yield Batch(batch.number, batch.first + n, 1, _as_stream(table.slice(n, 1)))


def _as_stream(table: Any) -> bytes:
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    content: bytes = sink.getvalue().to_pybytes()
    return content


class _JsonLines:
    """A row for each line that is not blank."""

    def __init__(self, path: Path):
        self._path = path
        with path.open("rb") as file:
            self.digest = hashlib.file_digest(file, "sha256").hexdigest()
        self.rows = sum(1 for _ in lines_of(path))

    def batches(self, size: int) -> Iterator[Batch]:
        number, first, weight = 0, 0, 0
        lines: list[bytes | None] = []
        try:
            for line in lines_of(self._path):
                lines.append(line)
                weight += len(line or b"")
                if len(lines) == size or weight >= _BATCH_BYTES:
                    yield Batch(number, first, len(lines), lines)
                    number, first, weight, lines = number + 1, first + len(lines), 0, []
        except (OSError, EOFError, zlib.error) as error:
            raise _unreadable(self._path, error) from None
        if lines:
            yield Batch(number, first, len(lines), lines)


class _Parquet:
    """The rows of the files one after the other, in the order of the files' names."""

    def __init__(self, path: Path, files: list[Path]):
        self._path, self._files, self.rows = path, files, 0
        digest = hashlib.sha256()
        for file in files:
            with file.open("rb") as opened:
                content = hashlib.file_digest(opened, "sha256").digest()
            # One file has the digest that any other program gives for it.
            digest.update(file.name.encode("utf-8", "surrogateescape") + b"\0" + content)
            self.digest = content.hex()
            with pq.ParquetFile(file) as parquet:
                self.rows += parquet.metadata.num_rows
                if "text" not in parquet.schema_arrow.names:
                    raise BulkError(f"{file}: has no column text. Name the column that holds the notes text.")
        if path.is_dir():
            self.digest = digest.hexdigest()

    def batches(self, size: int) -> Iterator[Batch]:
        number = first = 0
        try:
            for rows in self._tables(size):
                yield Batch(number, first, rows.num_rows, _as_stream(rows))
                number, first = number + 1, first + rows.num_rows
        except (OSError, UnicodeDecodeError, pa.ArrowException) as error:
            raise _unreadable(self._path, error) from None

    def _tables(self, size: int) -> Iterator[Any]:
        """Tables of ``size`` rows, the last one of each file shorter: files may differ in their columns."""
        for file in self._files:
            with pq.ParquetFile(file) as parquet:
                columns = [name for name in parquet.schema_arrow.names if name in FIELDS]
                held = None
                for rows in parquet.iter_batches(batch_size=size, columns=columns):
                    table = pa.Table.from_batches([rows])
                    held = table if held is None else pa.concat_tables([held, table])
                    while held.num_rows >= size:
                        yield held.slice(0, size)
                        held = held.slice(size)
                if held is not None and held.num_rows:
                    yield held


def _unreadable(path: Path, error: Exception) -> BulkError:
    why = clipped(str(getattr(error, "strerror", None) or error), 200)
    return BulkError(f"{path}: cannot be read ({why}). Check that the file is whole, and copy it again.")
