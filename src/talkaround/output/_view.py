"""What a reader sees of a repair order, in words: shared by every format that is read by people.

Text here is plain: each format escapes it in its own way.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from talkaround.amounts import amount, number
from talkaround.models import (
    Action,
    Condition,
    Identifier,
    Line,
    Measurement,
    Mend,
    MendedBy,
    PartRow,
    PartState,
    Position,
    Question,
    RepairOrder,
    SetAside,
    Severity,
    Span,
)
from talkaround.output._estimate_view import EstimateView, estimate_view
from talkaround.vocabulary.british import shipped_british

HEADINGS: dict[Severity, str] = {
    "unsafe": "Do not drive until put right",
    "required": "Needs doing",
    "suggested": "Advised",
    "monitor": "Keep an eye on",
    "good": "Found good",
}
"""Plain headings in the order of rank, most severe first."""

# How full the mark is shows the rank, so it reads the same in black and white.
MARKS: dict[Severity, str] = {"unsafe": "▣", "required": "■", "suggested": "◧", "monitor": "□", "good": "✓"}

WORK = {
    "proposed": "Proposed",
    "done": "Done on this visit",
    "ordered": "Part on order",
    "wrong-part": "Wrong part came",
    "declined": "Declined by customer",
}
PART_STATES: dict[PartState, str] = {
    "to-order": "To order",
    "on-order": "On order",
    "at-hand": "At hand",
    "to-return": "To return",
    "fitted": "Fitted",
}
RULE_BOOKS = {
    "us-light": "US, cars and light trucks",
    "us-commercial": "US, commercial vehicles",
    "uk": "UK",
    "eu": "EU",
}
VERDICTS = {"pass": "within limit", "near": "near the limit", "fail": "past the limit"}
# What was not understood comes first: it is the only reason that calls for the reader's ear.
REASONS = {
    "not-understood": "Not understood",
    "taken-back": "Taken back",
    "hypothetical": "What if",
    "history": "Earlier work or history",
    "other-vehicle": "About another vehicle",
    "general-remark": "General remark",
    "chatter": "Talk off the job",
}
MENDED_BY: dict[MendedBy, str] = {
    "known-mishearing": "known mishearing",
    "sounds-alike": "sounds alike",
    "misspelled": "misspelled",
}
REPLACED_PARTS = (
    "You may have the replaced parts back, or look at them: ask for it in writing before the work begins. Parts that go "
    "back to their supplier, in exchange or under warranty, can only be shown."
)
LOCAL_RULES = "Local rules on estimates and repairs come first."

_DEGREES = {"slight": "slightly", "moderate": "moderately", "severe": "badly", "complete": "completely"}
_TAKES_VERY = {"loose", "noisy", "low", "high", "weak"}
_ADVERB_AFTER = {"leaking", "seeping", "vibrating", "unevenly worn"}
# These are so or not so: a degree is put beside them and not into them.
_NO_DEGREE = {"missing", "disconnected", "inoperative", "punctured", "due", "incorrect", "broken", "out of adjustment"}
_CONDITIONS = {"unevenly-worn": "unevenly worn", "misadjusted": "out of adjustment"}

# Control characters, which could move a terminal's cursor or break a file, and halves of surrogate pairs.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_GAP = re.compile(r"[^\S\n\r]*+[,;.:!?\-–—]?[^\S\n\r]*+")


@dataclass(frozen=True, slots=True)
class Quote:
    """Words of the note, exactly as they stand there, and when they were said (seconds) if that is known."""

    begin: int
    end: int
    text: str
    start_s: float | None = None

    @property
    def clock(self) -> str:
        """Minutes and seconds, or nothing."""
        return "" if self.start_s is None else clock(self.start_s)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the order in words."""

    number: int
    component: str
    system: str
    position: str
    severity: Severity
    conditions: tuple[str, ...]
    readings: tuple[str, ...]
    brief_readings: tuple[str, ...]
    codes: tuple[str, ...]
    action: str
    part: str
    also: tuple[str, ...]
    look_at: tuple[str, ...]
    work: str
    to_authorize: bool
    reported: bool
    quotes: tuple[Quote, ...]
    because: tuple[str, ...]
    three_cs: tuple[tuple[str, str], ...]
    questions: tuple[int, ...]

    @property
    def title(self) -> str:
        """Component and position, as the heading of the entry."""
        return f"{self.component}, {self.position}" if self.position else self.component

    @property
    def state(self) -> str:
        """What has become of the work; empty where there is none to speak of."""
        nothing = self.work == WORK["proposed"] and not self.to_authorize
        return "" if nothing else self.work

    @property
    def found(self) -> str:
        """Conditions in one phrase; empty where the note gives none."""
        return ", ".join(self.conditions)

    @property
    def in_short(self) -> str:
        """What a row of a table has room for: what was found, read and marked, and what has become of it."""
        return "; ".join(x for x in (*self.conditions, *self.brief_readings, *self.codes, self.state) if x)

    @property
    def to_do(self) -> str:
        """The work, the part to fit, and what goes along with it, in one phrase."""
        told = [self.action]
        if self.part:
            told.append(f"part: {self.part}")
        if self.also:
            told.append(f"with it: {', '.join(self.also)}")
        if self.look_at:
            told.append(f"look at: {', '.join(self.look_at)}")
        return "; ".join(told)


