"""What the walk over a note remembers from clause to clause, and what each of its rooms uses.

:class:`State` is all that a clause can know of those before it: the place in force, the findings in focus, a topic named
but not yet spoken of, who speaks, and what was set aside. :class:`Heard` is what one clause says. :class:`WalkBase` holds the
note and the result; the rooms of the walk build on it: ``subjects`` (of what), ``place_words`` and ``placing`` (where),
``readings`` and ``predicates`` (what), ``saying`` and ``statements`` (who gets it), ``corrections`` and ``discourse`` (whether
it is so). ``walk`` runs them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from talkaround.models import Steering
from talkaround.reading.clauses import is_subject
from talkaround.reading.places import PlacesSaid
from talkaround.reading.types import NOWHERE, Aside, Clause, Finding, Mention, Place, Quantity, ReadNote, Reported
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

# Why a clause is set aside, by the mode that it stands in.
ASIDE_MODES = {
    "other-vehicle": "other-vehicle",
    "hypothetical": "hypothetical",
    "general-remark": "general-remark",
    "history": "history",
    "not-inspected": "chatter",
    "taken-back": "taken-back",
}


@dataclass(slots=True)
class Subject:
    """A component as a clause names it."""

    component: str
    mention: Mention
    plural: bool


@dataclass(slots=True)
class Heard:
    """What one clause says, before it is settled of what it says it."""

    clause: Clause
    has: set[str]
    """The kinds of everything that the clause mentions."""
    places: PlacesSaid
    subjects: list[Subject]
    objects: list[Subject]
    """What is to be fitted or worked on ("needs a bulb")."""
    context: list[Subject]
    """Where or with what ("while I lean on the bumper")."""
    predicates: list[Mention]
    quantities: list[Quantity]
    corrects: bool = False
    """Whether a turn such as "sorry" leads it, in its own words or just before."""


@dataclass(slots=True)
class State:
    """What the clauses so far leave in force for the next one."""

    place: Place = NOWHERE
    """The place in force."""
    walk_side: str | None = None
    """The side that the talk walks down, said as a heading; "axle two" stays on it."""
    heading: Place = NOWHERE
    """The place last said as a heading."""
    kept: bool = False
    """The place was said as a heading ("driver side first") and holds until another is."""
    stands_at: Place = NOWHERE
    """Where the technician still is though he spoke of the other side to compare; "this side" means it."""
    moving: bool = False
    """The technician just said that he walks on, so "this side" is the one not yet seen."""
    sentence: int = -1
    line: int = 0
    focus: list[Finding] = field(default_factory=list)
    """The findings that "it" means."""
    recent: list[Finding] = field(default_factory=list)
    """The findings of this sentence."""
    named: list[str] = field(default_factory=list)
    """Components named in this sentence in whatever part."""
    pending: list[Heard] = field(default_factory=list)
    """What this sentence said before naming what of ("it's cupped, so that tire has to go")."""
    topic: list[Subject] = field(default_factory=list)
    """Components named as a heading, of which nothing was said yet."""
    topic_span: tuple[int, int] | None = None
    topic_sentence: int = -1
    topic_places: PlacesSaid | None = None
    header: str | None = None
    """The system of the last topic."""
    unit: str | None = None
    """The unit of bare numbers, said once in a heading."""
    edges: Clause | None = None
    """The last clause that spoke of the edges of a part; near it inner and outer are edges."""
    mode: str | None = None
    """What is set aside: another vehicle, a what-if, the past."""
    mode_until: int = -1
    """The last sentence that the mode or the report may reach into."""
    reporting: Reported | None = None
    told: list[Subject] = field(default_factory=list)
    """The part that the report is about; the technician's "it's dry" behind it speaks of that."""
    told_places: PlacesSaid | None = None
    supposed: list[Subject] = field(default_factory=list)
    """What a what-if or a false guess was about; "but it's fine" behind it speaks of that."""
    supposed_in: int = -1
    """The sentence of that."""
    supposed_places: PlacesSaid = field(default_factory=PlacesSaid)
    taken_back: list[str] = field(default_factory=list)
    """Components of what was taken back last, for what is said of them in its stead."""
    correcting: bool = False
    """A turn such as "no wait" was heard; the right place or number is still to come."""
    unserved: Finding | None = None
    """The faulty part that was last said not to be served alone, or served with another."""
    unserved_at: int = -1
    """The number of the clause that said so."""
    needing: int = -1
    """The sentence that lists what is needed; what "and" joins to it is needed too."""
    needs_listed: int = -1
    """The sentence that a heading such as "Needs:" opens, and how urgent it says they are."""
    needs_are: str = "required"
    needing_work: str | None = None
    """What became of all that it lists, where it says so first: "ordered a strut and two drums"."""


