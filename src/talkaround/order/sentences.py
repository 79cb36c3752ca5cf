"""The three Cs of a line as sentences that a customer can read: concern, cause, correction.

They say no more than the line does. A trade word is explained where it first stands on the line; a reading in a unit of the
other side of the road is given in the reader's too.
"""

from __future__ import annotations

from collections.abc import Sequence

from talkaround.amounts import amount
from talkaround.models import Condition, Line, Measurement, Steering
from talkaround.reading.types import LAMP_LIT
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.british import British

# What stands behind "is", by degree: none, slight, moderate, severe, complete.
_IS: dict[str, tuple[str, str, str, str, str]] = {
    "worn": ("worn", "slightly worn", "worn", "badly worn", "worn out"),
    "unevenly-worn": ("worn unevenly", "worn slightly unevenly", "worn unevenly", "worn very unevenly", "worn out unevenly"),
    "scored": ("grooved", "lightly grooved", "grooved", "deeply grooved", "deeply grooved"),
    "loose": ("loose", "slightly loose", "loose", "very loose", "completely loose"),
    "torn": ("torn", "slightly torn", "torn", "badly torn", "torn through"),
    "cracked": ("cracked", "slightly cracked", "cracked", "badly cracked", "cracked through"),
    "broken": ("broken", "slightly damaged", "broken", "broken", "broken"),
    "bent": ("bent or out of shape", "slightly out of shape", "bent or out of shape", "badly bent", "badly bent"),
    "leaking": ("leaking", "leaking slightly", "leaking", "leaking badly", "leaking badly"),
    "seeping": ("damp from a light seep", "barely damp", "damp from a light seep", "wet from a seep", "wet from a seep"),
    "seized": ("stuck", "starting to stick", "sticking", "stuck", "stuck solid"),
    "corroded": ("corroded", "lightly corroded", "corroded", "badly corroded", "corroded through"),
    "noisy": ("noisy", "slightly noisy", "noisy", "very noisy", "very noisy"),
    "vibrating": ("vibrating", "vibrating slightly", "vibrating", "vibrating badly", "vibrating badly"),
    "contaminated": ("dirty", "slightly dirty", "dirty", "very dirty", "blocked with dirt"),
    "low": ("low", "slightly low", "low", "very low", "empty or flat"),
    "high": ("too high", "slightly too high", "too high", "far too high", "far too high"),
    "missing": ("missing",) * 5,
    "disconnected": ("disconnected",) * 5,
    "misadjusted": (
        "out of adjustment", "slightly out of adjustment", "out of adjustment", "far out of adjustment",
        "far out of adjustment",
    ),
    "inoperative": ("not working", "not always working", "not working", "not working", "not working at all"),
    "weak": ("weak", "slightly weak", "weak", "very weak", "very weak"),
    "burnt": ("burnt or overheated", "slightly burnt", "burnt or overheated", "badly burnt", "burnt out"),
    "aged": ("aged", "starting to age", "aged", "badly aged", "badly aged"),
    "punctured": ("punctured",) * 5,
    "due": ("due for service", "nearly due for service", "due for service", "overdue for service", "overdue for service"),
    "incorrect": ("not the right one or not fitted correctly",) * 5,
}  # fmt: skip
_DEGREES = (None, "slight", "moderate", "severe", "complete")
_DO = {
    "replace": "Replace", "repair": "Repair", "adjust": "Adjust", "align": "Set", "machine": "Machine", "clean": "Clean",
    "lubricate": "Lubricate", "fill": "Top up", "flush": "Flush out and renew", "tighten": "Tighten",
}  # fmt: skip
_DID = {
    "replace": "Replaced", "repair": "Repaired", "adjust": "Adjusted", "align": "Set", "machine": "Machined",
    "clean": "Cleaned", "lubricate": "Lubricated", "fill": "Topped up", "flush": "Flushed out and renewed",
    "tighten": "Tightened", "diagnose": "Checked", "monitor": "Checked",
}  # fmt: skip
_FILLED = {"Top up": "Topped up", "Fill": "Filled", "Inflate": "Inflated", "Charge": "Charged"}
_STATE = {
    "ordered": "The part is on order.",
    "wrong-part": "The part that came does not fit, and the right one is still to come.",
    "declined": "The customer declined this work.",
}
# What was measured, where the part and the unit do not tell.
_OF = {
    "tread-depth": " of tread", "play": " of play", "end-play": " of end play", "runout": " of runout",
    "push-rod-stroke": " of push rod stroke", "free-travel": " of free travel", "lever-travel": " of travel",
    "thickness-variation": " of thickness variation", "backlash": " of backlash", "moisture": " water",
}  # fmt: skip
# Units that a reader on the other side of the road does not think in, and what to give beside them.
_IN_US = {"bar": "psi", "kPa": "psi", "N m": "ft lb", "degC": "degF", "km": "mi", "cm": "in", "m": "ft"}
_IN_UK = {"in": "mm", "1/32 in": "mm", "1/1000 in": "mm", "psi": "bar", "ft lb": "N m", "degF": "degC", "ft": "m"}
_PLACES = {"mm": 1, "in": 2, "psi": 0, "bar": 1, "ft lb": 0, "N m": 0, "degF": 0, "degC": 0, "mi": 0, "ft": 1, "m": 1}


