"""The reading inside somebody else's spaCy pipeline: ``import talkaround.within_spacy``, then ``nlp.add_pipe("talkaround")``.

By explicit import only: spaCy loads every factory that an installed package registers, so an entry point would slow every
pipeline of the environment, also those that never read a note.
"""

from functools import partial

from spacy.language import Language
from spacy.tokens import Doc, Span

import talkaround
from talkaround.models import NoteKind, RepairOrder, RuleBook, Steering

FINDINGS = "findings"
"""The key of ``doc.spans``: a span for each stretch of words that a line rests on, labelled with the component's id."""

if not Doc.has_extension("repair_order"):
    Doc.set_extension("repair_order", default=None)


class NoteReader:
    """Reads ``doc.text`` and sets ``doc._.repair_order`` and ``doc.spans["findings"]``; the tokens are left as they are.

    The settings are those of :func:`talkaround.read`. A span's ``id_`` is the number of its line; spans take in every token
    that their words touch. Raises as :func:`talkaround.read` does.
    """

    def __init__(self, steering: Steering, rule_book: RuleBook | None, kind: NoteKind, lexicon: str | None):
        self._read = partial(talkaround.read, steering=steering, rule_book=rule_book, kind=kind, lexicon=lexicon)

    def __call__(self, doc: Doc) -> Doc:
        """Read ``doc`` as a note; gives the same ``doc`` with its repair order and a span for each finding."""
        order = self._read(doc.text)
        doc._.repair_order = order
        doc.spans[FINDINGS] = _spans(doc, order)
        return doc


# Its annotations are no text (no future import above): spaCy before its last versions cannot read its settings from one.
@Language.factory(
    "talkaround",
    assigns=["doc._.repair_order", "doc.spans"],
    default_config={"steering": "left-hand", "rule_book": None, "kind": "typed", "lexicon": None},
)
def _reader(
    nlp: Language, name: str, steering: Steering, rule_book: RuleBook | None, kind: NoteKind, lexicon: str | None
) -> NoteReader:
    return NoteReader(steering, rule_book, kind, lexicon)


def _spans(doc: Doc, order: RepairOrder) -> list[Span]:
    found = []
    for line in order.lines:
        for e in line.evidence:
            span = doc.char_span(
                e.begin, e.end, label=line.component.id, span_id=str(line.number), alignment_mode="expand"
            )
            if span is not None:
                found.append(span)
    return found


__all__ = ["FINDINGS", "NoteReader"]
