"""Week and season to date: every ratio is a sum over a sum, never a mean of percentages."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from canewright.accounts.specifications import SPECIFICATIONS
from canewright.quantity import noting_breaches

_COMBINE = {s.name: s.combine for s in SPECIFICATIONS}


@dataclass(frozen=True)
class Period:
    """A span of factory days that ends with a day."""

    name: str
    first: dt.date
    last: dt.date


def week_of(day: dt.date, season_start: dt.date) -> Period:
    """The week of the season that a day is in, to date."""
    first = season_start + dt.timedelta(days=7 * ((day - season_start).days // 7))
    return Period("week to date", first, day)


def season_of(day: dt.date, season_start: dt.date) -> Period:
    """The season to date."""
    return Period("season to date", min(season_start, day), day)


def figure_over(name: str, days: Sequence[Mapping[str, Any]]) -> tuple[float | None, float | None]:
    """A figure over several days from their totals, with its uncertainty.

    What differs from day to day averages out: it adds in squares. What is common to all days (priors of the plant
    description, half the variance of each reading) does not: it adds as it stands.
    """
    rows = [d for d in days if d.get("value") is not None]
    if not rows or len({len(d["totals"]) for d in rows}) != 1:
        return None, None
    totals = np.sum([d["totals"] for d in rows], axis=0)
    combine = _COMBINE[name]
    with noting_breaches(), np.errstate(all="ignore"):
        value = _number(combine, totals)
        if value is None:
            return None, None
        slope = np.array([_slope(combine, totals, i) for i in range(len(totals))])
    own = sum(float(slope @ (np.array(d["covariance"]) - np.array(d["common"])) @ slope) for d in rows)
    common = sum(math.sqrt(max(float(slope @ np.array(d["common"]) @ slope), 0.0)) for d in rows)
    variance = own + common**2
    return value, math.sqrt(max(variance, 0.0)) if math.isfinite(variance) else None


def _number(combine: Any, totals: np.ndarray) -> float | None:
    try:
        value = float(combine(*totals.tolist()))
    except ZeroDivisionError:
        return None
    return value if math.isfinite(value) else None


def _slope(combine: Any, totals: np.ndarray, i: int) -> float:
    """Central difference; the formulas of the sheet are ratios and products of the totals."""
    step = 1e-6 * max(abs(float(totals[i])), 1e-6)
    up, down = totals.copy(), totals.copy()
    up[i] += step
    down[i] -= step
    high, low = _number(combine, up), _number(combine, down)
    return math.nan if high is None or low is None else (high - low) / (2 * step)
