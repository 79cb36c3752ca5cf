"""What the steps of the reading hand to each other: slotted records with integer offsets."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from talkaround.amounts import Bound
from talkaround.models import IdentifierKind
from talkaround.vocabulary import Tag


class Place(NamedTuple):
    """A place on the vehicle; an axis that is not established is None. ``extra`` holds key=value words."""

    axle: str | None = None
    side: str | None = None
    level: str | None = None
    depth: str | None = None
    end: str | None = None
    extra: tuple[str, ...] = ()

    def over(self, base: Place) -> Place:
        """This place, with what it leaves open taken from ``base``."""
        return Place(
            self.axle or base.axle, self.side or base.side, self.level or base.level, self.depth or base.depth,
            self.end or base.end, self.extra or base.extra,
        )  # fmt: skip

    def other_side(self) -> Place:
        """The same place on the other side; without a side where that has no other."""
        flip = {"left": "right", "right": "left"}
        return self._replace(side=flip.get(self.side or ""))


NOWHERE = Place()
LAMP_LIT = "say.lamp-lit"
"""The rule by which a warning lamp that is on is to be looked into."""
AXIS_OF = {
    "front": "axle", "rear": "axle", "left": "side", "right": "side", "center": "side",
    "upper": "level", "lower": "level", "inner": "depth", "outer": "depth", "forward": "end", "rearward": "end",
}  # fmt: skip


@lru_cache(maxsize=1024)
def place_of_words(words: str) -> Place:
    """The place that words such as ``front outer`` or ``axle=2`` mean."""
    axes: dict[str, str] = {}
    extra: list[str] = []
    for w in words.split():
        if w.startswith("axle="):
            axes["axle"] = w[5:]
        elif "=" in w:
            extra.append(w)
        elif w in AXIS_OF:
            axes[AXIS_OF[w]] = w
    return Place(
        axes.get("axle"), axes.get("side"), axes.get("level"), axes.get("depth"), axes.get("end"), tuple(extra)
    )


@dataclass(slots=True)
class Mention:
    """One tagged stretch of the note: words ``begin`` to ``end`` (exclusive) and what they may mean."""

    begin: int
    end: int
    tags: tuple[Tag, ...]
    first: dict[str, Tag] = field(init=False, repr=False, compare=False)
    """The first tag of each kind; a clause's mentions are asked for their kinds over and over."""

    def __post_init__(self) -> None:
        self.first = {t.kind: t for t in reversed(self.tags)}

    def tag(self, *kinds: str) -> Tag | None:
        """The first tag that is of one of these kinds, or None where there is none."""
        if len(kinds) == 1:
            return self.first.get(kinds[0])
        for t in self.tags:
            if t.kind in kinds:
                return t
        return None

    def value(self, kind: str) -> str | None:
        """What the first tag of ``kind`` says, or None where there is none."""
        t = self.first.get(kind)
        return None if t is None else t.value

    def of(self, kind: str) -> list[Tag]:
        """All tags of one kind."""
        return [t for t in self.tags if t.kind == kind] if kind in self.first else []


@dataclass(slots=True)
class Quantity:
    """One or more readings of one unit. ``unit`` is None for a bare number; ``limit`` marks a limit, not a reading."""

    begin: int
    end: int
    values: tuple[float, ...]
    unit: str | None
    limit: bool = False
    signed: bool = False
    pair: bool = False
    """Two readings with a stroke between, left and right of one axle."""
    only: bool = False
    """Said with "only" or "just": the reading is too little."""
    row: bool = False
    """Four readings or more in a row, one a place."""
    counts: bool = False
    """It counts or numbers something ("5th", "84k") and measures nothing."""
    bound: Bound | None = None
    """``under`` or ``over`` where the reading was said to be less or more than the number."""


@dataclass(slots=True)
class Reading:
    """One number of a finding in its unit; ``limit`` is the least or most that the note itself names for it."""

    value: float
    unit: str
    limit: float | None = None
    copied: bool = False
    """Taken over from the twin ("same on this side"); a reading of its own replaces it."""
    bound: Bound | None = None
    """``under`` or ``over`` where it was said to be less or more than ``value``."""
    span: tuple[int, int] | None = None
    """The characters of the note that say it."""


