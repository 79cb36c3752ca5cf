"""Whose word a clause is, and whether it is about this vehicle as it stands.

Somebody's word is kept as a report until he is done. Another vehicle, a general remark, a what-if, the past and what nobody
looked at are set aside, and so is what follows in the sentence. Rules: ``report.opens``, ``report.goes-on``,
``report.not-confirmed``, ``work.agreed``, ``aside.other-vehicle``, ``aside.general-remark``, ``aside.hypothetical``,
``aside.history``, ``aside.not-inspected``, ``ruled-out.supposed``, ``answer.not-safe``, ``answer.given``.
"""

from __future__ import annotations

from talkaround.reading.clauses import PREPOSITIONS, has_predicate, kinds_in, names_part
from talkaround.reading.corrections import CorrectionRules
from talkaround.reading.places import PlacesSaid
from talkaround.reading.state import ASIDE_MODES
from talkaround.reading.types import Aside, Clause, Doubt, Finding, Mention, Reported, Why

# Characters after which a part that is named may end a report, without and with full stops.
_REPORT_RUNS, _LONG_REPORT = 60, 240
# Characters after which a turn of speech ends a report in talk without full stops.
_SHORT_REPORT = 25
_ASKING = frozenset(
    "would will should shall could can do does did is are was were has have isnt arent doesnt dont why".split()
)
# What asks how things are, and not what would be.
_ASKING_WHAT_IS = frozenset("do does did is are was were has have isnt arent doesnt dont any".split())
_YES = frozenset("yes yeah yep yup aye y".split())
_NO = frozenset("no nope nah none negative n".split())
# "None." is two words with its full stop.
_ANSWER_ALONE = 2
_BOX = frozenset({":", "-"})
# Words about a report that say nothing of the vehicle, and marks.
_REPORT_FRAME = frozenset("that this is was it the a his her their what which as and so . , : ; ! - — \n".split(" "))
_OWN = frozenset({"i", "they", "theyre", "it", "its"})
# Behind these a what-if is over: the objection to it, or the reason for it, is so.
_TO_WHAT_IS_SO = frozenset({"but", "because", "cause", "cos", "since"})


