"""The mark of each severity, as the inside of an SVG of 16 by 16; it tells them apart in black and white."""

from __future__ import annotations

from talkaround.models import Severity

SHAPES: dict[Severity, str] = {
    "unsafe": '<rect x="1" y="1" width="14" height="14" class="edge"/><rect x="4" y="4" width="8" height="8"/>',
    "required": '<rect x="2.5" y="2.5" width="11" height="11"/>',
    "suggested": '<rect x="3" y="3" width="10" height="10" class="edge"/><path d="M3 13V3L13 13z"/>',
    "monitor": '<rect x="3" y="3" width="10" height="10" class="edge"/>',
    "good": '<path d="M3 8.5l3.5 3.5L13 4.5" class="edge"/>',
}

__all__ = ["SHAPES"]
