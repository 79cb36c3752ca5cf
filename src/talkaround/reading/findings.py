"""Walks the clauses once, with what is in force kept in a small explicit state, and yields findings.

Notes for a newcomer. Read :class:`Walk` from ``run`` down: ``_clause`` decides what a clause is (somebody's word, another
vehicle, a correction, a heading, a statement), ``_subjects`` which components it speaks of, ``_targets`` at which places, and
``_predicate`` what it says of them. The state is: the place in force, the findings in focus, and a topic named but not yet
spoken of.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from talkaround.models import Steering
from talkaround.reading.clauses import PREPOSITIONS, is_predicate, is_subject
from talkaround.reading.places import CORNERS, PlacesSaid, axes_of, implied, places_said, plural, resolved
from talkaround.reading.types import (
    NOWHERE,
    Aside,
    Clause,
    Doubt,
    Finding,
    Mention,
    Place,
    Quantity,
    Reading,
    ReadNote,
    Reported,
    Said,
    Why,
)
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word
from talkaround.vocabulary.schema import in_scope

_DETERMINERS = frozenset({"the", "a", "an", "this", "that", "my", "his", "her", "its", "some", "any", "our", "their", "these", "those", "new", "another", "other", "one", "each", "every", "both", "all", "two", "four", "three", "2", "4", "1", "3", "old", "original", "whole", "complete", "set", "pair", "of"})  # fmt: skip
# A thickness or depth said of the whole is one of its wearing part.
_MEASURED_ON = {"brake-system": "brake-pad", "wheel": "tire"}
_MUST = frozenset({"need", "must", "got", "has", "have", "want"})
_WOULD = frozenset({"suggest", "recommend", "rec", "advise", "id", "quote", "offer"})
_NEED_LEADS = frozenset(
    {
        "id",
        "ill",
        "wed",
        "would",
        "will",
        "could",
        "youd",
        "theyd",
        "going",
        "gonna",
        "ought",
        "need",
        "needs",
        "be",
        "get",
        "getting",
        "want",
        "must",
        "to",
        "should",
        "require",
        "have",
    }
)
# Prepositions of direction: behind a part spoken of already, they say where something goes, not what is at fault.
_WHITHER = frozenset(
    {
        "off",
        "onto",
        "down",
        "under",
        "over",
        "along",
        "across",
        "against",
        "near",
        "nr",
        "behind",
        "through",
        "inside",
        "into",
        "by",
        "with",
        "out",
        "beside",
        "above",
        "below",
        "where",
        "like",
        "via",
    }
)
_ASIDE_MODES = {
    "other-vehicle": "other-vehicle", "hypothetical": "hypothetical", "general-remark": "general-remark", "history": "history",
    "not-inspected": "chatter",
}  # fmt: skip
_LEFT_OVER = frozenset(
    {
        "mm",
        "inch",
        "millimeter",
        "plenty",
        "nothing",
        "meat",
        "tread",
        "percent",
        "%",
        "life",
        "much",
        "pad",
        "bit",
        "lot",
        "some",
        "any",
        "lining",
        "32",
        "32nd",
        "second",
    }
)
_NOT_A_COUNT = frozenset(
    {
        "on",
        "at",
        "in",
        "all",
        "both",
        "each",
        "across",
        "left",
        "right",
        "so",
        "now",
        "there",
        "here",
        "that",
        "it",
        "which",
        "and",
        "but",
        "front",
        "rear",
        "too",
        "even",
        "with",
        "to",
        "then",
        "as",
        "up",
        "is",
        "are",
        "over",
        "pretty",
        "still",
        "by",
        "or",
    }
)


@dataclass(slots=True)
class Subject:
    component: str
    mention: Mention
    plural: bool
    sure: bool = True


@dataclass(slots=True)
class State:
    place: Place = NOWHERE
    heading: Place = NOWHERE
    """The place last said as a heading."""
    kept: bool = False
    """The place was said as a heading ("driver side first") and holds until another is."""
    line: int = 0
    focus: list[Finding] = field(default_factory=list)
    topic: list[Subject] = field(default_factory=list)
    topic_span: tuple[int, int] | None = None
    topic_sentence: int = -1
    topic_places: PlacesSaid | None = None
    moving: bool = False
    edges_in: int = -1
    mode: str | None = None
    mode_until: int = -1
    reporting: Reported | None = None
    recent: list[Finding] = field(default_factory=list)
    sentence: int = -1
    header: str | None = None
    unit: str | None = None
    correcting: bool = False
    needing: int = -1
    """The sentence that lists what is needed; what "and" joins to it is needed too."""
    supposed: list[Subject] = field(default_factory=list)
    """What a what-if or a false guess was about; "but it's fine" behind it speaks of that."""
    named: list[str] = field(default_factory=list)
    """Components named in this sentence in whatever part."""
    pending: list[Clause] = field(default_factory=list)
    """Clauses of this sentence that said something before naming what of ("it's cupped, so that tire has to go")."""


class Walk:
    """One pass over the clauses of a note.

    Args:
        text: the note as given.
        words: its folded words with their characters.
        clauses: its clauses in order, covering all words.
        punctuated: whether the writer or recogniser used full stops.
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
        self.axles_numbered = any(
            t.kind == "place" and t.value.startswith("axle=") for c in clauses for m in c.mentions for t in m.tags
        )
        folds = [w.fold for w in words]
        running = sum(folds.count(w) for w in ("the", "it", "is", "i", "this", "that", "and", "a"))
        self.talk = running >= 0.12 * len(folds)
        """Whether somebody talks in sentences; terse typed lists say the place of each item anew."""
        self.tallies: list[tuple[str, int, str]] = []
        self.not_it: list[int] = []
        """Where components stand that a fault is said not to be ("the leak is not the pan")."""
        self.starts: dict[int, Mention] = {m.begin: m for c in clauses for m in c.mentions}

    # ----- the pass -------------------------------------------------------------------------------------------------

    def run(self) -> ReadNote:
        for clause in self.clauses:
            rule = self._clause(clause)
            self.trace.append((clause, rule))
        self._drop_topic()
        self._close_report()
        self._say_why()
        for component, wanted, name in self.tallies:
            here = [n for n, f in enumerate(self.out.findings) if f.component == component and f.verb == "replace"]
            if here and len(here) != wanted:
                self.out.doubts.append(
                    Doubt(
                        "side",
                        f"The note says {wanted} of the {name}, its lines say {len(here)}. Which ones?",
                        [],
                        here[0],
                    )
                )
        return self.out

    def _say_why(self) -> None:
        """Give a reason to every component and place that its own words do not name: the contract wants nothing without one."""
        comps = self.v.components
        named = [
            (self.words[m.begin].begin, {t.value for t in m.tags if t.kind in ("component", "short")})
            for m in self.starts.values()
            if is_subject(m)
        ]
        spoken: list[tuple[int, set[str]]] = []
        for m in self.starts.values():
            for t in m.tags:
                if t.kind in ("place", "same", "other-one"):
                    spoken.append(
                        (self.words[m.begin].begin, set(resolved(t.value, self.steering).replace("axle=", "").split()))
                    )
        for f in self.out.findings:
            family = {f.component, comps[f.component].kind_of, *self.v.kinds.get(f.component, ())}
            here = [ids for at, ids in named if any(b <= at < e for b, e in f.spans)]
            if not any(ids & family for ids in here) and not any(w.field == "component" for w in f.why):
                f.why.append(
                    Why(
                        "component",
                        "component.in-focus",
                        f"the note was still speaking of the {comps[f.component].name}",
                    )
                )
            said = {w for at, ws in spoken if any(b <= at < e for b, e in f.spans) for w in ws}
            axes = {x for x in f.place[:5] if x}
            if axes - said and not any(w.field == "position" for w in f.why):
                imp = {x for x in implied(comps[f.component])[:5] if x}
                if axes - said <= imp:
                    f.why.append(Why("position", "place.implied-by-part", "this part is always there"))
                else:
                    f.why.append(Why("position", "place.in-force", "the note was there when it said this"))

    def _chars(self, clause: Clause) -> tuple[int, int]:
        return self.words[clause.begin].begin, self.words[clause.end - 1].end

    def _aside(self, clause: Clause, reason: str, note: str | None = None) -> None:
        begin, end = self._chars(clause)
        self.out.asides.append(Aside(begin, end, reason, note))

    def _clause(self, c: Clause) -> str:
        s = self.s
        if c.sentence != s.sentence:
            self._new_sentence(c)
        has = {t.kind for m in c.mentions for t in m.tags}

        if s.reporting is not None and not self._report_goes_on(c, has):
            self._close_report()
        if s.reporting is not None:
            s.reporting.spans.append(self._chars(c))
            self._note_report(c)
            if has & {"confirmed"}:
                s.reporting.confirmed = True
                self._close_report()
            return "report.goes-on"
        if "reported" in has and not self._declines(c):
            return self._open_report(c)
        if "unconfirmed" in has and not any(is_predicate(m) for m in c.mentions):
            self._aside(c, "chatter", "not confirmed")
            return "report.not-confirmed"

        if (
            s.supposed
            and not any(is_subject(m) for m in c.mentions)
            and has & {"negation", "good", "ruled-out"}
            and "pronoun" in has
            and not has & {"condition"}
            and c.opened_by in ("but", ",", "and")
        ):
            return self._not_so(c, has)
        mode = self._mode(c, has)
        if mode == "hypothetical":
            s.supposed = list(self._subjects(c)[0]) or list(s.topic) or s.supposed
        if mode:
            return self._set_aside(c, mode)
        if "taken-back" in has:
            return self._take_back(c)
        if "not-traced" in has and s.topic:
            self._flush_topic_aside()
        if "swap" in has:
            return self._swap(c)
        if "moving" in has:
            s.moving = True
        if "vehicle" in has:
            self._describe(c)
        return self._statement(c, has)

    def _describe(self, c: Clause) -> None:
        """What kind of vehicle it is, said once near the start."""
        facts = self.out.vehicle
        m = next(m for m in c.mentions if m.tag("vehicle"))
        if facts.description is None and m.begin < 60:
            facts.description = self._phrase(m)
            facts.spans.append((self.words[m.begin].begin, self.words[m.end - 1].end))

    def _new_sentence(self, c: Clause) -> None:
        s = self.s
        if s.topic and s.topic_sentence < c.sentence - 1:
            self._drop_topic()
        if not self.talk and (c.line != s.line or s.sentence >= 0) and not self._indented(c):
            # A place said along with a part holds for its own item of a typed list, no further.
            s.place = s.heading
        elif not s.kept and c.line != s.line and not self._indented(c):
            s.place = NOWHERE
        if c.line != s.line:
            s.unit = None if not self._indented(c) else s.unit
        s.line = c.line
        s.sentence = c.sentence
        s.recent = []
        s.supposed, s.named = [], []
        s.pending = []
        if s.mode and s.mode_until < c.sentence:
            s.mode = None

    def _indented(self, c: Clause) -> bool:
        at = self.words[c.begin].begin
        start = self.text.rfind("\n", 0, at) + 1
        return at - start >= 2 and not self.text[start:at].strip()

    # ----- somebody's word ------------------------------------------------------------------------------------------

    def _declines(self, c: Clause) -> bool:
        return any(m.tag("work") and m.tag("work").value == "declined" for m in c.mentions)  # type: ignore[union-attr]

    def _open_report(self, c: Clause) -> str:
        begin, end = self._chars(c)
        self._flush_topic_aside()
        self.s.reporting = Reported([(begin, end)], "")
        self.s.mode_until = c.sentence
        self._note_report(c)
        if any(m.tag("confirmed") for m in c.mentions):
            self.s.reporting.confirmed = True
            self._close_report()
        return "report.opens"

    def _note_report(self, c: Clause) -> None:
        r = self.s.reporting
        if r is None:
            return
        for m in c.mentions:
            t = m.tag("component") or m.tag("short")
            if t and r.about is None:
                r.about = t.value
            if any(not t.scope for t in m.of("condition")):
                r.symptoms.append(self._phrase(m))

    def _report_goes_on(self, c: Clause, has: set[str]) -> bool:
        r = self.s.reporting
        if c.sentence > self.s.mode_until or r is None:
            return False
        if has & {"reported"}:
            return False
        if "unconfirmed" in has or "confirmed" in has:
            return True
        if "not-inspected" in has:
            return True
        length = sum(e - b for b, e in r.spans)
        if not self.punctuated and length > 60 and any(is_subject(m) for m in c.mentions):
            return False
        if length > 240 and any(is_subject(m) for m in c.mentions):
            return False
        first = c.mentions[0] if c.mentions else None
        if (
            not self.punctuated
            and first is not None
            and (first.tag("filler", "moving") or self._names_corner(first))
            and length > 25
        ):
            return False
        return not (c.opened_by == "but" and any(is_subject(m) for m in c.mentions))

    def _names_corner(self, m: Mention) -> bool:
        t = m.tag("place")
        return bool(t and t.value not in ("this-side", "other-side") and not m.tag("component"))

    def _close_report(self) -> None:
        r = self.s.reporting
        if r is None:
            return
        begin, end = r.spans[0][0], r.spans[-1][1]
        r.text = " ".join(self.text[begin:end].split()).rstrip(" ,;:-")
        self.out.reported.append(r)
        self.s.reporting = None

    def _phrase(self, m: Mention) -> str:
        return self.text[self.words[m.begin].begin : self.words[m.end - 1].end]

    # ----- what is not about this vehicle as it stands -------------------------------------------------------------------

    def _mode(self, c: Clause, has: set[str]) -> str | None:
        s = self.s
        if s.mode:
            if "this-vehicle" in has or (c.opened_by == "but" and s.mode == "hypothetical") or not self.punctuated and c.begin > 0 and self._fresh_start(c):
                s.mode = None
            else:
                if (
                    s.mode in ("history", "not-inspected")
                    and any(is_subject(m) for m in c.mentions)
                    and "pronoun" not in has
                    and s.mode not in has
                ):
                    s.mode = None
                else:
                    return s.mode
        for kind in ("other-vehicle", "general-remark", "hypothetical", "not-inspected", "history"):
            if kind not in has:
                continue
            if kind == "history" and self._is_due(c):
                continue
            if kind == "history" and (has & {"work"} and not any(is_subject(m) for m in c.mentions)):
                continue
            if kind == "hypothetical" and "severity" in has and not any(is_subject(m) for m in c.mentions):
                continue
            if (
                kind == "not-inspected"
                and "condition" in has
                and any(is_subject(m) for m in c.mentions)
                and not self._cue_first(c, kind)
            ):
                continue
            if kind == "hypothetical" and s.focus and not self._cue_first(c, kind) and "condition" in has:
                continue
            if kind != "history" or any(is_subject(m) for m in c.mentions) or s.topic:
                s.mode, s.mode_until = kind, c.sentence
            return kind
        return None

    def _is_due(self, c: Clause) -> bool:
        """ "15K since last oil change, due": the past is only the reason."""
        return any(
            t.value == "due"
            for x in self.clauses
            if x.sentence == c.sentence
            for m in x.mentions
            for t in m.of("condition")
        )

    def _cue_first(self, c: Clause, kind: str) -> bool:
        for m in c.mentions:
            if m.tag(kind):
                return True
            if m.tag("condition", "good", "action"):
                return False
        return False

    def _fresh_start(self, c: Clause) -> bool:
        """In talk without full stops, whether a clause begins a new matter: a part at a place, or a turn of speech."""
        first = c.mentions[0] if c.mentions else None
        if first is None:
            return False
        if first.tag("filler"):
            return True
        kinds = {k for m in c.mentions for k in (t.kind for t in m.tags)}
        return (
            self._names_corner(first)
            and bool(kinds & {"component", "short"})
            and bool(kinds & {"condition", "good", "severity", "action"} or c.quantities)
        )

    def _set_aside(self, c: Clause, mode: str) -> str:
        subjects = any(is_subject(m) for m in c.mentions)
        if (
            mode in ("history", "not-inspected", "other-vehicle")
            and not subjects
            and any(m.tag("pronoun") for m in c.mentions)
        ):
            if self.s.topic:
                self._flush_topic_aside(mode)
            elif mode == "other-vehicle":
                self._retract("other-vehicle")
        else:
            self._flush_topic_aside()
        note = "not inspected" if mode == "not-inspected" else None
        self._aside(c, _ASIDE_MODES[mode], note)
        return f"aside.{mode}"

    def _not_so(self, c: Clause, has: set[str]) -> str:
        """ "I thought it was the mount, it isn't", "... but it's fine": what was supposed is all right."""
        s = self.s
        s.mode = None
        found = self._targets(c, s.supposed, PlacesSaid())
        targets = [self._finding(*f) for f in found]
        span = self._chars(c)
        for f in targets:
            if not f.conditions:
                f.good = True
                f.why.append(
                    Why("severity", "ruled-out.supposed", "the note supposed a fault and then said that it is not so")
                )
            self._rest_on(f, span)
        s.focus, s.supposed = targets, []
        s.recent += [f for f in targets if f not in s.recent]
        del has
        return "ruled-out.supposed"

    def _retract(self, reason: str) -> None:
        """Take back what the last clause said: its findings go, their words are set aside."""
        for f in self.s.focus:
            if f in self.out.findings and len(f.spans) <= 2:
                self.out.findings.remove(f)
                self.out.asides += [Aside(b, e, reason) for b, e in f.spans]
        self.s.focus = []

    def _take_back(self, c: Clause) -> str:
        if not any(is_subject(m) for m in c.mentions) and self.s.focus and self._place_follows(c):
            # "Scratch that, the right front": only the place is taken back.
            self.s.correcting = True
            self._aside(c, "taken-back")
            return "correction.place-to-come"
        if any(is_subject(m) for m in c.mentions):
            self._flush_topic_aside()
        elif self.s.topic:
            self._flush_topic_aside("taken-back")
        else:
            self._retract("taken-back")
        self._aside(c, "taken-back")
        return "correction.taken-back"

    def _place_follows(self, c: Clause) -> bool:
        """Whether the next clause of the sentence is a place and nothing else."""
        n = self.clauses.index(c)
        nxt = self.clauses[n + 1] if n + 1 < len(self.clauses) else None
        if nxt is None or nxt.sentence != c.sentence or nxt.quantities:
            return False
        return any(m.tag("place") for m in nxt.mentions) and not any(
            is_subject(m) or is_predicate(m) for m in nxt.mentions
        )

    def _swap(self, c: Clause) -> str:
        """ "Other way round": two sibling findings trade what was said of them."""
        pool = [
            f for f in self.s.recent if f.component == (self.s.focus[0].component if self.s.focus else None)
        ] or self.s.focus
        pair = pool[-2:]
        if len(pair) < 2 and self.s.focus:
            last = self.s.focus[-1]
            pair = [f for f in self.out.findings if f.component == last.component and f.place.axle == last.place.axle][
                -2:
            ]
        if len(pair) == 2:
            a, b = pair
            a.place, b.place = b.place, a.place
            span = self._chars(c)
            a.spans.append(span)
            b.spans.append(span)
            return "correction.swap"
        self._aside(c, "chatter")
        return "correction.swap-of-nothing"

    # ----- topics -----------------------------------------------------------------------------------------------------

    def _drop_topic(self) -> None:
        self._flush_topic_aside()

    def _flush_topic_aside(self, mode: str = "chatter") -> None:
        s = self.s
        if s.topic and s.topic_span:
            self.out.asides.append(
                Aside(*s.topic_span, _ASIDE_MODES.get(mode, mode if mode == "taken-back" else "chatter"))
            )
        s.topic, s.topic_span, s.topic_places = [], None, None

    # ----- subjects ---------------------------------------------------------------------------------------------------

    def _lead(self, c: Clause, m: Mention) -> str:
        """The word before a mention, past determiners, places and numbers."""
        k = m.begin - 1
        covered = {i: x for x in c.mentions for i in range(x.begin, x.end)}
        while k >= c.begin:
            x = covered.get(k)
            if x is not None and x is not m and (x.tag("place", "degree", "filler") and not x.tag("action")):
                if x.tag("filler") and self.words[k].fold in PREPOSITIONS:
                    return self.words[k].fold
                k = x.begin - 1
                continue
            if self.words[k].fold in _DETERMINERS and not (x and x.tag("action", "severity")):
                k -= 1
                continue
            break
        return self.words[k].fold if k >= c.begin else ""

    def _goes_on(self, c: Clause, m: Mention) -> bool:
        """Whether the clause goes on about the focus ("..., whines on DC charging"): it opens with what is wrong, and no leak of a fluid."""
        first = next((x for x in c.mentions if is_predicate(x)), None)
        if first is None or first.begin > m.begin or not first.tag("condition") or c.mentions[0] is not first:
            return False
        leak = any(t.value in ("leaking", "seeping") for t in first.of("condition"))
        return not (leak and self.s.focus and self.v.components[self.s.focus[-1].component].kind == "fluid")

    def _one_of(self, c: Clause, m: Mention) -> bool:
        """ "One of the front seat heaters": a single one, nobody knows which."""
        folds = [w.fold for w in self.words[max(c.begin, m.begin - 5) : m.begin]]
        return any(folds[k : k + 2] == ["one", "of"] for k in range(len(folds)))

    def _led_by_need(self, c: Clause, m: Mention) -> bool:
        """Whether an action or a word of need governs the mention ("needs a bulb", "put two new ones", "replace the hose")."""
        for x in reversed([x for x in c.mentions if x.end <= m.begin]):
            if x.tag("place", "degree", "filler", "pronoun", "already") and not x.tag("action", "severity"):
                continue
            gap = [
                self.words[k].fold for k in range(x.end, m.begin) if not any(y.begin <= k < y.end for y in c.mentions)
            ]
            if any(g not in _DETERMINERS for g in gap):
                return False
            if x.tag("action") or (x.tag("severity") and x.tag("severity").value in ("required", "suggested")):  # type: ignore[union-attr]
                return not (x.tag("component"))
            return False
        return False

    def _pronoun_before(self, c: Clause, m: Mention) -> bool:
        """Whether the clause has a pronoun for its subject: "it keeps bouncing when I lean on the bumper"."""
        for x in c.mentions:
            if x.begin >= m.begin:
                return False
            if (
                x.tag("pronoun")
                and not x.tag("place")
                and self.words[x.begin].fold in ("it", "they", "them", "that", "those", "these", "this")
            ):
                nxt = next((y for y in c.mentions if y.begin == x.end), None)
                if nxt is None or not is_subject(nxt):
                    return bool(self.s.focus or self.s.topic)
        return False

    def _subjects(self, c: Clause) -> tuple[list[Subject], list[Subject], list[Subject]]:
        """Subjects, objects (what is to be fitted) and context (where, with what) among the clause's components."""
        subjects: list[Subject] = []
        objects: list[Subject] = []
        context: list[Subject] = []
        said_before = False
        served = False
        head_of, first_of = self._compounds(c)
        for m in c.mentions:
            if m.tag("served"):
                served = True
            if not is_subject(m):
                said_before = said_before or is_predicate(m)
                continue
            if head_of.get(id(m)):
                continue
            lead = self._lead(c, first_of.get(id(m), m))
            if said_before and lead in ("not", "isnt", "wasnt", "arent"):
                self.not_it.append(m.begin)
            after = self.words[m.end].fold if m.end < len(self.words) else ""
            several = (
                after not in ("is", "was", "has")
                and plural(self.text, self.words[m.begin].begin, self.words[m.end - 1].end)
                and not self._one_of(c, m)
            )
            target = Subject("", m, several)
            if served or self._led_by_need(c, m):
                objects.append(target)
            elif lead in ("while", "when", "with", "once", "whilst", "after", "before", "till", "until", "without"):
                context.append(target)
            elif lead in PREPOSITIONS:
                # "no leaks at the rear main": without a subject before it, what stands behind the preposition is meant.
                if subjects or objects or self._pronoun_before(c, m) or (self.s.recent or self.s.topic) and c.opened_by and (lead in _WHITHER or self._goes_on(c, m)):
                    context.append(target)
                elif lead in ("of", "in", "on", "at", "from", "for", "to", "around", "round", "by") or not said_before:
                    subjects.append(target)
                else:
                    context.append(target)
            else:
                subjects.append(target)
        owners = (
            [t.component for t in self.s.topic]
            + [n for n in self.s.named if n not in ("vehicle",)]
            + [f.component for f in self.s.focus if f in self.s.recent]
        )
        known = [t for t in (*subjects, *objects, *context) if t.mention.tag("component")]
        for t in known:
            t.component = t.mention.tag("component").value  # type: ignore[union-attr]
        near = [t.component for t in known]
        for m in c.mentions:
            if head_of.get(id(m)):
                near += [t.value for t in m.of("component")] or [t.value for t in m.of("short")][:4]
        for a, b in list(zip(subjects, subjects[1:], strict=False)):
            between = {w.fold for w in self.words[a.mention.end : b.mention.begin]}
            if (
                not between & {"and", "&", "+", "/", ",", "or", "nor", "plus", "with"}
                and b.mention.begin - a.mention.end >= 1
            ):
                # "Steering now the outer tie rods": the first is a heading, not one of a list.
                subjects.remove(a)
                context.append(a)
        if len(subjects) == 1 and context and subjects[0].mention.begin < context[0].mention.begin:
            subjects, context = self._leak_at(c, subjects, context)
        for t in (*subjects, *objects, *context):
            if not t.component:
                t.component, t.sure = self._resolve_short(t.mention, c, near, owners)
            if t.component not in self.s.named:
                self.s.named.append(t.component)
        return subjects, objects, context

    def _leak_at(
        self, c: Clause, subjects: list[Subject], context: list[Subject]
    ) -> tuple[list[Subject], list[Subject]]:
        """ "Oil leaking from the valve cover": what leaks is the part, the fluid only comes out of it."""
        fluid = subjects[0]
        ids = [t.value for t in fluid.mention.tags if t.kind in ("component", "short")]
        leak = next(
            (
                m
                for m in c.mentions
                if any(t.value in ("leaking", "seeping") for t in m.of("condition")) and m.begin >= fluid.mention.end
            ),
            None,
        )
        behind = [
            t
            for t in context
            if leak is not None
            and t.mention.begin >= leak.end
            and self._lead(c, t.mention) in ("from", "at", "@", "around", "round", "by", "out", "of", "off", "near")
        ]
        if (
            leak is None
            or not behind
            or not ids
            or self.v.components[ids[0]].kind != "fluid"
            and not any(self.v.components[i].kind == "fluid" for i in ids[:3])
        ):
            return subjects, context
        return [behind[0]], [fluid, *[t for t in context if t is not behind[0]]]

    def _compounds(self, c: Clause) -> tuple[dict[int, Mention], dict[int, Mention]]:
        """Names that stand side by side are one noun: its last word is the part, those before it the owner ("oil sump plug")."""
        head_of: dict[int, Mention] = {}
        first_of: dict[int, Mention] = {}
        nouns = [m for m in c.mentions if is_subject(m)]
        for a, b in zip(nouns, nouns[1:], strict=False):
            if a.end == b.begin and not plural(self.text, self.words[a.begin].begin, self.words[a.end - 1].end):
                head_of[id(a)] = b
                first_of[id(b)] = first_of.get(id(a), a)
        return head_of, first_of

    def _resolve_short(self, m: Mention, c: Clause, near: list[str], owners: list[str]) -> tuple[str, bool]:
        """Which component a shared name means here: its owner in the clause, the focus, what was named before, else the commonest."""
        comps = self.v.components
        options = [t.value for t in m.of("short")]
        said = tuple(w.fold for w in self.words[m.begin : m.end])
        guessed: set[str] = set()
        for known in (*owners, *(f.component for f in reversed(self.out.findings[-8:]))):
            if known not in options and any(p[-len(said) :] == said for p in self.v.name_phrases[known]):
                options.append(known)
                guessed.add(known)
        conditions = {t.value for x in c.mentions for t in x.of("condition")}
        recent = [f.component for f in [*self.out.findings[-6:], *self.s.focus]]
        names = [f.component for f in self.out.findings]
        dims = {self.v.units[q.unit].dimension for q in c.quantities if q.unit and q.unit in self.v.units}
        words = {w.fold for w in self.words[max(c.begin - 8, 0) : c.end]}
        known_as = self.v.ambiguous.get(said)
        clause = " " + " ".join(w.fold for w in self.words[c.begin : c.end]) + " "
        best, best_score = options[0], -1.0
        for rank, option in enumerate(options):
            comp = comps[option]
            score = -0.005 * rank
            if known_as is not None:
                if option == known_as.usual:
                    score += 2.2
                if any(f" {n} " in clause for n in known_as.near.get(option, ())):
                    score += 3.0
            kin = {*comp.part_of, comp.kind_of}
            if option in guessed and option not in owners:
                score -= 0.8
            if any(p[-len(said) :] == said for p in self.v.name_phrases[option]):
                score += 0.6
            if option in near or any(n in kin for n in near):
                score += 6
            elif any(n.endswith(k.split("-")[-1]) and k for n in near for k in kin if k):
                score += 1
            if option in owners:
                score += 5
            elif any(o in kin or comps[o].kind_of in kin - {None} for o in owners if o in comps):
                score += 4
            elif any(set(comps[o].part_of) & set(comp.part_of) for o in owners if o in comps):
                score += 1.5
            if option in recent:
                score += 2.5
            elif option in names:
                score += 1.5
            if any(k in recent for k in kin if k):
                score += 1.2
            systems = [comps[o].system for o in owners if o in comps]
            if comp.system in systems:
                score += 1
            elif recent and comps[recent[-1]].system == comp.system:
                score += 0.6
            if self.s.header == comp.system:
                score += 1.4
            if dims and any(
                self.v.units[u].dimension in dims
                for q in comp.measured
                for u in self.v.quantities[q].units
                if u in self.v.units
            ):
                score += 1
            own_words = {w for p in self.v.name_phrases[option] for w in p} - {
                w.fold for w in self.words[m.begin : m.end]
            }
            overlap = len(own_words & words - {"the", "of", "and", "on", "in", "front", "rear", "left", "right", "a"})
            score += 0.8 * min(overlap, 2)
            if conditions and comp.kind == "fluid" and "low" in conditions:
                score += 0.5
            if score > best_score:
                best, best_score = option, score
        return best, best_score >= 0.5 or len(options) == 1

    def _refine(self, component: str, place: Place) -> str:
        """The more exact kind that the place words call for (ball joint + lower -> lower ball joint)."""
        comps = self.v.components
        options = self.v.kinds.get(component, ())
        spoken_of = [f.component for f in self.s.recent if f.component in options]
        if spoken_of and not place.level and not place.depth:
            return spoken_of[-1]
        if options and not place.level and not place.depth:
            before = {
                f.component
                for f in self.out.findings
                if f.component in options and implied(comps[f.component]) != NOWHERE
            }
            if len(before) == 1:
                return before.pop()
            owned = [o for o in options if set(comps[o].part_of) & (set(self.s.named) - {component}) and o != component]
            if len(owned) == 1:
                return owned[0]
        parent = comps[component].kind_of
        if not options and parent:
            own = implied(comps[component])
            if (place.level and own.level and place.level != own.level) or (
                place.depth and own.depth and place.depth != own.depth
            ):
                options = self.v.kinds.get(parent, ())
        fitting = []
        for option in options:
            need = implied(comps[option])
            if need.level is None and need.depth is None:
                continue
            if (need.level in (None, place.level)) and (need.depth in (None, place.depth)):
                if comps[option].system == comps[component].system:
                    fitting.append(option)
        return fitting[0] if len(fitting) >= 1 else component

    # ----- statements ---------------------------------------------------------------------------------------------------

    def _statement(self, c: Clause, has: set[str]) -> str:
        s = self.s
        edges = "edge" in has or s.edges_in == c.sentence
        if "edge" in has:
            s.edges_in = c.sentence
        skip = self._left_over(c)
        places = places_said(c, self.steering, False, skip, self.axles_numbered)
        subjects, objects, context = self._subjects(c)
        if places.reset:
            s.place, s.heading, s.kept = NOWHERE, NOWHERE, False
            if not subjects and not any(is_predicate(m) for m in c.mentions):
                self._drop_topic()
                self._aside(c, "chatter")
                return "place.reset"
        if s.edges_in == c.sentence or edges or self._speaks_of_edges(subjects):
            places = places_said(c, self.steering, True, skip, self.axles_numbered)
        predicates = [m for m in c.mentions if is_predicate(m)]
        if self._is_tally(c, objects, quantities_of=c.quantities):
            self._aside(c, "chatter", "a tally")
            return "aside.tally"
        if "delivered" in has and s.focus:
            subjects, objects, places = [], [], PlacesSaid()
        barred = next((m for m in c.mentions if m.tag("except")), None)
        if barred is not None and any(t.mention.begin > barred.begin for t in subjects):
            return self._all_but(c, barred, [t for t in subjects if t.mention.begin > barred.begin], places)
        numbered = self._numbers_of(c, subjects or objects)
        if numbered:
            key, values = numbered
            c.quantities = [q for q in c.quantities if q.unit is not None or q.values[0] not in values]
            places.groups = [
                g._replace(extra=(f"{key}={int(n)}",)) for n in values for g in (places.groups or [NOWHERE])
            ]
        quantities = [q for q in c.quantities if self._counts_as_reading(c, q)]
        same = "same" in has
        if same:
            self._where_same(c, places)
            if not subjects and not quantities and self._subject_follows(c):
                self._move(places, keep=s.kept)
                self._aside(c, "chatter", "sets the place")
                return "place.same-to-come"
        if self._only_correcting(c, has):
            s.correcting = True
            self._aside(c, "taken-back", "corrects what was just said")
            return "correction.to-come"
        if ("correction" in has or s.correcting) and self._correct(c, places, quantities, subjects):
            return "correction.replaced"
        says = bool(predicates or quantities)
        if (
            not says
            and subjects
            and not context
            and (self._so_needs(c) or (s.needing == c.sentence and c.opened_by in ("and", "plus", "+", "&")))
            and not self._subject_said_later(c)
        ):
            return self._needs(c, subjects, places)
        if says and not subjects and not objects and not places.anything() and self._only_filler(predicates, c):
            says = False
        if not says and not same:
            return self._heading(c, subjects or objects, places, context)
        return self._say(c, subjects, objects, context, places, predicates, quantities, has)

    def _where_same(self, c: Clause, places: PlacesSaid) -> None:
        """ "Same on this side", "same on the other": the place inside the words of sameness."""
        for m in c.mentions:
            if not m.tag("same"):
                continue
            folds = [w.fold for w in self.words[m.begin : m.end]]
            if "as" in folds:
                continue
            if "other" in folds and not m.tag("other-one"):
                places.other_side = True
            elif {"this", "here"} & set(folds) and ("side" in folds or "here" in folds):
                places.this_side = True

    def _subject_follows(self, c: Clause) -> bool:
        n = self.clauses.index(c)
        if n + 1 >= len(self.clauses):
            return False
        nxt = self.clauses[n + 1]
        return nxt.sentence == c.sentence and bool(nxt.mentions) and is_subject(nxt.mentions[0])

    def _numbers_of(self, c: Clause, subjects: list[Subject]) -> tuple[str, list[float]] | None:
        """Cylinder numbers said right behind a part that there is one of a cylinder: "glow plugs 1 & 4", "coil 3"."""
        for t in subjects:
            if "cylinder" not in self.v.components[t.component].places:
                continue
            at = t.mention.end
            values: list[float] = []
            for q in c.quantities:
                gap = [w.fold for w in self.words[at : q.begin]]
                if (
                    q.unit is None
                    and len(q.values) == 1
                    and all(g in ("#", "no", ".", "number", "&", "and", "+", ",", "on", "in", "cylinder") for g in gap)
                    and 0 < q.values[0] <= 16
                ):
                    values.append(q.values[0])
                    at = q.end
                else:
                    break
            if values:
                return "cylinder", values
        return None

    def _so_needs(self, c: Clause) -> bool:
        """ "So a set of front pads", "so one rear hub": what follows from what was just said."""
        first = self.words[c.begin].fold
        return first == "so" and bool(self.s.focus)

    def _subject_said_later(self, c: Clause) -> bool:
        n = self.clauses.index(c)
        nxt = self.clauses[n + 1] if n + 1 < len(self.clauses) else None
        return (
            nxt is not None
            and nxt.sentence == c.sentence
            and bool(nxt.mentions)
            and not is_subject(nxt.mentions[0])
            and any(is_predicate(m) for m in nxt.mentions)
        )

    def _needs(self, c: Clause, subjects: list[Subject], places: PlacesSaid) -> str:
        s = self.s
        span = self._chars(c)
        parts = [
            t
            for t in subjects
            if any(self._kin(t.component, f.component) or self._same_head(t, f.component) for f in s.focus)
        ]
        rest = [t for t in subjects if t not in parts]
        for f in s.focus if parts else []:
            if f.verb in (None, "monitor"):
                f.verb = "replace"
            part = self._part_for(f, parts, False)
            f.part = f.part or part
            if not f.severity:
                f.severity.append("required")
            self._rest_on(f, span)
        if rest:
            targets = [self._finding(*x) for x in self._targets(c, rest, places)]
            for f in targets:
                f.verb = f.verb or "replace"
                if not f.severity:
                    f.severity.append("required")
                self._rest_on(f, span)
        s.needing = c.sentence
        return "say.so-needs"

    def _is_tally(self, c: Clause, objects: list[Subject], quantities_of: list[Quantity]) -> bool:
        """ "Quote 3 tires": a count of what was said, to be held against the lines."""
        if len(objects) != 1 or not objects[0].plural or len(quantities_of) != 1 or quantities_of[0].unit is not None:
            return False
        if (
            self.words[c.begin].fold not in ("quote", "total", "order")
            or quantities_of[0].end != objects[0].mention.begin
        ):
            return False
        wanted = int(quantities_of[0].values[0])
        name = self.v.components[objects[0].component].name
        self.tallies.append((objects[0].component, wanted, name))
        return True

    def _all_but(self, c: Clause, barred: Mention, left_out: list[Subject], places: PlacesSaid) -> str:
        """ "Everything on this side is fine except the spring": the spring is what comes next, of the rest nothing is named."""
        self._flush_topic_aside()
        self.s.topic, self.s.topic_span, self.s.topic_sentence = left_out, self._chars(c), c.sentence
        self.s.topic_places = places if places.anything() else None
        del barred
        return "topic.all-but"

    def _only_filler(self, predicates: list[Mention], c: Clause) -> bool:
        """ "Okay" and the like at the head of a clause, with nothing in focus that they could speak of."""
        if c.quantities:
            return False
        if all(
            m.tag("good") and m.end - m.begin == 1 and self.words[m.begin].fold in ("okay", "ok", "good")
            for m in predicates
        ):
            if not self.s.focus and not self.s.topic:
                return True
            if self.s.focus and not self.s.topic:
                return any(f.conditions or f.good or f.work for f in self.s.focus)
        return False

    def _left_over(self, c: Clause) -> set[int]:
        """Mentions of "left" that mean remaining: behind a unit or an amount."""
        out = set()
        for m in c.mentions:
            if m.tag("place") and m.end - m.begin == 1 and self.words[m.begin].fold == "left" and m.begin > 0:
                before = self.words[m.begin - 1].fold
                after = self.words[m.end].fold if m.end < len(self.words) else ""
                follows_quantity = any(q.end == m.begin and q.unit for q in c.quantities)
                nxt = self.words[m.end + 1].fold if m.end + 1 < len(self.words) else ""
                if before in _LEFT_OVER and not (after in ("front", "rear", "side") or before == "second") or (
                    follows_quantity
                    and (after in ("on", "in") or (after == "" or not after.isalnum()))
                    and nxt not in ("left",)
                ):
                    out.add(m.begin)
        return out

    def _speaks_of_edges(self, subjects: list[Subject]) -> bool:
        """Inner and outer of a tire are its edges, unless the vehicle has duals."""
        if self.duals:
            return False
        ids = (
            [t.component for t in subjects]
            or [t.component for t in self.s.topic]
            or [f.component for f in self.s.focus]
        )
        return bool(ids) and all(i == "tire" or self.v.components[i].kind_of == "tire" for i in ids)

    def _counts_as_reading(self, c: Clause, q: Quantity) -> bool:
        if q.limit:
            return False
        if q.unit is not None:
            return True
        nxt = self.words[q.end].fold if q.end < c.end else ""
        if nxt and nxt.isalnum() and nxt not in _NOT_A_COUNT:
            item = self.starts.get(q.end)
            if item is None or (is_subject(item) and item.begin < c.end) or item.tag("action"):
                return False
        before = self.words[q.begin - 1].fold if q.begin else ""
        if before in (
            "need",
            "quote",
            "put",
            "do",
            "want",
            "bay",
            "type",
            "grade",
            "number",
            "no",
            "#",
            "dot",
            "of",
            "other",
            "these",
            "those",
            "next",
            "first",
            "last",
            "id",
            "any",
            "which",
            "this",
            "that",
            "the",
            "another",
            "code",
        ):
            return False
        one = q.values == (1,) and self.words[q.begin].fold == "one"
        return not one

    # ----- headings -----------------------------------------------------------------------------------------------------

    def _heading(self, c: Clause, subjects: list[Subject], places: PlacesSaid, context: list[Subject]) -> str:
        """Nothing is said of anything: a place to keep in force, a topic, or talk."""
        s = self.s
        if places.anything() and not subjects and s.topic and s.topic_sentence == c.sentence and c.opened_by == ",":
            joined = PlacesSaid([*(s.topic_places.groups if s.topic_places else [])])
            for g in places.groups:
                if joined.groups and all(
                    a is None or b is None or a == b for a, b in zip(g[:5], joined.groups[-1][:5], strict=True)
                ):
                    joined.groups[-1] = g.over(joined.groups[-1])
                else:
                    joined.groups.append(g)
            joined.both, joined.all_four = places.both, places.all_four
            joined.this_side, joined.other_side = places.this_side, places.other_side
            s.topic_places = joined
            if s.topic_span:
                s.topic_span = (s.topic_span[0], self._chars(c)[1])
            return "topic.place"
        if places.anything() and not subjects and s.focus and c.opened_by and self._spread(c, places):
            return "place.said-after"
        if places.anything() and not subjects:
            moved = self._move(places, keep=True)
            if moved:
                if s.topic_sentence != c.sentence:
                    self._flush_topic_aside()
                begin, end = self._chars(c)
                self.out.asides.append(Aside(begin, end, "chatter", "sets the place"))
                s.focus = s.focus if places.other_side else []
                return "place.set"
        if subjects and any(m.tag("vehicle") for m in c.mentions) and not self.s.topic:
            self._aside(c, "chatter", "the vehicle")
            return "vehicle.described"
        if subjects:
            joined = s.topic and s.topic_sentence == c.sentence and not self._kin_of_topic(subjects)
            begin, end = self._chars(c)
            if joined and s.topic_span:
                s.topic = s.topic + subjects
                s.topic_span = (s.topic_span[0], end)
            else:
                if s.topic and s.topic_span and self._kin_of_topic(subjects) and s.topic_sentence == c.sentence:
                    begin = s.topic_span[0]
                else:
                    self._flush_topic_aside()
                s.topic, s.topic_span = subjects, (begin, end)
            s.topic_sentence = c.sentence
            s.topic_places = places if places.anything() else None
            if len(subjects) == 1:
                s.header = self.v.components[subjects[0].component].system
            if places.anything():
                self._move(places, keep=False)
            named = {k for m in c.mentions for k in range(m.begin, m.end)}
            unit = next(
                (
                    self.v.unit_phrases.get((w.fold,))
                    for k, w in enumerate(self.words[c.begin : c.end], c.begin)
                    if k not in named
                    and (w.fold,) in self.v.unit_phrases
                    and w.fold not in ("in", "a", "c", "f", "m", "s", "h", "l", "second", "32")
                ),
                None,
            )
            if unit:
                s.unit = unit
            elif any(w.fold in ("32nd", "32") for w in self.words[c.begin : c.end]) or self._says_thirty_seconds(c):
                s.unit = "1/32 in"
            return "topic.named"
        if self._says_thirty_seconds(c) and s.topic:
            s.unit = "1/32 in"
        self._aside(c, "chatter")
        return "aside.nothing-said"

    def _spread(self, c: Clause, places: PlacesSaid) -> bool:
        """A place said behind the statement: "loose over here, inner and outer", "four left on them, both sides"."""
        s = self.s
        if any(f not in s.recent for f in s.focus) or places.reset or places.other_side or c.sentence != s.sentence:
            return False
        groups = places.complete()
        new: list[Finding] = []
        for f in list(s.focus):
            comp = self.v.components[f.component]
            spots = [g.over(f.place) for g in groups]
            if places.both and "side" in axes_of(comp) and f.place.side is None:
                spots = [x._replace(side=side) for x in (spots or [f.place]) for side in ("left", "right")]
            elif places.both:
                return False
            if any(g.side and f.place.side and g.side != f.place.side for g in groups) or any(
                g.axle and f.place.axle and g.axle != f.place.axle for g in groups
            ):
                return False
            if not spots:
                return False
            general = self._general(f.component)
            for n, spot in enumerate(spots):
                component = self._refine(general, spot) if (spot.level or spot.depth) else f.component
                place = self._fit(component, spot)
                if n == 0:
                    f.component, f.place = component, place
                    new.append(f)
                else:
                    twin = Finding(component, place, [Said(x.id, x.degree) for x in f.conditions], [Reading(r.value, r.unit, r.limit) for r in f.readings],
                                   f.good, list(f.severity), f.verb, f.part, f.quantity, f.work, f.reported, f.not_traced, list(f.spans), list(f.why), f.plural)  # fmt: skip
                    self.out.findings.append(twin)
                    new.append(twin)
        for f in new:
            self._rest_on(f, self._chars(c))
        s.focus = new
        s.recent += [f for f in new if f not in s.recent]
        return bool(new)

    def _says_thirty_seconds(self, c: Clause) -> bool:
        folds = [w.fold for w in self.words[c.begin : c.end]]
        return any(
            folds[k] in ("32nd", "32nds", "32s", "32") or folds[k : k + 2] == ["thirty", "second"]
            for k in range(len(folds))
        )

    def _kin_of_topic(self, subjects: list[Subject]) -> bool:
        return any(self._kin(t.component, x.component) for t in self.s.topic for x in subjects)

    def _kin(self, a: str, b: str) -> bool:
        """Whether one of two components is, is a kind of, or belongs to the other, or they are served for each other."""
        if a == b:
            return True
        ca, cb = self.v.components[a], self.v.components[b]
        if a in cb.part_of or b in ca.part_of or ca.kind_of == b or cb.kind_of == a:
            return True
        if ca.kind_of and ca.kind_of == cb.kind_of:
            return True
        if ca.holds == b or cb.holds == a:
            return True
        return any(x.part == b for x in ca.served_as) or any(x.part == a for x in cb.served_as)

    # ----- places -------------------------------------------------------------------------------------------------------

    def _move(self, places: PlacesSaid, *, keep: bool) -> bool:
        """Put the clause's place in force; True where that changed or confirmed one."""
        s = self.s
        groups = places.complete()
        if places.other_side:
            base = s.place
            flipped = base.other_side()
            s.place = groups[0].over(flipped) if groups else flipped
            s.kept = s.kept or keep
            s.moving = False
            return True
        if places.this_side:
            if s.moving and not groups:
                s.place = s.place.other_side()
            s.moving = False
            if groups:
                s.place = groups[0].over(s.place)
            return True
        if len(groups) == 1:
            g = groups[0]
            if g.axle and g.side:
                s.place = Place(g.axle, g.side, g.level, g.depth, g.end, g.extra)
            elif g.side and not g.axle:
                s.place = Place(s.place.axle, g.side)
            elif g.axle and s.kept and not keep:
                # A heading for one side holds over both axles; one for a corner ends where the talk goes to the other axle.
                same_corner = s.place.axle in (None, g.axle) or s.heading.axle is None
                s.place = Place(g.axle, s.place.side if same_corner else None)
                s.kept = same_corner
                return True
            elif g.axle and g.axle.isdigit() and keep and s.heading.side:
                # Walking down one side of a truck, axle by axle.
                s.place = Place(g.axle, s.heading.side)
            elif g.axle:
                s.place = Place(g.axle, None)
            else:
                return False
            s.kept = keep
            if keep:
                s.heading = s.place
            s.moving = False
            return True
        if len(groups) > 1:
            s.place, s.kept = NOWHERE, False
        return False

    def _targets(
        self, c: Clause, subjects: list[Subject], places: PlacesSaid
    ) -> list[tuple[str, Place, list[Why], Subject]]:
        """Each component at each place that the clause means."""
        s = self.s
        out: list[tuple[str, Place, list[Why], Subject]] = []
        groups = places.complete()
        for t in subjects:
            for place, why in self._places_for(t, groups, places):
                component = self._refine(t.component, place)
                out.append((component, self._fit(component, place), why, t))
        if len(groups) == 1 and not places.both and not places.all_four:
            self._move(places, keep=s.kept and places.other_side)
        elif places.other_side or places.this_side:
            self._move(places, keep=s.kept)
        elif len(groups) > 1:
            last = groups[-1]
            if last.axle and last.side:
                s.place, s.kept = Place(last.axle, last.side), False
        elif places.both or places.all_four:
            s.place = Place(groups[0].axle if groups else s.place.axle, None)
        return out

    def _places_for(self, t: Subject, groups: list[Place], places: PlacesSaid) -> list[tuple[Place, list[Why]]]:
        s = self.s
        comp = self.v.components[t.component]
        axes = axes_of(comp)
        if places.all_four:
            return (
                [(p, []) for p in CORNERS]
                if {"axle", "side"} <= axes
                else [(Place("", "left"), []), (Place("", "right"), [])]
                if "side" in axes
                else [(NOWHERE, [])]
            )
        base = s.place
        flip = places.other_side
        if places.this_side and s.moving:
            flip = True
        if flip:
            base = base.other_side()
        why: list[Why] = []
        if (
            not groups
            and not places.both
            and not places.neither
            and not places.this_side
            and not places.other_side
            and "side" in axes
        ):
            twin = next(
                (f for f in s.focus if f in s.recent and f.place.side and self._belongs(t.component, f.component)), None
            )
            if twin is not None:
                return [
                    (
                        twin.place,
                        [
                            Why(
                                "position",
                                "place.of-its-owner",
                                f"it belongs to the {self.v.components[twin.component].name} just spoken of",
                            )
                        ],
                    )
                ]
        if not groups:
            if places.both and self.duals and base.side and s.kept and t.component.endswith("tire"):
                return [(base._replace(depth=depth), []) for depth in ("outer", "inner")]
            if places.both or places.neither:
                axle = base.axle if "axle" in axes else None
                if "side" in axes or not axes:
                    return [(Place(axle, side), []) for side in ("left", "right")]
                if "depth" in axes:
                    return [(base._replace(depth=d), []) for d in ("inner", "outer")]
                if "level" in axes:
                    return [(base._replace(level=d), []) for d in ("upper", "lower")]
                if "axle" in axes:
                    return [(Place(a), []) for a in ("front", "rear")]
                return [(NOWHERE, [])]
            carried = self._carried(t, base, places.this_side or places.other_side)
            if carried != NOWHERE:
                rule = "place.other-side" if flip else "place.this-side" if places.this_side else "place.in-force"
                why = [Why("position", rule, f"the note was at {_in_words(carried)} when it said this")]
            if (
                t.plural
                and t.component == "tire"
                and not self.duals
                and not carried.axle
                and not carried.side
                and self._all_of(t)
            ):
                four = [Why("position", "place.all-of-them", "all the tires were spoken of")]
                return [(p, four) for p in CORNERS]
            if (
                t.plural
                and "side" in axes
                and not carried.side
                and not places.this_side
                and not places.other_side
                and self._both_by_plural(t, carried)
            ):
                both = [Why("position", "place.plural-means-both", "the part was named in the plural with no side")]
                return [(carried._replace(side=side), both) for side in ("left", "right")]
            return [(carried, why)]
        out: list[tuple[Place, list[Why]]] = []
        for g in groups:
            full = g
            reasons: list[Why] = []
            if places.other_side or places.this_side:
                full = g.over(base)
            elif not (g.axle and g.side):
                carried = self._carried(t, base, False)
                if g.side and not g.axle and carried.axle and ("axle" in axes or carried.axle.isdigit()):
                    full = g._replace(axle=carried.axle)
                    reasons = [
                        Why("position", "place.axle-in-force", f"the note was at the {carried.axle} when it said this")
                    ]
                elif (
                    g.axle
                    and not g.side
                    and s.kept
                    and base.side
                    and "side" in axes
                    and not t.plural
                    and (s.heading.axle in (None, g.axle))
                    and not self._indefinite(t)
                ):
                    full = g._replace(side=base.side)
                    reasons = [
                        Why("position", "place.side-in-force", f"the note was on the {base.side} when it said this")
                    ]
                elif not g.side and not g.axle and g.extra == ():
                    full = g.over(carried)
                    if carried != NOWHERE:
                        reasons = [
                            Why("position", "place.in-force", f"the note was at {_in_words(carried)} when it said this")
                        ]
            if places.both and full.side and self.duals and t.component.endswith("tire"):
                out += [(full._replace(depth=depth), reasons) for depth in ("outer", "inner")]
            elif (places.both or places.neither) and not full.side:
                out += [(full._replace(side=side), reasons) for side in ("left", "right")]
            elif (places.both or places.neither) and full.side and "axle" in axes and not full.axle:
                out += [(full._replace(axle=axle), reasons) for axle in ("front", "rear")]
            elif (places.both or places.neither) and full.side and "end" in axes:
                out += [(full._replace(end=end), reasons) for end in ("forward", "rearward")]
            elif (
                t.plural
                and not full.side
                and "side" in axes
                and full.axle
                and self._both_by_plural(t, full)
                and not full.depth == "none"
            ):
                both = [
                    Why(
                        "position",
                        "place.plural-means-both",
                        f"the part was named in the plural at the {full.axle}, with no side",
                    )
                ]
                out += [(full._replace(side=side), both) for side in ("left", "right")]
            else:
                out.append((full, reasons))
        return out

    def _belongs(self, a: str, b: str) -> bool:
        """Whether one of two components is a part of the other."""
        return b in self.v.components[a].part_of or a in self.v.components[b].part_of

    def _both_by_plural(self, t: Subject, place: Place) -> bool:
        """Pads, shoes and linings are read for an axle; other parts named in the plural are one a side."""
        comp = self.v.components[t.component]
        if any(w in t.component for w in ("pad", "shoe", "lining")):
            return False
        axes = axes_of(comp)
        return "axle" not in axes or bool(place.axle or implied(comp).axle)

    def _all_of(self, t: Subject) -> bool:
        """ "Tires are all 5/32", "all the tires": each of them."""
        folds = [w.fold for w in self.words[max(0, t.mention.begin - 3) : t.mention.end + 3]]
        return "all" in folds

    def _indefinite(self, t: Subject) -> bool:
        """ "A tail lamp is out", "one of the calipers": it may be any, so the side in force does not hold for it."""
        k = t.mention.begin - 1
        folds = [w.fold for w in self.words[max(0, k - 4) : k + 1]]
        if any(folds[n : n + 2] == ["one", "of"] or folds[n : n + 1] == ["either"] for n in range(len(folds))):
            return True
        return bool(folds) and folds[-1] in ("a", "an")

    def _carried(self, t: Subject, base: Place, pointed: bool) -> Place:
        """What of the place in force holds for a component that was named without one."""
        comp = self.v.components[t.component]
        axes = axes_of(comp)
        if not axes & {"axle", "side"}:
            return NOWHERE
        imp = implied(comp)
        if not pointed and self._indefinite(t):
            return NOWHERE
        if imp.axle and base.axle and imp.axle != base.axle and base.axle in ("front", "rear"):
            return NOWHERE if not (pointed or self.s.kept) else Place(imp.axle, base.side)
        corner = comp.system in (
            "brakes",
            "air-brakes",
            "suspension",
            "steering",
            "tires-and-wheels",
            "driveline",
            "running-gear",
        )
        if pointed or self.s.kept or corner:
            by_number = bool(base.axle) and base.axle.isdigit()  # type: ignore[union-attr]
            return Place(
                base.axle if ("axle" in axes or imp.axle or by_number) else None, base.side if "side" in axes else None
            )
        return NOWHERE

    def _fit(self, component: str, place: Place) -> Place:
        """``place`` without the axes that the component does not have, with those that it implies."""
        comp = self.v.components[component]
        axes = axes_of(comp)
        imp = implied(comp)
        axle = place.axle or None
        if axle and "axle" not in axes and axle in ("front", "rear"):
            axle = axle if (imp.axle == axle or "side" in axes) else None
        level = place.level if ("level" in axes or imp.level) else None
        depth = place.depth if ("depth" in axes or imp.depth or (self.duals and component.endswith("tire"))) else None
        end = place.end if ("end" in axes or imp.end) else None
        side = place.side
        if side == "center" and "side" not in axes:
            side = None
        return Place(
            axle or imp.axle, side or imp.side, level or imp.level, depth or imp.depth, end or imp.end, place.extra
        )

    # ----- saying something of something ----------------------------------------------------------------------------------

    def _say(
        self, c: Clause, subjects: list[Subject], objects: list[Subject], context: list[Subject], places: PlacesSaid,
        predicates: list[Mention], quantities: list[Quantity], has: set[str],
    ) -> str:  # fmt: skip
        s = self.s
        span = self._chars(c)
        rule = "say.subject"
        parts: list[Subject] = []
        again = (
            [f for o in objects for f in self.out.findings[-8:] if f.component == o.component and f not in s.focus]
            if "served" not in has
            else []
        )
        if (
            objects
            and again
            and not places.groups
            and not subjects
            and not any(
                self._kin(o.component, f.component) and f.component == o.component for o in objects for f in s.focus
            )
        ):
            # "Needs a regulator", said of one named a moment ago though something else came between.
            s.focus, objects = again[-1:], []
        if objects:
            kin_to = [f.component for f in s.focus] + [t.component for t in subjects] + [t.component for t in s.topic]
            for o in objects:
                if "served" in has and kin_to or any(self._kin(o.component, k) or self._same_head(o, k) for k in kin_to) and not (
                    places.groups and not s.focus
                ):
                    parts.append(o)
                else:
                    subjects = [*subjects, o]
        before = list(s.focus)
        subjects = self._bulb_of_lamp(subjects)
        if (
            subjects
            and s.topic
            and s.topic_sentence == c.sentence
            and c.opened_by in ("and", "&", "+", "/", "plus")
            and not self._kin_of_topic(subjects)
        ):
            subjects = [*s.topic, *subjects]
        targets: list[Finding] = []
        cleared = [t for t in subjects if t.mention.begin in self.not_it]
        if cleared and len(cleared) == len(subjects):
            targets = [self._finding(*f) for f in self._targets(c, cleared, places)]
            for f in targets:
                f.good = f.good or not f.conditions
                f.why.append(Why("severity", "ruled-out.not-it", "the note says that the fault is not there"))
                self._rest_on(f, span)
            return "ruled-out.not-it"
        if subjects and not parts == subjects:
            if s.topic and s.topic_sentence == c.sentence and self._kin_of_topic(subjects) and s.topic_places:
                self._ends_of_arm(subjects, places, s.topic_places)
            found = self._targets(c, subjects, places)
            targets = [self._finding(*f) for f in found]
            if (
                s.topic
                and s.topic_sentence == c.sentence
                and self._kin_of_topic(subjects)
                and s.topic_places
                and not places.anything()
            ):
                for f in targets:
                    g = s.topic_places.complete()
                    if len(g) == 1:
                        f.place = self._fit(f.component, g[0].over(f.place))
        elif s.topic and not places.other_side:
            places_here = places if places.anything() else (s.topic_places or places)
            if s.topic_places and places.anything():
                merged = PlacesSaid(
                    [*places.groups], places.both, places.all_four, places.neither, places.this_side, places.other_side
                )
                tg = s.topic_places.complete()
                if len(tg) == 1 and merged.groups:
                    merged.groups = [g.over(tg[0]) for g in merged.groups]
                merged.both = merged.both or s.topic_places.both
                places_here = merged
            found = self._targets(c, s.topic, places_here)
            targets = [self._finding(*f) for f in found]
            rule = "say.topic"
        elif (
            (places.both or places.all_four)
            and not places.groups
            and len(s.focus) >= 2
            and any(f in s.recent for f in s.focus)
        ):
            # "... outer seven, inner seven, both fine": the ones just listed.
            targets = list(s.focus)
            rule = "say.those-listed"
        elif (
            places.both
            and not places.groups
            and len(s.focus) == 1
            and s.focus[0].place.side is None
            and not self._both_by_plural(Subject(s.focus[0].component, Mention(0, 0, ()), True), s.focus[0].place)
        ):
            targets = list(s.focus)
            rule = "say.focus"
        elif "other-one" in has or (places.other_side and not places.groups):
            targets = self._siblings(before)
            if places.other_side:
                self._move(places, keep=s.kept)
            rule = "say.other-one"
        elif (
            self.duals
            and any(g.depth for g in places.groups)
            and quantities
            and quantities[0].unit == "1/32 in"
            and s.focus
            and not s.focus[0].component.endswith("tire")
        ):
            found = self._targets(c, [Subject("tire", Mention(c.begin, c.begin, ()), False)], places)
            targets = [self._finding(*f) for f in found]
            for f in targets:
                f.why.append(
                    Why(
                        "component",
                        "component.tires-by-reading",
                        "a depth in 32nds at an inner or outer wheel is the tread",
                    )
                )
            rule = "say.tires-by-reading"
        elif places.anything() and (s.focus or s.recent):
            base = s.focus or s.recent
            ids = list(
                dict.fromkeys(
                    self._general(f.component)
                    if places.groups and any(g.level or g.depth for g in places.groups)
                    else f.component
                    for f in base
                )
            )
            pointers = [
                Subject(
                    i,
                    c.mentions[0] if c.mentions else Mention(c.begin, c.end, ()),
                    any(
                        w.fold in ("both", "rear", "front") and self._plural_word(w)
                        for w in self.words[c.begin : c.end]
                    ),
                )
                for i in ids
            ]
            shared = base[0].place
            for k, g in enumerate(places.groups):
                if not g.axle and shared.axle and not g.extra:
                    places.groups[k] = g._replace(axle=shared.axle)
                    g = places.groups[k]
                if not g.side and not g.axle and shared.side:
                    places.groups[k] = g._replace(side=shared.side, axle=shared.axle)
                elif not g.side and shared.side and (g.level or g.depth or g.end) and g.axle == shared.axle:
                    places.groups[k] = g._replace(side=shared.side)
            if (
                not (
                    len(places.groups) == 1
                    and all(self._fit(f.component, places.groups[0].over(f.place)) == f.place for f in s.focus)
                    and s.focus
                )
                or not s.focus
            ):
                found = self._targets(c, pointers, places)
                targets = [self._finding(*f) for f in found]
                rule = "say.focus-elsewhere"
            else:
                targets = list(s.focus)
                rule = "say.focus"
        else:
            targets = list(s.focus)
            rule = "say.focus"
        if self._wants_alignment(predicates, subjects, targets):
            t = Subject("wheel-alignment", Mention(c.begin, c.begin, ()), False)
            targets = [self._finding("wheel-alignment", NOWHERE, [], t)]
            if not targets[0].conditions:
                targets[0].conditions.append(Said("due"))
            rule = "say.alignment-follows"
        if not targets and not subjects and self._reads_like_tires(c, quantities, places):
            t = Subject("tire", Mention(c.begin, c.begin, ()), False)
            targets = [self._finding(*f) for f in self._targets(c, [t], places)]
            for f in targets:
                f.why.append(
                    Why(
                        "component",
                        "component.tires-by-reading",
                        "a reading at each wheel position with no part named is the tread",
                    )
                )
            rule = "say.tires-by-reading"
        if not targets and (quantities or any(m.tag("condition") for m in predicates)) and self._names_later(c):
            s.pending.append(c)
            return "say.before-naming"
        if not targets:
            if any(m.tag("condition", "action") for m in c.mentions) and c.end - c.begin > 1 and "pronoun" not in has:
                self._aside(c, "not-understood" if any(m.tag("condition") for m in c.mentions) else "chatter")
            else:
                self._aside(c, "chatter")
            return "aside.no-subject"
        if c.opened_by == "so" and subjects and len(before) == 1 and before[0] not in targets and before[0] in s.recent:
            self._explained(before[0], targets)
        if s.topic_span and (rule == "say.topic" or subjects):
            if rule == "say.topic" or self._kin_of_topic(subjects) or any(t in subjects for t in s.topic):
                for f in targets:
                    self._rest_on(f, s.topic_span)
                keep_topic = rule == "say.topic" and s.topic_sentence >= c.sentence - 1
                if not keep_topic:
                    s.topic, s.topic_span, s.topic_places = [], None, None
            else:
                self._flush_topic_aside()
        if rule == "say.subject" and self._consequence(c, before, targets, subjects, predicates, places):
            for f in before:
                self._rest_on(f, span)
            s.focus = before
            return "say.consequence"
        if objects or parts:
            s.needing = c.sentence
        for earlier in s.pending if subjects else ():
            said = [m for m in earlier.mentions if is_predicate(m)]
            readings = [q for q in earlier.quantities if self._counts_as_reading(earlier, q)]
            self._predicate(
                earlier, targets, said, readings, [], {t.kind for m in earlier.mentions for t in m.tags}, PlacesSaid()
            )
            for f in targets:
                self._rest_on(f, self._chars(earlier))
        if subjects:
            s.pending = []
        if "same" in has:
            self._copy_same(targets, before, c)
        self._predicate(c, targets, predicates, quantities, parts, has, places)
        for f in targets:
            self._rest_on(f, span)
        if self._goes_on_listing(c, before, targets, predicates):
            targets = [*[f for f in before if f not in targets], *targets]
        s.focus = targets
        s.recent += [f for f in targets if f not in s.recent]
        return rule

    def _goes_on_listing(
        self, c: Clause, before: list[Finding], targets: list[Finding], predicates: list[Mention]
    ) -> bool:
        """Readings said one place after another ("LR 5/16 and RR 5/16, getting close"): what comes next is of them all."""
        if not before or not c.quantities or predicates:
            return False
        return all(
            f.component == targets[0].component
            and f in self.s.recent
            and f.readings
            and not (f.conditions or f.good or f.severity or f.verb or f.work)
            for f in before
        )

    def _ends_of_arm(self, subjects: list[Subject], places: PlacesSaid, heading: PlacesSaid) -> None:
        """Under a heading that names the axle, "front bush" and "rear bush" are the ends of the arm."""
        axle = next((g.axle for g in heading.complete() if g.axle), None)
        if axle is None or not all("end" in axes_of(self.v.components[t.component]) for t in subjects):
            return
        ends = {"front": "forward", "rear": "rearward"}
        places.groups = [g._replace(axle=axle, end=ends[g.axle]) if g.axle in ends else g for g in places.groups]

    def _bulb_of_lamp(self, subjects: list[Subject]) -> list[Subject]:
        """ "Low beam is out, bulb's blown": the lamp just said to be out becomes its bulb, one finding and not two."""
        if len(subjects) != 1 or not subjects[0].component.endswith("-bulb"):
            return subjects
        bulb = subjects[0].component
        for f in self.s.focus:
            if f.component in self.v.components[bulb].part_of and any(
                x.id in ("inoperative", "weak") for x in f.conditions
            ):
                f.component = bulb
                f.place = self._fit(bulb, f.place)
        return subjects

    def _explained(self, system: Finding, parts: list[Finding]) -> None:
        """ "The air con blows warm, so the compressor's weak": the part is the finding, the system's symptom its evidence."""
        comps = self.v.components
        if (
            comps[system.component].kind != "system"
            or comps[system.component].system != comps[parts[0].component].system
            or system not in self.out.findings
        ):
            return
        self.out.findings.remove(system)
        for f in parts:
            f.readings += [r for r in system.readings if r not in f.readings]
            f.spans += [x for x in system.spans if x not in f.spans]

    def _wants_alignment(self, predicates: list[Mention], subjects: list[Subject], targets: list[Finding]) -> bool:
        """ "It'll need an alignment when it's back together": the alignment is a line of its own, whatever was in focus."""
        if any(self.v.components[t.component].kind == "service" for t in subjects) or any(
            f.component == "wheel-alignment" for f in targets
        ):
            return False
        verbs = [t for m in predicates for t in m.of("action")]
        return bool(verbs) and all(t.value == "align" for t in verbs)

    def _consequence(
        self, c: Clause, before: list[Finding], targets: list[Finding], subjects: list[Subject], predicates: list[Mention], places: PlacesSaid
    ) -> bool:  # fmt: skip
        """ "The roller's flat spotted, door drags", "caliper seized, piston won't move": more of the same fault, no second one."""
        if (
            len(targets) != 1
            or len(subjects) != 1
            or not before
            or places.groups
            or not c.opened_by
            or len(targets[0].spans) > 0
            or targets[0].says_something()
        ):
            return False
        cause = before[-1]
        if cause not in self.s.recent or not cause.conditions or targets[0] in before:
            return False
        if any(m.tag("action", "severity", "good", "work", "degree") for m in predicates) or not any(
            m.tag("condition") or m.tag("negation") for m in c.mentions
        ):
            return False
        whole, part = self.v.components[cause.component], self.v.components[targets[0].component]
        owned = targets[0].component in whole.part_of
        inside = any(x.part == cause.component for x in part.served_as) and cause.component in part.part_of
        if not (owned or inside):
            return False
        self.out.findings.remove(targets[0])
        return True

    def _reads_like_tires(self, c: Clause, quantities: list[Quantity], places: PlacesSaid) -> bool:
        """A depth at a wheel position with no part named, as in the tire table of a truck's sheet."""
        if not quantities or not places.groups or self.s.topic or self.s.header in ("brakes", "air-brakes"):
            return False
        groups = [g.over(self.s.place) for g in places.groups]
        corner = any(g.side and g.axle for g in groups)
        depth = quantities[0].unit in ("1/32 in", "psi") or (
            quantities[0].unit in (None, "mm") and corner and self.duals and 1 <= quantities[0].values[0] < 25
        )
        return corner and depth

    def _names_later(self, c: Clause) -> bool:
        """Whether a later clause of the sentence points back with "that" or "this" and a part's name."""
        n = self.clauses.index(c)
        for later in self.clauses[n + 1 : n + 4]:
            if later.sentence != c.sentence:
                return False
            for m in later.mentions:
                if is_subject(m):
                    return self.words[m.begin - 1].fold in ("that", "this", "those", "these")
        return False

    def _plural_word(self, w: Word) -> bool:
        return self.text[w.begin : w.end].lower().endswith("s")

    def _general(self, component: str) -> str:
        parent = self.v.components[component].kind_of
        own = implied(self.v.components[component])
        return parent if parent and (own.level or own.depth) else component

    def _same_head(self, o: Subject, k: str) -> bool:
        """ "Needs a bulb" said of a low-beam bulb: the object is a shared name that ends like the focus does."""
        if not o.mention.tag("short"):
            return False
        return k in [t.value for t in o.mention.of("short")] or any(
            self._kin(t.value, k) for t in o.mention.of("short")
        )

    def _finding(self, component: str, place: Place, why: list[Why], t: Subject) -> Finding:
        """The finding of this component at this place, an earlier one where there is one."""
        for f in reversed(self.out.findings):
            if f.component == component and (f.place == place or (f in self.s.focus and self._narrows(place, f.place))):
                return f
        f = Finding(component, place, why=[Why(w.field, w.rule, w.text) for w in why], plural=t.plural)
        if (
            implied(self.v.components[component]) != NOWHERE
            and place.axle
            and not any(w.field == "position" for w in f.why)
        ):
            f.why.append(Why("position", "place.implied-by-part", "this part is always there"))
        self.out.findings.append(f)
        return f

    def _narrows(self, place: Place, old: Place) -> bool:
        return place == NOWHERE

    def _siblings(self, before: list[Finding]) -> list[Finding]:
        out = []
        for f in before:
            if f.place.side is None and "side" in axes_of(self.v.components[f.component]):
                # "Front pads four, same on the other side": one reading each.
                f.place = f.place._replace(side="left")
            place = f.place.other_side()
            if place.side is None and f.place.end:
                place = f.place._replace(end="forward" if f.place.end == "rearward" else "rearward")
            t = Subject(f.component, Mention(0, 0, ()), False)
            out.append(
                self._finding(
                    f.component, place, [Why("position", "place.other-one", "the note spoke of the other one")], t
                )
            )
        return out

    def _rest_on(self, f: Finding, span: tuple[int, int]) -> None:
        if span not in f.spans:
            f.spans.append(span)

    def _copy_same(self, targets: list[Finding], before: list[Finding], c: Clause) -> None:
        """ "Same on the other side": what was said of the twin is said again."""
        for f in targets:
            twin = next(
                (
                    b
                    for b in [*before, *reversed(self.out.findings)]
                    if b is not f and b.component == f.component and b.says_something()
                ),
                None,
            )
            if twin is None or f.conditions or f.readings or f.good:
                continue
            f.conditions = [Said(x.id, x.degree) for x in twin.conditions]
            f.readings = [Reading(r.value, r.unit, r.limit, True) for r in twin.readings]
            f.good = twin.good
            f.severity = list(twin.severity)
            f.verb = f.verb or (twin.verb if twin.work != "done" else None)
            f.why.append(Why("conditions", "same.again", "the note says it is the same as its twin"))
            for span in twin.spans[:1]:
                self._rest_on(f, span)

    # ----- predicates ---------------------------------------------------------------------------------------------------

    def _predicate(
        self, c: Clause, targets: list[Finding], predicates: list[Mention], quantities: list[Quantity], parts: list[Subject], has: set[str],
        places: PlacesSaid,
    ) -> None:  # fmt: skip
        comps = self.v.components
        negated = self._negated(c, places)
        conditions: list[Said] = []
        ruled_out: list[str] = []
        first = targets[0].component
        degree_before: str | None = None
        for m in c.mentions:
            condition = self._condition_for(m, first) if not m.tag("component") else None
            if condition is not None:
                if m.begin in negated:
                    ruled_out.append(condition.value)
                else:
                    conditions.append(Said(condition.value, condition.more or degree_before))
                degree_before = None
                continue
            d = m.tag("degree")
            if d is not None:
                if conditions and conditions[-1].degree is None and not self._more_to_come(c, m):
                    conditions[-1].degree = d.value
                else:
                    degree_before = d.value
        good = any(
            m.tag("good")
            and m.begin not in negated
            and not self._is_action_clean(c, m)
            and not self._condition_for(m, first)
            for m in predicates
        )
        verb, form, quantity = self._action(c, predicates)
        work = self._work(c, has, form)
        said = [
            t.value
            for m in predicates
            for t in m.of("severity")
            if m.begin not in negated and not (form == "done" and t.value == "required")
        ]
        if form == "need":
            for m in predicates:
                t = m.tag("action")
                if t and m.begin not in negated and not m.tag("severity"):
                    lead = self.words[m.begin].fold
                    level = "required" if lead in _MUST else "suggested" if lead in _WOULD else None
                    if level and level not in said:
                        said.append(level)
        if any(m.tag("not-traced") for m in predicates) and not conditions and not verb:
            verb = "diagnose"
        for f in targets:
            stands_for = _MEASURED_ON.get(f.component)
            if stands_for and any(
                q.unit == "1/32 in" or (q.unit in (None, "mm") and q.values[0] >= 1) for q in quantities
            ):
                f.component = first = stands_for
            holds = comps[f.component].holds
            if holds and (
                any(x.id in ("low", "contaminated", "high", "due") for x in conditions) or verb in ("fill", "flush")
            ):
                f.component, first = holds, holds
            self._add_conditions(f, conditions, ruled_out, good, c)
            f.severity += [x for x in said if x not in f.severity]
            if any(m.tag("not-traced") for m in predicates):
                f.not_traced = True
        acting = self._acted_on(targets, verb, form)
        if (
            (verb == "diagnose" or any(m.tag("not-traced") for m in predicates))
            and not conditions
            and all(f.good and not f.conditions for f in targets)
        ):
            # "The other fan is fine. Haven't chased it yet": what is still to be found is the fault, not the good one.
            faulty = next((f for f in reversed(self.out.findings[-4:]) if f.conditions), None)
            if faulty is not None:
                acting = [faulty]
                faulty.not_traced = True
                for f in targets:
                    f.not_traced = False
        for f in acting:
            if f not in targets:
                self._rest_on(f, self._chars(c))
            if verb and (f.verb is None or f.verb in ("monitor",) or (form == "done" and f.work != "done")):
                f.verb = verb
            if quantity:
                f.quantity = quantity
            if work:
                self._set_work(f, work)
            if parts:
                part = self._part_for(f, parts, "served" in has)
                if part:
                    f.part = part
                if f.verb is None and verb is None and (said or has & {"served"}):
                    f.verb = "replace"
            served_as = comps[f.component].served_as
            if has & {"not-alone"} and served_as and f.part is None:
                f.part = served_as[0].part
        self._bind_readings(c, targets, quantities)

    def _add_conditions(self, f: Finding, conditions: list[Said], ruled_out: list[str], good: bool, c: Clause) -> None:
        comp = self.v.components[f.component]
        for x in conditions:
            mine = self._condition_scope_ok(x.id, comp)
            if mine and not any(y.id == x.id for y in f.conditions):
                f.conditions.append(Said(x.id, x.degree))
            elif mine and x.degree:
                for y in f.conditions:
                    if y.id == x.id and y.degree is None:
                        y.degree = x.degree
        if ruled_out and not conditions:
            f.conditions = [y for y in f.conditions if y.id not in ruled_out]
            if not f.conditions:
                f.good = True
        if good and not (f.conditions and self._weak_good(c)):
            f.good = True

    def _condition_scope_ok(self, condition: str, comp: object) -> bool:
        return True

    def _weak_good(self, c: Clause) -> bool:
        return False

    def _condition_for(self, m: Mention, component: str) -> object | None:
        comp = self.v.components[component]
        best = None
        for t in m.of("condition"):
            if t.scope and not any(in_scope(x, component, comp) for x in t.scope):
                continue
            if m.tag("work") and not self._done_for_any(m):
                continue
            if best is None or (t.scope and not best.scope) or (t.more and not best.more and t.value == best.value):
                best = t
        if best is None:
            return None
        if best.value == "loose" and "free-travel" in comp.measured and self.words[m.end - 1].fold == "play":
            return None
        if m.tag("good") and not best.scope and m.end - m.begin == 1:
            return None
        return best

    def _done_for_any(self, m: Mention) -> bool:
        before = self.words[m.begin - 1].fold if m.begin else ""
        return m.end - m.begin > 1 or before in (
            "is",
            "are",
            "they",
            "theyre",
            "about",
            "pretty",
            "well",
            "nearly",
            "almost",
        )

    def _more_to_come(self, c: Clause, m: Mention) -> bool:
        """Whether a condition follows the degree word closely, so that it belongs to that one."""
        return any(x.tag("condition") and 0 <= x.begin - m.end <= 1 for x in c.mentions)

    def _negated(self, c: Clause, places: PlacesSaid) -> set[int]:
        """Where mentions stand that a "no" or "not" reaches: to the first predicate behind it, and on over "or" and "and"."""
        out: set[int] = set()
        scope_until = -1
        open_scope = places.neither
        begun = c.begin
        for m in c.mentions:
            if m.tag("negation") and not m.tag("condition", "good"):
                open_scope, begun, scope_until = True, m.end, m.end + 7
                continue
            if not open_scope:
                continue
            if scope_until >= 0 and m.begin > scope_until:
                open_scope = False
                continue
            if m.tag("condition", "good", "severity", "action", "work") and not m.tag("component"):
                out.add(m.begin)
                nxt = self.words[m.end].fold if m.end < c.end else ""
                if nxt not in ("or", "nor", "and", "/"):
                    open_scope = places.neither
                else:
                    scope_until = m.end + 4
        del begun
        return out

    def _is_action_clean(self, c: Clause, m: Mention) -> bool:
        """ "Clean it", "clean when the battery goes in": the verb, not the verdict."""
        if self.words[m.begin].fold != "clean" or m.end - m.begin > 1:
            return False
        nxt = self.words[m.end].fold if m.end < c.end else ""
        before = self.words[m.begin - 1].fold if m.begin > c.begin else ""
        return nxt in ("it", "them", "up", "out", "off", "the", "when", "those", "needed") or before in (
            "to",
            "need",
            "a",
            "off",
            "car",
        )

    def _is_substance(self, c: Clause, m: Mention) -> bool:
        """ "There's grease all over it": the stuff, not the work."""
        if m.end - m.begin > 1 or self.words[m.begin].fold not in ("grease", "oil", "lube"):
            return False
        before = self.words[m.begin - 1].fold if m.begin > c.begin else ""
        after = self.words[m.end].fold if m.end < len(self.words) else ""
        return before in (
            "there",
            "of",
            "with",
            "throwing",
            "slinging",
            "losing",
            "got",
            "the",
            "leaking",
        ) or after in ("all", "on", "out", "everywhere", "over", "inside", "in", "from", "coming", "down", "slung")

    def _action(self, c: Clause, predicates: list[Mention]) -> tuple[str | None, str | None, int | None]:
        """The action said in the clause, whether as need or as done, and how many."""
        verb = form = None
        for m in predicates:
            for t in m.of("action"):
                if (m.tag("good") and not self._is_action_clean(c, m)) or self._is_substance(c, m):
                    continue
                f = t.more
                lead = self.words[m.begin - 1].fold if m.begin > c.begin else ""
                lead2 = self.words[m.begin - 2].fold if m.begin > c.begin + 1 else ""
                need_before = any(
                    x.tag("severity")
                    and x.end <= m.begin
                    and m.begin - x.end <= 2
                    and x.tag("severity").value in ("required", "suggested")  # type: ignore[union-attr]
                    for x in c.mentions
                )
                if f == "done" and c.opened_by in ("till", "until"):
                    f = "need"
                both = {x.more for x in m.of("action") if x.value == t.value}
                if f == "done" and (
                    lead in _NEED_LEADS or (lead2 in _NEED_LEADS and lead in ("be", "it", "them")) or need_before
                ):
                    f = "need"
                elif f == "need" and "done" in both and not (lead in _NEED_LEADS or need_before):
                    f = "done"
                if (
                    verb is None
                    or (form == "need" and f == "done")
                    or (
                        verb in ("replace", "monitor")
                        and t.value
                        in (
                            "diagnose",
                            "flush",
                            "repair",
                            "align",
                            "machine",
                            "clean",
                            "adjust",
                            "fill",
                            "lubricate",
                            "tighten",
                        )
                        and f == form
                    )
                ):
                    verb, form = t.value, f
        if verb is None and any(m.tag("not-traced") for m in predicates):
            return "diagnose", "need", None
        return verb, form, None

    def _work(self, c: Clause, has: set[str], form: str | None) -> str | None:
        said = [t.value for m in c.mentions for t in m.of("work")]
        for value in ("wrong-part", "declined", "ordered"):
            if value in said:
                return value
        if form == "done":
            return "done"
        if "done" in said and not all(
            self._done_for(c, m) for m in c.mentions if m.tag("work") and m.tag("work").value == "done"
        ):  # type: ignore[union-attr]
            return "done"
        return None

    def _done_for(self, c: Clause, m: Mention) -> bool:
        """ "The tires are done": worn out, no work carried out."""
        if m.end - m.begin > 1 or not m.tag("condition"):
            return False
        before = self.words[m.begin - 1].fold if m.begin > c.begin else ""
        return before in ("is", "are", "they", "theyre", "about", "pretty", "well", "nearly", "almost") or (
            before == "it" and False
        )

    def _set_work(self, f: Finding, work: str) -> None:
        rank = {None: 0, "done": 1, "ordered": 2, "declined": 3, "wrong-part": 4}
        if rank[work] >= rank[f.work]:
            f.work = work
        if work in ("ordered", "wrong-part") and f.verb is None:
            f.verb = "replace"

    def _acted_on(self, targets: list[Finding], verb: str | None, form: str | None) -> list[Finding]:
        """Which findings an action is for: filling suits fluids and tires, so it may reach back past a part named since."""
        if verb != "fill":
            return targets

        def fits(f: Finding) -> bool:
            comp = self.v.components[f.component]
            return (
                comp.kind in ("fluid", "system") or f.component == "tire" or comp.kind_of == "tire" or bool(comp.holds)
            )

        fitting = [f for f in targets if fits(f)]
        if fitting:
            return fitting
        back = [f for f in reversed(self.s.recent) if fits(f)]
        return back[:1] or targets

    def _part_for(self, f: Finding, parts: list[Subject], served: bool) -> str | None:
        for o in parts:
            if o.component == f.component:
                return None
            options = [t.value for t in o.mention.of("short")]
            if f.component in options:
                return None
            if any(x.part == o.component for x in self.v.components[f.component].served_as):
                return o.component
            if self._kin(o.component, f.component) or served:
                own, other = self.v.components[f.component], o.component
                if own.kind_of == other or self.v.components[other].kind_of == f.component:
                    return None
                return other
        return None

    # ----- readings -----------------------------------------------------------------------------------------------------

    def _bind_readings(self, c: Clause, targets: list[Finding], quantities: list[Quantity]) -> None:
        limits = [q for q in c.quantities if q.limit]
        if (
            len(targets) == len(quantities) >= 2
            and len({f.component for f in targets}) == 1
            and len({q.unit for q in quantities}) == 1
            and not any(q.pair for q in quantities)
        ):
            # "OSF NSF OSR NSR 7 7 6 6": as many readings as places, in the same order.
            for f, q in zip(targets, quantities, strict=True):
                unit = q.unit or self._bare_unit(f.component)
                if unit is not None and self._accepts(f.component, q):
                    f.readings += [Reading(v, unit) for v in q.values]
            return
        for q in [q for q in quantities if q.pair]:
            self._left_and_right(targets, q)
        quantities = [q for q in quantities if not q.pair]
        for q in quantities:
            if len(q.values) == 4 and q.unit is None and targets:
                self._at_four_corners(targets, q)
        for q in quantities:
            if len(q.values) == 4 and q.unit is None:
                continue
            takers = [f for f in targets if self._accepts(f.component, q)]
            if not takers:
                takers = [f for f in reversed(self.s.recent) if self._accepts(f.component, q)][:1]
            if not takers:
                if q.unit is None:
                    continue
                takers = targets if not self._odd(q) else []
            for f in takers:
                if f not in targets:
                    self._rest_on(f, self._chars(c))
                unit = q.unit or self._bare_unit(f.component)
                if unit is None:
                    continue
                if (
                    q.unit is None
                    and unit == "mm"
                    and max(q.values) < 4
                    and "rotor-thickness" in self.v.components[f.component].measured
                ):
                    unit = "in"
                if q.signed and unit == "deg":
                    unit = "degF" if self.steering == "left-hand" else "degC"
                f.readings = [r for r in f.readings if not (r.copied and r.unit == unit and r.value not in q.values)]
                if q.only and unit in ("psi", "bar", "kPa") and not any(x.id == "low" for x in f.conditions):
                    f.conditions.append(Said("low"))
                for value in q.values:
                    if not any(r.value == value and r.unit == unit for r in f.readings):
                        f.readings.append(Reading(value, unit))
        for q in limits:
            for f in targets:
                for r in f.readings:
                    if (
                        r.limit is None
                        and q.unit in (None, r.unit)
                        and (q.unit is not None or 0.2 < q.values[0] / (abs(r.value) or 1) < 5)
                    ):
                        r.limit = q.values[0]

    def _left_and_right(self, targets: list[Finding], q: Quantity) -> None:
        """ "Steer 13/12": the first is the left one, the second the right one."""
        base = targets[0] if targets else None
        unit = self._bare_unit(base.component) if base else None
        if base is None or unit is None:
            return
        if base.place.side or "side" not in axes_of(self.v.components[base.component]):
            base.readings += [Reading(v, unit) for v in q.values]
            return
        new = []
        for side, value in zip(("left", "right"), q.values, strict=True):
            place = base.place._replace(side=side)
            f = next((x for x in self.out.findings if x.component == base.component and x.place == place), None)
            if f is None:
                f = Finding(
                    base.component,
                    place,
                    why=[
                        Why(
                            "position",
                            "place.two-with-a-stroke",
                            "two readings with a stroke between are left and right",
                        )
                    ],
                )
                self.out.findings.append(f)
            f.readings.append(Reading(value, unit))
            f.spans += [x for x in base.spans if x not in f.spans]
            new.append(f)
        if not base.says_something() and base in self.out.findings:
            self.out.findings.remove(base)
        targets[:] = new

    def _at_four_corners(self, targets: list[Finding], q: Quantity) -> None:
        """Four readings in a row are left front, right front, left rear and right rear."""
        base = targets[0]
        unit = self._bare_unit(base.component)
        if unit is None or not {"axle", "side"} <= axes_of(self.v.components[base.component]):
            return
        spread = []
        for place, value in zip(CORNERS, q.values, strict=True):
            f = next((x for x in self.out.findings if x.component == base.component and x.place == place), None)
            if f is None:
                f = Finding(
                    base.component,
                    place,
                    why=[
                        Why(
                            "position",
                            "place.four-in-a-row",
                            "four readings in a row go left front, right front, left rear, right rear",
                        )
                    ],
                )
                self.out.findings.append(f)
            f.readings.append(Reading(value, unit))
            f.spans += [x for x in base.spans if x not in f.spans]
            spread.append(f)
        if not base.says_something() and base.place.side is None and base in self.out.findings:
            self.out.findings.remove(base)
        targets[:] = spread

    def _odd(self, q: Quantity) -> bool:
        return q.unit in ("quart", "L", "clicks", "deg")

    def _bare_unit(self, component: str) -> str | None:
        comp = self.v.components[component]
        book = "us" if self.steering == "left-hand" else "uk"
        if self.s.unit:
            return self.s.unit
        said = [r.unit for f in self.out.findings if f.component == component for r in f.readings]
        for m in comp.measured:
            bare = self.v.quantities[m].bare.get(book)
            if bare:
                dims = [
                    u for u in said if u in self.v.units and self.v.units[u].dimension == self.v.units[bare].dimension
                ]
                return dims[0] if dims else bare
        if "freeze-point" in comp.measured:
            return "degF" if self.steering == "left-hand" else "degC"
        if "voltage" in comp.measured:
            return "V"
        return said[-1] if said else None

    def _accepts(self, component: str, q: Quantity) -> bool:
        comp = self.v.components[component]
        if q.unit is None:
            return self._bare_unit(component) is not None
        if q.unit not in self.v.units:
            return False
        if q.signed and q.unit == "deg" and "freeze-point" in comp.measured:
            return True
        dim = self.v.units[q.unit].dimension
        return any(
            u in self.v.units and self.v.units[u].dimension == dim
            for m in comp.measured
            for u in self.v.quantities[m].units
        )

    # ----- corrections --------------------------------------------------------------------------------------------------

    def _only_correcting(self, c: Clause, has: set[str]) -> bool:
        """ "No,", "sorry,": nothing but the turn itself, with the place or number that is meant still to come."""
        if (
            not self.s.focus
            or c.quantities
            or not has
            or has - {"correction", "negation", "filler", "good", "pronoun"}
            or not has & {"correction", "negation"}
        ):
            return False
        if c.end - c.begin > 5:
            return False
        if "correction" in has:
            return True
        n = self.clauses.index(c)
        for nxt in self.clauses[n + 1 : n + 3]:
            if nxt.sentence != c.sentence:
                return False
            kinds = {t.kind for m in nxt.mentions for t in m.tags}
            if "correction" in kinds and not kinds - {"correction", "filler", "negation"}:
                continue
            return (
                not kinds - {"place", "filler", "correction"}
                and bool(kinds or nxt.quantities)
                and self.words[c.begin].fold == "no"
            )
        return False

    def _correct(self, c: Clause, places: PlacesSaid, quantities: list[Quantity], subjects: list[Subject]) -> bool:
        """ "No wait, right front", "sorry, rear", "correction, six": the last finding is moved or measured again."""
        s = self.s
        s.correcting = False
        if not s.focus:
            return False
        cue = next((m for m in c.mentions if m.tag("correction")), None)
        others = [m for m in c.mentions if m is not cue and is_predicate(m) and not m.tag("good")]
        if subjects or others:
            return False
        if any(m.tag("good") for m in c.mentions) and s.focus[-1].conditions:
            # "Seized. Sorry, the nearside one's free": a word on the other one, no correction of this one.
            return False
        span = self._chars(c)
        groups = places.complete()
        if len(groups) == 1 and len(s.focus) == 1:
            f = s.focus[0]
            f.place = self._fit(f.component, groups[0].over(f.place))
            f.why.append(Why("position", "correction.place", "the note corrected the place"))
            self._rest_on(f, span)
            s.place = Place(f.place.axle, f.place.side)
            return True
        if quantities and not groups:
            f = s.focus[-1]
            for q in quantities:
                unit = q.unit or (f.readings[-1].unit if f.readings else self._bare_unit(f.component))
                if unit is None:
                    continue
                f.readings = [r for r in f.readings if r.unit != unit] + [Reading(v, unit) for v in q.values]
            self._rest_on(f, span)
            return True
        return False


def _in_words(place: Place) -> str:
    axle = f"axle {place.axle}" if place.axle and place.axle.isdigit() else place.axle
    return "the " + " ".join(w for w in (place.side, axle) if w)


__all__ = ["Doubt", "Walk"]