class WalkBase:
    """The note, the state and the result of a walk, and the few steps that every room takes.

    Args:
        text: the note as given.
        words: its folded words with their characters.
        clauses: its clauses in order, covering all words.
        vocabulary: what the trade's words mean.
        steering: the drive side.
        punctuated: whether the writer or recogniser used full stops.
        duals: whether the vehicle may have two tires a side.
    """

    def __init__(
        self,
        text: str,
        words: list[Word],
        clauses: list[Clause],
        vocabulary: Vocabulary,
        steering: Steering,
        *,
        punctuated: bool,
        duals: bool,
    ):
        self.text, self.words, self.clauses, self.v, self.steering = text, words, clauses, vocabulary, steering
        self.punctuated, self.duals = punctuated, duals
        self.s = State()
        self.out = ReadNote()
        self.trace: list[tuple[Clause, str]] = []
        """Each clause with the rule that decided what it is."""
        self.axles_numbered = any(
            t.kind == "place" and t.value.startswith("axle=") for c in clauses for m in c.mentions for t in m.tags
        )
        folds = [w.fold for w in words]
        running = sum(folds.count(w) for w in ("the", "it", "is", "i", "this", "that", "and", "a"))
        self.talk = running >= 0.12 * len(folds)
        """Whether somebody talks in sentences; terse typed lists say the place of each item anew."""
        self.unknown: list[Mention] = []
        """Subjects of the clause at hand whose shared name nothing decides."""
        self.tallies: list[tuple[str, int, str]] = []
        """Counts said of parts ("quote 3 tires"): component, how many, its name."""
        self.maybe_done: list[tuple[Finding, str]] = []
        """Findings of which nothing was said before they were called done, and the words."""
        self.unnoted_in: list[Clause] = []
        """Clauses that say a fault and that its side or axle was not noted."""
        self.from_nowhere: list[Finding] = []
        """Fluids said to leak without a word of where from."""
        self.unplaced: list[tuple[Finding, str]] = []
        """Findings with a row of readings of which nothing tells where each was taken, and the question."""
        self.denied: set[int] = set()
        """Numbers of clauses that ask something which the next clause answers with no."""
        self.answering: set[int] = set()
        """Numbers of clauses that answer the question before them."""
        self.not_it: set[int] = set()
        """Where components stand that a fault is said not to be ("the leak is not the pan")."""
        self.due_in = {c.sentence for c in clauses for m in c.mentions for t in m.of("condition") if t.value == "due"}
        """The sentences that call something due."""
        self.starts: dict[int, Mention] = {m.begin: m for c in clauses for m in c.mentions}

    # ----- words and clauses --------------------------------------------------------------------------------------

    def _word(self, at: int, *, since: int = 0, until: int | None = None) -> str:
        """The folded word at ``at``; nothing where that lies before ``since`` or not before ``until``."""
        return self.words[at].fold if since <= at < (len(self.words) if until is None else until) else ""

    def _folds(self, begin: int, end: int) -> list[str]:
        return [w.fold for w in self.words[begin:end]]

    def _phrase(self, m: Mention) -> str:
        """The mention as it stands in the note."""
        return self.text[self.words[m.begin].begin : self.words[m.end - 1].end]

    def _phrase_of(self, c: Clause) -> str:
        begin, end = self._chars(c)
        return " ".join(self.text[begin:end].split()).strip(" ,.;:-")

    def _chars(self, c: Clause) -> tuple[int, int]:
        return self.words[c.begin].begin, self.words[c.end - 1].end

    def _next_in_sentence(self, c: Clause) -> Clause | None:
        after = self.clauses[c.number + 1] if c.number + 1 < len(self.clauses) else None
        return after if after is not None and after.sentence == c.sentence else None

    def _subject_follows(self, c: Clause) -> bool:
        after = self._next_in_sentence(c)
        return after is not None and bool(after.mentions) and is_subject(after.mentions[0])

    # ----- where words go -----------------------------------------------------------------------------------------

    def _rest_on(self, f: Finding, span: tuple[int, int]) -> None:
        if span not in f.spans:
            f.spans.append(span)

    def _focus_on(self, targets: list[Finding]) -> None:
        """From here on "it" means ``targets``."""
        self.s.focus = targets
        self.s.recent += [f for f in targets if f not in self.s.recent]

    def _aside(self, c: Clause, reason: str, note: str | None = None) -> None:
        begin, end = self._chars(c)
        self.out.asides.append(Aside(begin, end, reason, note))

    def _drop_topic(self, mode: str = "chatter") -> None:
        """Set aside a topic of which nothing was said."""
        s = self.s
        if s.topic and s.topic_span:
            self.out.asides.append(Aside(*s.topic_span, ASIDE_MODES.get(mode, "chatter")))
        s.topic, s.topic_span, s.topic_places = [], None, None
