"""Note -> findings: what was said, of what, where, by whom, and whether it is so.

Pure: a function of the note, the vocabulary and the drive side.
"""

from __future__ import annotations

from functools import partial
from typing import TypeVar

from talkaround.models import PAUSE_S, Note, Steering
from talkaround.reading.clauses import cut_clauses
from talkaround.reading.identifying import place_identifiers
from talkaround.reading.tagging import recognized
from talkaround.reading.types import Mention, ReadNote
from talkaround.reading.walk import Walk
from talkaround.reading.words import read_words
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.folding import Word

# A note with one of these is of a vehicle that may have two tires a side.
_HEAVY = frozenset("dual tandem trailer bus tractor semi dually artic tipper".split())
# Before "axle": the axles of a truck, and no axle shaft of a car.
_OF_A_TRUCK = frozenset("steer drive tag lift trailer pusher dead spread".split())
_OF_A_CAR = frozenset("shaft seal boot nut assembly bearing".split())

WalkType = TypeVar("WalkType", bound=Walk)


def read(note: Note, vocabulary: Vocabulary, steering: Steering) -> ReadNote:
    """Read a note. Offsets in the result are characters of ``note.text``."""
    return walked(note, vocabulary, steering, Walk).out


def walked(note: Note, vocabulary: Vocabulary, steering: Steering, kind: type[WalkType]) -> WalkType:
    """A walk over the note that has been run; ``kind`` may be one that records what it does."""
    text = note.text
    mended = read_words(text, vocabulary, spoken=None if note.kind == "typed" else True)
    words = _apply_legend(mended.words, vocabulary)
    codes, quantities, numbered, _, mentions = recognized(text, words, vocabulary, typed=note.kind == "typed")
    punctuated = _is_punctuated(text, len(words))
    folds = {w.fold for w in words}
    numbered_axles = any(n.means.startswith("axle=") for n in numbered)
    duals = bool(folds & _HEAVY) or numbered_axles or _has_truck_axles(words)
    noun = partial(_one_noun, vocabulary)
    clauses = cut_clauses(words, mentions, quantities, punctuated, noun, _pauses(note, words), mended.spoken)
    walk = kind(text, words, clauses, vocabulary, steering, punctuated=punctuated, duals=duals)
    walk.run()
    said, found = walk.out.vehicle, codes.facts
    said.vin, said.odometer, said.plate = found.vin, found.odometer, found.plate
    said.spans += found.spans
    walk.out.mends = mended.mends
    walk.out.doubts += mended.doubts + codes.doubts
    place_identifiers(codes.identifiers, walk.out, clauses, words, vocabulary)
    return walk


def _pauses(note: Note, words: list[Word]) -> frozenset[int]:
    """The words before which the speaker was silent, as far as the transcript is timed."""
    spoken = note.utterances
    at = {
        after.begin
        for before, after in zip(spoken, spoken[1:], strict=False)
        if before.end_s is not None and after.start_s is not None and after.start_s - before.end_s >= PAUSE_S
    }
    return frozenset(k for k, w in enumerate(words) if w.begin in at)


def _has_truck_axles(words: list[Word]) -> bool:
    folds = [w.fold for w in words]
    return any(
        b == "axle" and a in _OF_A_TRUCK and c not in _OF_A_CAR
        for a, b, c in zip(folds, folds[1:], [*folds[2:], ""], strict=False)
    )


def _one_noun(vocabulary: Vocabulary, a: Mention, b: Mention) -> bool:
    """Whether the second name can be a part of what the first names."""
    owners = {t.value for t in a.tags if t.kind in ("component", "short")}
    for t in b.tags:
        if t.kind in ("component", "short"):
            comp = vocabulary.components[t.value]
            if owners & {*comp.part_of, comp.kind_of}:
                return True
    return False


def _apply_legend(words: list[Word], vocabulary: Vocabulary) -> list[Word]:
    """Shorthand that the note explains itself ("RS = road side") is read as what it stands for."""
    meaning: dict[str, tuple[str, ...]] = {}
    for i in range(1, len(words) - 1):
        if words[i].fold not in ("=", ":") or not words[i - 1].fold.isalpha() or len(words[i - 1].fold) > 4:
            continue
        for length in (3, 2, 1):
            phrase = tuple(w.fold for w in words[i + 1 : i + 1 + length])
            tags = vocabulary.phrases.get(phrase, ())
            if (
                words[i].fold == "="
                and any(t.kind in ("place", "component") for t in tags)
                and (words[i - 1].fold,) not in vocabulary.phrases
            ):
                meaning[words[i - 1].fold] = phrase
                break
    if not meaning:
        return words
    out: list[Word] = []
    for k, w in enumerate(words):
        defined_here = k + 1 < len(words) and words[k + 1].fold == "="
        if w.fold in meaning and not defined_here:
            out += [Word(f, w.begin, w.end) for f in meaning[w.fold]]
        else:
            out.append(w)
    return out


def _is_punctuated(text: str, words: int) -> bool:
    """Whether somebody set full stops or line ends: at least one to sixty words."""
    stops = sum(text.count(x) for x in (". ", ".\n", "\n", "; ")) + text.endswith(".")
    return words < 25 or stops * 60 >= words


__all__ = ["read", "walked"]
