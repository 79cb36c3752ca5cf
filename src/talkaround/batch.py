"""Many notes in one process: each is read and put away by itself, and a failure stops only its own note."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from talkaround.intake import STANDARD_INPUT, NoteError, stem_of

ENDINGS = {"json": ".json", "markdown": ".md", "csv": ".csv", "html": ".html"}


class OutputError(Exception):
    """An output that cannot be written; ``str`` is one line that says which, why and how to mend it."""


class OutputFolder:
    """The folder that orders are written to, one file a note, named after it."""

    def __init__(self, path: Path, format: str, sources: Iterable[str]) -> None:
        """Create the folder where it is missing. Raises ``OutputError`` where it cannot be written."""
        self.path = path
        self._ending = ENDINGS[format]
        self._taken: dict[str, str] = {}
        self._notes = {os.path.realpath(source) for source in sources if source != STANDARD_INPUT}
        try:
            path.mkdir(parents=True, exist_ok=True)
            _probe(path)
        except OSError as error:
            raise OutputError(
                f"{path}: orders cannot be written to this folder ({_reason(error)}). Choose another folder with --out."
            ) from None

    def claim(self, source: str) -> Path:
        """The file that the order of ``source`` goes to. Raises ``OutputError`` where another note has it."""
        target = self.path / f"{stem_of(source)}{self._ending}"
        if os.path.realpath(target) in self._notes:
            raise OutputError(f"{source}: its order would replace the note {target}. Choose another folder with --out.")
        # Upper and lower case are one name on some disks.
        key = target.name.casefold()
        if key in self._taken:
            raise OutputError(
                f"{source}: its order would replace that of {self._taken[key]}, as both go to {target}. "
                "Rename one of the notes, or write them to different folders."
            )
        self._taken[key] = source
        return target


@dataclass
class Outcome:
    """How many notes were written and how many failed; ``texts`` are the orders that no folder took."""

    written: int = 0
    failed: int = 0
    texts: list[str] = field(default_factory=list)


def run(
    sources: Iterable[str],
    order_text: Callable[[str], str],
    folder: OutputFolder | None,
    report: Callable[[str], None],
    outcome: Outcome,
) -> None:
    """Make the order of each source with ``order_text`` and put it away; ``report`` gets one line for each failure.

    ``outcome`` is kept up to date, so that it also tells how far an interrupted run came.
    """
    for source in sources:
        try:
            target = None if folder is None else folder.claim(source)
            text = order_text(source)
            if target is None:
                outcome.texts.append(text)
            else:
                replace_whole(target, text)
        except (NoteError, OutputError) as error:
            outcome.failed += 1
            report(str(error))
        except Exception as error:
            outcome.failed += 1
            what = " ".join(f"{type(error).__name__}: {error}".split())
            report(f"{source}: no order could be made of it ({what}). Report this fault of the program with the note.")
        else:
            outcome.written += 1


def replace_whole(target: Path, text: str) -> None:
    """Write ``text`` to ``target`` in UTF-8, so that the file is at every moment the old one or the new one."""
    draft = target.with_name(f".{secrets.token_hex(6)}.tmp")
    try:
        draft.write_bytes(text.encode())
        draft.replace(target)
    except OSError as error:
        raise OutputError(
            f"{target}: cannot be written ({_reason(error)}). Mend that or choose another --out."
        ) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _probe(folder: Path) -> None:
    """Raise ``OSError`` where no file can be made in ``folder``."""
    draft = folder / f".{secrets.token_hex(6)}.tmp"
    draft.touch(exist_ok=False)
    draft.unlink()


def _reason(error: OSError) -> str:
    return error.strerror or os.strerror(error.errno or 0)
