"""Sharing money out over pay units so that the parts add to it exactly: the largest remainder gets the last cents."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from canewright.cane.exact import Exact, Units
from canewright.cane.rounding import EXACT


def shared_out(money: Decimal, weights: Exact, places: int) -> Exact:
    """Parts of ``money`` pro rata to weights of 0 or more, which add to it to the last decimal.

    Each part is cut down to the declared decimals; the rest goes, one last decimal each, to the largest remainders, the
    earlier part first among equals. Raises ValueError when money has more decimals or weights add to nothing.
    """
    cents = int(money.scaleb(places, context=EXACT))
    if Decimal(cents).scaleb(-places, context=EXACT) != money or money < 0:
        raise ValueError(f"cannot share {money}: it must not be negative or finer than {places} decimals")
    units: Units = weights.units.astype(object)
    whole = int(units.sum())
    if whole <= 0 or bool((units < 0).any()):
        raise ValueError("cannot share over weights that are negative or add to nothing")
    product = units * cents
    parts = product // whole
    rest = cents - int(parts.sum())
    if rest:
        # remainders are compared as whole numbers: floats could not tell equals from neighbours
        order = np.argsort(-(product - parts * whole), kind="stable")
        parts[order[:rest]] += 1
    return Exact(parts, places)
