"""Reading a note again with a newer lexicon: what comes out otherwise is shown, and what people did is kept."""

from __future__ import annotations

from dataclasses import dataclass

from talkaround.desk.changes import CannotChange, Change, shown
from talkaround.desk.drafts import Draft, HeldLine, new_key, origin_of, where_of
from talkaround.desk.orders import Kept, Open, Orders
from talkaround.desk.reader import Reader
from talkaround.desk.store.tables import Account
from talkaround.models import Line

_READ = ("conditions", "measurements", "severity", "action", "work", "evidence")
"""Fields of a line that the reading gives, but for what and where it is: those tell lines apart."""


@dataclass(slots=True)
class Difference:
    """``line`` is what and where; ``was`` and ``now`` are words, empty where there was, or is, no such line."""

    line: str
    was: str
    now: str
    key: str = ""
    fresh: Line | None = None
    origin: str = ""


def differences(o: Open, reader: Reader) -> list[Difference]:
    """What reading the note again with the lexicon in use would change; nothing that a person set is among it."""
    order, _, judged = reader.read(o.note, o.draft.vehicle.steering, o.document.rule_book)
    fresh = {origin_of(j): line for j, line in zip(judged, order.lines, strict=True)}
    out: list[Difference] = []
    met = {held.origin for held in o.draft.lines.values()}
    for key in o.draft.sequence:
        held = o.draft.lines[key]
        if not held.origin or held.struck:
            continue
        line = fresh.get(held.origin or "")
        if line is None:
            if not held.by_hand:
                out.append(Difference(where_of(held.line), _words(held.line), "", key))
            continue
        new = merged(held, line)
        if any(getattr(new, f) != getattr(held.line, f) for f in _READ):
            out.append(Difference(where_of(held.line), _words(held.line), _words(new), key, line, held.origin))
    for origin, line in fresh.items():
        if origin in met:
            continue
        # A person set by hand already what the lexicon now knows: it is that line, and no second one.
        it = next((k for k, held in o.draft.standing() if held.origin not in fresh and _is_it(held, line)), None)
        if it is not None:
            key, held = it, o.draft.lines[it]
            new = merged(held, line)
            if any(getattr(new, f) != getattr(held.line, f) for f in _READ):
                out.append(Difference(where_of(held.line), _words(held.line), _words(new), key, line, origin))
        else:
            out.append(Difference(where_of(line), "", _words(line), fresh=line, origin=origin))
    return out


def _is_it(held: HeldLine, fresh: Line) -> bool:
    """Whether a line that a person changed is of the same part and the same words."""
    same = held.line.component.id == fresh.component.id and bool(held.by_hand)
    return same and any(a.begin < b.end and b.begin < a.end for a in held.line.evidence for b in fresh.evidence)


def merged(held: HeldLine, fresh: Line) -> Line:
    """The line as it is read now, with what people set on it."""
    new = fresh.model_copy(deep=True, update={"number": held.line.number})
    for name in held.by_hand:
        setattr(new, name, getattr(held.line, name))
    if {"component", "position"} & set(held.by_hand):
        new.component, new.position = held.line.component, held.line.position
    hand = [b for b in held.line.because if b.field in held.by_hand]
    new.because = [*hand, *(b for b in new.because if b.field not in held.by_hand)]
    return new


def apply_reading(orders: Orders, o: Open, seen: int, token: str, by: Account) -> Kept:
    """Take the differences over, as one change."""
    found = differences(o, orders.reader)

    def do(draft: Draft) -> Change:
        if not found:
            raise CannotChange("reading it again gives the same: there is nothing to take over")
        touched: set[str] = set()
        wrote: list[str] = []
        for d in found:
            if d.fresh is None:
                draft.lines[d.key] = draft.lines[d.key].model_copy(update={"struck": True})
                wrote.append(f"line.{d.key}.struck")
            elif d.key:
                held = draft.lines[d.key]
                new = merged(held, d.fresh)
                wrote += [f"line.{d.key}.{f}" for f in _READ if getattr(new, f) != getattr(held.line, f)]
                draft.lines[d.key] = held.model_copy(update={"line": new, "origin": d.origin})
                touched |= {d.key} if held.by_hand else set()
            else:
                key = new_key()
                draft.lines[key] = HeldLine(line=d.fresh, origin=d.origin)
                draft.sequence.append(key)
                wrote += ["sequence", f"line.{key}.component"]
        return Change(draft, f"Read again with a newer lexicon: {len(found)} lines otherwise", wrote, touched)

    return orders.change(o.id, seen, token, by, do, lexicon=orders.reader.lexicon)


def _words(line: Line) -> str:
    said = [shown("conditions", line.conditions), shown("measurements", line.measurements)]
    found = ", ".join(x for x in said if x != "none") or "no finding"
    return f"{line.severity}; {found}; {shown('action', line.action)}; {line.work}"


__all__ = ["Difference", "apply_reading", "differences"]
