"""Codes and numbers that name something: VIN, plate and odometer of the vehicle, trouble codes, marks of tires, dates.

Those of the vehicle become its facts; the others wait in ``identifiers`` for the line that they belong to.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass, field

from talkaround.reading.dates import find_dates
from talkaround.reading.odometer import find_odometer
from talkaround.reading.spelled_out import run_at
from talkaround.reading.tire_marks import find_date_codes, find_sizes
from talkaround.reading.trouble_codes import find_trouble_codes
from talkaround.reading.types import Doubt, Identifier, VehicleFacts
from talkaround.reading.vins import find_vin
from talkaround.vocabulary.folding import Word

# A note has no more codes: what comes behind so many is left as words.
_MOST_CODES = 200
_PLATE = re.compile(
    r"\b(?:plate|reg|registration|rego|tag)(?: (?:is|no|number|#))*[: ]+"
    r"([A-Z]{1,3}[0-9]{1,4}[ -]?[A-Z]{0,3}|[A-Z0-9]{2,4}[ -][A-Z0-9]{2,4})\b"
)
_PLATE_CUES = frozenset({"plate", "reg", "registration", "rego", "tag"})
_BEHIND_CUE = frozenset({"is", "number", "no", "#", ":"})
_LONGEST_PLATE, _SHORTEST_PLATE = 8, 4


@dataclass(slots=True)
class Codes:
    """Stretches of the note (characters) that hold codes, and what was read from them."""

    spans: list[tuple[int, int]] = field(default_factory=list)
    facts: VehicleFacts = field(default_factory=VehicleFacts)
    identifiers: list[Identifier] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)

    def stretches(self, words: list[Word]) -> list[tuple[int, int]]:
        """The codes as stretches of words, in order, none within another."""
        begins = [w.begin for w in words]
        out: list[tuple[int, int]] = []
        for begin, end in sorted(self.spans):
            first = bisect_left(begins, begin)
            last = bisect_left(begins, end)
            if first < last and (not out or first >= out[-1][1]):
                out.append((first, last))
        return out


def read_codes(text: str, words: list[Word]) -> Codes:
    """Find codes in the note as given; ``words`` are its folded words."""
    out = Codes()
    facts = out.facts
    vin = find_vin(text, words)
    if vin:
        facts.vin = vin.vin
        facts.spans.append((vin.begin, vin.end))
        out.spans.append((vin.begin, vin.end))
        if vin.question:
            out.doubts.append(Doubt("understanding", vin.question, list(vin.choices)))
    for find in (find_trouble_codes, find_dates, find_date_codes, find_sizes):
        for found in find(text, words):
            if len(out.identifiers) >= _MOST_CODES:
                break
            if not _overlaps(out.spans, found.begin, found.end):
                out.identifiers.append(found)
                out.spans.append((found.begin, found.end))
    out.identifiers.sort(key=lambda x: x.begin)
    plate = _plate(text, words)
    if plate:
        facts.plate = plate[0]
        facts.spans.append(plate[1])
        out.spans.append(plate[1])
    odometer = find_odometer(text, words, out.spans)
    if odometer:
        value, unit, span = odometer
        facts.odometer = value, unit
        facts.spans.append(span)
        out.spans.append(span)
    return out


def _overlaps(spans: list[tuple[int, int]], begin: int, end: int) -> bool:
    return any(a < end and begin < b for a, b in spans)


def _plate(text: str, words: list[Word]) -> tuple[str, tuple[int, int]] | None:
    for m in _PLATE.finditer(text):
        if any(c.isdigit() for c in m.group(1)):
            return m.group(1), m.span()
    for i, w in enumerate(words):
        if w.fold not in _PLATE_CUES:
            continue
        j = i + 1
        while j < len(words) and words[j].fold in _BEHIND_CUE:
            j += 1
        pieces = run_at(text, words, j, announced=False, most=_LONGEST_PLATE)
        said = "".join(p.characters for p in pieces)
        if len(said) >= _SHORTEST_PLATE and any(c.isdigit() for c in said) and any(c.isalpha() for c in said):
            return said, (w.begin, words[pieces[-1].end - 1].end)
    return None


__all__ = ["Codes", "read_codes"]
