"""Words of a note that make no sense as they stand and sound like a name of the trade.

A stretch of one to four words is looked at where no part of it is taken for something already and it holds more than little
words. It is held against what the vocabulary has beside the words around it ("mall" before "joint"),
and, where no such word is English, against whole names. What stands around weighs in: a place before, something said of it
behind, the same system spoken of nearby.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from rapidfuzz import process
from rapidfuzz.distance import Indel

from talkaround.vocabulary import Tag, Vocabulary
from talkaround.vocabulary.alikes import LITTLE, Alikes, Words, holds, sounds_of_all
from talkaround.vocabulary.folding import Word
from talkaround.vocabulary.sounding import key_of_sounds, spelled_out

SURE, DOUBTFUL = 84.0, 76.0
"""Scores of 100 from which on words are mended, and asked about."""
_LONGEST = 4
# Sounds, spelt for comparing, of so many letters at least: less sounds like anything.
_SHORTEST = 7
# And of a name that nothing beside it tells from others.
_TELLING_APART = 13
# The talk must be of a vehicle: so far around, one word in so many, and at least so many.
_AROUND, _ONE_IN, _LEAST = 30, 12, 2
_NEAR, _BEHIND = 2, 6
# Words of a name on either side of what was misheard.
_BESIDE = 3
# Sounds so much alike are the same to the ear, whatever the spelling.
_SAME = 90.0
# A name of two words written as one ("pangasket") sounds the same but for one sound.
_RUN_TOGETHER = 95.0
_LINKING = frozenset("is are was were look feel got has it and so too all".split())
NUMBER_WORDS = frozenset(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand thousandth half quarter "
    "third eighth sixteenth second oh point".split()
)
# Words so common that a recogniser hardly writes them for a trade word.
_COMMON = frozenset(
    "about above after again all almost along already also although always and another any anything are around ask "
    "away back because been before behind being below beneath besides between both but call came can cannot cant "
    "come could did does doing done down during each either else enough even ever every everything except few for "
    "from full get give going gone got had has have hence her here herself him his how however into its itself just "
    "keep last least less let like look made make many maybe mean might mine more most mostly move much must name "
    "near need neither never next nobody none nor not nothing now nowhere off often okay once one only onto other "
    "others our out over own part perhaps please put quite really same saw say see seem several she should show "
    "side since some somebody someone something sometimes still such take than that the their them then there these "
    "they thing think this those though through throughout too top toward try under until upon use used using "
    "various very wait want was way well went were what whatever when where whether which while who whole whose why "
    "will with within without would yet you your".split()
)
_STOPS = frozenset({".", "\n", "?", "!", ";"})
_TELLING = frozenset({"component", "short", "condition", "good", "action", "severity", "work"})
# Of these a word makes sense by itself.
_SENSE = _TELLING | frozenset(
    "place degree negation not-inspected reported correction taken-back turn vehicle tool hypothetical history "
    "other-vehicle unconfirmed general-remark same limit plan".split()
)


_CONTRACTED = re.compile(r"['’](?!s$)")


class Alike(NamedTuple):
    """Words ``begin`` to ``end`` of the note, read as ``said``; with it words ``name_begin`` to ``name_end`` are a name."""

    score: float
    begin: int
    end: int
    said: Words
    name: Words
    name_begin: int
    name_end: int
    component: str | None
    said_of: bool
    """Whether something is said of it behind."""


def find_alikes(text: str, words: list[Word], vocabulary: Vocabulary) -> Iterator[list[Alike]]:
    """For each stretch that may be mended what it may be, the best first; stretches do not overlap."""
    found = sorted(_candidates(_Note(text, words, vocabulary)), key=lambda a: (-a.score, a.begin, a.end - a.begin))
    taken: list[tuple[int, int]] = []
    for best in found:
        if any(best.name_begin < e and b < best.name_end for b, e in taken):
            continue
        taken.append((best.name_begin, best.name_end))
        yield [a for a in found if a.name_begin < best.name_end and best.name_begin < a.name_end]


class _Note:
    """What is known of the note's words before any is mended."""

    def __init__(self, text: str, words: list[Word], vocabulary: Vocabulary):
        self.vocabulary, self.alikes, self.ordinary = vocabulary, vocabulary.alikes, vocabulary.ordinary
        self.folds = [w.fold for w in words]
        self.tags = _longest(self.folds, vocabulary)
        self.sense = [any(t.kind in _SENSE for t in tags) for tags in self.tags]
        self.telling = [n for n, tags in enumerate(self.tags) if any(t.kind in _TELLING for t in tags)]
        known, units = vocabulary.words, vocabulary.unit_words
        self.open = [
            w.fold.isalpha()
            and len(w.fold) > 2
            and not (sense or w.fold in _COMMON or w.fold in units or w.fold in NUMBER_WORDS)
            and not _CONTRACTED.search(text[w.begin : w.end])
            and not is_a_name(text, words, n)
            for n, (w, sense) in enumerate(zip(words, self.sense, strict=True))
        ]
        """Which words may be something else than they are written as."""
        self.unknown = [is_open and f not in known for is_open, f in zip(self.open, self.folds, strict=True)]

    def has(self, at: Iterable[int], kinds: frozenset[str]) -> bool:
        return any(t.kind in kinds for n in at for t in self.tags[n])

    def behind(self, end: int) -> Iterator[int]:
        """The next words of the sentence."""
        for n in range(end, min(len(self.folds), end + _BEHIND)):
            if self.folds[n] in _STOPS:
                return
            yield n

    def is_of_a_vehicle(self, begin: int, end: int) -> bool:
        first, last = max(0, begin - _AROUND), min(len(self.folds), end + _AROUND)
        telling = bisect_left(self.telling, last) - bisect_left(self.telling, first)
        return telling >= _LEAST and telling * _ONE_IN >= last - first