@dataclass(frozen=True, slots=True)
class Group:
    """The entries of one severity under its heading; ``mark`` shows its rank in black and white."""

    severity: Severity
    heading: str
    mark: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """A customer's concern, with what it is about and the words it rests on."""

    text: str
    about: str
    symptoms: tuple[str, ...]
    quotes: tuple[Quote, ...]


@dataclass(frozen=True, slots=True)
class Ask:
    """A question, numbered from 1; ``line`` and ``about`` say which line it belongs to, if any."""

    number: int
    line: int | None
    about: str
    text: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A row of the parts list in words; ``why`` says what was concluded and not said."""

    state: str
    quantity: str
    name: str
    where: str
    lines: tuple[int, ...]
    make: str
    why: tuple[str, ...]

    @property
    def for_lines(self) -> str:
        """The lines that want it: ``line 3``, ``lines 3, 5``."""
        return f"line{'' if len(self.lines) == 1 else 's'} {', '.join(map(str, self.lines))}"


@dataclass(frozen=True, slots=True)
class Together:
    """Lines that are one job, for they open the same place."""

    name: str
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Aside:
    """All passages that were set aside for one reason, each with a further word where there is one."""

    reason: str
    passages: tuple[tuple[Quote, str], ...]


@dataclass(frozen=True, slots=True)
class Reread:
    """Words that the note has, what they were read as, and how sure that is."""

    heard: str
    read: str
    how: str


@dataclass(frozen=True, slots=True)
class Page:
    """The whole order as it is read, top to bottom. ``facts`` holds None where the paper needs a blank."""

    heading: str
    note_name: str
    british: bool
    facts: tuple[tuple[str, str | None], ...]
    plans: tuple[tuple[str, str], ...]
    summary: str
    tally: tuple[tuple[Severity, int], ...]
    concerns: tuple[Report, ...]
    groups: tuple[Group, ...]
    good: tuple[Entry, ...]
    parts: tuple[Part, ...]
    together: tuple[Together, ...]
    questions: tuple[Ask, ...]
    questions_left: int
    asides: tuple[Aside, ...]
    mended: tuple[Reread, ...]
    cautions: tuple[str, ...]
    estimate: EstimateView

    def word(self, american: str) -> str:
        """The word as the reader's side of the road spells it, its first letter kept."""
        return spelled(american, self.british)


