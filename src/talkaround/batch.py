"""Many notes in one process: each is read and put away by itself, and a failure stops only its own note."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from talkaround.intake import STANDARD_INPUT, NoteError, stem_of

ENDINGS = {"json": ".json", "markdown": ".md", "csv": ".csv", "html": ".html", "prices": ".prices.toml"}
EXPLANATION = ".explain.txt"


class OutputError(Exception):
    """An output that cannot be written; ``str`` is one line that says which, why and how to mend it."""


class OutputFolder:
    """The folder that what comes of the notes is written to, in files named after them."""

    def __init__(self, path: Path, endings: Mapping[str, str], sources: Iterable[str]) -> None:
        """Create the folder where it is missing. Raises ``OutputError`` where it cannot be written.

        ``endings`` are the files that come of one note: what each is (an order), and how its name ends.
        """
        self.path = path
        self._endings = dict(endings)
        self._taken: dict[str, str] = {}
        self._notes = {os.path.realpath(source) for source in sources if source != STANDARD_INPUT}
        try:
            path.mkdir(parents=True, exist_ok=True)
            _probe(path)
        except OSError as error:
            raise OutputError(
                f"{path}: nothing can be written to this folder ({_reason(error)}). Choose another folder with --out."
            ) from None

    def claim(self, source: str) -> list[Path]:
        """The files that come of ``source``, the order's first. Raises ``OutputError`` where another note has one."""
        targets = {what: self.path / f"{stem_of(source)}{ending}" for what, ending in self._endings.items()}
        for what, target in targets.items():
            if os.path.realpath(target) in self._notes:
                raise OutputError(
                    f"{source}: its {what} would replace the note {target}. Choose another folder with --out."
                )
            if target.name.endswith(ENDINGS["prices"]) and target.exists():
                raise OutputError(
                    f"{source}: {target} is there already and may hold prices that you filled in. "
                    "Rename it, or choose another folder with --out."
                )
            # Upper and lower case are one name on some disks.
            if (other := self._taken.get(target.name.casefold())) is not None:
                raise OutputError(
                    f"{source}: its {what} would replace that of {other}, as both go to {target}. "
                    "Rename one of the notes, or write them to different folders."
                )
        self._taken |= {target.name.casefold(): source for target in targets.values()}
        return list(targets.values())


@dataclass
class Outcome:
    """How many notes were written and how many failed; ``texts`` are what no folder took."""

    written: int = 0
    failed: int = 0
    texts: list[str] = field(default_factory=list)


def run(
    sources: Iterable[str],
    texts_of: Callable[[str], list[str]],
    folder: OutputFolder | None,
    report: Callable[[str], None],
    outcome: Outcome,
) -> None:
    """Make the texts of each source with ``texts_of``, one for each file, and put them away.

    ``report`` gets one line for each failure.

    ``outcome`` is kept up to date, so that it also tells how far an interrupted run came.
    """
    for source in sources:
        try:
            targets = None if folder is None else folder.claim(source)
            texts = texts_of(source)
            if targets is None:
                outcome.texts += texts
            else:
                for target, text in zip(targets, texts, strict=True):
                    replace_whole(target, text)
        except (NoteError, OutputError) as error:
            outcome.failed += 1
            report(str(error))
        except Exception as error:
            outcome.failed += 1
            what = " ".join(f"{type(error).__name__}: {error}".split())
            report(f"{source}: nothing could be made of it ({what}). Report this fault of the program with the note.")
        else:
            outcome.written += 1


def replace_whole(target: Path, content: str | bytes) -> None:
    """Write ``content`` to ``target``, text in UTF-8, so that the file is at every moment the old one or the new one."""
    draft = target.with_name(f".{secrets.token_hex(6)}.tmp")
    try:
        draft.write_bytes(content.encode() if isinstance(content, str) else content)
        draft.replace(target)
    except OSError as error:
        raise OutputError(
            f"{target}: cannot be written ({_reason(error)}). Mend that or choose another --out."
        ) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def cores() -> int:
    """The cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _probe(folder: Path) -> None:
    """Raise ``OSError`` where no file can be made in ``folder``."""
    draft = folder / f".{secrets.token_hex(6)}.tmp"
    draft.touch(exist_ok=False)
    draft.unlink()


def _reason(error: OSError) -> str:
    return error.strerror or os.strerror(error.errno or 0)
