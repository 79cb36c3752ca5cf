"""What a lexicon file may say. Every record is checked against these models when the lexicon is read.

A component file is a TOML table per component, headed by its id::

    [outer-tie-rod-end]
    name = "outer tie rod end"
    names = ["outer tie rod", "track rod end", "TRE"]
    system = "steering"
    kind_of = "tie-rod-end"
    places = ["side"]
    implies = "front outer"
    safety = ["steer"]
    measured = ["play"]
    goes_with = [{ part = "wheel-alignment", when = "replace", source = "common practice" }]
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

from talkaround.models import ActionVerb, ConditionId, Degree, RuleBook, Severity

Id = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
PHRASE_LIMIT = 1_000
"""Characters that a name or a sentence of the lexicon may have."""
Phrase = Annotated[str, StringConstraints(min_length=1, max_length=PHRASE_LIMIT, strip_whitespace=True)]

# The axes along which a vehicle can carry more than one of a component.
Axis = Literal["side", "axle", "axle-number", "level", "depth", "end", "center", "cylinder", "bank"]
# What the component does for safety: turns the vehicle, stops it, keeps it on the road or a part on the vehicle,
# lets the driver see and others see the vehicle, carries load, burns or shocks when it fails.
# ``sole``: alone keeps the vehicle steered, stopped or on its wheels; where it breaks or goes, nothing else does.
Role = Literal["steer", "stop", "hold", "see", "carry", "burn", "sole"]
Kind = Literal["part", "fluid", "system", "service"]


class Record(BaseModel):
    """A table of the lexicon: unknown keys are refused, and nothing changes after it was read."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Served(Record):
    """The component is not sold alone: ``part`` is what is fitted, ``when`` says on which vehicles."""

    part: Id
    when: Phrase | None = None
    source: Phrase


class Companion(Record):
    """``part`` goes with the component (``when`` it is replaced, say), and who says so."""

    part: Id
    when: Phrase | None = None
    found: tuple[ConditionId, ...] = ()
    """Where it is given, it goes along only where one of these conditions was found (a bearing corroded in)."""
    source: Phrase


class Component(Record):
    """A part or an assembly of a vehicle."""

    name: Phrase
    """Canonical name, US wording, singular."""
    names: tuple[Phrase, ...] = ()
    """Every other name that means this component and no other; plurals and spelling variants are generated."""
    short: tuple[Phrase, ...] = ()
    """Names that other components share (``boot``, ``bushing``); the clause or the focus decides between them."""
    system: Id
    kind: Kind = "part"
    kind_of: Id | None = None
    """The more general component that this is one kind of (lower ball joint -> ball joint)."""
    part_of: tuple[Id, ...] = ()
    """The assemblies that it sits in or belongs to (a bushing of an arm), nearest first."""
    holds: Id | None = None
    """The fluid of a reservoir or tank: a level said of the one is a level of the other."""
    places: tuple[Axis, ...] = ()
    """Axes along which there is more than one; empty where a vehicle has a single one."""
    seldom: tuple[Axis, ...] = ()
    """Those of them along which few vehicles have more than one: where the note says nothing, nobody needs to ask."""
    implies: str = ""
    """Place words that the part alone implies: tie rods are ``front``."""
    safety: tuple[Role, ...] = ()
    measured: tuple[Id, ...] = ()
    """Ids from ``quantities.toml``."""
    served_as: tuple[Served, ...] = ()
    goes_with: tuple[Companion, ...] = ()
    look_at: tuple[Companion, ...] = ()
    """Parts to be looked at along with it, for its fault overloads them or comes of theirs."""
    sold: Literal["each", "axle-set", "set", "fill"] = "each"
    """How it is bought: one by one, the set for an axle (pads), one set for the vehicle, or so much as it takes."""
    alike: bool = False
    """The same part fits left and right, so that the two are bought as one kind."""
    opens: Phrase | None = None
    """The place that work on it opens ("front of the engine"); lines that open one place are one job."""
    paired: Phrase | None = None
    """Source of the rule that it is replaced in pairs on an axle, where it is."""


class System(Record):
    """A group of components that are worked on together."""

    name: Phrase
    job: Literal["corner", "axle", "whole"] | None = None
    """How far lines of this system open the same place: at one corner, on one axle, or the whole system."""
    job_name: Phrase | None = None
    """What such a job is called, where that is not the system's name."""


class Caution(Record):
    """A caution, and what calls for it: scopes as in :func:`in_scope` or safety roles, and verbs (none: any work).

    ``unless`` are scopes that do not call for it though ``when`` takes them in.
    """

    text: Phrase
    when: tuple[Id, ...] = Field(min_length=1)
    unless: tuple[Id, ...] = ()
    verbs: tuple[ActionVerb, ...] = ()


DOCUMENTATION_RULES = (
    "place-given", "reading-given", "twin-read", "condition-named", "words-that-say", "action-said", "concern-answered",
    "good-recorded", "systems-covered", "unsafe-told", "vin-given", "odometer-given", "final-check", "not-played-down",
    "not-played-up", "right-part",
)  # fmt: skip
"""The rules of ``audit.points``, by the names that their tables bear."""


