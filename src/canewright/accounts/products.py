"""Is the sugar in specification? Each product property with the probability that it is, given the day's uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from scipy.stats import norm

from canewright.engine.model import Values
from canewright.plant.measures import MEASURABLE
from canewright.plant.plant import Plant, Reconciled
from canewright.quantity import Num, noting_breaches


def in_specification(plant: Plant, reconciled: Reconciled) -> list[dict[str, Any]]:
    """Every specified property of every product: value, uncertainty, limits and probability of being within them.

    The probability takes the reconciled value as normally distributed; it is None where nothing determines it.
    """
    wanted = [
        (name, str(table["stream"]), quantity, float(limits[0]), float(limits[1]))
        for name, table in plant.description.data.get("products", {}).items()
        for quantity, limits in table.items()
        if quantity in MEASURABLE
    ]
    if not wanted:
        return []

    def everything(values: Values) -> list[Num]:
        return [plant.assembly.measured(stream, quantity, values) for _, stream, quantity, _, _ in wanted]

    with noting_breaches():
        found = reconciled.with_uncertainty(everything)
    return [
        {
            "product": name,
            "quantity": quantity,
            "unit": MEASURABLE[quantity].unit,
            "value": value if math.isfinite(value) else None,
            "uncertainty": u if math.isfinite(u) else None,
            "low": low,
            "high": high,
            "probability": _within(value, u, low, high),
        }
        for (name, _, quantity, low, high), (value, u) in zip(wanted, found, strict=True)
    ]


def _within(value: float, u: float, low: float, high: float) -> float | None:
    if not (math.isfinite(value) and math.isfinite(u)):
        return None
    if u == 0:
        return float(low <= value <= high)
    below: Callable[[float], float] = norm(value, u).cdf
    return float(below(high) - below(low))
