"""What deliveries are worth under a season's agreement: quality, relative quality, price, amount, each step kept.

Price schemes pay the declared formula of each consignment exactly; pool schemes share out exactly the pool. Every mean
is weighted by mass, so that relative payment moves pay units between growers and makes or loses none. Nothing depends
on the order of the deliveries.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from canewright.analysis.payment import relative_quality_additive, relative_quality_multiplicative
from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import QUOTIENT_PLACES, Exact, NotExact, Units, joined
from canewright.cane.rounding import EXACT, rounded
from canewright.cane.schemes import WORKED_OUT, Kind, pool_of
from canewright.cane.season import Adjustment, Period, Relative, SchemeInUse, Season
from canewright.cane.sharing import shared_out

DAY_MEAN = "no reading for the scheme: the day's mean by mass of the consignments that have one"


@dataclass(frozen=True)
class WeekMean:
    """Mean quality of a week under one scheme, by mass, and the season's mean it was set against."""

    scheme: str
    week: int
    tonnes: Decimal
    mean: Decimal
    season_mean: Decimal


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


@dataclass(frozen=True)
class Group:
    """Deliveries under one scheme and one row of its terms."""

    use: SchemeInUse
    terms: Mapping[str, Exact]
    places: Units
    since: dt.date


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
    groups = _grouped(deliveries, season, final=final)
    _refuse_old_pools(groups, period)
    notes: dict[int, list[str]] = {}
    size, rule = len(deliveries), season.rounding
    own = _each(groups, size, lambda g: _quality(g, deliveries, season, notes), rule.quality)
    finest = max(rule.quality, rule.relative)
    relative, means = own, []
    for use, places in _uses(groups):
        changed, found = _relative(use, deliveries, places, own, season, final=final)
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


# --- who is paid by what ----------------------------------------------------------------------------------------------