@dataclass(slots=True)
class Clause:
    """A stretch of words that says one thing; ``sentence`` numbers the stretch between full stops or line ends."""

    begin: int
    end: int
    sentence: int
    line: int
    mentions: list[Mention] = field(default_factory=list)
    quantities: list[Quantity] = field(default_factory=list)
    opened_by: str = ""
    """The mark or word that stands before the clause: ``,`` ``and`` ``but`` or nothing."""
    number: int = 0
    """Its index among the clauses of the note."""


@dataclass(slots=True)
class Said:
    """A condition as said, with its degree."""

    id: str
    degree: str | None = None


@dataclass(slots=True)
class Why:
    """A field that was concluded, the rule that did it, and why in words for the reader."""

    field: str
    rule: str
    text: str


@dataclass(slots=True, frozen=True)
class Identifier:
    """A code that names something: ``kind`` is ``trouble-code``, ``tire-size``, ``date-code`` or ``date``.

    ``value`` is written as its standard writes it, ``meaning`` says what is in it; ``begin`` to ``end`` are characters.
    """

    kind: IdentifierKind
    value: str
    begin: int
    end: int
    meaning: str | None = None
    of_all: bool = False
    """Said of all tires together, and so of no line."""


@dataclass(slots=True, eq=False)
class Finding:
    """What was said of one component at one place, before it is judged.

    ``spans`` are characters of the note. ``severity`` holds what was said outright, in the order it was said.
    ``at_hand``: the part for it is in the shop.
    ``ask_for`` names the place fields (``side``, ``axle``) that the note itself says are open.
    """

    component: str
    place: Place = NOWHERE
    conditions: list[Said] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    good: bool = False
    severity: list[str] = field(default_factory=list)
    verb: str | None = None
    part: str | None = None
    quantity: int | None = None
    work: str | None = None
    ask_for: list[str] = field(default_factory=list)
    at_hand: bool = False
    not_traced: bool = False
    identifiers: list[Identifier] = field(default_factory=list)
    spans: list[tuple[int, int]] = field(default_factory=list)
    why: list[Why] = field(default_factory=list)

    def says_something(self) -> bool:
        """Whether anything is said of the component beyond its name and place."""
        return bool(self.conditions or self.readings or self.good or self.severity or self.verb or self.work)


class Delivery(NamedTuple):
    """So many of a component for one side that came, as the note says."""

    component: str
    side: str
    many: int


@dataclass(slots=True)
class Reported:
    """What somebody else says of the vehicle."""

    spans: list[tuple[int, int]]
    text: str
    about: str | None = None
    symptoms: list[str] = field(default_factory=list)
    says: bool = False
    """Whether it says anything beyond that somebody reports something."""
    confirmed: bool = False
    not_confirmed: bool = False
    shows: list[str] = field(default_factory=list)
    """Ids of the conditions among the symptoms."""


@dataclass(slots=True)
class Aside:
    """Characters of the note that went into no line, and why; ``reason`` is one of the order's own words for it."""

    begin: int
    end: int
    reason: str
    note: str | None = None


@dataclass(slots=True)
class Doubt:
    """Something that the writer must ask back; ``finding`` is what it is about, or None for the whole order."""

    field: str
    text: str
    choices: list[str] = dataclasses.field(default_factory=list)
    finding: Finding | None = None


@dataclass(slots=True)
class Mend:
    """Characters ``begin`` to ``end`` of the note, ``heard`` there and ``read`` otherwise; ``score`` of 100."""

    begin: int
    end: int
    heard: str
    read: str
    score: float
    how: str


@dataclass(slots=True)
class VehicleFacts:
    """What the note says of the vehicle and of what the customer wants of it; spans are characters of the note."""

    description: str | None = None
    vin: str | None = None
    odometer: tuple[float, str] | None = None
    plate: str | None = None
    identifiers: list[Identifier] = field(default_factory=list)
    """Codes of the vehicle as a whole, or that no line was found for."""
    spans: list[tuple[int, int]] = field(default_factory=list)
    plan: str | None = None
    parts_preference: str | None = None
    customer_spans: list[tuple[int, int]] = field(default_factory=list)


@dataclass(slots=True)
class ReadNote:
    """Everything that the reading found in a note."""

    findings: list[Finding] = field(default_factory=list)
    reported: list[Reported] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    vehicle: VehicleFacts = field(default_factory=VehicleFacts)
    mends: list[Mend] = field(default_factory=list)
    deliveries: list[Delivery] = field(default_factory=list)
    customer_told: bool = False
    """Whether the note says that the customer knows of what was found."""
