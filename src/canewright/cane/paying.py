"""What deliveries are worth under a season's agreement: quality, relative quality, price, amount, each step kept.

Price schemes pay the declared formula of each consignment exactly; pool schemes share out exactly the pool. Every mean
is weighted by mass, so that relative payment moves pay units between growers and makes or loses none. Nothing depends
on the order of the deliveries.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import Exact, Units, joined
from canewright.cane.pay_groups import Group, grouped, refuse_old_pools, uses
from canewright.cane.pay_quality import days_within, quality
from canewright.cane.pay_relative import WeekMean, relative_quality
from canewright.cane.rounding import EXACT, rounded
from canewright.cane.schemes import Kind, pool_of
from canewright.cane.season import Adjustment, Period, Season
from canewright.cane.sharing import shared_out


@dataclass(frozen=True)
class Pool:
    """A pool and the pay units it was shared over; ``each`` is what a unit came to, for reading only."""

    scheme: str
    money: Decimal
    units: Decimal

    @property
    def each(self) -> Decimal:
        """$ per pay unit."""
        return EXACT.divide(self.money, self.units)


@dataclass
class Paid:
    """Every step of every consignment, in columns, with the means, pools and terms used.

    ``price`` is $/t of cane; for a pool the pay units of a tonne. ``value`` is amount with bonuses and penalties, $.
    """

    deliveries: Deliveries
    groups: list[Group]
    group: Units
    own: Exact
    relative: Exact
    price: Exact
    amount: Exact
    adjustments: list[tuple[str, Exact]]
    value: Exact
    slope: Units
    means: list[WeekMean] = field(default_factory=list)
    pools: list[Pool] = field(default_factory=list)
    notes: dict[int, list[str]] = field(default_factory=dict)

    def by_grower(self, column: Exact) -> Exact:
        """Sums of a column by grower, in the order of ``deliveries.growers``."""
        return column.sums(self.deliveries.grower, len(self.deliveries.growers))

    def uncertainty_by_grower(self) -> Units:
        """Standard uncertainty of each grower's value from that of CCS, independent by consignment, $."""
        each = self.slope * self.deliveries.net.floats() * self.deliveries.uncertainty
        found = np.zeros(len(self.deliveries.growers))
        np.add.at(found, self.deliveries.grower, each**2)
        return np.sqrt(found)


def pay(deliveries: Deliveries, season: Season, period: Period | None = None) -> Paid:
    """What these deliveries are worth: those of a pay period by the terms in force, or the whole season's at its end.

    Without a period the final constants hold and the season's mean is what it was; else what it was expected to be.

    Raises PaymentRefused for deliveries outside the season, in an agreement gap, without terms in force, without the
    readings their scheme pays on, or with readings that no formula takes.
    """
    final = period is None
    groups = grouped(deliveries, season, final=final)
    refuse_old_pools(groups, period)
    notes: dict[int, list[str]] = {}
    size, rule = len(deliveries), season.rounding
    own = _each(groups, size, lambda g: quality(g, deliveries, season, notes), rule.quality)
    finest = max(rule.quality, rule.relative)
    relative, means = own, []
    for use, places in uses(groups):
        changed, found = relative_quality(use, deliveries, places, own, season, final=final)
        relative = joined([(np.arange(size), relative), (places, changed)], size, finest)
        means += found
    prices = [_price(g, relative, season, notes) for g in groups]
    most = max((p.places for p in prices), default=0)
    price = joined([(g.places, p) for g, p in zip(groups, prices, strict=True)], size, most)
    amount, pools = _amounts(groups, deliveries, price, season)
    adjusted = [(a.name, _adjustment(a, deliveries, season)) for a in season.adjustments]
    value = amount
    for _, column in adjusted:
        value = value + column
    group = np.zeros(size, dtype=np.int64)
    for number, each in enumerate(groups):
        group[each.places] = number
    slope = _slopes(groups, relative, size, pools)
    return Paid(
        deliveries, groups, group, own, relative, price, amount, adjusted, value, slope, means, pools, notes
    )  # fmt: skip


def _each(groups: Sequence[Group], size: int, work: Callable[[Group], Exact], places: int) -> Exact:
    return joined([(g.places, work(g)) for g in groups], size, places)


# --- money ------------------------------------------------------------------------------------------------------------


def _price(group: Group, relative: Exact, season: Season, notes: dict[int, list[str]]) -> Exact:
    """Price of a tonne, $, not below the least price; for a pool the pay units of a tonne."""
    scheme, rule = group.use.scheme, season.rounding
    found = scheme.price(relative.take(group.places), group.terms).filled(len(group.places))
    if scheme.kind is Kind.POOL:
        return found.at_least(0)
    low = found.below(group.use.least_price)
    for place in np.flatnonzero(low).tolist():
        said = rounded(found.take([place]).decimals()[0], 4)
        notes.setdefault(int(group.places[place]), []).append(
            f"the formula gives {said} $/t; the least price of {group.use.least_price} $/t applies"
        )
    return found.at_least(group.use.least_price).rounded(rule.price, rule.half)


def _amounts(groups: Sequence[Group], deliveries: Deliveries, price: Exact, season: Season) -> tuple[Exact, list[Pool]]:
    """Money of each delivery: price by mass, rounded, or its share of a pool."""
    rule, pools, parts = season.rounding, [], []
    for g in groups:
        product = deliveries.net.take(g.places) * price.take(g.places)
        if g.use.scheme.kind is Kind.PRICE:
            parts.append((g.places, product.rounded(rule.money, rule.half)))
            continue
        money = pool_of(g.use.scheme, g.terms).rounded(rule.money, rule.half).decimals()[0]
        if product.total() <= 0:
            raise PaymentRefused([f"scheme '{g.use.key}': no pay units to share {money} $ over; check the readings"])
        pools.append(Pool(g.use.key, money, product.total()))
        parts.append((g.places, shared_out(money, product, rule.money)))
    return joined(parts, len(deliveries), rule.money), pools


def _adjustment(rule: Adjustment, deliveries: Deliveries, season: Season) -> Exact:
    """A bonus or penalty on each delivery, $."""
    within = days_within(deliveries.days, rule.first, rule.last)
    rate: Exact = Exact.one(rule.rate).filled(len(deliveries))
    if rule.reading is not None:
        column = deliveries.column(rule.reading)
        within &= column.taken
        rate = (column.values - rule.free).at_least(0) * rule.rate
    if rule.most is not None:
        rate = rate.at_most(rule.most)
    found = (rate * deliveries.net * rule.sign).where(within, 0)
    return found.rounded(season.rounding.money, season.rounding.half)


def _slopes(groups: Sequence[Group], relative: Exact, size: int, pools: Sequence[Pool]) -> Units:
    """How the price of a tonne moves with a unit of quality, $/t; for the uncertainty only."""
    found: np.ndarray[Any, Any] = np.zeros(size)
    each = {pool.scheme: float(pool.each) for pool in pools}
    step = Decimal("0.01")
    for g in groups:
        quality = relative.take(g.places)
        more, less = (g.use.scheme.price(q, g.terms).filled(len(quality)) for q in (quality + step, quality - step))
        found[g.places] = (more - less).floats() / float(2 * step) * each.get(g.use.key, 1.0)
    return found
