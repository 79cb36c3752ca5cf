"""Codes and numbers that are no readings: VIN, trouble codes, tire sizes, date codes, odometer, plate."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from talkaround.reading.types import VehicleFacts
from talkaround.vocabulary.folding import Word

VIN = re.compile(r"\b(?=[A-HJ-NPR-Z0-9]{17}\b)(?=[A-Z0-9]*\d)[A-HJ-NPR-Z0-9]{17}\b", re.IGNORECASE)
TROUBLE_CODE = re.compile(r"\b[PCBU][0-3][0-9A-F]{3}\b", re.IGNORECASE)
TIRE_SIZE = re.compile(
    r"\b(?:P|LT)?\d{3}[/ ]\d{2}(?:[/ ]?Z?R?[/ ]?)\d{2}(?:\.5)?\b(?:\s?\d{2,3}[A-Z]\b)?", re.IGNORECASE
)
DATE_CODE = re.compile(
    r"\b(?:date codes?|dot|dated)(?: (?:is|are|all|of|on|the|them|both|code))* "
    r"(\d{4}|(?:(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|"
    r"eleven|twelve|\w+teen|twenty|thirty|forty|fifty)[ -]?)+)",
    re.IGNORECASE,
)
ODOMETER = re.compile(
    r"(?<![\d.$/])(\d{1,3}(?:,\d{3})+|\d{4,6}|\d{2,3}(?:\.\d)?\s?[kK])\s*"
    r"(miles|mi|km|kms|kilomet(?:er|re)s|on the clock|on it)?\b"
)
PLATE = re.compile(
    r"\b(?:plate|reg|registration|rego|tag)(?: (?:is|no|number|#))*[: ]+"
    r"([A-Z]{1,3}[0-9]{1,4}[ -]?[A-Z]{0,3}|[A-Z0-9]{2,4}[ -][A-Z0-9]{2,4})\b"
)


@dataclass(slots=True)
class Codes:
    """Stretches of the note (characters) that hold codes, and the facts of the vehicle read from them."""

    spans: list[tuple[int, int]] = field(default_factory=list)
    facts: VehicleFacts = field(default_factory=VehicleFacts)

    def covers(self, words: list[Word], begin: int, end: int) -> bool:
        b, e = words[begin].begin, words[end - 1].end
        return any(x <= b and e <= y for x, y in self.spans)


def read_codes(text: str, words: list[Word]) -> Codes:
    """Find codes in the note as given."""
    out = Codes()
    facts = out.facts
    for m in VIN.finditer(text):
        out.spans.append(m.span())
        if facts.vin is None:
            facts.vin = m.group().upper()
            facts.spans.append(m.span())
    for pattern in (TROUBLE_CODE, TIRE_SIZE):
        out.spans += [m.span() for m in pattern.finditer(text)]
    for m in DATE_CODE.finditer(text):
        out.spans.append((m.start(), m.start() + len(m.group().rstrip(" -"))))
    for m in PLATE.finditer(text):
        if facts.plate is None and any(c.isdigit() for c in m.group(1)):
            facts.plate = m.group(1)
            facts.spans.append(m.span())
            out.spans.append(m.span())
    for m in ODOMETER.finditer(text):
        if any(a <= m.start() < b for a, b in out.spans):
            continue
        found = _odometer(m, text)
        if found and facts.odometer is None:
            facts.odometer = found
            facts.spans.append(m.span())
            out.spans.append(m.span())
    del words
    return out


def _odometer(m: re.Match[str], text: str) -> tuple[float, str] | None:
    """Value and unit, where the number is the vehicle's own distance and no interval, service or road test."""
    said, unit = m.group(1), (m.group(2) or "").lower()
    thousands = said[-1] in "kK"
    value = float(said.rstrip("kK ").replace(",", "")) * (1000 if thousands else 1)
    near = text[max(0, m.start() - 24) : m.start()].lower()
    after = text[m.end() : m.end() + 24].lower()
    if (
        re.search(r"(since|every|in|another|next|within|last|only|for|about|over|under|of|code|size|rpm|dot) *$", near)
        and "odo" not in near
    ):
        return None
    if re.match(
        r"[ ,]*(since|ago|left|more|service|inspection|interval|rpm|"
        r"mi(les)? (service|inspection|since)|mile (service|inspection))",
        after,
    ):
        return None
    if value < 100 or value > 2_000_000:
        return None
    if not thousands and not unit and "," not in said:
        return None
    if "," in said and not unit and not re.search(r"(^|[.\n,;] *|odo\w* *|mileage *|at *|sedan, *|with *)$", near):
        return None
    return value, "km" if unit.startswith("k") else "mi"
