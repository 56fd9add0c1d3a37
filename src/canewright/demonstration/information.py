"""What the data of the season allow: by when a fault can surely be seen, and how well its size can be known.

Each follows from the scenario's noise alone; the method that is scored has no part in it.
"""

from __future__ import annotations

import math

from canewright.demonstration.course import DAILY, KEPT_BY_DAY
from canewright.demonstration.faults import CLEAN_OUTS, drift_of
from canewright.demonstration.noise import BY_TAG, TRACE

SURE = 5.28
"""Standard uncertainties that make a fault sure: a limit of 4, at which a search seldom alarms, and a power of 90 %."""
WIDTH = 1.96
SHARE_OF_SUGAR = 0.868
"""Share of the pol in cane that is made into sugar: a gain error of the weigher moves the balance by so much."""
JUICE_SIDE = 0.35
"""Noise of a day's pol in juice, % of it: weigher and pol of three shifts."""
RAN = 20.4
"""Hours of a day in which the pans run."""


def gain_known(days: float, noise: float) -> float:
    """Uncertainty of the mean gain of the raw sugar weigher between two clean-outs so many days apart, %.

    What the biases of the other weighers do is the same before and after and does not count in a change.
    """
    made, melted = BY_TAG["raw sugar weight"].noise, BY_TAG["melt weight"].noise / math.sqrt(3)
    return noise * math.hypot(made, melted) / math.sqrt(days)


def drift_seen(noise: float = 1.0) -> int:
    """The day by which the drift of the raw sugar weigher is sure: at a clean-out, or by the trend of the balance."""
    for day in range(62, 113):
        length = day - 60
        daily = noise * math.hypot(SHARE_OF_SUGAR * BY_TAG["raw sugar weight"].noise, JUICE_SIDE)
        slope = daily * math.sqrt(12.0 / length**3)
        by_trend = SHARE_OF_SUGAR * 0.06 / slope
        by_ledger = 0.0
        if day in CLEAN_OUTS:
            mean = 100.0 * sum(drift_of(d) for d in range(61, day + 1)) / length
            by_ledger = mean / math.hypot(gain_known(length, noise), gain_known(60, noise))
        if max(by_trend, by_ledger) > SURE:
            return day
    return 112


def drift_bound(overstated: float, made: float, noise: float = 1.0) -> float:
    """Relative error that the clean-outs of days 60, 90 and 112 allow in the sugar overstated."""
    known = math.hypot(gain_known(52, noise), gain_known(60, noise)) / 100.0 * made
    return WIDTH * known / overstated


def trace_bound(readings: int, noise: float = 1.0) -> float:
    """Relative error of a loss worked out from so many readings of sugar in water."""
    return WIDTH * math.hypot(noise * TRACE[0] / readings**0.5, TRACE[1]) / 100.0


def purity_bound(points: float, days: int, noise: float = 1.0) -> float:
    """Relative error of a rise of the molasses purity over so many days against the thirty before.

    The purity wanders from day to day of itself and keeps most of yesterday, which hides more than the laboratory does.
    """
    laboratory = noise * 0.3 / (3 * days) ** 0.5
    own = DAILY["crystallisers C.mother_liquor_purity"]
    lasting = (1 + KEPT_BY_DAY) / (1 - KEPT_BY_DAY)
    wander = own * math.hypot(min(1.0, (lasting / days) ** 0.5), (lasting / 30.0) ** 0.5)
    return WIDTH * math.hypot(laboratory, wander) / points
