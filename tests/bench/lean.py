"""*Lean*: the least that finds terms and says whether they are denied or supposed, as a floor to measure against.

Parts, conditions, actions, cues and the ends of sentences go into one phrase matcher; one loop over what it finds gives
plain tuples. It binds nothing to a part or a side, reads no number, judges nothing and explains nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

Found = tuple[str, int, int, bool, bool]
"""Label, first token, token after the last, whether denied, whether supposed."""

_SENTENCE_ENDS = [".", "!", "?", ";", "\n", "\n\n"]


def lean(given: dict[str, Any]) -> Callable[[Iterable[str]], Iterator[list[Found]]]:
    """The reader of a vocabulary (see ``given.vocabulary``): texts in, what is found in each out."""
    import spacy
    from spacy.matcher import PhraseMatcher

    nlp = spacy.blank("en")
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    meaning: dict[int, tuple[str, str]] = {}

    def add(what: str, how: str, phrases: list[str]) -> None:
        if phrases:
            key = f"{what} {how}"
            matcher.add(key, list(nlp.tokenizer.pipe(phrases)))
            meaning[nlp.vocab.strings[key]] = what, how

    for label, phrases in given["terms"].items():
        add("term", label, phrases)
    for aspect, ways in given["cues"].items():
        for way, phrases in ways.items():
            add(aspect, way, phrases)
    add("stop", "", given["stops"] + _SENTENCE_ENDS)

    def read(texts: Iterable[str]) -> Iterator[list[Found]]:
        for doc in nlp.tokenizer.pipe(texts):
            yield _scoped((begin, end, *meaning[key]) for key, begin, end in matcher(doc))

    return read


def _scoped(matches: Iterable[tuple[int, int, str, str]]) -> list[Found]:
    """Each term under the cues of its own stretch, which a stop ends; of overlapping ones the longest counts."""
    found: list[Found] = []
    term_end = cue_end = stretch_from = 0
    denied = supposed = False
    for begin, end, what, how in sorted(matches, key=lambda m: (m[0], -m[1])):
        if what == "term":
            if begin >= term_end:
                term_end = end
                found.append((how, begin, end, denied, supposed))
            continue
        if begin < cue_end:
            continue
        cue_end = end
        if what == "stop":
            stretch_from, denied, supposed = len(found), False, False
        elif how == "preceding":
            denied, supposed = denied or what == "negation", supposed or what == "hypothesis"
        elif how == "following":
            for n in range(stretch_from, len(found)):
                label, a, b, no, maybe = found[n]
                found[n] = label, a, b, no or what == "negation", maybe or what == "hypothesis"
    return found


__all__ = ["Found", "lean"]
