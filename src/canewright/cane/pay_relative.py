"""Relative payment: quality set against the mean of its week, so that the time of harvest neither pays nor costs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from canewright.analysis.payment import relative_quality_additive, relative_quality_multiplicative
from canewright.cane.deliveries import Deliveries
from canewright.cane.exact import Exact, Units, joined
from canewright.cane.pay_quality import days_within, weighted_means
from canewright.cane.season import WEEK, Relative, SchemeInUse, Season


@dataclass(frozen=True)
class WeekMean:
    """Mean quality of a week under one scheme, by mass, and the season's mean it was set against."""

    scheme: str
    week: int
    tonnes: Decimal
    mean: Decimal
    season_mean: Decimal


def relative_quality(
    use: SchemeInUse, deliveries: Deliveries, places: Units, own: Exact, season: Season, *, final: bool
) -> tuple[Exact, list[WeekMean]]:
    """Quality relative to the week, of all under the scheme; cane outside the agreed days keeps its own."""
    days, values = deliveries.days[places], own.take(places)
    within = days_within(days, use.relative_first, use.relative_last)
    if (use.relative is Relative.NONE and use.blend == 1) or not within.any():
        return values, []
    net = deliveries.net.take(places).take(within)
    weeks, number = np.unique((days[within] - season.first.toordinal()) // WEEK + 1, return_inverse=True)
    mine = values.take(within)
    means, masses = weighted_means(mine, net, number, len(weeks))
    whole = _season_mean(use, mine, net, days[within], final=final)
    each = means.take(number)
    blended = mine * use.blend + each * (1 - use.blend) if use.blend != 1 else mine
    moved = _moved(use, blended, each, whole).rounded(season.rounding.relative, season.rounding.half)
    rest = np.flatnonzero(~within)
    finest = max(season.rounding.quality, season.rounding.relative)
    found = joined([(np.flatnonzero(within), moved), (rest, values.take(rest))], len(places), finest)
    first_of_week = np.searchsorted(np.sort(number), np.arange(len(weeks)))
    set_against = whole.take(np.argsort(number, kind="stable")[first_of_week]).decimals()
    told = [
        WeekMean(use.key, int(w), t, m, s)
        for w, t, m, s in zip(weeks.tolist(), masses.decimals(), means.decimals(), set_against, strict=True)
    ]
    return found, told


def _season_mean(use: SchemeInUse, values: Exact, net: Exact, days: Units, *, final: bool) -> Exact:
    """What the season's mean was expected to be on each day, or at the end what it was."""
    if final or use.season_mean is None:
        return weighted_means(values, net, np.zeros(len(values), dtype=np.int64), 1)[0].filled(len(values))
    held = np.searchsorted([row.first.toordinal() for row in use.terms], days, side="right") - 1
    expected = Exact.of(use.expected_mean(row) or use.season_mean for row in use.terms)
    return expected.take(held)


def _moved(use: SchemeInUse, values: Exact, week: Exact, season: Exact) -> Exact:
    if use.relative is Relative.NONE:
        return values
    formula = relative_quality_additive if use.relative is Relative.ADDITIVE else relative_quality_multiplicative
    found: Exact = formula(values, season, week)
    return found