def _grouped(deliveries: Deliveries, season: Season, *, final: bool) -> list[Group]:
    """The deliveries by scheme and row of terms; every delivery in just one."""
    width = max(len(deliveries.growers), 1)
    codes, where = np.unique(deliveries.days * width + deliveries.grower, return_inverse=True)
    faults: list[str] = []
    held = [
        _key(deliveries.growers[code % width], dt.date.fromordinal(code // width), season, faults, final=final)
        for code in codes.tolist()
    ]
    if faults:
        raise PaymentRefused(list(dict.fromkeys(faults)))
    keys = sorted(set(held))
    number = np.array([keys.index(key) for key in held], dtype=np.int64)
    group = number[where] if held else np.zeros(0, dtype=np.int64)
    return [_group(season, key, np.flatnonzero(group == i), final=final) for i, key in enumerate(keys)]


def _key(grower: str, day: dt.date, season: Season, faults: list[str], *, final: bool) -> tuple[str, int]:
    """Scheme and row of terms for a grower on a day; what stands in the way goes to the faults."""
    use = season.scheme_for(grower, day)
    row = None if use is None else use.in_force(day)
    if not season.first <= day <= season.last:
        says = f"outside the season {season.name}, {season.first} to {season.last}; pay it with its own agreement"
    elif use is None:
        says = "no agreement holds on that day (an agreement gap); add [[agreements]] for it"
    elif row is None:
        says = f"scheme '{use.key}' has no terms in force before {use.terms[0].first}; add [[schemes.{use.key}.terms]]"
    elif final and use.final is None:
        says = f"scheme '{use.key}' has no final constants; add [schemes.{use.key}.final] before the final run"
    else:
        return use.key, 0 if final else row
    faults.append(f"{grower}, {day}: {says}")
    return "", 0


def _group(season: Season, key: tuple[str, int], places: Units, *, final: bool) -> Group:
    use = season.schemes[key[0]]
    row = use.terms[key[1]]
    values = use.final if final and use.final is not None else row.values
    return Group(use, {name: Exact.one(value) for name, value in values.items()}, places, row.first)


def _refuse_old_pools(groups: Sequence[Group], period: Period | None) -> None:
    """A pool belongs to one period: that of an earlier one cannot be shared out again."""
    faults = [
        f"scheme '{g.use.key}': no pool is agreed for the period {period.first} to {period.last} (the last one begins "
        f"{g.since}); add [[schemes.{g.use.key}.terms]]"
        for g in groups
        if period is not None and g.use.scheme.kind is Kind.POOL and g.since < period.first
    ]
    if faults:
        raise PaymentRefused(faults)


def _uses(groups: Sequence[Group]) -> Iterator[tuple[SchemeInUse, Units]]:
    """Each scheme in use with all its deliveries, whatever the row of terms: growers are compared with all of them."""
    for key in dict.fromkeys(g.use.key for g in groups):
        mine = [g for g in groups if g.use.key == key]
        yield mine[0].use, np.sort(np.concatenate([g.places for g in mine]))


def _each(groups: Sequence[Group], size: int, work: Callable[[Group], Exact], places: int) -> Exact:
    return joined([(g.places, work(g)) for g in groups], size, places)


# --- quality ----------------------------------------------------------------------------------------------------------


def _quality(group: Group, deliveries: Deliveries, season: Season, notes: dict[int, list[str]]) -> Exact:
    """Own quality of each delivery of the group, rounded; where a reading is lacking, the day's mean by mass."""
    scheme, size = group.use.scheme, len(group.places)
    columns, taken = {}, np.ones(size, dtype=bool)
    for name in scheme.needs:
        values, there = _reading(name, deliveries, group.places)
        columns[name] = _shared(name, values, there, deliveries, group.places, season)
        taken &= there
    _refuse_out_of_range(group, columns, taken, deliveries)
    have = np.flatnonzero(taken)
    try:
        found = scheme.quality({n: c.take(have) for n, c in columns.items()}, group.terms).filled(len(have))
    except NotExact as error:
        raise PaymentRefused([f"scheme {scheme.title}: {error}; look at the readings of the period"]) from error
    found = found.rounded(season.rounding.quality, season.rounding.half)
    if len(have) == size:
        return found
    return _with_day_means(group, deliveries, found, taken, season, notes)


def _reading(name: str, deliveries: Deliveries, places: Units) -> tuple[Exact, Units]:
    """A reading where it was taken, worked out from others where that is possible."""
    column = deliveries.column(name)
    values, there = column.values.take(places), column.taken[places]
    if name not in WORKED_OUT or bool(there.all()):
        return values, there
    formula, others = WORKED_OUT[name]
    parts = [deliveries.column(other) for other in others]
    possible = np.logical_and.reduce([p.taken[places] for p in parts]) & ~there
    if not possible.any():
        return values, there
    worked: Exact = formula(*(p.values.take(places) for p in parts))
    return worked.where(possible, values), there | possible


def _shared(name: str, values: Exact, there: Units, deliveries: Deliveries, places: Units, season: Season) -> Exact:
    """Direct analysis shared pro rata to the tonnes of the mill balance, for the days that have one."""
    for balance in season.balances:
        if name not in balance.tonnes:
            continue
        within = _within(deliveries.days[places], balance.first, balance.last) & there
        if within.any():
            tonnes = (deliveries.net.take(places).take(within) * values.take(within) / 100).total()
            factor = Exact.one(balance.tonnes[name]).over(Exact.one(tonnes), QUOTIENT_PLACES)
            values = (values * factor).where(within, values)
    return values


def _within(days: Units, first: dt.date, last: dt.date) -> Units:
    return np.asarray((days >= first.toordinal()) & (days <= last.toordinal()), dtype=bool)


def _refuse_out_of_range(group: Group, columns: Mapping[str, Exact], taken: Units, deliveries: Deliveries) -> None:
    faults = []
    for name, declared in group.use.scheme.needs.items():
        floats = columns[name].floats()
        bad = np.flatnonzero(taken & ~((floats >= declared.least) & (floats <= declared.most)))
        for place in bad.tolist():
            where = int(group.places[place])
            faults.append(
                f"{deliveries.called(where)}: {name} is {floats[place]:g} "
                f"{declared.unit}; accepted: {declared.low:g} to {declared.high:g} {declared.unit}"
            )
    if faults:
        raise PaymentRefused(faults)


def _with_day_means(
    group: Group, deliveries: Deliveries, found: Exact, taken: Units, season: Season, notes: dict[int, list[str]]
) -> Exact:
    """The found qualities with the day's mean by mass of sampled cane where there is none (São Paulo steps 2.1-2.4)."""
    days, number = np.unique(deliveries.days[group.places], return_inverse=True)
    means, masses = _means(found, deliveries.net.take(group.places).take(taken), number[taken], len(days))
    lacking = np.flatnonzero(~taken)
    stranded = [i for i in lacking.tolist() if int(masses.units[number[i]]) == 0]
    if stranded:
        says = f"no reading for '{group.use.scheme.name}' and no other of the day to take the mean of; read juice again"
        raise PaymentRefused([f"{deliveries.called(int(group.places[i]))}: {says}" for i in stranded])
    for i in lacking.tolist():
        notes.setdefault(int(group.places[i]), []).append(DAY_MEAN)
    rule = season.rounding
    means = means.rounded(rule.quality, rule.half)
    return joined(
        [(np.flatnonzero(taken), found), (lacking, means.take(number[lacking]))], len(group.places), rule.quality
    )


def _means(values: Exact, net: Exact, number: Units, count: int) -> tuple[Exact, Exact]:
    """Means by mass of numbered groups, and their masses; a group without mass has nothing as its mean."""
    masses = net.sums(number, count)
    empty = np.asarray(masses.units == 0, dtype=bool)
    some = masses.where(~empty, 1)
    return (net * values).sums(number, count).over(some, QUOTIENT_PLACES), masses


# --- relative payment -------------------------------------------------------------------------------------------------


def _relative(
    use: SchemeInUse, deliveries: Deliveries, places: Units, own: Exact, season: Season, *, final: bool
) -> tuple[Exact, list[WeekMean]]:
    """Quality relative to the week, of all under the scheme; cane outside the agreed days keeps its own."""
    days, values = deliveries.days[places], own.take(places)
    within = _within(days, use.relative_first, use.relative_last)
    if (use.relative is Relative.NONE and use.blend == 1) or not within.any():
        return values, []
    net = deliveries.net.take(places).take(within)
    weeks, number = np.unique((days[within] - season.first.toordinal()) // 7 + 1, return_inverse=True)
    mine = values.take(within)
    means, masses = _means(mine, net, number, len(weeks))
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
        return _means(values, net, np.zeros(len(values), dtype=np.int64), 1)[0].filled(len(values))
    held = np.searchsorted([row.first.toordinal() for row in use.terms], days, side="right") - 1
    expected = Exact.of(use.expected_mean(row) or use.season_mean for row in use.terms)
    return expected.take(held)


def _moved(use: SchemeInUse, values: Exact, week: Exact, season: Exact) -> Exact:
    if use.relative is Relative.NONE:
        return values
    formula = relative_quality_additive if use.relative is Relative.ADDITIVE else relative_quality_multiplicative
    found: Exact = formula(values, season, week)
    return found


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
    within = _within(deliveries.days, rule.first, rule.last)
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