class Sentences:
    """Writes the sentences of an order's lines for the reader's side of the road."""

    def __init__(self, vocabulary: Vocabulary, steering: Steering):
        self.v, self.steering = vocabulary, steering
        self.spelled = British(vocabulary.british) if steering == "right-hand" else str

    def three_cs(self, line: Line, reported: Sequence[str] = ()) -> tuple[str, str, str]:
        """Concern, cause and correction; empty where there is nothing to say. ``reported`` are the customer's own words."""
        concern = " ".join(f"Reported: “{text.strip(' .,;')}.”" for text in reported)
        return concern, self.spelled(self._cause(line)), self.spelled(self._correction(line))

    # ----- cause ------------------------------------------------------------------------------------------------------

    def _cause(self, line: Line) -> str:
        the_part, verb = self.named(line, explained=line.severity != "good"), self._be(line)
        if line.severity == "good":
            found = "" if line.measurements else f" {verb[1]} inspected and found good"
            return self._sentence(f"{the_part}{found}{self._measured(line, good=True)}")
        said = _listed([self._worded(c, line) for c in line.conditions])
        reported = "It is reported that " if line.basis == "reported" else ""
        if said:
            tense = verb[1] if line.work == "done" else verb[0]
            words = f"{reported}{_small(the_part) if reported else the_part} {tense} {said}"
            return self._sentence(words + (f",{self._measured(line, at=' at')}" if line.measurements else ""))
        if line.measurements:
            return self._sentence(f"{the_part}{self._measured(line)}")
        if any(b.rule == LAMP_LIT for b in line.because):
            return self._sentence(f"{the_part} {verb[1 if line.work == 'done' else 0]} lit")
        return "" if line.work in ("done", "wrong-part") else f"What was found at {_small(the_part)} is not noted."

    def _measured(self, line: Line, *, good: bool = False, at: str = "") -> str:
        """ "measured 3 mm (below the minimum of 4 mm)"."""
        if not line.measurements:
            return ""
        values = _listed([self.reading(m) + self._against(m) for m in line.measurements])
        well = f" and {self._be(line)[1]} found good" if good else ""
        return f" measured{at} {values}{well}"

    def _against(self, m: Measurement) -> str:
        if m.limit is None or m.verdict is None:
            return ""
        limit = amount(_rounded(m.limit, m.value, _PLACES.get(m.unit, 1)), m.unit)
        if m.value == m.limit:
            return f" (at the limit of {limit})"
        least = (m.value < m.limit) == (m.verdict == "fail")
        how = "close to" if m.verdict == "near" else "below" if m.value < m.limit else "above"
        return f" ({how} the {'minimum' if least else 'maximum'} of {limit})"

    def reading(self, m: Measurement) -> str:
        """The value as it was said, and in the reader's own unit where that is another."""
        said = amount(m.value, m.unit, m.bound) + _OF.get(m.quantity, "")
        other = (_IN_US if self.steering == "left-hand" else _IN_UK).get(m.unit)
        if other is None or m.unit not in self.v.units or other not in self.v.units:
            return said
        mine, theirs = self.v.units[m.unit], self.v.units[other]
        value = (m.value * mine.factor + mine.offset - theirs.offset) / theirs.factor
        places = _PLACES[other] if abs(value) >= 1 or m.unit.startswith("deg") else 2
        return f"{said} ({amount(round(value, places), other)})"

    # ----- correction -------------------------------------------------------------------------------------------------

    def _correction(self, line: Line) -> str:
        verb = line.action.verb
        if verb == "none":
            return _STATE["declined"] if line.work == "declined" else ""
        the_part = self.named(line)
        thing = _small(the_part)
        if line.work == "done":
            did = _FILLED[self._fill(line)] if verb == "fill" else _DID[verb]
            return self._sentence(f"{did} {self._object(line, thing)}")
        if verb == "monitor":
            first = f"Look at {thing} again at the next visit"
        elif verb == "diagnose":
            first = f"Diagnose {thing}: find the cause before any part is fitted"
        else:
            first = f"{self._fill(line) if verb == 'fill' else _DO[verb]} {self._object(line, thing)}"
        rest = [_STATE[line.work]] if line.work in _STATE else []
        if line.work not in ("declined",) and line.action.also:
            rest.append(self._sentence(f"This goes with it: {_listed([p.name for p in line.action.also])}"))
        if line.action.look_at:
            beside = _listed([f"the {p.name}" for p in line.action.look_at])
            rest.append(self._sentence(f"Look at {beside} along with it"))
        return " ".join([self._sentence(first), *rest])

    def _object(self, line: Line, thing: str) -> str:
        fitted = line.action.part
        if line.action.verb == "replace" and fitted is not None and fitted.id != line.component.id:
            how = " that it comes with" if self._comes_with(line.component.id, fitted.id) else ""
            return f"{thing} by fitting the {fitted.name}{self._explained(fitted.id)}{how}"
        return thing

    def _worded(self, c: Condition, line: Line) -> str:
        if c.id == "low" and c.degree == "complete":
            return {"Top up": "empty", "Inflate": "flat"}.get(self._fill(line), _IS["low"][-1])
        return _IS[c.id][_DEGREES.index(c.degree)]

    # ----- names ------------------------------------------------------------------------------------------------------

    def named(self, line: Line, *, explained: bool = False) -> str:
        """ "The left front lower ball joint (the pivot that lets the wheel steer)"; the place in words of the trade."""
        p = line.position
        name = self._plural(line) if self._is_plural(line) else line.component.name
        sides = {"both": "left and right", None: ""}.get(p.side, p.side)
        axle = "" if isinstance(p.axle, int) else p.axle or ""
        words = [w for w in (sides, axle, p.level, p.depth, p.end) if w and w not in name.split()]
        full = " ".join([*words, name])
        if isinstance(p.axle, int):
            full += f" on axle {p.axle}"
        if p.place:
            full += f" ({', '.join(w.replace('=', ' ') for w in p.place.split())})"
        if explained:
            full += self._explained(line.component.id)
        return f"The {full}"

    def _explained(self, component: str) -> str:
        says = self.v.plain_words(component)
        return f" ({says})" if says else ""

    def _fill(self, line: Line) -> str:
        """How this is filled, in the words for it: a tire is inflated and a battery charged."""
        id = line.component.id
        if self.v.components[id].kind == "fluid":
            return "Top up"
        is_of = (k for k in ("tire", "battery") if k in self.v.scopes_of(id))
        return {"tire": "Inflate", "battery": "Charge"}.get(next(is_of, ""), "Fill")

    def _comes_with(self, component: str, fitted: str) -> bool:
        """Whether the part fitted has the faulty one in it or is what it is served as."""
        comp = self.v.components[component]
        return fitted in comp.part_of or fitted in {x.part for x in comp.served_as}

    def _is_plural(self, line: Line) -> bool:
        comp = self.v.components[line.component.id]
        return line.position.side == "both" or (comp.sold in ("axle-set", "set") and line.position.side is None)

    def _plural(self, line: Line) -> str:
        name = line.component.name
        if name.endswith("s") or self.v.components[line.component.id].kind != "part":
            return name
        return name[:-1] + "ies" if name.endswith("y") and name[-2] not in "aeiou" else f"{name}s"

    def _be(self, line: Line) -> tuple[str, str]:
        return ("are", "were") if self._is_plural(line) else ("is", "was")

    @staticmethod
    def _sentence(words: str) -> str:
        return f"{words[:1].upper()}{words[1:]}."


def _small(the_part: str) -> str:
    return the_part[:1].lower() + the_part[1:]


def _rounded(limit: float, value: float, places: int) -> float:
    """The limit with as few decimals as still tell it from the value."""
    for n in range(places, 4):
        if round(limit, n) != value and (round(limit, n) > value) == (limit > value):
            return round(limit, n)
    return limit


def _listed(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1] if items else ""


__all__ = ["Sentences"]
