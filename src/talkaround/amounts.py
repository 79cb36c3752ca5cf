"""A value with its unit as the trade writes it, the same wherever people read one."""

from __future__ import annotations

from typing import Literal

Bound = Literal["under", "over"]
"""Said to be less, or more, than the number."""

UNITS = {
    "degC": "°C", "degF": "°F", "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "mohm": "mΩ", "um": "µm", "N m": "N·m",
}  # fmt: skip


def number(value: float) -> str:
    """A number without a needless point or exponent."""
    return str(int(value)) if abs(value) < 1e15 and value == int(value) else str(value)


def amount(value: float, unit: str, bound: str | None = None) -> str:
    """``4/32 in``, ``35%``, ``-25 °C``, ``under 2/32 in``; ``unit`` as ``units.toml`` names it."""
    if unit.startswith("1/"):
        said = f"{number(value)}{unit[1:]}"
    elif unit == "%":
        said = f"{number(value)}%"
    elif unit == "deg":
        said = f"{number(value)}°"
    else:
        said = f"{number(value)} {UNITS.get(unit, unit)}"
    return f"{bound} {said}" if bound else said


__all__ = ["UNITS", "Bound", "amount", "number"]
