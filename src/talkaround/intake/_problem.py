"""What is said when a note cannot be read."""

from __future__ import annotations

from talkaround.quoting import clipped


class NoteError(Exception):
    """A note that is refused: which one, what is wrong with it, and how to mend it. ``str`` is always one line."""

    def __init__(self, source: str, problem: str, mend: str) -> None:
        super().__init__(source, problem, mend)
        self.source = source
        self.problem = problem
        self.mend = mend

    def __str__(self) -> str:
        return " ".join(f"{self.source}: {self.problem}. {self.mend}.".split())


class Malformed(Exception):
    """A transcript that breaks its format; ``where`` is a line or a place in the data, for the reader."""

    def __init__(self, where: str, expected: str, found: str | None = None) -> None:
        super().__init__(f"{where}: expected {expected}" + ("" if found is None else f', found "{clipped(found)}"'))
