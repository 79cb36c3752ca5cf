"""What an audit tells: plain records that the table, the files, the page and the desk are all made from.

Shares are of occasions: ``due`` is how often a documentation point applied, ``met`` how often it was kept. Intervals are
at the report's confidence (0.95 unless asked otherwise), so ``low`` and ``high`` are numbers from 0 to 1.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Unit = Literal["line", "concern", "order", "system", "part"]
"""What is counted when a point is due: a line of an order, a concern, a whole order, a system of an order, a part."""
Part01 = Annotated[float, Field(ge=0, le=1)]


class Told(BaseModel):
    """What each piece of the report is: it never changes, and takes no field that it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Share(Told):
    """``met`` of ``due`` with its Wilson interval; ``few`` where ``due`` is too small to conclude from.

    Of nothing (``due`` 0) the interval is 0 to 1.
    """

    met: int = Field(ge=0)
    due: int = Field(ge=0)
    low: Part01
    high: Part01
    few: bool

    @property
    def share(self) -> float | None:
        """``met`` of ``due``, from 0 to 1; None where nothing was due."""
        return self.met / self.due if self.due else None


class Mean(Told):
    """The weighted share of points kept, note by note: its mean over ``orders`` notes, with its interval."""

    orders: int
    mean: Part01
    low: Part01
    high: Part01
    few: bool


class Point(Told):
    """A documentation point: a named rule. ``asks`` is what it asks of a note, in words for the reader."""

    id: str
    name: str
    asks: str
    weight: float
    unit: Unit


class Row(Told):
    """One technician, shop or system; ``points`` by the point's id, those that were never due left out."""

    who: str
    orders: int
    points: dict[str, Share]
    score: Mean | None = None


class StandsOut(Told):
    """Somebody whose interval lies apart from that of the others together, on one point: of all but who else stands out.

    The intervals here are widened for the number of comparisons made, so that chance alone accuses nobody.
    """

    who: str
    point: str
    below: bool
    own: Share
    others: Share
    sentence: str
    examples: list[Example] = []


class Example(Told):
    """An order to look at: ``words`` of its note that it is about, empty where it is about what is not there."""

    order: str
    date: str = ""
    who: str = ""
    words: str = ""


class Period(Told):
    """One period of a p-chart; ``lower`` and ``upper`` are its control limits, ``outside`` where it lies beyond them."""

    period: str
    met: int
    due: int
    lower: Part01
    upper: Part01
    outside: bool


class Chart(Told):
    """A p-chart of one point, for one technician or for everybody (``who`` empty), oldest period first.

    ``changed_from`` is the first period after a lasting change, None where the numbers show none; ``before`` and
    ``after`` are then the two sides of it.
    """

    who: str
    point: str
    center: Part01
    periods: list[Period]
    changed_from: str | None = None
    before: Share | None = None
    after: Share | None = None
    sentence: str


class Agreement(Told):
    """How the severity that the technician said agrees with the rule book's, where a line has both.

    ``kappa`` is Cohen's with linear weights over the five severities in their order, None where it is not defined;
    ``table`` counts, row by what was said, column by the rule book, most severe first.
    """

    who: str
    lines: int
    kappa: float | None
    low: float | None
    high: float | None
    few: bool
    table: list[list[int]]


class BeforeAfter(Told):
    """A point before and since a day (training, a new form): ``difference`` is after less before, with its interval.

    The interval is widened for the number of points; ``tells`` where it lies apart from 0 and the difference is worth a
    word.
    """

    point: str
    before: Share
    after: Share
    difference: float
    low: float
    high: float
    tells: bool
    sentence: str


class Seen(Told):
    """Something seen on one vehicle over its visits; ``was`` and ``now`` are words, ``first`` and ``then`` order names."""

    vehicle: str
    what: str
    was: str
    now: str
    first: str
    first_date: str
    then: str
    then_date: str


class Visits(Told):
    """The same vehicle over visits: how many of each, and the first of them to look at."""

    vehicles: int = 0
    seen_again: int = 0
    counts: dict[str, int] = {}
    """By kind: ``came-back``, ``got-worse``, ``tread-grew``, ``side-changed``, ``odometer-fell``."""
    examples: dict[str, list[Seen]] = {}


class Sampled(Told):
    """An order drawn for reading by hand."""

    order: str
    date: str
    technician: str
    shop: str
    text: str


class Sample(Told):
    """A random sample that the same ``seed`` draws again. ``needed`` is how many orders a share within ``precision`` takes."""

    seed: int
    orders: list[Sampled]
    precision: float
    needed: int


class Scope(Told):
    """What was audited: ``first`` and ``last`` are days (empty where orders bear none), the rest is how it was narrowed."""

    place: str
    orders: int
    lines: int
    first: str = ""
    last: str = ""
    period: str = "month"
    technicians: int = 0
    shops: int = 0
    unnamed: int = 0
    """Orders that do not say who wrote the note."""
    undated: int = 0
    unreadable: int = 0
    narrowed: list[str] = []
    confidence: float = 0.95


class Report(Told):
    """All that an audit tells. Rows are in the order of their names: nobody is ranked."""

    scope: Scope
    points: list[Point]
    everybody: Row
    technicians: list[Row] = []
    shops: list[Row] = []
    systems: list[Row] = []
    stands_out: list[StandsOut] = []
    charts: list[Chart] = []
    """Of everybody on each point, and of each technician whose chart shows a lasting change."""
    agreement: list[Agreement] = []
    """Everybody first (``who`` empty), then each technician."""
    marked: str = ""
    """The day and what happened on it, where before and after were asked for."""
    before_after: list[BeforeAfter] = []
    visits: Visits = Visits()
    empty_words: list[tuple[str, int]] = []
    """Words that say nothing, with how many lines rest on them alone; most first."""
    sample: Sample | None = None
    remarks: list[str] = []
    """What a reader must know of these numbers, one sentence each."""


StandsOut.model_rebuild()

__all__ = [
    "Agreement", "BeforeAfter", "Chart", "Example", "Mean", "Period", "Point", "Report", "Row", "Sample", "Sampled",
    "Scope", "Seen", "Share", "StandsOut", "Unit", "Visits",
]  # fmt: skip
