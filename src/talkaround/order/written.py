"""An order as ``write`` wrote it, read back."""

from __future__ import annotations

from pydantic import ValidationError

from talkaround.models import RepairOrder

ORDER_LIMIT = 40_000_000
"""Bytes that an order may have as JSON: the longest note and all that can stand on it."""


class OrderError(ValueError):
    """JSON that is no order; ``str`` is one line: which, what is wrong and where, how to mend it."""


def order_of_json(data: bytes | str, source: str) -> RepairOrder:
    """The order in ``data``; ``source`` is what a refusal calls it. Raises ``OrderError``."""
    if len(data) > ORDER_LIMIT:
        raise _refused(source, f"is larger than an order may be ({ORDER_LIMIT / 1e6:g} MB)")
    try:
        return RepairOrder.model_validate_json(data)
    except ValidationError as error:
        raise _refused(source, f"is no order ({told_of(error)})") from None


def told_of(error: ValidationError) -> str:
    """The first thing that is wrong with an order, on one line: where in it, and what."""
    first = error.errors(include_url=False, include_input=False)[0]
    at = ".".join(map(str, first["loc"]))
    said = first["msg"].removeprefix("Value error, ")
    return " ".join((f"{at}: {said}" if at else said).split())[:200]


def _refused(source: str, problem: str) -> OrderError:
    return OrderError(f"{source}: {problem}. Write it with `talkaround write NOTE --format json`.")


__all__ = ["ORDER_LIMIT", "OrderError", "order_of_json", "told_of"]
