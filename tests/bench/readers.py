"""One reader over the notes, in a process of its own: ``python readers.py READER GIVEN SECONDS`` prints figures as JSON.

GIVEN is a file of ``notes``, ``terms``, ``cues`` and ``stops`` (see ``given.py``). Nothing of this project is imported but
for the whole reading, so that EDS-NLP and medspaCy can run in environments of their own. Each reader goes over all notes
once, and then again and again for the seconds given: the first pass meets every word anew, the others know them.

Each general library is set up in its fastest way that we know: EDS-NLP on its English tokenizer with one matcher for all
terms; medspaCy with spaCy's sentencizer for its own, and our cues for its clinical ones.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

Counts = tuple[int, int, int]
"""Of one note: what was found, how much of it is denied, how much supposed."""
Reader = Callable[[list[dict[str, Any]]], Iterable[Counts]]


def whole_reading(given: dict[str, Any]) -> Reader:
    """The repair order of each note; what is found are its lines, what is denied those that are good."""
    from talkaround.models import Note
    from talkaround.pipeline import write_order
    from talkaround.vocabulary import load_vocabulary

    vocabulary = load_vocabulary()

    def read(notes: list[dict[str, Any]]) -> Iterator[Counts]:
        for one in notes:
            order = write_order(Note.model_validate(one["note"]), vocabulary=vocabulary, steering=one["steering"])
            yield len(order.lines), sum(line.severity == "good" for line in order.lines), 0

    return read


def tokenizing(given: dict[str, Any]) -> Reader:
    import spacy

    nlp = spacy.blank("en")
    return lambda notes: ((len(doc), 0, 0) for doc in nlp.tokenizer.pipe(_texts(notes)))


def lean(given: dict[str, Any]) -> Reader:
    from lean import lean as build

    read = build(given)
    return lambda notes: (
        (len(found), sum(f[3] for f in found), sum(f[4] for f in found)) for found in read(_texts(notes))
    )


def eds_nlp(given: dict[str, Any]) -> Reader:
    import edsnlp
    import edsnlp.pipes as eds

    nlp = edsnlp.blank("en")
    nlp.add_pipe(eds.sentences())
    nlp.add_pipe(eds.matcher(terms=given["terms"], attr="LOWER"))
    # With no verb it takes every French one, "a" among them; this one stands in no English note.
    verbs, common = ["nier"], {"termination": given["stops"], "attr": "LOWER"}
    nlp.add_pipe(eds.negation(**given["cues"]["negation"], **common, verbs=verbs, preceding_regex=[]))
    nlp.add_pipe(eds.hypothesis(**given["cues"]["hypothesis"], **common, verbs_eds=verbs, verbs_hyp=verbs))

    def read(notes: list[dict[str, Any]]) -> Iterator[Counts]:
        for doc in nlp.pipe(_texts(notes)):
            yield len(doc.ents), sum(e._.negation for e in doc.ents), sum(e._.hypothesis for e in doc.ents)

    return read


def medspacy(given: dict[str, Any]) -> Reader:
    import medspacy
    from loguru import logger
    from medspacy.context import ConTextRule
    from medspacy.ner import TargetRule

    # It writes twenty lines of log a note.
    logger.remove()
    nlp = medspacy.load(medspacy_enable=["medspacy_tokenizer"])
    nlp.add_pipe("sentencizer")
    targets = nlp.add_pipe("medspacy_target_matcher")
    targets.add([TargetRule(name, label.upper()) for label, names in given["terms"].items() for name in names])
    context = nlp.add_pipe("medspacy_context", config={"rules": None})
    categories = {"negation": "NEGATED_EXISTENCE", "hypothesis": "POSSIBLE_EXISTENCE"}
    directions = {"preceding": "FORWARD", "following": "BACKWARD", "pseudo": "PSEUDO"}
    rules = [
        ConTextRule(phrase, categories[aspect], direction=directions[way])
        for aspect, ways in given["cues"].items()
        for way, phrases in ways.items()
        for phrase in phrases
    ]
    context.add(rules + [ConTextRule(phrase, "STOP", direction="TERMINATE") for phrase in given["stops"]])

    def read(notes: list[dict[str, Any]]) -> Iterator[Counts]:
        for doc in nlp.pipe(_texts(notes)):
            yield len(doc.ents), sum(e._.is_negated for e in doc.ents), sum(e._.is_uncertain for e in doc.ents)

    return read


READERS: dict[str, tuple[Callable[[dict[str, Any]], Reader], str]] = {
    "whole reading": (whole_reading, "spacy"),
    "tokenizing": (tokenizing, "spacy"),
    "lean": (lean, "spacy"),
    "EDS-NLP": (eds_nlp, "edsnlp"),
    "medspaCy": (medspacy, "medspacy"),
}
"""How each is built, and the package whose version is told."""

_SHORT = {"note": {"name": "short", "kind": "transcript", "text": "Left front tire is worn."}, "steering": "left-hand"}


def _texts(notes: list[dict[str, Any]]) -> Iterator[str]:
    return (one["note"]["text"] for one in notes)


def peak_mib() -> float:
    """The most memory that this process has had, MiB (``VmHWM``); not a number where the system does not tell."""
    try:
        rows = Path("/proc/self/status").read_text().splitlines()
    except OSError:
        return float("nan")
    return next(int(row.split()[1]) / 1024 for row in rows if row.startswith("VmHWM"))


def measured(name: str, given: dict[str, Any], seconds: float) -> dict[str, Any]:
    """``words_s`` (known words), ``first_words_s`` (first pass), ``build_s``, ``peak_mib`` and the counts.

    What a reader makes on its first note only, which is a short one for all, is counted as building.
    """
    build, package = READERS[name]
    started = time.perf_counter()
    read = build(given)
    list(read([_SHORT]))
    built = time.perf_counter()
    counts = list(read(given["notes"]))
    first_s = time.perf_counter() - built
    words = sum(len(text.split()) for text in _texts(given["notes"]))
    passes, begun = 0, time.perf_counter()
    while not passes or time.perf_counter() - begun < seconds:
        for _ in read(given["notes"]):
            pass
        passes += 1
    took = time.perf_counter() - begun
    found, denied, supposed = (sum(column) for column in zip(*counts, strict=True))
    return {
        "words_s": words * passes / took, "first_words_s": words / first_s, "build_s": built - started, "passes": passes,
        "found": found, "denied": denied, "supposed": supposed, "peak_mib": peak_mib(),
        "version": f"{package} {version(package)}", "spacy": version("spacy"),
    }  # fmt: skip


if __name__ == "__main__":
    print(json.dumps(measured(sys.argv[1], json.loads(Path(sys.argv[2]).read_text("utf-8")), float(sys.argv[3]))))