class DiscourseRules(CorrectionRules):
    # ----- somebody's word --------------------------------------------------------------------------------------------

    """The walk's rules for whose word a clause is and which vehicle it is about."""

    def _heard_from_somebody(self, c: Clause, has: set[str]) -> str | None:
        """The rule by which the clause is somebody's word, or None where it is the writer's own."""
        s = self.s
        if "agreed" in has and (s.reporting is None or "reported" not in has):
            self._close_report()
            return self._agreed(c, has)
        if s.reporting is not None and not self._report_goes_on(c, has):
            self._close_report()
        if s.reporting is None and s.told:
            self._take_up_what_was_told(c, has)
        if s.reporting is not None:
            s.reporting.spans.append(self._chars(c))
            self._note_report(c)
            return "report.goes-on"
        if "reported" in has and not any(m.value("work") == "declined" for m in c.mentions):
            self._drop_topic()
            s.reporting = Reported([self._chars(c)], "")
            s.mode_until, s.told = c.sentence, []
            self._note_report(c)
            return "report.opens"
        if "unconfirmed" in has and self.out.reported:
            self.out.reported[-1].not_confirmed = True
        elif "confirmed" in has and s.told and self.out.reported and not names_part(c):
            self.out.reported[-1].confirmed = True
        if "unconfirmed" in has and not has_predicate(c):
            self._aside(c, "chatter", "not confirmed")
            return "report.not-confirmed"
        return None

    def _agreed(self, c: Clause, has: set[str]) -> str | None:
        """ "She okayed it", "customer said go ahead": the customer's leave, and no word on the vehicle."""
        pending = any(m.value("agreed") == "pending" for m in c.mentions)
        self.out.customer_told = self.out.customer_told or not pending
        if has & {"action", "condition", "good", "severity", "work"} or c.quantities:
            return None
        meant = self._meant_by_name(c)
        for f in meant:
            self._rest_on(f, self._chars(c))
        if not meant:
            self._aside(c, "chatter", "the customer's leave")
        return "work.agreed"

    def _meant_by_name(self, c: Clause) -> list[Finding]:
        """What was found of the parts that the clause names, or what the talk is about where it names none."""
        if not names_part(c):
            return list(self.s.focus)
        named = {t.value for m in c.mentions for t in m.tags if t.kind in ("component", "short")}
        return [f for f in self.out.findings if f.component in named]

    def _note_report(self, c: Clause) -> None:
        """Take down what the clause tells; what the technician confirms ends the report."""
        s = self.s
        r = s.reporting
        if r is None:
            return
        for m in c.mentions:
            r.about = r.about or m.value("component") or m.value("short")
            if any(not t.scope for t in m.of("condition")):
                r.symptoms.append(self._phrase(m))
                r.shows += [t.value for t in m.of("condition")]
        r.says = r.says or self._says_more_than_who(c)
        subjects, objects, _ = self._subjects(c)
        named = subjects or objects
        if len(named) == 1:
            s.told, s.told_places = named, self._places_named(c, named)
        r.confirmed, r.not_confirmed = "confirmed" in kinds_in(c), "unconfirmed" in kinds_in(c)
        if r.confirmed or r.not_confirmed:
            self._close_report()

    def _says_more_than_who(self, c: Clause) -> bool:
        covered = {k for m in c.mentions if m.tag("reported", "told") for k in range(m.begin, m.end)}
        return any(k not in covered and self.words[k].fold not in _REPORT_FRAME for k in range(c.begin, c.end))

    def _take_up_what_was_told(self, c: Clause, has: set[str]) -> None:
        """ "The other shop said the struts are shot. They're dry": the technician's own word on the part told of."""
        s = self.s
        if names_part(c) or c.sentence > s.mode_until + 1:
            s.told = []
        elif self.words[c.begin].fold in _OWN and (has_predicate(c) or c.quantities):
            s.topic, s.topic_places, s.topic_sentence = s.told, s.told_places, c.sentence
            s.topic_span, s.told = None, []

    def _report_goes_on(self, c: Clause, has: set[str]) -> bool:
        r = self.s.reporting
        if r is None or "reported" in has:
            return False
        if not r.says and self.text[r.spans[0][0] : r.spans[-1][1]].rstrip().endswith((":", "-")):
            # A heading: "Customer concern:", and what it is on the next line.
            self.s.mode_until = c.sentence
            return True
        if c.sentence > self.s.mode_until:
            return False
        if has & {"unconfirmed", "confirmed", "not-inspected"}:
            return True
        if self.punctuated and self.words[c.begin].fold == "i" and (has_predicate(c) or c.quantities):
            return False
        length = sum(e - b for b, e in r.spans)
        if names_part(c) and length > (_LONG_REPORT if self.punctuated else _REPORT_RUNS):
            return False
        first = c.mentions[0] if c.mentions else None
        # "Says the door on the left quits": a place that says where is no turn of the talk.
        where = first is not None and self.words[first.begin].fold in PREPOSITIONS and not names_part(c)
        corner = first is not None and self._names_corner(first) and not where
        turns = first is not None and (first.tag("filler", "moving", "turn") is not None or corner)
        if turns and not self.punctuated and length > _SHORT_REPORT:
            return False
        return not (c.opened_by == "but" and names_part(c))

    def _close_report(self) -> None:
        r = self.s.reporting
        if r is None:
            return
        begin, end = r.spans[0][0], r.spans[-1][1]
        if not r.says:
            # "That is the customer's concern": said of what was just found.
            self.s.reporting = None
            self.out.asides.append(Aside(begin, end, "chatter"))
            return
        r.text = " ".join(self.text[begin:end].split()).rstrip(" ,;:-")
        self.out.reported.append(r)
        self.s.reporting = None

    # ----- not this vehicle as it stands ------------------------------------------------------------------------------

    def _mode(self, c: Clause, has: set[str]) -> str | None:
        """What the clause is set aside for, or None; a mode reaches to the end of its sentence or to a fresh start."""
        s = self.s
        if s.mode:
            if not self._mode_ends(c, has):
                return s.mode
            s.mode = None
        if self._asks(c) and names_part(c) and not self._is_answered(c):
            return "hypothetical"
        if "unmeasured" in has and names_part(c):
            has = has | {"not-inspected"}
        for kind in ("other-vehicle", "general-remark", "hypothetical", "not-inspected", "history"):
            if kind in has and not self._cue_is_beside_the_point(c, has, kind):
                if kind != "history" or names_part(c) or s.topic:
                    s.mode, s.mode_until = kind, c.sentence
                return kind
        return None

    def _asks(self, c: Clause) -> bool:
        """ "Would the shocks pass?": opened by its verb and closed by a question mark."""
        if self.words[c.begin].fold not in _ASKING:
            return False
        end = next((k for k in range(c.end - 1, len(self.words)) if self.words[k].fold in (".", "\n", "?", "!")), -1)
        return self._word(end) == "?"

    # ----- asked and answered -----------------------------------------------------------------------------------------

    def _answer(self, c: Clause) -> tuple[Clause, bool] | None:
        """ "Leaking? Not that I can see.": the clause that answers, and whether with yes."""
        after = self.clauses[c.number + 1] if c.number + 1 < len(self.clauses) else None
        if after is None or after.line != c.line:
            return None
        said = self.words[after.begin].fold
        if self.words[c.end - 1].fold in _BOX:
            # "Leaks: none": a box of a list, answered in a word.
            alone = after.end - after.begin <= _ANSWER_ALONE and said in _NO and not names_part(c)
            return (after, False) if alone and "condition" in kinds_in(c) else None
        if self.words[c.end - 1].fold != "?":
            return None
        if said in _YES:
            return after, True
        first = self.starts.get(after.begin)
        denies = first is not None and first.tag("negation", "ruled-out") is not None
        return (after, False) if said in _NO or denies else None

    def _is_answered(self, c: Clause) -> bool:
        return self.words[c.begin].fold in _ASKING_WHAT_IS and self._answer(c) is not None

    def _ask_and_answer(self, c: Clause, has: set[str]) -> str | None:
        """Take in a question that the note answers itself; the rule where nothing more is to be said of its clause."""
        if c.number in self.answering:
            return self._given(c)
        answer = self._answer(c)
        if answer is None:
            return None
        after, yes = answer
        self.answering.add(after.number)
        if yes:
            return None
        self.denied.add(c.number)
        if self.words[c.end - 1].fold in _BOX:
            # Of no part that was named before it.
            self._aside(c, "chatter")
            return "answer.given"
        return self._not_safe(c) if "safe" in has else None

    def _given(self, c: Clause) -> str | None:
        """The answer itself, unless it goes on to say something of its own ("no they're grinding")."""
        if has_predicate(c) or names_part(c) or c.quantities:
            c.mentions = [m for m in c.mentions if m.begin > c.begin or not m.tag("negation")]
            return None
        box = self.words[c.begin - 1].fold in _BOX
        for f in self.s.focus if not box else ():
            self._rest_on(f, self._chars(c))
        if box or not self.s.focus:
            self._aside(c, "chatter")
        return "answer.given"

    def _not_safe(self, c: Clause) -> str:
        """ "Safe to drive? No.": said of what the talk is about, and asked back where that is nothing."""
        for f in self.s.focus:
            f.severity.append("unsafe")
            self._rest_on(f, self._chars(c))
        if not self.s.focus:
            said = self.text[slice(*self._chars(c))].strip(" ,.")
            self._aside(c, "not-understood")
            text = f"The note answers “{said}” with no, and of no part. What is it said of?"
            self.out.doubts.append(Doubt("understanding", text))
        return "answer.not-safe"

    def _mode_ends(self, c: Clause, has: set[str]) -> bool:
        mode = self.s.mode
        if "this-vehicle" in has or (mode == "hypothetical" and c.opened_by in _TO_WHAT_IS_SO):
            return True
        if not self.punctuated and c.begin > 0 and self._fresh_start(c):
            return True
        another = names_part(c) and mode not in has and ("pronoun" not in has or mode == "history")
        return another and mode in ("history", "not-inspected")

    def _cue_is_beside_the_point(self, c: Clause, has: set[str], kind: str) -> bool:
        """Whether the clause says something of this vehicle although it has a cue of another mode."""
        if kind == "history":
            # "15K since last oil change, due": the past is only the reason.
            # "Cabin filter is nasty, he declined it last time": found today, only refused before.
            told_first = "condition" in has and not self._cue_first(c, kind)
            return c.sentence in self.due_in or ("work" in has and (told_first or not names_part(c)))
        if kind == "hypothetical":
            late = bool(self.s.focus) and "condition" in has and not self._cue_first(c, kind)
            return late or ("severity" in has and not names_part(c))
        if kind == "not-inspected":
            return "condition" in has and names_part(c) and not self._cue_first(c, kind)
        return False

    def _cue_first(self, c: Clause, kind: str) -> bool:
        """Whether the cue stands before what is said of the part."""
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
        if first.tag("filler", "turn"):
            return True
        says = bool(kinds_in(c) & {"condition", "good", "severity", "action"} or c.quantities)
        return self._names_corner(first) and names_part(c) and says

    def _names_corner(self, m: Mention) -> bool:
        place = m.value("place")
        return place is not None and place not in ("this-side", "other-side") and not m.tag("component")

    def _set_aside(self, c: Clause, mode: str) -> str:
        points_back = any(m.tag("pronoun") for m in c.mentions) and not names_part(c)
        if points_back and mode in ("history", "not-inspected", "other-vehicle"):
            if self.s.topic:
                self._drop_topic(mode)
            elif mode == "other-vehicle":
                self._retract("other-vehicle")
        elif (
            mode == "other-vehicle"
            and not names_part(c)
            and c.opened_by
            and any(f in self.s.recent for f in self.s.focus)
        ):
            # "... has a bent axle, separate ticket": what was just said is not for this order.
            self._retract("other-vehicle")
            self._drop_topic("other-vehicle")
        else:
            if mode == "hypothetical" and (names_part(c) or self.s.topic):
                # What comes next is of that part, if of any.
                self.s.focus = []
            self._drop_topic()
        self._aside(c, ASIDE_MODES[mode], "not inspected" if mode == "not-inspected" else None)
        return f"aside.{mode}"

    # ----- supposed, and not so ---------------------------------------------------------------------------------------

    def _clears_what_was_supposed(self, c: Clause, has: set[str]) -> bool:
        return (
            bool(self.s.supposed)
            and not names_part(c)
            and bool(has & {"negation", "good", "ruled-out"})
            and "pronoun" in has
            and "condition" not in has
            and c.opened_by in ("but", ",", "and")
        )

    def _not_so(self, c: Clause) -> str:
        """ "I thought it was the mount, it isn't", "... but it's fine": what was supposed is all right."""
        s = self.s
        s.mode = None
        targets = self._findings(s.supposed, PlacesSaid())
        text = "the note supposed a fault and then said that it is not so"
        for f in targets:
            if not f.conditions:
                f.good = True
                f.why.append(Why("severity", "ruled-out.supposed", text))
            self._rest_on(f, self._chars(c))
        s.supposed = []
        self._focus_on(targets)
        return "ruled-out.supposed"
