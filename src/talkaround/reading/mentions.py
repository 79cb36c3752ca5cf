"""Which stretches of the note name a component, a place, a condition, an action or a cue: longest match wins."""

from __future__ import annotations

from talkaround.reading.number_words import ONES, is_int
from talkaround.reading.numbered_places import NumberedPlace
from talkaround.reading.types import Mention, Quantity
from talkaround.vocabulary import Tag, Vocabulary
from talkaround.vocabulary.folding import Word

# At equal length the kind that says more wins its neighbours.
_RANK = {
    "vehicle": -1,
    "tool": -1,
    "component": 0,
    "severity": 1,
    "condition": 1,
    "short": 2,
    "place": 2,
    "good": 2,
    "action": 3,
}


def find_mentions(
    words: list[Word],
    vocabulary: Vocabulary,
    quantities: list[Quantity],
    numbered: list[NumberedPlace],
    taken: list[tuple[int, int]],
    numbering: list[Mention],
    typed: bool = True,
) -> list[Mention]:
    """Non-overlapping mentions in order; words inside quantities or ``taken`` stretches only join longer phrases."""
    candidates: list[tuple[int, int, tuple[Tag, ...]]] = vocabulary.matcher.find([w.fold for w in words])
    numbers = [(q.begin, q.end) for q in quantities] + taken
    used = [False] * len(words)
    in_number = [False] * len(words)
    for begin, end in numbers:
        in_number[begin:end] = [True] * (end - begin)
    out: list[Mention] = []
    for m in numbering:
        out.append(m)
        used[m.begin : m.end] = [True] * (m.end - m.begin)
    for n in numbered:
        out.append(Mention(n.begin, n.end, (Tag("place", n.means),)))
        used[n.begin : n.end] = [True] * (n.end - n.begin)
    candidates.sort(key=lambda c: (c[0] - c[1], min([_RANK.get(t.kind, 4) for t in c[2]]), c[0]))
    for begin, end, tags in candidates:
        if True in used[begin:end] or (end - begin > 1 and _goes_on_to(words, end, vocabulary)):
            continue
        if any(in_number[begin:end]) and not _may_take_number(tags, in_number, begin, end):
            continue
        used[begin:end] = [True] * (end - begin)
        out.append(Mention(begin, end, tags))
    out.sort(key=lambda m: m.begin)
    settled: list[Mention] = []
    # "Pass" is short for the passenger's only where somebody types.
    parts = {m.begin for m in out if typed and m.tag("component", "short")}
    everywhere = frozenset(w.fold for w in words)
    for m in out:
        place = _letter_as_place(_settled(m, words, m.end in parts), words, everywhere)
        if place is not None and not _right_as_adverb(place, words):
            settled.append(_all_right(place, settled[-1] if settled else None, words))
    return settled


_TO_A_PLACE = frozenset("the on at over to onto for and".split())


def _goes_on_to(words: list[Word], end: int, vocabulary: Vocabulary) -> bool:
    """ "Rotors are good now the rear pads": with its "now" the talk goes on to another place."""
    if words[end - 1].fold != "now":
        return False
    k = end
    while k < len(words) and words[k].fold in _TO_A_PLACE:
        k += 1
    return k < len(words) and any(t.kind == "place" for t in vocabulary.phrases.get((words[k].fold,), ()))


_AFTER_ADVERB = frozenset(
    "out off through up down away now there here where behind next back along above under underneath beside "
    "around over into onto in on after before by against across".split()
)
_BEFORE_SIDE = frozenset(
    {
        "the",
        "front",
        "rear",
        "upper",
        "lower",
        "inner",
        "outer",
        "and",
        "your",
        "my",
        "both",
        "on",
        "to",
        "far",
        "or",
        "axle",
        "left",
        ",",
    }
)


_THAT_FITS = frozenset("one part cable size kit number thing".split())
_ASKS_FOR = frozenset("need get order wrong send want find".split())


