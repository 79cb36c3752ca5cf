"""Items that the talk itself numbers ("first one ... second ... third", "eleven the belt squeals, twelve ...").

The numbers open new items and are no readings. They are known by their order: a run that starts with the first and goes
up by one, with one left out at most.
"""

from __future__ import annotations

from bisect import bisect_left

from talkaround.reading.number_words import ONES, TENS
from talkaround.reading.types import Mention
from talkaround.vocabulary import Tag
from talkaround.vocabulary.folding import Word

_ORDINALS = (
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth "
    "sixteenth seventeenth eighteenth nineteenth twentieth"
).split()
_RANK = {word: n for n, word in enumerate(_ORDINALS, 1)}
_RANK |= {"1st": 1, "2nd": 2, "3rd": 3} | {f"{n}th": n for n in range(4, 21)}
_NUMBERS = {**ONES, "twenty": 20}
_SHORTEST, _FEWEST_ORDINALS = 4, 3
# Behind these an ordinal or number belongs to what it follows.
_NO_ITEM = frozenset("the a in on of at axle cylinder gear seat bank row his her my from".split())
# A bare number is a reading behind these, or before these.
_READ_BEHIND = _NO_ITEM | set(
    "is are left right front rear inner outer left's about under over to and or than s".split()
)
_READ_BEFORE = frozenset(_NUMBERS) | set(TENS) | set("point and or to 32nd thirty mm millimeter mil volt psi".split())
_BEFORE = frozenset({"number", "item"})
_BEHIND = frozenset({"one", "is", "thing", "up", "item"})


def find_numbering(words: list[Word]) -> list[Mention]:
    """The numbers of the talk's own items, as turns of the talk; nothing where it does not number them."""
    places = [k for k, w in enumerate(words) if w.fold in _RANK or w.fold in _NUMBERS]
    run: list[Mention] = []
    at = ordinals = missed = 0
    for rank in range(1, len(_ORDINALS) + 1):
        found = _next(words, places, rank, at)
        if found is None:
            missed += 1
            if missed > 1:
                break
            continue
        begin, end, ordinal = found
        run.append(Mention(begin, end, (Tag("turn", ""),)))
        at, ordinals = end, ordinals + ordinal
    return run if len(run) >= _SHORTEST and ordinals >= _FEWEST_ORDINALS else []


def _next(words: list[Word], places: list[int], rank: int, at: int) -> tuple[int, int, bool] | None:
    """Where the item of this rank is numbered, from word ``at`` on: an ordinal, else a bare number.

    ``places`` are all ordinals and numbers of the note.
    """
    number: tuple[int, int, bool] | None = None
    for k in places[bisect_left(places, at) :]:
        before = words[k - 1].fold if k else ""
        behind = words[k + 1].fold if k + 1 < len(words) else ""
        seconds = words[k].fold == "second" and (before in _NUMBERS or before in TENS or before.isdigit())
        if _RANK.get(words[k].fold) == rank and before not in _NO_ITEM and not seconds:
            return (*_with_its_words(words, k, k + 1), True)
        is_number = number is None and _NUMBERS.get(words[k].fold) == rank
        if is_number and before not in _READ_BEHIND and behind not in _READ_BEFORE:
            number = (*_with_its_words(words, k, k + 1), False)
    return number


def _with_its_words(words: list[Word], begin: int, end: int) -> tuple[int, int]:
    """ "Number three", "first one", "ten is"."""
    if begin and words[begin - 1].fold in _BEFORE:
        begin -= 1
    while end < len(words) and words[end].fold in _BEHIND:
        end += 1
    return begin, end
