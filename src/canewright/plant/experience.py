"""What closed days say of the handles: the range in which each was run, and how other settings went with it.

The range of a handle is that of its reconciled values. A response is a setting that may answer a handle beyond what
the equations say (a mill that takes water in worse where there is more of it): a straight line through the days'
reconciled values, each with the information that the day's readings added to the prior, which itself counts once, as
the belief that over the whole room of the handle the setting changes by about its own uncertainty. Where the days
scatter more than their uncertainties say, the slope is the less sure (Birge ratio: R. T. Birge, Phys. Rev. 40 (1932)
207, from memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

FEW_DAYS = 3
"""Closed days from which on their range counts as experience."""
TOLD_LEAST = 1e-3
"""Least part of the prior's information that a day must add to be counted for a response."""


@dataclass(frozen=True)
class ClosedState:
    """A closed day's reconciled settings with their standard uncertainties."""

    day: dt.date
    values: Mapping[str, float]
    uncertainties: Mapping[str, float | None]


@dataclass(frozen=True)
class Range:
    """The values of a handle that closed days have seen, or that the site states; ``days`` is 0 for a stated range."""

    low: float
    high: float
    days: int

    def holds(self, value: float, unit_size: float) -> bool:
        """Whether a value lies inside, to a rounding."""
        slack = 1e-6 * unit_size
        return self.low - slack <= value <= self.high + slack

    def __str__(self) -> str:
        """Where from, in words."""
        span = f"{self.low:.4g} to {self.high:.4g}"
        return f"{span} in {self.days} closed days" if self.days else f"{span} as the site states"


@dataclass(frozen=True)
class Response:
    """How a setting goes with a handle: units of it for one unit of the handle, with standard uncertainty.

    ``told`` is the share of the prior's variance that the days took away; 0 where they say nothing.
    """

    setting: str
    move: str
    slope: float
    uncertainty: float
    prior: float
    days: int
    range: tuple[float, float] | None

    @property
    def told(self) -> float:
        """Share of the prior's variance that the days took away."""
        return 1.0 - (self.uncertainty / self.prior) ** 2 if self.prior else 0.0


def seen(days: Sequence[ClosedState], handle: str, stated: tuple[float, float] | None) -> Range | None:
    """The range of a handle behind advice; None where too few days and no statement of the site tell it."""
    values = [d.values[handle] for d in days if handle in d.values]
    if len(values) >= FEW_DAYS:
        low, high = min(values), max(values)
        if stated is None or (low <= stated[0] and stated[1] <= high):
            return Range(low, high, len(values))
        return Range(min(low, stated[0]), max(high, stated[1]), len(values))
    return Range(*stated, 0) if stated is not None else None


def response(
    days: Sequence[ClosedState], setting: tuple[str, float, float], handle: tuple[str, float, float]
) -> Response:
    """The slope of a setting (name, prior value, prior uncertainty) by a handle (name, lowest, highest).

    Without days that tell anything the slope is the prior's: zero, give or take the setting's uncertainty over the
    room of the handle.
    """
    name, prior, sd = setting
    move, low, high = handle
    belief = sd / (high - low)
    rows = [row for d in days if (row := _row(d, name, move, prior, sd)) is not None]
    if len(rows) < FEW_DAYS:
        return Response(name, move, 0.0, belief, belief, len(rows), None)
    x, y, weight = (np.array(column) for column in zip(*rows, strict=True))
    middle, level = np.average(x, weights=weight), np.average(y, weights=weight)
    spread = float(np.sum(weight * (x - middle) ** 2))
    span = (float(x.min()), float(x.max()))
    if spread * belief**2 < TOLD_LEAST:
        return Response(name, move, 0.0, belief, belief, len(rows), span)
    own = float(np.sum(weight * (x - middle) * (y - level)) / spread)
    left = y - level - own * (x - middle)
    birge = max(1.0, float(np.sum(weight * left**2)) / max(len(rows) - 2, 1))
    information = spread / birge + belief**-2
    return Response(name, move, own * spread / birge / information, information**-0.5, belief, len(rows), span)


def _row(day: ClosedState, name: str, move: str, prior: float, sd: float) -> tuple[float, float, float] | None:
    """The handle, what the day's readings alone say of the setting, and the weight of that; None where nothing."""
    left = day.uncertainties.get(name)
    if move not in day.values or name not in day.values or left is None or not left > 0:
        return None
    added = left**-2 - sd**-2
    if added * sd**2 < TOLD_LEAST:
        return None
    return day.values[move], (day.values[name] * left**-2 - prior * sd**-2) / added, added
