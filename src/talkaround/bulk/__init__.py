"""Notes by the million: rows of notes in, a folder of Parquet parts with their orders out.

``job`` says what is to be read and whether a folder goes on with it, ``reading`` makes one part (in whatever process),
``parts`` is how a part is written, ``pool`` and ``cluster`` are the processes that do it, ``running`` hands them the work.
"""

from __future__ import annotations

from talkaround.bulk.job import BulkError, Job, prepared
from talkaround.bulk.running import Progress, Ran, run

__all__ = ["BulkError", "Job", "Progress", "Ran", "prepared", "run"]
