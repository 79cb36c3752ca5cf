"""The contract: a note as it comes in, and the repair order that is made from it.

Every ``begin`` and ``end`` is a character offset into ``Note.text``, end exclusive. ``talkaround schema``
publishes these models as JSON Schema.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from talkaround.amounts import Bound

Steering = Literal["left-hand", "right-hand"]
NoteKind = Literal["typed", "transcript", "audio"]
ConditionId = Literal[
    "worn", "unevenly-worn", "scored", "loose", "torn", "cracked", "broken", "bent", "leaking", "seeping",
    "seized", "corroded", "noisy", "vibrating", "contaminated", "low", "high", "missing", "disconnected",
    "misadjusted", "inoperative", "weak", "burnt", "aged", "punctured", "due", "incorrect",
]  # fmt: skip
Degree = Literal["slight", "moderate", "severe", "complete"]
RuleBook = Literal["us-light", "us-commercial", "uk", "eu"]
Severity = Literal["unsafe", "required", "suggested", "monitor", "good"]
SEVERITIES: tuple[Severity, ...] = get_args(Severity)
"""Gravest first."""
ActionVerb = Literal[
    "replace", "repair", "adjust", "align", "machine", "clean", "lubricate", "fill", "flush", "tighten",
    "diagnose", "monitor", "none",
]  # fmt: skip
Work = Literal["proposed", "done", "ordered", "wrong-part", "declined"]
Basis = Literal["measured", "observed", "reported"]
Verdict = Literal["pass", "near", "fail"]
QuestionField = Literal["side", "axle", "component", "measurement", "action", "understanding"]
SetAsideReason = Literal[
    "chatter", "other-vehicle", "hypothetical", "general-remark", "history", "taken-back", "not-understood",
]  # fmt: skip
MendedBy = Literal["known-mishearing", "sounds-alike", "misspelled"]
PartState = Literal["to-order", "on-order", "at-hand", "to-return", "fitted"]
PartMake = Literal["original", "aftermarket"]
PartCondition = Literal["new", "used", "rebuilt", "reconditioned"]
Rounding = Literal["half-up", "half-even", "up", "down"]
TaxOn = Literal["parts", "parts and labor"]
TaxRounded = Literal["once", "each-row"]


IdentifierKind = Literal["trouble-code", "tire-size", "date-code", "date"]


# Seconds of silence that part two stretches of speech.
PAUSE_S = 0.8


class Model(BaseModel):
    """What all parts of an order have in common: unknown fields are refused, and numbers that are none."""

    model_config = ConfigDict(extra="forbid", validate_assignment=False, allow_inf_nan=False)


class Span(Model):
    """Characters ``begin`` to ``end`` (exclusive) of the note."""

    begin: int = Field(ge=0)
    end: int = Field(ge=0)


class Evidence(Span):
    """A span that a line or concern rests on; ``start_s`` in seconds where the note is timed."""

    start_s: float | None = None


class Utterance(Span):
    """One timed stretch of a transcript, seconds from its start."""

    start_s: float | None = None
    end_s: float | None = None


class Note(Model):
    """A note as given: ``text`` is never changed after intake."""

    name: str
    kind: NoteKind = "typed"
    text: str
    utterances: list[Utterance] = []


class Odometer(Model):
    """A reading of the odometer, in miles or kilometers."""

    value: float
    unit: Literal["mi", "km"]


class Identifier(Model):
    """A code that names something, written as its standard writes it; ``meaning`` says in words what is in it."""

    kind: IdentifierKind
    value: str
    meaning: str | None = None
    evidence: Span


class Vehicle(Model):
    """The vehicle as far as the note, or what was given beside it, says."""

    description: str | None = None
    vin: str | None = None
    odometer: Odometer | None = None
    plate: str | None = None
    identifiers: list[Identifier] = []
    steering: Steering = "left-hand"
    evidence: list[Span] = []


class Customer(Model):
    """What the customer intends with the vehicle and wants fitted, as far as said."""

    plan: str | None = None
    parts_preference: str | None = None
    evidence: list[Span] = []


class Concern(Model):
    """What somebody reports and nobody has confirmed."""

    text: str
    about: str | None = None
    symptoms: list[str] = []
    evidence: list[Evidence] = []


class ComponentRef(Model):
    """A component of the lexicon: its id, its name and the system it belongs to."""

    id: str
    name: str
    system: str


class PartRef(Model):
    """A part of the lexicon: its id and its name."""

    id: str
    name: str


class Position(Model):
    """Where the component sits; left and right as seen from the driver's seat. Null where not established."""

    axle: Literal["front", "rear"] | Annotated[int, Field(ge=1)] | None = None
    side: Literal["left", "right", "both", "center"] | None = None
    level: Literal["upper", "lower"] | None = None
    depth: Literal["inner", "outer"] | None = None
    end: Literal["forward", "rearward"] | None = None
    place: str | None = Field(default=None, description="anything else as key=value words, such as cylinder=3")


