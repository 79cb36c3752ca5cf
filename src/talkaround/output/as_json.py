"""The order as JSON, by the published schema."""

from __future__ import annotations

from talkaround.models import RepairOrder


def render(order: RepairOrder) -> str:
    """The order as JSON, keys in the order of the models, ending in a line end."""
    return order.model_dump_json(indent=2) + "\n"
