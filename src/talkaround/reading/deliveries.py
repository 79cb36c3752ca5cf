"""Parts that are here: at hand for the work, or of the wrong hand ("they sent two lefts").

Left and right parts are ordered by hand, and two of one hand do not make a pair (common practice). Rules: ``work.at-hand``,
``work.delivered``.
"""

from __future__ import annotations

from talkaround.reading.clauses import is_subject
from talkaround.reading.left_open import LeftOpenRules
from talkaround.reading.types import Clause, Delivery, Finding, Mention, Why

_HANDS = {"left": "left", "right": "right", "lh": "left", "rh": "right"}
_COUNTS = {"two": 2, "2": 2, "both": 2, "pair": 2, "three": 3, "3": 3, "four": 4, "4": 4}
_ONE = frozenset({"a", "another", "one", "1"})
# "Came", "sent", "here": the part is in the shop.
_ARRIVED = frozenset(
    "sent gave got came have has delivered received supplied shipped brought here turned arrived box".split()
)
_NEEDED = frozenset("need needs want wants order require still missing".split())


class DeliveryRules(LeftOpenRules):
    """The walk's rules for parts that came."""

    def _delivered(self, c: Clause, has: set[str]) -> str | None:
        """Take down what the clause says has come; the rule's name, or None where it says no such thing."""
        if self._finds_fault(c) or has & {"good", "correction", "hypothetical", "other-vehicle", "history", "reported"}:
            return None
        came = self._hand_that_came(c)
        # Few clauses speak of parts that came, and only for those are the findings looked through.
        if came is None and "at-hand" not in has:
            return None
        meant = self._waiting_for(c)
        if not meant:
            return None
        if came is not None:
            return self._of_one_hand(c, meant, *came)
        if any(f.work for f in meant):
            return None
        for f in meant:
            self._to_be_fitted(f, c)
            f.at_hand = True
        self._focus_on(meant)
        return "work.at-hand"

    def _waiting_for(self, c: Clause) -> list[Finding]:
        """The faulty parts that the clause names, or else those in focus."""
        faulty = [f for f in self.out.findings if self._at_fault(f) and f.work in (None, "wrong-part", "ordered")]
        mentions = [*c.mentions, *self._named_right_behind(c)]
        named = [f for f in faulty if any(is_subject(m) and self._names(m, f) for m in mentions)]
        in_focus = [f for f in self.s.focus if f in faulty]
        if named and in_focus and any(f in named for f in in_focus):
            return [f for f in in_focus if f in named]
        if any(m.tag("component") for m in mentions) or (named and len(mentions) > len(c.mentions)):
            return named[-2:]
        return in_focus

    def _named_right_behind(self, c: Clause) -> list[Mention]:
        """ "They sent two left | links": the name that a cut parted from its side."""
        if c.number + 1 >= len(self.clauses) or self._folds(c.end - 1, c.end)[:1] not in (["left"], ["right"]):
            return []
        behind = self.clauses[c.number + 1]
        first = behind.mentions[0] if behind.mentions else None
        return [first] if first is not None and first.begin == c.end and not behind.opened_by else []

    def _hand_that_came(self, c: Clause) -> tuple[str, int] | None:
        """Side and count of "two lefts", "a left one", said of what came; None where no hand is said of it."""
        words = self._folds(c.begin, c.end)
        for n, word in enumerate(words):
            side = _HANDS.get(word)
            if side is None or n == 0 or words[n - 1] == "no":
                continue
            before = words[max(0, n - 2) : n]
            if _NEEDED & set(words[:n]):
                return None
            typed = self.text[self.words[c.begin + n].begin : self.words[c.begin + n].end].lower()
            plural = typed in ("lefts", "rights")
            count = next((_COUNTS[w] for w in reversed(before) if w in _COUNTS), None)
            if count is None and (plural or before[-1] in _ONE):
                count = 2 if plural else 1
            if count is not None and (_ARRIVED & set(words[:n]) or (plural and count > 1)):
                return side, count
        return None

    def _of_one_hand(self, c: Clause, meant: list[Finding], side: str, count: int) -> str:
        component = meant[-1].component
        self.out.deliveries.append(Delivery(component, side, count))
        of_it = [f for f in meant if f.component == component]
        lacking = [f for f in of_it if f.place.side not in (side, "both")]
        for f in of_it:
            self._to_be_fitted(f, c)
            if f in lacking:
                f.work = "wrong-part"
                f.why.append(Why("work", "work.delivered", f"the part that came is for the {side} side"))
            else:
                f.at_hand = True
        self._focus_on(lacking or of_it)
        return "work.delivered"

    def _to_be_fitted(self, f: Finding, c: Clause) -> None:
        self._rest_on(f, self._chars(c))
        if f.verb is None:
            f.verb = "replace"
            f.why.append(Why("action", "work.at-hand", "a part for it was bought"))
