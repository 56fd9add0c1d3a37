"""The quality a consignment is paid on: from its readings by the scheme, else the mean of the day by mass."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import numpy as np

from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import QUOTIENT_PLACES, Exact, NotExact, Units, joined
from canewright.cane.pay_groups import Group
from canewright.cane.schemes import WORKED_OUT
from canewright.cane.season import Season

DAY_MEAN = "no reading for the scheme: the day's mean by mass of the consignments that have one"


def quality(group: Group, deliveries: Deliveries, season: Season, notes: dict[int, list[str]]) -> Exact:
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
        within = days_within(deliveries.days[places], balance.first, balance.last) & there
        if within.any():
            tonnes = (deliveries.net.take(places).take(within) * values.take(within) / 100).total()
            factor = Exact.one(balance.tonnes[name]).over(Exact.one(tonnes), QUOTIENT_PLACES)
            values = (values * factor).where(within, values)
    return values


def days_within(days: Units, first: dt.date, last: dt.date) -> Units:
    """Mask of the days from first to last, both included."""
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
    means, masses = weighted_means(found, deliveries.net.take(group.places).take(taken), number[taken], len(days))
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


def weighted_means(values: Exact, net: Exact, number: Units, count: int) -> tuple[Exact, Exact]:
    """Means by mass of numbered groups, and their masses; a group without mass has nothing as its mean."""
    masses = net.sums(number, count)
    empty = np.asarray(masses.units == 0, dtype=bool)
    some = masses.where(~empty, 1)
    return (net * values).sums(number, count).over(some, QUOTIENT_PLACES), masses