def is_a_name(text: str, words: list[Word], n: int) -> bool:
    """Whether a word is written as a proper name is: with a large letter inside a sentence."""
    return (
        text[words[n].begin].isupper()
        and text[words[n].end - 1].islower()
        and n > 0
        and words[n - 1].fold not in _STOPS
    )


def _longest(folds: list[str], vocabulary: Vocabulary) -> list[tuple[Tag, ...]]:
    """The tags of each word, by the longest phrase that it belongs to."""
    out: list[tuple[Tag, ...]] = [()] * len(folds)
    for begin, end, tags in sorted(vocabulary.matcher.find(folds), key=lambda f: (f[0] - f[1], f[0])):
        if not any(out[begin:end]):
            out[begin:end] = [tags] * (end - begin)
    return out


def _candidates(note: _Note) -> Iterator[Alike]:
    for first, is_open in enumerate(note.open):
        if not is_open:
            continue
        for begin in range(max(0, first - _LONGEST + 1), first + 1):
            # Each stretch is looked at for the first open word that it holds.
            if any(note.open[begin:first]):
                continue
            for end in range(first + 1, min(len(note.folds), begin + _LONGEST) + 1):
                stretch = tuple(note.folds[begin:end])
                if any(note.sense[begin:end]) or not all(f.isalpha() for f in stretch):
                    break
                yield from _in_a_name(note, begin, end, stretch)
                yield from _by_itself(note, begin, end, stretch)


def _in_a_name(note: _Note, begin: int, end: int, stretch: Words) -> Iterator[Alike]:
    """What the stretch may be beside the words that stand next to it."""
    folds, alikes = note.folds, note.alikes
    beside: dict[Words, float] = {}
    if end < len(folds) and folds[end] in alikes.before:
        beside.update(_like(stretch, "before", folds[end], alikes))
    if begin and folds[begin - 1] in alikes.after:
        beside.update(_like(stretch, "after", folds[begin - 1], alikes))
    for said, alike in beside.items():
        if said == tuple(f for f in stretch if f not in LITTLE) or _inflects(stretch[-1], said[0]):
            continue
        for name, name_begin, name_end in _names_with(note, begin, end, said):
            held = sum(holds(f) for f in (*folds[name_begin:begin], *folds[end:name_end]))
            yield _weighed(note, alike + 2 * (held - 1), begin, end, said, name, name_begin, name_end)


