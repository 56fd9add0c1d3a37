"""Haul allotments: the bins or trips of a day shared among harvest groups, and each group's spread over its hours."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from math import ceil, floor

from canewright.cane.exact import Exact
from canewright.cane.sharing import shared_out

CATCH_UP = Decimal("0.15")
"""A group that is behind gets at most this share more a day (ours)."""
HOURS = 24


class AllotmentRefused(ValueError):
    """Bins, cane or hours that nothing can be allotted by."""


def allot(bins: int, remaining: Sequence[Decimal]) -> list[int]:
    """Bins by group in proportion to the cane that each has left, whole ones, by largest remainder.

    Raises AllotmentRefused for a negative number of bins, negative cane, or no cane at all.
    """
    if bins < 0 or any(r < 0 for r in remaining) or sum(remaining, Decimal(0)) <= 0:
        raise AllotmentRefused(
            f"{bins} bins over {[str(r) for r in remaining]} t; accepted: bins and tonnes of 0 or more, not all 0 t"
        )
    return [int(part) for part in shared_out(Decimal(bins), Exact.of(remaining), 0).units]


def with_arrears(shares: Sequence[Decimal], behind: Sequence[Decimal], most: Decimal = CATCH_UP) -> list[Decimal]:
    """Weights for a day: each group's share, and what it is behind up to ``most`` of that share. Needs the same unit.

    The day's bins stay what they are, so what one group catches up the others get a little later.
    """
    return [share + min(max(late, Decimal(0)), most * share) for share, late in zip(shares, behind, strict=True)]


def hours_between(start: float, stop: float) -> float:
    """Hours from a clock hour to the next one; 0 to 24 is the whole day, from an hour to itself is nothing."""
    return (stop - start) % HOURS or (float(HOURS) if stop != start else 0.0)


def by_hour(bins: int, start: float, stop: float) -> list[int]:
    """A group's bins by clock hour from its start to its stop, as even as whole bins can be; may run over midnight.

    Raises AllotmentRefused when the group has no hour and yet bins.
    """
    length = hours_between(start, stop)
    if length == 0 and bins > 0:
        raise AllotmentRefused(f"{bins} bins and no hour to load them in; accepted: a stop other than the start")
    found = [0] * HOURS
    edges = [start, *range(floor(start) + 1, ceil(start + length)), start + length]
    filled = 0
    for hour, end in pairwise(edges):
        upto = floor(bins * (end - start) / length + 1e-9) if length else 0
        found[floor(hour) % HOURS] += upto - filled
        filled = upto
    return found


def fleet(tonnes: float, payload: float, hours_a_trip: float, hours_a_day: float) -> int:
    """Vehicles needed for a day's tonnes: trips needed over whole trips that one vehicle makes in its hours.

    Raises AllotmentRefused when no vehicle makes a single trip in its hours.
    """
    trips = floor(hours_a_day / hours_a_trip + 1e-9) if hours_a_trip > 0.0 else 0
    if trips < 1 or not payload > 0.0:
        raise AllotmentRefused(
            f"a trip of {hours_a_trip:g} h in a day of {hours_a_day:g} h with {payload:g} t; accepted: at least one "
            "trip a day and a payload above 0 t"
        )
    return ceil(ceil(tonnes / payload - 1e-9) / trips)
