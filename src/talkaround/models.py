"""The contract: a note as it comes in, and the repair order that is made from it.

Every ``begin`` and ``end`` is a character offset into ``Note.text``, end exclusive. ``talkaround schema``
publishes these models as JSON Schema.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from talkaround.amounts import Bound

SCHEMA_VERSION = "1"

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


IdentifierKind = Literal["trouble-code", "tire-size", "date-code", "date"]


# Seconds of silence that part two stretches of speech.
PAUSE_S = 0.8


class Model(BaseModel):
    model_config = ConfigDict(extra="forbid", validate_assignment=False)


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
    value: float
    unit: Literal["mi", "km"]


class Identifier(Model):
    """A code that names something, written as its standard writes it; ``meaning`` says in words what is in it."""

    kind: IdentifierKind
    value: str
    meaning: str | None = None
    evidence: Span


class Vehicle(Model):
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
    id: str
    name: str
    system: str


class PartRef(Model):
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
    number: int
    component: ComponentRef
    position: Position = Position()
    conditions: list[Condition] = []
    measurements: list[Measurement] = []
    identifiers: list[Identifier] = []
    severity: Severity
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
    questions: list[Question] = Field(default=[], description="most costly first")
    questions_left: int = Field(default=0, description="how many more are open than are shown")
    set_aside: list[SetAside] = []
    mended: list[Mend] = []
    cautions: list[str] = []
