"""An order as ``write`` wrote it, read back and held to what every order keeps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from pydantic import ValidationError

from talkaround.models import Line, RepairOrder, Span
from talkaround.quoting import clipped

ORDER_LIMIT = 40_000_000
"""Bytes that an order may have as JSON: the longest note and all that can stand on it."""
_SAID = 200


class OrderError(ValueError):
    """What is no order: what is wrong with it and where, and how to mend it. ``str`` is one line of both."""

    def __init__(self, problem: str, mend: str = "Write it anew with `talkaround write NOTE --format json`") -> None:
        super().__init__(f"{problem}. {mend}.")
        self.problem, self.mend = problem, mend


def order_from(held: Any) -> RepairOrder:
    """The order that JSON text (or bytes) or data holds. Raises ``OrderError``."""
    try:
        if isinstance(held, str | bytes | bytearray):
            if len(held) > ORDER_LIMIT:
                raise OrderError(f"is larger than an order may be ({ORDER_LIMIT / 1e6:g} MB)")
            order = RepairOrder.model_validate_json(held)
        else:
            order = RepairOrder.model_validate(held)
        # Text in data may hold half a character, which no file can.
        order.model_dump_json()
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        at = ".".join(map(str, first["loc"]))
        said = first["msg"].removeprefix("Value error, ")
        raise OrderError(f"is no order ({clipped(f'{at}: {said}' if at else said, _SAID)})") from None
    except (ValueError, RecursionError) as error:
        if isinstance(error, OrderError):
            raise
        raise OrderError(f"is no order ({clipped(str(error), _SAID)})") from None
    if trouble := next(_troubles(order), None):
        raise OrderError(f"does not hold together ({trouble})")
    return order


def _troubles(order: RepairOrder) -> Iterator[str]:
    """Whatever points to a place in the note or to a line that is not there."""
    end = len(order.note.text)
    for where, span in _spans(order):
        if not span.begin <= span.end <= end:
            yield f"{where}: {clipped(f'{span.begin} to {span.end}')} is no place in a note of {end} characters"
    numbers = [line.number for line in order.lines]
    known = set(numbers)
    if len(known) < len(numbers):
        yield "lines: two have one number"
    for where, named in _named_lines(order):
        for number in named:
            if number not in known:
                yield f"{where}: there is no line {clipped(str(number))}"


def _spans(order: RepairOrder) -> Iterator[tuple[str, Span]]:
    def at(where: str, spans: Iterable[Span]) -> Iterator[tuple[str, Span]]:
        return ((where, span) for span in spans)

    yield from at("utterances", order.note.utterances)
    for n, line in enumerate(order.lines):
        yield from at(f"lines.{n}", _spans_of(line))
    for n, concern in enumerate(order.concerns):
        yield from at(f"concerns.{n}", concern.evidence)
    if order.vehicle:
        yield from at("vehicle", order.vehicle.evidence)
        yield from at("vehicle", (i.evidence for i in order.vehicle.identifiers))
    if order.customer:
        yield from at("customer", order.customer.evidence)
    yield from at("set_aside", order.set_aside)
    yield from at("mended", order.mended)


def _spans_of(line: Line) -> Iterator[Span]:
    yield from line.evidence
    yield from (m.evidence for m in line.measurements if m.evidence)
    yield from (i.evidence for i in line.identifiers)


def _named_lines(order: RepairOrder) -> Iterator[tuple[str, Iterable[int]]]:
    yield "questions", (q.line for q in order.questions if q.line is not None)
    yield from (("parts", row.lines) for row in order.parts)
    yield from (("jobs", job.lines) for job in order.jobs)
    if order.estimate:
        yield from (("parts of the estimate", row.lines) for row in order.estimate.parts)
        yield from (("labor of the estimate", row.lines) for row in order.estimate.labor)


__all__ = ["ORDER_LIMIT", "OrderError", "order_from"]