def page(order: RepairOrder) -> Page:
    """The order in words."""
    vehicle, customer = order.vehicle, order.customer
    british = vehicle is not None and vehicle.steering == "right-hand"
    by_number = {line.number: line for line in order.lines}
    asked: dict[int, list[int]] = {}
    for index, question in enumerate(order.questions, start=1):
        if question.line is not None:
            asked.setdefault(question.line, []).append(index)
    entries = [_entry(line, order.note.text, british, tuple(asked.get(line.number, ()))) for line in order.lines]
    groups = tuple(
        Group(severity, heading, MARKS[severity], members)
        for severity, heading in HEADINGS.items()
        if severity != "good" and (members := tuple(e for e in entries if e.severity == severity))
    )
    plans: tuple[tuple[str, str], ...] = ()
    if customer is not None:
        told = (("Customer plan", customer.plan), ("Parts wanted", customer.parts_preference))
        plans = tuple((label, clean(text)) for label, text in told if text)
    priced = estimate_view(order)
    return Page(
        heading=sentence(clean(vehicle.description)) if vehicle and vehicle.description else "",
        note_name=clean(order.note.name),
        british=british,
        facts=_facts(order, priced),
        plans=plans,
        summary=clean(order.summary),
        tally=tuple((s, n) for s in HEADINGS if (n := sum(e.severity == s for e in entries))),
        concerns=tuple(
            Report(
                sentence(clean(c.text)),
                clean(c.about or ""),
                tuple(clean(s) for s in c.symptoms),
                quotes(order.note.text, c.evidence),
            )
            for c in order.concerns
        ),
        groups=groups,
        good=tuple(e for e in entries if e.severity == "good"),
        questions=tuple(_ask(i, q, by_number, british) for i, q in enumerate(order.questions, start=1)),
        questions_left=order.questions_left,
        parts=tuple(_part(row, british) for row in order.parts),
        together=tuple(Together(clean(job.name), tuple(job.lines)) for job in order.jobs if len(job.lines) > 1),
        asides=_asides(order.note.text, order.set_aside),
        mended=rereadings(order.mended),
        cautions=tuple(clean(text) for text in order.cautions),
        estimate=priced,
    )


def rereadings(mended: Sequence[Mend]) -> tuple[Reread, ...]:
    """What was read otherwise than it stands in the note, each once."""
    told = (Reread(clean(m.heard), clean(m.read), f"{MENDED_BY[m.how]}, {number(m.score)} of 100") for m in mended)
    return tuple(dict.fromkeys(told))


def spelled(text: str, british: bool) -> str:
    """The text in the words and spelling of the reader's side of the road."""
    return shipped_british()(text) if british else text


def clean(text: str) -> str:
    """The text with what cannot be shown replaced by a mark, so that no note can steer a terminal or break a file."""
    return _UNPRINTABLE.sub("\ufffd", text)


