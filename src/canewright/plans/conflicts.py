"""Which limits cannot all be kept, in words: those that would have to give, and by how little."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from canewright.plans.harvest_tables import Floats, HarvestTables
from canewright.plans.highs import Linear
from canewright.plans.programme import Programme, Rows, programme_of

GIVING = ("block", "crush", "least", "haul", "group", "equity")
"""Kinds of limits that are stretched; the others are bookkeeping and hold always."""
DEAR = {"block": 20.0, "crush": 4.0, "haul": 3.0, "group": 3.0, "least": 1.0, "equity": 1.0}
"""Which limits are thought to give last: leaving cane costs most, then what steel can do; ours."""
SEEN = 0.5
"""Smaller ways beyond a limit are not told, t."""


@dataclass(frozen=True)
class Conflict:
    """A limit that would have to give: its kind, by how many tonnes in all, and the sentence."""

    kind: str
    tonnes: float
    says: str


def conflicts(tables: HarvestTables) -> list[Conflict]:
    """The least that would have to give, largest first; empty when the limits can all be kept.

    Every limit may be stretched at a price for each tonne, and the whole price is made as small as it can be.
    """
    programme = programme_of(tables)
    matrix, prices = _stretched(programme)
    first = programme.gain.size
    gain = np.concatenate([np.zeros(first), -prices])
    top = np.concatenate([programme.top, np.full(prices.size, np.inf)])
    found = Linear(gain, top, matrix, programme.low, programme.high).solve()
    if found is None:
        raise RuntimeError("the bookkeeping of shares contradicts itself")
    beyond = found.unknowns[first:]
    told: list[Conflict] = []
    place = 0
    for rows in programme.rows:
        if rows.kind in GIVING:
            count = len(rows.low)
            both = beyond[place : place + 2 * count].reshape(2, count) * rows.size
            told += _told(tables, rows, both)
            place += 2 * count
    return sorted(told, key=lambda each: -each.tonnes)


def _stretched(programme: Programme) -> tuple[sparse.csc_matrix, Floats]:
    """The matrix with two unknowns more for each limit that gives: how far below it and how far above."""
    starts = np.cumsum([0, *(len(r.low) for r in programme.rows)])
    columns, prices = [], []
    for rows, start in zip(programme.rows, starts, strict=False):
        if rows.kind not in GIVING:
            continue
        count = len(rows.low)
        places = (start + np.arange(count), np.arange(count))
        for sign in (1.0, -1.0):
            columns.append(sparse.csc_matrix((np.full(count, sign), places), shape=(starts[-1], count)))
            prices.append(DEAR[rows.kind] * rows.size)
    return sparse.hstack([programme.matrix, *columns], format="csc"), np.concatenate(prices)


def _told(t: HarvestTables, rows: Rows, both: Floats) -> list[Conflict]:
    below, above = both
    summed: dict[tuple[int, ...], list[tuple[int, float, float]]] = {}
    for place in np.flatnonzero(np.maximum(below, above) > SEEN):
        about = rows.about[int(place)]
        key = (
            about[:1] if rows.kind in {"group", "equity"} else () if rows.kind in {"crush", "least", "haul"} else about
        )
        summed.setdefault(key, []).append((int(about[-1]), float(below[place]), float(above[place])))
    return [_sentence(t, rows.kind, key, found) for key, found in summed.items()]


def _sentence(t: HarvestTables, kind: str, key: tuple[int, ...], found: list[tuple[int, float, float]]) -> Conflict:
    low, high = sum(f[1] for f in found), sum(f[2] for f in found)
    weeks = sorted({f[0] for f in found})
    when = "" if kind == "block" else _when(t, weeks)
    says = {
        "block": lambda: f"block {t.blocks[key[0]]}: {low:.0f} t would be left uncut",
        "crush": lambda: f"the mill would have to crush {high:.0f} t more than it can {when}",
        "least": lambda: f"the mill would get {low:.0f} t less than its least {when}",
        "haul": lambda: f"haulage would have to carry about {high:.0f} t more than it can {when}",
        "group": lambda: f"group {t.groups[key[0]]} would have to cut {high:.0f} t more than it can {when}",
        "equity": lambda: (
            f"farm {t.farms[key[0]]} would be up to {max(max(f[1], f[2]) for f in found):.0f} t "
            f"{'behind' if low > high else 'ahead of'} its equity band {when}"
        ),
    }[kind]()
    return Conflict(kind, low + high, says)


def _when(t: HarvestTables, weeks: list[int]) -> str:
    if len(weeks) == 1:
        return f"in the week of {t.weeks[weeks[0]]}"
    return f"in {len(weeks)} weeks from {t.weeks[weeks[0]]} to {t.weeks[weeks[-1]]}"