def _right_as_adverb(m: Mention, words: list[Word]) -> bool:
    """ "I can lift it right out", "right through", "needs the right one": no side."""
    follows = words[m.end].fold if m.end < len(words) else ""
    if m.end - m.begin == 1 and words[m.begin].fold == "right" and follows in _THAT_FITS:
        return bool({w.fold for w in words[max(0, m.begin - 3) : m.begin]} & _ASKS_FOR)
    if (
        m.end - m.begin > 1
        or words[m.begin].fold != "right"
        or m.end >= len(words)
        or words[m.begin].end - words[m.begin].begin > 5
    ):
        return False
    before = words[m.begin - 1].fold if m.begin else ""
    if before in _BEFORE_SIDE or before.isdigit() or not before.isalpha():
        return False
    return words[m.end].fold in _AFTER_ADVERB


_BEFORE_NOUN = frozenset(
    {
        "the",
        "a",
        "an",
        "this",
        "that",
        "its",
        "his",
        "her",
        "my",
        "new",
        "old",
        "one",
        "both",
        "all",
        "each",
        "of",
        "these",
        "those",
    }
)


_YOUNG = 4
"""Years at which neither a tire nor a battery is old. Common practice, no source."""


def _settled(m: Mention, words: list[Word], before_part: bool) -> Mention:
    """A shared name that is also a verb or verdict ("monitor", "plug", "sticks") is a part only behind an article."""
    if m.tag("place") and m.tag("good") and words[m.begin].fold == "pass":
        # "Pass seat belt guide broken", "passes the load test".
        side = before_part and words[m.begin].end - words[m.begin].begin == len("pass")
        return Mention(m.begin, m.end, tuple(t for t in m.tags if (t.kind == "place") == side))
    if m.tag("vehicle", "tool"):
        return Mention(m.begin, m.end, tuple(t for t in m.tags if t.kind in ("vehicle", "tool")))
    if words[m.begin].fold == "old" and m.begin > 1 and words[m.begin - 1].fold == "year" and m.end - m.begin == 1:
        # "Two years old" is no fault, "eight years old" may be one.
        said = words[m.begin - 2].fold
        if 0 < ONES.get(said, int(said) if is_int(said) else 0) <= _YOUNG:
            return Mention(m.begin, m.end, (Tag("filler", ""),))
    if (
        m.tag("short")
        and not m.tag("component")
        and m.end - m.begin == 1
        and m.begin
        and words[m.begin - 1].fold in ("you", "i", "we", "they", "ill", "youd", "wed")
    ):
        return Mention(m.begin, m.end, tuple(t for t in m.tags if t.kind != "short") or (Tag("filler", ""),))
    before = words[m.begin - 1].fold if m.begin else ""
    two_before = words[m.begin - 2].fold if m.begin > 1 else ""
    if m.tag("component", "short") and m.end - m.begin == 1 and _verb_follows(before, two_before):
        # "Won't seat", "to lock": a verb.
        rest = tuple(t for t in m.tags if t.kind not in ("short", "component"))
        return Mention(m.begin, m.end, rest or (Tag("filler", ""),))
    if (
        not m.tag("short")
        or m.tag("component")
        or not m.tag("action", "severity", "good", "work", "condition", "negation", "degree")
    ):
        return m
    # "Nearside slack's at fifty": what is something is a noun.
    last = words[m.end - 1]
    noun = (m.begin > 0 and words[m.begin - 1].fold in _BEFORE_NOUN) or last.end - last.begin == len(last.fold) + 2
    return Mention(m.begin, m.end, tuple(t for t in m.tags if (t.kind == "short") == noun))


_AUXILIARY = frozenset("wont doesnt dont didnt cant will wouldnt couldnt".split())
_BEFORE_TO = frozenset("next due on down over up close in back back-to damage access got".split())


