"""The order as a table for a spreadsheet, by RFC 4180: one row for each line, concern, question and mend."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping

from talkaround.models import Estimate, Line, RepairOrder
from talkaround.output import _view

COLUMNS = (
    "kind", "number", "severity", "component", "system", "position", "conditions", "readings", "identifiers", "action", "part",
    "also", "work", "basis", "words", "concern", "cause", "correction", "because", "question", "choices",
    "quantity", "price", "amount",
)  # fmt: skip
"""``kind`` is ``concern``, ``line``, ``part`` (with the numbers of its lines), ``question`` (with that of its line) or
``mended``; with an estimate also ``priced-part``, ``priced-labor`` (``quantity`` is hours) and ``sum``."""

# A spreadsheet takes a cell that begins with one of these (full-width twins too) for a formula.
_FORMULA_STARTS = tuple("=+-@\t\r\n＝＋－＠")


def render(order: RepairOrder) -> str:
    """A header and one row each for concerns, lines, questions and mended words, with CRLF line ends."""
    british = order.vehicle is not None and order.vehicle.steering == "right-hand"
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    text = order.note.text
    for concern in order.concerns:
        row = {
            "kind": "concern",
            "component": concern.about or "",
            "conditions": "; ".join(concern.symptoms),
            "words": _words(_view.quotes(text, concern.evidence)),
            "concern": concern.text,
        }
        writer.writerow(guarded(row))
    for line in order.lines:
        writer.writerow(guarded(_line(line, text, british)))
    for row_of_part in order.parts:
        row = {
            "kind": "part",
            "number": "; ".join(map(str, row_of_part.lines)),
            "component": row_of_part.part.name,
            "position": _view.position_words(row_of_part.position, british=british),
            "part": f"{row_of_part.part.name} × {row_of_part.quantity}",
            "also": row_of_part.make or "",
            "work": row_of_part.state,
            "because": "; ".join(f"{b.text} [{b.rule}]" for b in row_of_part.because),
        }
        writer.writerow(guarded(row))
    for question in order.questions:
        row = {
            "kind": "question",
            "number": "" if question.line is None else str(question.line),
            "question": question.text,
            "choices": "; ".join(question.choices),
        }
        writer.writerow(guarded(row))
    for mended in _view.rereadings(order.mended):
        row = {"kind": "mended", "words": mended.heard, "because": f"read as {mended.read}: {mended.how}"}
        writer.writerow(guarded(row))
    for row in _estimate(order.estimate, british) if order.estimate else ():
        writer.writerow(guarded(row))
    return out.getvalue()


def _estimate(estimate: Estimate, british: bool) -> Iterator[dict[str, str]]:
    for part in estimate.parts:
        yield {
            "kind": "priced-part",
            "number": " ".join(map(str, part.lines)),
            "position": _view.position_words(part.position, british=british),
            "conditions": " ".join(w for w in (part.condition, part.make) if w),
            "part": part.name,
            "quantity": "" if part.quantity is None else str(part.quantity),
            "price": "" if part.price is None else str(part.price),
            "amount": "" if part.amount is None else str(part.amount),
        }
    for work in estimate.labor:
        yield {
            "kind": "priced-labor",
            "number": " ".join(map(str, work.lines)),
            "position": _view.position_words(work.position, british=british),
            "component": work.name,
            "quantity": "" if work.hours is None else str(work.hours),
            "price": "" if work.rate is None else str(work.rate),
            "amount": "" if work.amount is None else str(work.amount),
        }
    sums = {"parts": estimate.parts_subtotal, "labor": estimate.labor_subtotal, "tax": estimate.tax,
            "partial total" if estimate.open else "total": estimate.total}  # fmt: skip
    for name, value in sums.items():
        yield {"kind": "sum", "component": name, "amount": str(value)}


def _line(line: Line, text: str, british: bool) -> dict[str, str]:
    action = line.action
    part = action.part.name if action.part else ""
    return {
        "kind": "line",
        "number": str(line.number),
        "severity": line.severity,
        "component": line.component.name,
        "system": line.component.system,
        # The full position, also where the component's name says a part of it, so that the column can be filtered.
        "position": _view.position_words(line.position, british=british),
        "conditions": "; ".join(_view.condition_words(c) for c in line.conditions),
        "readings": "; ".join(_view.reading(m) for m in line.measurements),
        "identifiers": "; ".join(_view.identifier_words(x, british) for x in line.identifiers),
        "action": action.verb,
        "part": f"{part} × {action.quantity}" if part and action.quantity is not None else part,
        "also": "; ".join(p.name for p in action.also),
        "work": line.work,
        "basis": line.basis,
        "words": _words(_view.quotes(text, line.evidence)),
        "concern": line.concern,
        "cause": line.cause,
        "correction": line.correction,
        "because": "; ".join(f"{b.field}: {b.text} [{b.rule}]" for b in line.because),
    }


def _words(quotes: tuple[_view.Quote, ...]) -> str:
    return " … ".join(quote.text for quote in quotes)


def guarded(row: Mapping[str, str]) -> dict[str, str]:
    """The row with an apostrophe before whatever a spreadsheet would run as a formula."""
    cells = {column: _view.clean(cell) for column, cell in row.items()}
    return {c: f"'{v}" if v.lstrip(" ").startswith(_FORMULA_STARTS) else v for c, v in cells.items()}
