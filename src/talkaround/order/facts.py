"""What was typed beside a note (VIN, odometer, plate), which wins over what the note says."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from talkaround.models import Odometer, Vehicle
from talkaround.quoting import clipped
from talkaround.reading.vins import trouble_with


class FactError(ValueError):
    """A fact that cannot be right; ``str`` says which, why and how to mend it."""


def typed_vin(typed: str) -> str | None:
    """The VIN as its standard writes it; None where nothing was typed. Raises ``FactError``."""
    vin = typed.upper().replace(" ", "")
    if vin and (trouble := trouble_with(vin)):
        raise FactError(f"the VIN {clipped(vin)} {trouble}: read it again from the plate, or leave it empty")
    return vin or None


def typed_odometer(typed: str, unit: str) -> Odometer | None:
    """The odometer in ``unit``, ``km`` or else miles; None where nothing was typed. Raises ``FactError``."""
    odometer = typed.replace(",", "").replace(" ", "")
    if odometer and not re.fullmatch(r"\d{1,7}(\.\d)?", odometer):
        raise FactError(f"the odometer {clipped(odometer)!r} is no number of miles or kilometers: write it as 84210")
    return Odometer(value=float(odometer), unit="km" if unit == "km" else "mi") if odometer else None


def laid_over(vehicle: Vehicle | None, facts: Mapping[str, Any]) -> Vehicle:
    """The vehicle of an order with ``facts`` over what its note says; those that are empty change nothing."""
    given = {name: fact for name, fact in facts.items() if fact not in (None, "")}
    return Vehicle.model_validate({**(vehicle or Vehicle()).model_dump(), **given})


__all__ = ["FactError", "laid_over", "typed_odometer", "typed_vin"]