class Condition(Model):
    """What is wrong with the component, in the words of the lexicon."""

    id: ConditionId
    degree: Degree | None = None


class Measurement(Model):
    """A reading in the unit it was said in; ``limit`` is in the same unit.

    ``bound`` is there where it was said to be less or more than ``value``, ``evidence`` where its own words are known.
    """

    quantity: str
    value: float
    unit: str
    bound: Bound | None = None
    evidence: Span | None = None
    limit: float | None = None
    limit_source: str | None = None
    verdict: Verdict | None = None


class Action(Model):
    """What is to be done to the component, or was done."""

    verb: ActionVerb
    part: PartRef | None = None
    quantity: int | None = None
    also: list[PartRef] = []
    look_at: list[PartRef] = Field(default=[], description="parts to be looked at along with it")


class Because(Model):
    """Why a field that was concluded, and not said, stands as it does."""

    field: str
    rule: str
    text: str


class Line(Model):
    """One component at one place, with all that the note says of it and what follows from that."""

    number: int
    component: ComponentRef
    position: Position = Position()
    conditions: list[Condition] = []
    measurements: list[Measurement] = []
    identifiers: list[Identifier] = []
    severity: Severity
    severity_said: Severity | None = Field(
        default=None, description="what the technician's own words make of it; null where they say nothing of urgency"
    )
    severity_by_book: Severity | None = Field(
        default=None, description="what the rule book makes of what was found; null where nothing was found to judge by"
    )
    action: Action
    work: Work = "proposed"
    basis: Basis = "observed"
    evidence: list[Evidence] = []
    because: list[Because] = []
    concern: str = ""
    cause: str = ""
    correction: str = ""


class Question(Model):
    """What the writer must ask back; ``line`` is a line's number, or null for the whole order."""

    line: int | None = None
    field: QuestionField
    text: str
    choices: list[str] = []


class PartRow(Model):
    """One row of the order's parts list: so many of a part for one place, and where they stand.

    ``position`` is the place it is bought for, left or right where the part has a hand. ``lines`` are the numbers of the
    lines that it is for. ``make`` is there where the note decides between original and aftermarket.
    """

    part: PartRef
    position: Position = Position()
    quantity: int = Field(default=1, ge=1)
    unit: Literal["each", "set", "fill"] = Field(default="each", description="a fill is as much as it takes")
    state: PartState = "to-order"
    make: PartMake | None = None
    lines: list[int] = []
    because: list[Because] = []


class Job(Model):
    """Lines whose work opens the same place of the vehicle, so that the labor is quoted once."""

    name: str
    lines: list[int]


EXACT_DIGITS = 40
"""Digits that an amount may have, also where it is written with an exponent: no sum of money has as many."""


def _no_float(value: object) -> object:
    if isinstance(value, float):
        raise ValueError('a binary fraction is no exact amount: write it in quotes, such as "74.50"')
    return value


Exact = Annotated[
    Decimal,
    BeforeValidator(_no_float),
    Field(ge=0, max_digits=EXACT_DIGITS),
    WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d+)?$"}),
]
"""A decimal number, 0 or more, of ``EXACT_DIGITS``, kept as text in JSON; a float is refused."""


