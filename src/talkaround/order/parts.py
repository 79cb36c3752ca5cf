"""The parts list of the whole order: what is fitted where, how many, and where it stands."""

from __future__ import annotations

from talkaround.models import Line, PartRow, PartState, Work

_STATES: dict[Work, PartState | None] = {
    "proposed": "to-order",
    "ordered": "on-order",
    "wrong-part": "to-order",
    "done": "fitted",
    "declined": None,
}


def parts_list(lines: list[Line]) -> list[PartRow]:
    """One row for each part and place of the lines that fit one; what the customer declined is not bought."""
    rows: list[PartRow] = []
    for line in lines:
        state = _STATES[line.work]
        if line.action.part is None or state is None:
            continue
        rows.append(
            PartRow(
                part=line.action.part,
                position=line.position,
                quantity=line.action.quantity or 1,
                state=state,
                lines=[line.number],
            )
        )
    return rows
