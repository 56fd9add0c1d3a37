"""A harvest plan as a linear programme: shares of blocks by week, and each farm's share cut so far, week by week.

The share cut so far is carried from week to week as an unknown of its own, so that the rows of equity stay short.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from canewright.plans.harvest_tables import Floats, HarvestTables, Whole

NO_LIMIT = np.inf


@dataclass(frozen=True)
class Rows:
    """Limits of one kind: which unknowns enter with which factor, and between what; ``about`` names each row.

    ``size`` is what one unit of the row is in tonnes, so that limits of different kinds can be weighed.
    """

    kind: str
    row: Whole
    column: Whole
    factor: Floats
    low: Floats
    high: Floats
    about: Sequence[tuple[int, ...]]
    size: Floats


@dataclass(frozen=True)
class Programme:
    """Most worth of ``gain`` times unknowns within ``top`` and the rows; ``block`` and ``week`` tell the first ones.

    After the cuts come the shares that stand over (where allowed), each farm's share cut so far, the district's.
    """

    block: Whole
    week: Whole
    gain: Floats
    top: Floats
    rows: list[Rows]

    @property
    def matrix(self) -> sparse.csc_matrix:
        """All rows, one kind below the other."""
        starts = np.cumsum([0, *(len(r.low) for r in self.rows)])
        row = np.concatenate([r.row + s for r, s in zip(self.rows, starts, strict=False)])
        column = np.concatenate([r.column for r in self.rows])
        factor = np.concatenate([r.factor for r in self.rows])
        return sparse.csc_matrix((factor, (row, column)), shape=(starts[-1], self.gain.size))

    @property
    def low(self) -> Floats:
        """Lower limits of all rows."""
        return np.concatenate([r.low for r in self.rows])

    @property
    def high(self) -> Floats:
        """Upper limits of all rows."""
        return np.concatenate([r.high for r in self.rows])

    def of_kind(self, kind: str, values: Floats) -> Floats:
        """The part of a column of values by row that belongs to a kind of limit."""
        starts = np.cumsum([0, *(len(r.low) for r in self.rows)])
        place = [r.kind for r in self.rows].index(kind)
        return values[starts[place] : starts[place + 1]]

    def rows_of(self, kind: str) -> Rows:
        """The limits of a kind."""
        return next(r for r in self.rows if r.kind == kind)


def programme_of(t: HarvestTables) -> Programme:
    """The linear programme of a plan."""
    block, week = np.nonzero(t.possible)
    cuts, standing = block.size, 0 if t.standover is None else len(t.blocks)
    F, W = len(t.farms), len(t.weeks)
    shares = 0 if t.band is None else (F + 1) * W
    gain = np.zeros(cuts + standing + shares)
    gain[:cuts] = (t.tonnes * t.worth)[block, week]
    top = np.ones_like(gain)
    if t.standover is not None:
        gain[cuts : cuts + standing] = -t.standover * t.crop
        top[cuts : cuts + standing] = ~t.ordered
    rows = list(_limits(t, block, week, standing))
    if t.band is not None:
        rows += _equity(t, block, week, cuts + standing)
    return Programme(block, week, gain, top, rows)


def _limits(t: HarvestTables, block: Whole, week: Whole, standing: int) -> Iterator[Rows]:
    B, W, cuts = len(t.blocks), len(t.weeks), block.size
    every, mass = np.arange(cuts), t.tonnes[block, week]
    once = np.concatenate([block, np.arange(standing)])
    yield Rows(
        "block", once, np.arange(cuts + standing), np.ones(cuts + standing), np.ones(B), np.ones(B),
        [(b,) for b in range(B)], t.crop,
    )  # fmt: skip
    weeks = [(w,) for w in range(W)]
    yield Rows("crush", week, every, mass, np.full(W, -NO_LIMIT), t.crush, weeks, np.ones(W))
    yield Rows("least", week, every, mass, t.least, np.full(W, NO_LIMIT), weeks, np.ones(W))
    hours = mass * t.haul_hours[block]
    usual = float(t.haul_hours.mean()) or 1.0
    yield Rows("haul", week, every, hours, np.full(W, -NO_LIMIT), t.haul, weeks, np.full(W, 1.0 / usual))
    yield _groups(t, block, week, mass)


def _groups(t: HarvestTables, block: Whole, week: Whole, mass: Floats) -> Rows:
    """A group's cane of a week; once more for its wetter ground alone, which may be cut in fewer of its hours."""
    row, column = [], []
    high: list[float] = []
    about: list[tuple[int, ...]] = []
    group, workable = t.group[block], t.workable[block, week]
    order = np.lexsort((workable, week, group))
    edges = np.flatnonzero(np.diff(group[order] * len(t.weeks) + week[order])) + 1
    for mine in np.split(order, edges):
        g, w = int(group[mine[0]]), int(week[mine[0]])
        for level in np.unique(workable[mine]):
            wet = mine[workable[mine] <= level]
            row.append(np.full(wet.size, len(high)))
            column.append(wet)
            high.append(float(t.group_tonnes[g, w]) * float(level))
            about.append((g, w))
    found = np.concatenate(column)
    return Rows(
        "group", np.concatenate(row), found, mass[found], np.full(len(high), -NO_LIMIT), np.array(high), about,
        np.ones(len(high)),
    )  # fmt: skip


def _equity(t: HarvestTables, block: Whole, week: Whole, first: int) -> list[Rows]:
    """Share cut so far of farm f in week w is unknown first + f W + w; that of the district stands after all farms."""
    F, W = len(t.farms), len(t.weeks)
    total = np.maximum(t.farm_total, 1e-9)
    all_cane = max(float(t.farm_total.sum()), 1e-9)
    farm, share = t.farm[block], np.arange(F * W)
    later = share[share % W > 0]
    begun = np.zeros(F * W)
    begun[share % W == 0] = t.cut / total
    carried = Rows(
        "share", np.concatenate([farm * W + week, share, later]),
        np.concatenate([np.arange(block.size), first + share, first + later - 1]),
        np.concatenate([t.counted[block] / total[farm], -np.ones(F * W), np.ones(later.size)]),
        -begun, -begun, [(int(s) // W, int(s) % W) for s in share], np.repeat(total, W),
    )  # fmt: skip
    district = first + F * W + np.arange(W)
    whole = Rows(
        "district", np.concatenate([share % W, np.arange(W)]), np.concatenate([first + share, district]),
        np.concatenate([total[share // W] / all_cane, -np.ones(W)]), np.zeros(W), np.zeros(W),
        [(w,) for w in range(W)], np.full(W, all_cane),
    )  # fmt: skip
    behind, ahead = t.farm_bands
    band = Rows(
        "equity", np.concatenate([share, share]), np.concatenate([first + share, district[share % W]]),
        np.concatenate([np.ones(F * W), -np.ones(F * W)]), -behind.ravel(), ahead.ravel(),
        [(int(s) // W, int(s) % W) for s in share], np.repeat(total, W),
    )  # fmt: skip
    return [carried, whole, band]
