"""The slow drift of a balance: too small on any day, plain over weeks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from canewright.accounts.attending import Attention
from canewright.accounts.charts import PastDay

LENGTHS = (21, 28, 35, 42, 56)
"""Days over which a trend is looked for."""
SURE = 4.5
"""Standard uncertainties of the slope; every day is looked at, so the limit is above that of a single test."""
LOSS = "undetermined loss of the boiling house"
CLOSE = 0.9
"""Trends this near to the surest one in their test are told over the longer time."""


@dataclass(frozen=True)
class Trend:
    """A trend of a loss: change a day and its uncertainty in points, over how many days."""

    slope: float
    uncertainty: float
    days: int

    @property
    def test(self) -> float:
        """Slope over its uncertainty, without sign."""
        return abs(self.slope) / self.uncertainty


def trend_of(values: Sequence[float]) -> Trend | None:
    """The surest straight trend over the latest days, its scatter from the residuals; None where none is sure."""
    found = [t for n in LENGTHS if n <= len(values) and (t := _fitted(np.asarray(values[-n:], dtype=float)))]
    sure = [t for t in found if t.test > SURE]
    if not sure:
        return None
    best = max(t.test for t in sure)
    return max((t for t in sure if t.test > CLOSE * best), key=lambda t: t.days)


def _fitted(y: np.ndarray) -> Trend | None:
    n = len(y)
    x = np.arange(n) - (n - 1) / 2.0
    spread = float(np.sum(x**2))
    slope = float(x @ y) / spread
    left = y - y.mean() - slope * x
    scatter = float(np.sqrt(np.sum(left**2) / (n - 2)))
    memory = min(max(float(left[1:] @ left[:-1] / np.sum(left**2)), 0.0), 0.8) if scatter > 0 else 0.0
    wider = ((1 + memory) / (1 - memory)) ** 0.5
    return Trend(slope, wider * scatter / spread**0.5, n) if scatter > 0 else None


def trend_matters(past: Sequence[PastDay], today: float | None, weighers: Sequence[str]) -> list[Attention]:
    """A trend of the undetermined loss of the boiling house; ``weighers`` are those of its products, sugar first."""
    values = [p.losses[LOSS][0] for p in past if LOSS in p.losses]
    trend = trend_of([*values, today]) if today is not None else None
    if trend is None:
        return []
    way = "falls" if trend.slope < 0 else "rises"
    high = "high" if trend.slope < 0 else "low"
    why = (
        f"it {way} by {abs(trend.slope):.3f} ± {1.96 * trend.uncertainty:.3f} points a day (95 %) over {trend.days} "
        f"days, {trend.slope * trend.days:+.1f} points in all: a weigher that drifts does this ({weighers[0]} more and "
        f"more {high} first of all), a loss that changes does too"
    )
    act = "check the zero and span of the weigher; the next stock-take at an empty store tells"
    about = (*weighers, LOSS)
    return [Attention(f"the {LOSS} has a trend", why, act, None, about, trend.slope * trend.days, "points")]