class Shop(Model):
    """The shop as its price file names it; empty where it does not."""

    name: str = ""
    registration: str = ""
    address: str = ""
    phone: str = ""
    tax_number: str = ""


class Visit(Model):
    """What the writer knows of the visit and the note does not; empty where not given."""

    customer: str = ""
    phone: str = ""
    date: str = ""
    year_and_make: str = ""


class Terms(Model):
    """How the shop reckons. ``hourly_rate`` is money an hour; ``tax_percent`` is null where the file gives none."""

    currency: str = ""
    hourly_rate: Exact | None = None
    rate_basis: str = Field(default="", description="clock hours or flat rate, and by which labor guide")
    tax_name: str = ""
    tax_percent: Exact | None = None
    tax_on: TaxOn | None = None
    tax_rounded: TaxRounded = "once"
    rounding: Rounding = "half-up"


class PricedPart(Model):
    """A part on the estimate: ``price`` for one, ``amount`` for all of them, both null while it is not priced.

    ``quantity`` is null where it is as much as it takes; ``price`` is then for all of it.
    """

    key: str
    name: str
    position: Position = Position()
    quantity: Exact | None = Decimal(1)
    price: Exact | None = None
    amount: Exact | None = None
    condition: PartCondition = "new"
    make: PartMake | None = None
    taxed: bool = True
    lines: list[int] = []


class PricedLabor(Model):
    """Work on the estimate: by ``hours`` and ``rate``, or at a fixed price; ``amount`` is null while not priced."""

    key: str
    name: str
    position: Position = Position()
    hours: Exact | None = None
    rate: Exact | None = None
    amount: Exact | None = None
    taxed: bool = False
    lines: list[int] = []


class TearDown(Model):
    """What taking apart to find the fault costs, and putting together again if no repair follows; not in the total."""

    take_apart: Exact | None = None
    put_together: Exact | None = None
    parts_lost: str = ""
    time: str = ""


class Estimate(Model):
    """Parts, labor and tax, each with what is priced so far; ``total`` is their sum.

    ``open`` names what has no price yet: where it names anything, the total is partial.
    """

    shop: Shop = Shop()
    visit: Visit = Visit()
    terms: Terms = Terms()
    parts: list[PricedPart] = []
    labor: list[PricedLabor] = []
    parts_subtotal: Exact = Decimal(0)
    labor_subtotal: Exact = Decimal(0)
    tax: Exact = Decimal(0)
    total: Exact = Decimal(0)
    open: list[str] = []
    left_out: list[str] = Field(default=[], description="what is on the order and costs nothing here, and why")
    tear_down: TearDown = TearDown()


class Mend(Span):
    """Words that were not read as they stand: ``heard`` is what the note has, ``read`` what it was taken for."""

    heard: str
    read: str
    score: float = Field(ge=0, le=100, description="how sure, of 100; a known mishearing has 100")
    how: MendedBy


class SetAside(Span):
    """Words that were said and are not on the order, with the reason; ``note`` says more where it helps."""

    reason: SetAsideReason
    note: str | None = None


class RepairOrder(Model):
    """A note read to its end: lines, parts, jobs, questions, cautions, and every word accounted for."""

    schema_version: Literal["1"] = "1"
    note: Note
    rule_book: str = Field(default="", description="whose limits readings were held against; empty where none were")
    vehicle: Vehicle | None = None
    customer: Customer | None = None
    concerns: list[Concern] = []
    summary: str = Field(default="", description="the whole order in three sentences at most")
    lines: list[Line] = []
    parts: list[PartRow] = []
    jobs: list[Job] = []
    estimate: Estimate | None = Field(
        default=None, description="from the writer's own prices; null where none were given"
    )
    questions: list[Question] = Field(default=[], description="most costly first")
    questions_left: int = Field(default=0, description="how many more are open than are shown")
    set_aside: list[SetAside] = []
    mended: list[Mend] = []
    cautions: list[str] = []