def sentence(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def clock(seconds: float) -> str:
    """``m:ss``, or ``h:mm:ss`` from an hour on."""
    minutes, second = divmod(int(max(seconds, 0)), 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02}:{second:02}" if hours else f"{minute}:{second:02}"


def reading(measurement: Measurement, brief: bool = False) -> str:
    """Quantity, value, and what it was held against; ``brief`` leaves out whose limit it is and that it passed."""
    value = amount(measurement.value, measurement.unit, measurement.bound)
    words = f"{clean(measurement.quantity).replace('-', ' ')} {clean(value)}"
    against = []
    if measurement.limit is not None:
        against.append(f"limit {clean(amount(measurement.limit, measurement.unit))}")
    if measurement.verdict is not None and not (brief and measurement.verdict == "pass"):
        against.append(VERDICTS[measurement.verdict])
    if measurement.limit_source and not brief:
        against.append(clean(measurement.limit_source))
    return f"{words} ({', '.join(against)})" if against else words


def identifier_words(x: Identifier, british: bool = False) -> str:
    """A code with its kind and what is in it: ``date code 2319 (week 23 of 2019)``."""
    kind = x.kind.replace("-", " ")
    said = f"{spelled(kind, british)} {clean(x.value)}"
    return f"{said} ({clean(x.meaning)})" if x.meaning else said


def position_words(position: Position, name: str = "", british: bool = False) -> str:
    """Where it is: ``left front``, ``right rear, upper``, ``axle 2, left``; empty where nothing is established.

    A word that the component's ``name`` already says is not said again.
    """
    axle, side = position.axle, position.side
    middle = spelled("center", british)
    words: list[str] = []
    if isinstance(axle, int):
        words.append(f"axle {axle}")
        if side:
            words.append({"both": "both sides", "center": middle}.get(side, side))
    elif side == "both":
        words += [axle, "both sides"] if axle else ["both sides"]
    elif side == "center":
        words.append(f"{axle} {middle}" if axle else middle)
    elif side or axle:
        words.append(" ".join(w for w in (side, axle) if w))
    named = set(name.lower().split())
    words += [w for w in (position.level, position.depth, position.end) if w and w not in named]
    if position.place:
        place = clean(position.place)
        # Several key=value words may stand side by side; anything else is shown as it stands.
        keyed = re.split(r"(?<![\s,;])[\s,;]++(?=[\w-]+=)", place.strip())
        words += [re.sub(r"[-_]", " ", key) + (f" {value}" if value else "") for key, _, value in
                  (part.partition("=") for part in keyed) if key]  # fmt: skip
    return ", ".join(words)


def condition_words(condition: Condition) -> str:
    """A condition with its degree: ``slightly worn``, ``leaking badly``, ``very loose``."""
    word = _CONDITIONS.get(condition.id, condition.id)
    if condition.degree is None:
        return word
    if word in _NO_DEGREE:
        # "Completely missing" says no more than "missing".
        return word if condition.degree == "complete" else f"{word} ({condition.degree})"
    degree = "very" if condition.degree == "severe" and word in _TAKES_VERY else _DEGREES[condition.degree]
    return f"{word} {degree}" if word in _ADVERB_AFTER else f"{degree} {word}"


def action_words(action: Action) -> str:
    """What to do, as one word for the writer."""
    return "No work" if action.verb == "none" else sentence(action.verb)


def part_words(line: Line) -> str:
    """The part to fit and how many, where that says more than the action on the component; else empty."""
    action = line.action
    other = action.part is not None and action.part.id != line.component.id
    if not other and (action.quantity is None or action.quantity <= 1):
        return ""
    name = clean(action.part.name if action.part else line.component.name)
    return f"{name}\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}{action.quantity}" if action.quantity is not None else name


def quotes(text: str, spans: Sequence[Span]) -> tuple[Quote, ...]:
    """The words under the spans, in the order of the note, each a slice of it; neighbours are joined."""
    merged: list[tuple[int, int, float | None]] = []
    for span in sorted(spans, key=lambda s: (s.begin, s.end)):
        begin, end = span.begin, min(span.end, len(text))
        if begin >= end:
            continue
        start_s: float | None = getattr(span, "start_s", None)
        if merged and (begin <= merged[-1][1] or _GAP.fullmatch(text[merged[-1][1] : begin])):
            first, last, earlier = merged[-1]
            merged[-1] = (first, max(last, end), start_s if earlier is None else earlier)
        else:
            merged.append((begin, end, start_s))
    found = (_trimmed(text, begin, end, start_s) for begin, end, start_s in merged)
    return tuple(quote for quote in found if quote.text)


def _trimmed(text: str, begin: int, end: int, start_s: float | None) -> Quote:
    words = text[begin:end]
    begin += len(words) - len(words.lstrip())
    words = words.strip()
    # Cleaning puts one character for one, so the quotation still lies on its span.
    return Quote(begin, begin + len(words), clean(words), start_s)


def _entry(line: Line, text: str, british: bool, questions: tuple[int, ...]) -> Entry:
    cs = (("Concern", line.concern), ("Cause", line.cause), ("Correction", line.correction))
    return Entry(
        number=line.number,
        component=sentence(spelled(clean(line.component.name), british)),
        system=clean(line.component.system).replace("-", " "),
        position=position_words(line.position, line.component.name, british),
        severity=line.severity,
        conditions=tuple(condition_words(c) for c in line.conditions),
        readings=tuple(reading(m) for m in line.measurements),
        brief_readings=tuple(reading(m, brief=True) for m in line.measurements),
        codes=tuple(identifier_words(x, british) for x in line.identifiers),
        action=action_words(line.action),
        part=spelled(part_words(line), british),
        also=tuple(spelled(clean(part.name), british) for part in line.action.also),
        look_at=tuple(spelled(clean(part.name), british) for part in line.action.look_at),
        work=WORK[line.work],
        to_authorize=line.severity != "good"
        and line.work not in ("done", "declined")
        and line.action.verb not in ("none", "monitor"),
        reported=line.basis == "reported",
        quotes=quotes(text, line.evidence),
        because=tuple(f"{sentence(b.field)}: {clean(b.text)} [{b.rule}]" for b in line.because),
        three_cs=tuple((label, clean(said)) for label, said in cs if said),
        questions=questions,
    )


def _part(row: PartRow, british: bool) -> Part:
    count = {
        "each": str(row.quantity),
        "set": f"{row.quantity} set{'' if row.quantity == 1 else 's'}",
        "fill": "to fill",
    }
    return Part(
        state=PART_STATES[row.state],
        quantity=count[row.unit],
        name=spelled(clean(row.part.name), british),
        where=position_words(row.position, row.part.name, british),
        lines=tuple(row.lines),
        make=row.make or "",
        why=tuple(clean(b.text) for b in row.because),
    )


def _ask(index: int, question: Question, by_number: dict[int, Line], british: bool) -> Ask:
    line = by_number.get(question.line) if question.line is not None else None
    about = ""
    if line is not None:
        where = position_words(line.position, line.component.name, british)
        about = spelled(clean(line.component.name), british) + (f", {where}" if where else "")
    text = spelled(clean(question.text), british)
    return Ask(index, question.line, about, sentence(text), tuple(clean(c) for c in question.choices))


def _asides(text: str, set_aside: Sequence[SetAside]) -> tuple[Aside, ...]:
    found = []
    for reason, words in REASONS.items():
        spans = [s for s in set_aside if s.reason == reason]
        notes = dict.fromkeys(s.note or "" for s in spans)
        passages = [
            (quote, clean(note))
            for note in notes
            for quote in quotes(text, [s for s in spans if (s.note or "") == note])
        ]
        if passages:
            found.append(Aside(words, tuple(sorted(passages, key=lambda p: p[0].begin))))
    return tuple(found)


def _codes(order: RepairOrder) -> Iterator[tuple[str, str]]:
    """The codes of the vehicle as a whole, those of one kind together."""
    found = order.vehicle.identifiers if order.vehicle else []
    british = order.vehicle is not None and order.vehicle.steering == "right-hand"
    for kind in dict.fromkeys(x.kind for x in found):
        label = kind.replace("-", " ")
        values = dict.fromkeys(identifier_words(x).removeprefix(label).strip() for x in found if x.kind == kind)
        yield sentence(spelled(label, british)), ", ".join(values)


def _facts(order: RepairOrder, priced: EstimateView) -> tuple[tuple[str, str | None], ...]:
    vehicle = order.vehicle
    odometer = vehicle.odometer if vehicle else None
    value = f"{odometer.value:,.0f} {odometer.unit}" if odometer else None
    # No blank for it: a rule book is nothing that a reader could fill in by hand.
    book = (("Rule book", clean(RULE_BOOKS.get(order.rule_book, order.rule_book))),) if order.rule_book else ()
    return (
        ("Customer", priced.visit["customer"] or None),
        ("Date", priced.visit["date"] or None),
        ("Year and make", priced.visit["year_and_make"] or None),
        ("VIN", clean(vehicle.vin) if vehicle and vehicle.vin else None),
        ("Odometer in", value),
        ("Plate", clean(vehicle.plate) if vehicle and vehicle.plate else None),
        ("Drive side", f"{vehicle.steering} drive" if vehicle else None),
        *book,
        *_codes(order),
    )
