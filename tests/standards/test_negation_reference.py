"""Negation in plain sentences against an independent implementation of NegEx, EDS-NLP's, given our vocabulary.

EDS-NLP (https://aphp.github.io/edsnlp/, BSD-3) takes the trigger phrases of NegEx as they are published (see
``test_assertion_scope.py``) and the words for conditions that our own matcher finds. It knows nothing of parts,
places or talk, so the sentences are plain. Where the two differ, the sentence stands in ``DIFFERENCES`` with who is
right and why; a difference that is gone must be taken off the list.

Left out where EDS-NLP is not installed: ``pip install -e ".[test,reference]"``.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable

import pytest

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.reading.words import read_words
from talkaround.vocabulary import Vocabulary

with warnings.catch_warnings():
    # Its own dependencies warn on import, and a warning is an error here.
    warnings.simplefilter("ignore")
    edsnlp = pytest.importorskip("edsnlp")

PRECEDING = """absence of|cannot see|denies|denied|fails to reveal|free of|negative for|never had|no|no evidence of|no new
no other evidence|no sign of|no signs of|no significant|no suggestion of|no findings of|not|not appear|not demonstrate
not exhibit|not feel|not have|not reveal|not see|rather than|unremarkable for|with no|without|without any evidence of
without indication of|without sign of|rules out|ruled out|can rule out"""
FOLLOWING = "free|unlikely|was ruled out|is ruled out|are ruled out|has been ruled out|have been ruled out"
PSEUDO = """no increase|no change|no significant change|not only|not necessarily|without difficulty|not certain if
not cause|not drain|not extend"""
TERMINATION = """but|however|nevertheless|yet|though|although|still|aside from|except|apart from|secondary to
because|cause of|source of|reason for"""

SENTENCES = """
No play in the lower ball joints.
No cracks in the serpentine belt.
No leaks at the oil pan.
No new leaks at the oil pan.
No evidence of a leak at the rear main seal.
No sign of leaks at the shocks.
No significant wear on the rear brake pads.
No suggestion of a leak at the head gasket.
Front struts are without leaks.
Radiator without any evidence of leaking.
CV boots without sign of cracking.
Absence of play in the idler arm bushing.
Brake hoses are free of cracks.
Wheel bearings negative for play.
The water pump is not leaking.
The radiator does not appear to be leaking.
The wheel bearing does not have any play.
Pressure test did not reveal a leak at the radiator.
I do not see any cracks in the serpentine belt.
Did not feel any play in the outer tie rod ends.
The shock does not exhibit any leaks.
Cannot see any leaks at the valve cover gasket.
Smoke test fails to reveal a leak at the intake manifold gasket.
Pressure test rules out a leak at the head gasket.
Fuel lines unremarkable for leaks.
A leak at the head gasket was ruled out.
Play in the wheel bearing has been ruled out.
The water pump is leaking.
Left front CV boot is torn.
Serpentine belt is cracked.
Lower ball joint has play.
Rear brake rotors are scored.
Muffler is rusted.
There is a leak at the oil pan.
Wheel bearing is noisy.
Radiator is cracked and leaking.
No change in the oil pan leak.
No significant change in the play of the lower ball joint.
No increase in the rear main seal leak.
Not only is the water pump leaking, the radiator is cracked.
No play in the lower ball joints, but the outer tie rod end is bent.
No cracks in the brake hoses; however the CV boot is torn.
No leaks at the struts, though the strut mount is loose.
Wheel bearing has no play although it is noisy.
Shocks are not leaking, yet the shock bushing is worn.
Water pump is leaking but has no play.
Brake hose is not cracked and not leaking.
No cracks or leaks on the brake hoses.
Steering rack is neither loose nor leaking.
The battery cable is loose but not corroded.
The serpentine belt is worn, not cracked.
Oil pan is dented, no leaks.
Without difficulty I found a leak at the radiator.
No longer any play in the lower ball joint.
The muffler does not leak, it is rusted.
""".strip().splitlines()

# EDS-NLP negates each condition behind a trigger up to a termination or the sentence's end, as NegEx does.
DIFFERENCES = {
    "Steering rack is neither loose nor leaking.": "ours is right: neither and nor are no triggers of the published list",
    "The muffler does not leak, it is rusted.": "ours is right: the comma and a new subject end the negation",
}


def _phrases(text: str) -> list[str]:
    return [phrase for line in text.splitlines() for phrase in line.split("|")]


Target = tuple[int, int, frozenset[str]]
"""Characters of the words for a condition, and the conditions that they may mean."""


def _targets(text: str, vocabulary: Vocabulary) -> list[Target]:
    """The words for conditions that the vocabulary knows in a sentence; of overlapping ones the longest."""
    words = read_words(text, vocabulary).words
    found = vocabulary.matcher.find([w.fold for w in words])
    longest = [m for m in found if not any(o[0] <= m[0] and m[1] <= o[1] and o[:2] != m[:2] for o in found)]
    said = [(b, e, frozenset(t.value for t in tags if t.kind == "condition")) for b, e, tags in longest]
    return [(words[b].begin, words[e - 1].end, ids) for b, e, ids in said if ids]


def _reference(vocabulary: Vocabulary) -> Callable[[str], set[str]]:
    """What EDS-NLP holds to be negated in a sentence, as the words themselves."""
    import edsnlp.pipes as eds

    words = sorted({text[b:e].lower() for text in SENTENCES for b, e, _ in _targets(text, vocabulary)})
    nlp = edsnlp.blank("eds")
    nlp.add_pipe(eds.sentences())
    nlp.add_pipe(eds.matcher(terms={"condition": words}, attr="LOWER"))
    nlp.add_pipe(
        eds.negation(
            preceding=_phrases(PRECEDING),
            following=_phrases(FOLLOWING),
            pseudo=_phrases(PSEUDO),
            termination=_phrases(TERMINATION),
            # With no verb it takes every French one, "a" among them; this one stands in no English sentence.
            verbs=["nier"],
            attr="LOWER",
        )
    )
    return lambda text: {ent.text.lower() for ent in nlp(text).ents if ent._.negation}


@pytest.fixture(scope="module")
def differing(vocabulary: Vocabulary) -> dict[str, list[str]]:
    """Every sentence in which the two differ, with the words in question."""
    negated_there = _reference(vocabulary)
    found: dict[str, list[str]] = {}
    for text in SENTENCES:
        order = write_order(Note(name="plain", text=text), vocabulary=vocabulary)
        affirmed = {c.id for line in order.lines for c in line.conditions}
        there = negated_there(text)
        for begin, end, ids in _targets(text, vocabulary):
            words = text[begin:end].lower()
            # An order without a line says neither yes nor no, and agrees with nobody.
            if not order.lines or (words in there) == bool(ids & affirmed):
                found.setdefault(text, []).append(words)
    return found


def test_every_sentence_names_a_condition(vocabulary: Vocabulary) -> None:
    assert [text for text in SENTENCES if not _targets(text, vocabulary)] == []


def test_differences_are_those_explained(differing: dict[str, list[str]]) -> None:
    assert sorted(differing) == sorted(DIFFERENCES)
