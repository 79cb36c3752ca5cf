"""Many repair orders -> how findings are documented.

``places`` brings rows, ``points`` holds each order against the documentation points, ``tally`` counts, ``visits`` follows
a vehicle, ``statistics`` and ``concluding`` make the report of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from talkaround.audit.places import PlaceError, Row, rows_of, rows_of_store
from talkaround.audit.report import Report
from talkaround.audit.tally import Asked
from talkaround.vocabulary import Vocabulary

if TYPE_CHECKING:
    from talkaround.desk.store import Store


def audit(
    place: str,
    vocabulary: Vocabulary,
    asked: Asked,
    *,
    about: Path | None = None,
    workers: int | None = None,
    progress: Callable[[int], None] = lambda rows: None,
) -> Report:
    """Audit the orders of a folder, a file or a desk's store; ``progress`` gets the number of rows counted so far.

    Raises:
        PlaceError: there is nothing that could be audited.
    """
    return _audited(place, rows_of(place, about), vocabulary, asked, workers, progress)


def of_desk(store: Store, vocabulary: Vocabulary, asked: Asked) -> Report:
    """Audit the notes of an open desk, in this thread: other processes would be started beside a serving desk."""

    def batches() -> Iterable[list[Row]]:
        yield from ([row] for row in rows_of_store(store))

    return _audited("this desk", batches(), vocabulary, asked, 1, lambda rows: None)


def _audited(
    place: str,
    batches: Iterable[list[Row]],
    vocabulary: Vocabulary,
    asked: Asked,
    workers: int | None,
    progress: Callable[[int], None],
) -> Report:
    from talkaround.audit.concluding import conclude
    from talkaround.audit.points import Points
    from talkaround.audit.running import tally_all
    from talkaround.audit.visits import VisitsTable

    with VisitsTable() as visits:
        tally = tally_all(batches, vocabulary, asked, visits, workers=workers, progress=progress)
        return conclude(place, tally, visits.told(), Points(vocabulary), asked)


__all__ = ["Asked", "PlaceError", "Report", "audit", "of_desk"]
