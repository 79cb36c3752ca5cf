"""Writes recordings down in the background, one after the other; a restart takes up what was left."""

from __future__ import annotations

import importlib.util
import logging
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from queue import Queue
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import InterfaceError, OperationalError, TimeoutError

from talkaround.desk.orders import Orders
from talkaround.desk.store.tables import NoteRow, Sound
from talkaround.intake import NoteError, note_from_transcript

Listener = Callable[[Path], dict[str, Any]]
_log = logging.getLogger("talkaround.desk")
_AGAIN_S = 10
"""How long a recording waits where the store is busy or away, seconds."""
NO_VOICE = (
    "The recording is kept. This computer cannot write it down: install the voice extra with pip install "
    '"talkaround[voice]" and start the desk again, or type what was said.'
)


class NotReady(Exception):
    """Nothing is wrong with the recording, and it can be written down once the desk is; the text says how."""


class Listening:
    """Writes recordings down in the background, one after the other; without a listener it does nothing."""

    def __init__(self, orders: Orders, listener: Listener | None):
        self.orders, self.listener = orders, listener
        self._waiting: Queue[int | None] = Queue()
        self._thread = threading.Thread(target=self._run, name="listening", daemon=True)

    def start(self) -> None:
        """Begin, with the recordings that were left waiting when the desk last stopped."""
        with self.orders.store.reading() as s:
            for id in s.scalars(select(NoteRow.id).where(NoteRow.state == "to-hear").order_by(NoteRow.id)):
                self.add(id)
        self._thread.start()

    def stop(self) -> None:
        """End behind what is waiting now; it does not wait for that."""
        self._waiting.put(None)

    def add(self, note_id: int) -> None:
        """Have the recording of a note written down, behind those that wait."""
        self._waiting.put(note_id)

    def _run(self) -> None:
        while (note_id := self._waiting.get()) is not None:
            try:
                self._one(note_id)
            except (InterfaceError, OperationalError, TimeoutError):
                # The recording is not to blame: it still waits, and is taken up again.
                _log.exception("note %d: the store is busy, full or away", note_id)
                again = threading.Timer(_AGAIN_S, self.add, (note_id,))
                again.daemon = True
                again.start()
            except Exception:
                _log.exception("note %d: stays unwritten until the next start", note_id)

    def _one(self, note_id: int) -> None:
        try:
            self._write_down(note_id)
        except (InterfaceError, OperationalError, TimeoutError):
            raise
        except Exception:
            # One broken recording must not keep the others waiting.
            _log.exception("note %d: could not be written down", note_id)
            self.orders.not_heard(
                note_id, "The recording could not be written down. Listen to it, and type what was said."
            )

    def _write_down(self, note_id: int) -> None:
        with self.orders.store.reading() as s:
            row, sound = s.get_one(NoteRow, note_id), s.get_one(Sound, note_id)
        if row.state == "read":
            return
        if self.listener is None:
            self.orders.not_heard(note_id, NO_VOICE, later=True)
            return
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"note{sound.suffix}"
            path.write_bytes(sound.data)
            try:
                note = note_from_transcript(self.listener(path), source="the recording", name=row.name)
            except NotReady as error:
                self.orders.not_heard(note_id, str(error), later=True)
                return
            except NoteError as error:
                self.orders.not_heard(note_id, f"The recording {error.problem}. {error.mend}, or type what was said.")
                return
        self.orders.heard(note_id, note)


def shipped_listener(expected: tuple[str, ...], recogniser: str | None = None) -> Listener | None:
    """The recogniser of the voice extra, loaded with the first recording; None where it is not installed."""
    if importlib.util.find_spec("faster_whisper") is None:
        return None
    model: list[Any] = []

    def listener(path: Path) -> dict[str, Any]:
        from talkaround import hearing

        if not model:
            try:
                model.append(hearing.load(recogniser, expected))
            except hearing.RecogniserError as error:
                problem = error.problem.removeprefix("is a recording, and ")
                raise NotReady(
                    f"The recording is kept, but cannot be written down yet: {problem}. {error.mend}; then start the desk "
                    "again, or type what was said."
                ) from error
        return hearing.listen(path, model[0])

    return listener


__all__ = ["NO_VOICE", "Listener", "Listening", "NotReady", "shipped_listener"]
