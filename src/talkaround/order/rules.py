"""What each rule of the parts list means, in one line."""

from __future__ import annotations

RULES = {
    "parts.goes-with": "is bought along with the part, by common practice",
    "parts.wrong-one": "the part that came does not fit and goes back; the right one is still to be bought",
    "parts.wrong-hand": "more came for this side than the order needs, and goes back",
    "parts.make-said": "the customer's own word on original or aftermarket parts",
    "parts.make-by-plan": "how long the vehicle is kept decides between original and aftermarket, where both are sold",
}
