"""A repair order and price files -> the order with its estimate; and a blank price file for an order.

Prices, hours, rates and tax are the writer's own: nothing here knows one.
"""

from __future__ import annotations

from talkaround.estimating.estimate import Priced, price
from talkaround.estimating.prices import PriceFileError, Prices, read_prices

__all__ = ["PriceFileError", "Priced", "Prices", "price", "read_prices"]
