"""Who is paid by what: deliveries grouped by scheme and the row of its terms that is in force."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import Exact, Units
from canewright.cane.schemes import Kind
from canewright.cane.season import Period, SchemeInUse, Season


@dataclass(frozen=True)
class Group:
    """Deliveries under one scheme and one row of its terms."""

    use: SchemeInUse
    terms: Mapping[str, Exact]
    places: Units
    since: dt.date


def grouped(deliveries: Deliveries, season: Season, *, final: bool) -> list[Group]:
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


def refuse_old_pools(groups: Sequence[Group], period: Period | None) -> None:
    """A pool belongs to one period: that of an earlier one cannot be shared out again."""
    faults = [
        f"scheme '{g.use.key}': no pool is agreed for the period {period.first} to {period.last} (the last one begins "
        f"{g.since}); add [[schemes.{g.use.key}.terms]]"
        for g in groups
        if period is not None and g.use.scheme.kind is Kind.POOL and g.since < period.first
    ]
    if faults:
        raise PaymentRefused(faults)


def uses(groups: Sequence[Group]) -> Iterator[tuple[SchemeInUse, Units]]:
    """Each scheme in use with all its deliveries, whatever the row of terms: growers are compared with all of them."""
    for key in dict.fromkeys(g.use.key for g in groups):
        mine = [g for g in groups if g.use.key == key]
        yield mine[0].use, np.sort(np.concatenate([g.places for g in mine]))