class DocumentationPoint(Record):
    """A point of how well a note is written; the rule of its name is in ``audit.points``.

    ``asks`` is what it asks of a note. ``unit`` is what is counted. ``when`` are the scopes that it is limited to, as in
    :func:`in_scope`, ``conditions`` what must have been found, ``quantities`` what must have been measured, ``words`` what
    is looked for in the note, ``systems`` those that a walkaround goes over, and ``from_lines`` how many lines make a note one.
    """

    name: Phrase
    asks: Phrase
    unit: Literal["line", "concern", "order", "system", "part"]
    weight: float = Field(gt=0)
    when: tuple[Id, ...] = ()
    conditions: tuple[ConditionId, ...] = ()
    quantities: tuple[Id, ...] = ()
    words: tuple[Choices, ...] = ()
    systems: tuple[Id, ...] = ()
    from_lines: int = Field(default=0, ge=0)


class Plain(Record):
    """What a part is in words for a customer: a short explanation, or that every customer knows the word."""

    says: Phrase | None = None
    known: bool = False

    @model_validator(mode="after")
    def _one_of_them(self) -> Plain:
        if (self.says is None) == (not self.known):
            raise ValueError("give says, or known = true, and not both")
        return self


class Quantity(Record):
    """Something that is measured, and how a number without a unit is taken."""

    name: Phrase
    units: tuple[Phrase, ...]
    """Units it is read in, as ``units.toml`` names them; the first is assumed for a bare number where one is."""
    bare: dict[str, str] = {}
    """Unit of a bare number by rule book family (``us``, ``uk``, ``eu``); absent where a bare number means nothing."""
    usual: tuple[float, float] | None = None
    """Least and greatest that it can be, in the first unit: a rotor of 0.004 in is its runout and not its thickness."""


class Unit(Record):
    """A unit of measure and its names."""

    names: tuple[Phrase, ...]
    dimension: Id
    """Units of one dimension convert into each other."""
    factor: float = Field(gt=0)
    """Times this gives the dimension's base unit (mm, kPa, V, A, ohm, N m, degree, km, s)."""
    offset: float = 0.0
    reading: bool = True
    """False where a number in it is a distance, a time or a speed and no reading of a part."""


# Words of place, those that the drive side decides, and those that what was said before decides.
PLACE_WORDS = frozenset(
    "front rear left right center upper lower inner outer forward rearward "
    "driver passenger nearside offside curbside roadside "
    "both all-four neither-side this-side other-side same-place steer reset".split()
)


def _known_places(means: str) -> str:
    unknown = [w for w in means.split() if w not in PLACE_WORDS and "=" not in w]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is no word of place; use {', '.join(sorted(PLACE_WORDS))}, or key=value")
    return means


_CHOICE = re.compile(r"\(([^()]*)\)")


def alternatives(name: str) -> Iterator[str]:
    """Every phrase that a cue's name stands for: ``(sold|served) alone`` is two. A name without brackets is itself."""
    parts = _CHOICE.split(name)
    for chosen in product(*(part.split("|") if n % 2 else (part,) for n, part in enumerate(parts))):
        yield "".join(chosen)


def _whole_choices(name: str) -> str:
    if any(c in _CHOICE.sub("", name) for c in "()|") or any(not all(c.split("|")) for c in _CHOICE.findall(name)):
        raise ValueError(
            f"{name!r} offers a choice that is not whole; write it as (sold|served) alone, brackets not in brackets"
        )
    return name


Choices = Annotated[Phrase, AfterValidator(_whole_choices)]


class PlaceWord(Record):
    """Words for a place on the vehicle."""

    names: tuple[Phrase, ...]
    means: Annotated[str, AfterValidator(_known_places)]
    """Place words (``front left``), or a ``driver``/``passenger``/``nearside``/``offside`` word to be resolved."""


class ConditionWords(Record):
    """Words for something that is wrong."""

    names: tuple[Choices, ...]
    degrees: dict[Degree, tuple[Choices, ...]] = {}
    """Phrasings that carry a degree of their own (``rotted through`` is corroded, severe)."""
    only_for: dict[Id, tuple[Choices, ...]] = {}
    """Phrasings that mean this condition only for the components that a scope names (see :func:`in_scope`)."""


class ActionWords(Record):
    """Words for something to do, or that was done."""

    verb: ActionVerb
    need: tuple[Choices, ...] = ()
    done: tuple[Choices, ...] = ()


class Cue(Record):
    """Words that steer the reading and are no finding themselves."""

    kind: Id
    value: str | None = None
    names: tuple[Choices, ...]
    """Phrases; ``(sold|served) alone`` is short for two of them."""


class Ambiguous(Record):
    """A word that several components share: the usual meaning, and the words of the clause that decide for another."""

    usual: Id | None = None
    near: dict[Id, tuple[Phrase, ...]] = {}