def _all_right(m: Mention, before: Mention | None, words: list[Word]) -> Mention:
    """ "The inner's all right" is a verdict, "all right, next one" is none."""
    if m.end - m.begin > 2 or words[m.end - 1].fold not in ("right", "alright") or not m.tag("filler", "turn"):
        return m
    lead = words[m.begin - 1].fold if m.begin else ""
    adjoins = before is not None and before.end == m.begin and before.tag("place", "component", "short", "pronoun")
    verdict = adjoins or lead in ("is", "are", "look", "seem", "still")
    return Mention(m.begin, m.end, tuple(t for t in m.tags if (t.kind == "good") == verdict))


def _verb_follows(before: str, two_before: str) -> bool:
    """Whether the word behind ``before`` is a verb: behind "won't", or behind a "to" that leads nowhere."""
    return before in _AUXILIARY or (before == "to" and two_before not in _BEFORE_TO)


_CORNER_LETTERS = {"l": {"rf", "rr", "rh"}, "r": {"lf", "lr", "lh"}}


def _letter_as_place(m: Mention, words: list[Word], everywhere: frozenset[str]) -> Mention | None:
    """F, R and L alone are places where the note uses the letter's opposite too ("F 7 R 5", "L kingpin loose, R fine")."""
    if m.end - m.begin == 1 and words[m.begin].fold in ("fr", "rr") and m.tag("place"):
        return _axle_letters(m, words, everywhere)
    if m.end - m.begin > 1 or len(words[m.begin].fold) > 1 or not m.tag("place"):
        return m
    following = words[m.end].fold if m.end < len(words) else ""
    if following in ("=", ":") and m.end + 1 < len(words):
        following = words[m.end + 1].fold
    letter = words[m.begin].fold
    opposite = {"f": {"r"}, "r": {"f", "l"}, "l": {"r"}}[letter]
    near = {w.fold for w in words[max(0, m.begin - 14) : m.end + 14]}
    number_next = following[:1].isdigit() or following[:1] == "."
    if (
        letter in "lr"
        and following.isalpha()
        and following not in ("to", "and", "-")
        and everywhere & _CORNER_LETTERS[letter]
        and not everywhere & {"f"}
    ):
        # "RF strut blown, L strut ok": a note that writes corners in letters.
        return Mention(m.begin, m.end, (Tag("place", "left" if letter == "l" else "right"),))
    if not (near & opposite or number_next or everywhere & opposite):
        return None
    letters = near if near & opposite else everywhere
    means = {"f": "front", "l": "left"}.get(letter) or ("rear" if "f" in letters else "right" if "l" in letters else "")
    return Mention(m.begin, m.end, (Tag("place", means),)) if means else None


def _axle_letters(m: Mention, words: list[Word], everywhere: frozenset[str]) -> Mention:
    """FR and RR are front and rear in a note that has the two and no other corner ("fr 9 rr 7")."""
    if {"fr", "rr"} <= everywhere and not everywhere & {"fl", "rl", "lf", "lr", "rf"}:
        return Mention(m.begin, m.end, (Tag("place", "front" if words[m.begin].fold == "fr" else "rear"),))
    return m


_MAY_HOLD_NUMBER = frozenset("component short action place pseudo-negation other-vehicle work delivered".split())


def _may_take_number(tags: tuple[Tag, ...], in_number: list[bool], begin: int, end: int) -> bool:
    """A phrase may hold a number's words where it is longer than the number (``12 volt battery``, ``3 pin lead``)."""
    return not all(in_number[begin:end]) and any(t.kind in _MAY_HOLD_NUMBER for t in tags)


def drop_swallowed(quantities: list[Quantity], mentions: list[Mention]) -> list[Quantity]:
    """The quantities whose words no mention took (``12 volt`` of a ``12 volt battery`` is no reading)."""
    taken = {i for m in mentions for i in range(m.begin, m.end)}
    return [q for q in quantities if not any(i in taken for i in range(q.begin, q.end))]