def _inflects(word: str, said: str) -> bool:
    """Whether a word is another form of ``said``: "purging" beside a dryer is what it does."""
    return word.endswith("ing") and word[:4] == said[:4]


def _names_with(note: _Note, begin: int, end: int, said: Words) -> Iterator[tuple[Words, int, int]]:
    """The name of a part that ``said`` makes with the most of its neighbors, none of them a place alone."""
    folds, most = note.folds, 0
    found: tuple[Words, int, int] | None = None
    for name_begin in range(begin, max(-1, begin - _BESIDE - 1), -1):
        for name_end in range(end, min(len(folds), end + _BESIDE) + 1):
            name = (*folds[name_begin:begin], *said, *folds[end:name_end])
            held = sum(map(holds, folds[name_begin:begin])) + sum(map(holds, folds[end:name_end]))
            if held > most and _part(name, note.vocabulary):
                most, found = held, (name, name_begin, name_end)
    if found:
        yield found


def _by_itself(note: _Note, begin: int, end: int, stretch: Words) -> Iterator[Alike]:
    """The names that a stretch sounds like of which every word that may be wrong is no English word."""
    at = [n for n in range(begin, end) if note.open[n]]
    if any(not note.unknown[n] or note.folds[n] in note.ordinary for n in at):
        return
    key = key_of_sounds(sounds_of_all(stretch))
    for said, alike in _like(stretch, "whole", key, note.alikes):
        if alike < _SAME or len(spelled_out(sounds_of_all(said))) < _TELLING_APART:
            continue
        component = _part(said, note.vocabulary)
        candidate = _weighed(note, alike, begin, end, said, said, begin, end)
        if component is None:
            fits = _said_of_a_part(note, begin)
        elif len(said) > 1:
            fits = alike >= _RUN_TOGETHER
        else:
            fits = _system_near(note, begin, end, component)
            # One word with nothing beside it to go by is never sure.
            candidate = candidate._replace(score=min(candidate.score, SURE - 1))
        if fits:
            yield candidate


def _said_of_a_part(note: _Note, begin: int) -> bool:
    """Whether a part was named just before, with no more than "is" or the like between."""
    before = begin - 1
    while before > 0 and note.folds[before] in _LINKING:
        before -= 1
    return before >= 0 and note.has([before], frozenset({"component", "short"}))


def _like(stretch: Words, where: str, under: str, alikes: Alikes) -> list[tuple[Words, float]]:
    sound = spelled_out(sounds_of_all(stretch))
    if len(sound) < _SHORTEST:
        return []
    choices = getattr(alikes, where).get(under, {})
    found = process.extract(sound, choices, scorer=Indel.normalized_similarity, score_cutoff=0.66, limit=6)
    return [(said, 100 * alike) for _, alike, said in found]


def _weighed(
    note: _Note, alike: float, begin: int, end: int, said: Words, name: Words, name_begin: int, name_end: int
) -> Alike:
    """The score of a candidate: how alike it sounds, and what stands around."""
    score = alike
    component = _part(name, note.vocabulary)
    said_of = note.has(note.behind(name_end), _TELLING - {"component", "short"})
    score += 2 * said_of
    if note.has(range(max(0, name_begin - _NEAR), name_begin), frozenset({"place"})):
        score += 2
    if component and _system_near(note, name_begin, name_end, component):
        score += 2
    at = [n for n in range(begin, end) if note.open[n]]
    score -= 3 * (end - begin - len(at))
    score -= 4 * sum(not note.unknown[n] or note.folds[n] in note.ordinary for n in at)
    if not note.is_of_a_vehicle(name_begin, name_end):
        score = 0
    return Alike(min(score, 100.0), begin, end, said, name, name_begin, name_end, component, said_of)


def _part(name: Words, vocabulary: Vocabulary) -> str | None:
    return next((t.value for t in vocabulary.phrases.get(name, ()) if t.kind in ("component", "short")), None)


def _system_near(note: _Note, begin: int, end: int, component: str) -> bool:
    components = note.vocabulary.components
    system = components[component].system
    around = (*range(max(0, begin - _AROUND), begin), *range(end, min(len(note.folds), end + _AROUND)))
    return any(t.kind == "component" and components[t.value].system == system for n in around for t in note.tags[n])