class OrdinaryWords(Record):
    """Words of everyday English, with spaces between."""

    words: Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]


class Mishearing(Record):
    """What a recogniser writes for a trade word, and the words that were said."""

    heard: tuple[Phrase, ...] = ()
    ask: tuple[Phrase, ...] = ()
    """What may stand for it and would turn the meaning around: never mended, asked about."""
    behind: tuple[Phrase, ...] = ()
    """Where it is given, one of these words must come right before; ``#`` is any number."""
    before: tuple[Phrase, ...] = ()
    not_behind: tuple[Phrase, ...] = ()
    not_before: tuple[Phrase, ...] = ()
    """Where one of these words comes right after, it was heard right ("break loose")."""
    beside: tuple[Phrase, ...] = ()
    """Where it is given, one of these words must stand within four words, for what was heard is a common word too."""


class Expected(Record):
    """What a recogniser is told to expect, most telling first."""

    words: tuple[Phrase, ...]


class Limit(Record):
    """A number that readings are held against. ``below``/``above`` fail, ``inclusive`` with the number itself.

    Both bounds may be given (a charging voltage). Figures that no reading is held against are kept too, so that sources
    that differ stand side by side: see ``applies``.
    """

    book: RuleBook | Literal["any"]
    """The rule book it belongs to; ``any`` for makers' figures and habits that go with each, where a book is silent."""
    quantity: Id
    components: tuple[Id, ...] = Field(min_length=1)
    """Ids, each taking in its kinds."""
    axle: Literal["front", "rear"] | None = None
    below: float | None = None
    above: float | None = None
    inclusive: bool = False
    near: float | None = None
    unit: Phrase
    source: Phrase
    mark: Literal["read", "memory", "habit"]
    dangerous: bool = False
    """Past it the part is dangerous and not only rejected, also where it stands ``beside`` the limit that is used."""
    applies: Literal["verdict", "named", "beside"] = "verdict"
    """``verdict``: readings are held against it. ``named``: it holds on a condition that a reading cannot tell
    (``only_if``), so only for the components of ``known_from``. ``beside``: kept beside the figure that is used."""
    only_if: Phrase | None = None
    """What must be known for a ``named`` limit to hold, such as ``air disc brake``."""
    known_from: tuple[Id, ...] = ()
    """Components, with their kinds, whose id tells that ``only_if`` or ``axle`` is met (a steer tire is in front)."""
    kind: Literal["air", "hydraulic", "electric"] | None = None
    """The sort of brake that it is for."""
    only_between: tuple[float, float] | None = None
    """Readings outside, in ``unit``, are of another sort (a 24 V system) and are not held against it."""
    stands_beside: tuple[Id, ...] = ()
    """Limits that give another figure for the same thing."""
    note: Phrase | None = None

    @model_validator(mode="after")
    def _whole(self) -> Limit:
        if self.below is None and self.above is None:
            raise ValueError("needs a number: below, above or both")
        if self.below is not None and self.above is not None and (self.near is not None or self.below >= self.above):
            raise ValueError("with two bounds, below must be the smaller one, and near cannot be given")
        if self.near is not None and (
            self.near < self.below if self.below is not None else self.near > (self.above or 0.0)
        ):
            raise ValueError("near must lie on the good side of the limit")
        if (self.applies == "named") != (self.only_if is not None):
            raise ValueError('only_if says when a limit with applies = "named" holds: give both or neither')
        if self.only_between is not None and self.only_between[0] >= self.only_between[1]:
            raise ValueError("only_between is the smaller number, then the larger")
        return self


class JudgementRule(Record):
    """What a condition means for severity and action where the note says no more."""

    when: tuple[Id, ...] = ()
    """Scopes (see :func:`in_scope`), or what the component does for safety; empty for every component."""
    unless: tuple[Id, ...] = ()
    """Scopes that the rule leaves out."""
    degree: Degree | None = None
    said: Id | None = None
    """Holds where a severity cue with this ``value`` was said of the component (``parting``: about to come off)."""
    severity: Severity
    verb: ActionVerb
    yields: bool = False
    """An ``unsafe`` that gives way to what the note says of the urgency; others do not."""


class Judgement(Record):
    """What one condition (``any``: whatever the condition) means where the note says no more.

    The first rule that fits stands.
    """

    rules: tuple[JudgementRule, ...]


__all__ = [
    "DOCUMENTATION_RULES",
    "ActionVerb",
    "ActionWords",
    "Ambiguous",
    "Axis",
    "Caution",
    "Companion",
    "Component",
    "ConditionId",
    "ConditionWords",
    "Cue",
    "Degree",
    "DocumentationPoint",
    "Expected",
    "Id",
    "Judgement",
    "JudgementRule",
    "Kind",
    "Limit",
    "Mishearing",
    "OrdinaryWords",
    "Phrase",
    "Plain",
    "PlaceWord",
    "Quantity",
    "Record",
    "Role",
    "RuleBook",
    "Served",
    "System",
    "Unit",
    "alternatives",
]
