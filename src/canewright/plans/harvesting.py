"""When each block is cut: the plan of most worth within the limits, tidied, with its bound and the price of each limit.

The bound is the optimum of the linear programme: no plan whatever that keeps the limits is worth more. The tidied plan
keeps every limit too; it leaves out many small pieces of blocks for a little of the worth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from canewright.plans.conflicts import conflicts
from canewright.plans.harvest_tables import Floats, HarvestTables, Whole
from canewright.plans.highs import Linear, Solved
from canewright.plans.programme import Programme, programme_of

Progress = Callable[[str], None]
WORST_GAP = 0.005
"""Tidying stops before it costs more than this share of the bound."""
TIDY_ROUNDS = 6
SMALL_PIECE = 100.0
"""Pieces of a block about this size and below are the ones to be rid of, t (ours: about three consignments)."""
ALMOST = "less than a tonne anywhere; widen the tightest limit a little"
PIECE_PRICE = 0.15
"""What a piece is thought to cost while tidying, as a share of the worth of a small piece (ours)."""


class NoPlan(ValueError):
    """The limits contradict one another; ``says`` are the sentences of those that would have to give."""

    def __init__(self, says: list[str]) -> None:
        """What would have to give."""
        self.says = says
        super().__init__("these limits cannot all be kept; the least that would have to give: " + "; ".join(says))


@dataclass(frozen=True)
class HarvestPlan:
    """Tonnes cut by block and week, the plan's worth in $, the bound above it, and what limits are worth.

    ``standing`` t left for the next season; ``crush_price`` $ for one tonne more of crush by week, ``least_price`` $
    for one tonne less of the least, ``haul_price`` $ for one vehicle hour, ``group_price`` $ for one tonne more by
    group and week; ``no_equity`` the worth without the equity band (equal to the bound where there is none).
    """

    tonnes: Floats
    standing: Floats
    value: float
    bound: float
    crush_price: Floats
    least_price: Floats
    haul_price: Floats
    group_price: Floats
    no_equity: float

    @property
    def gap(self) -> float:
        """How far the plan is below the bound, as a share of it."""
        return (self.bound - self.value) / abs(self.bound) if self.bound else 0.0

    @property
    def price_of_equity(self) -> float:
        """What the equity band costs, $."""
        return self.no_equity - self.bound

    @property
    def visits(self) -> int:
        """Stretches of weeks without a break in which a block is cut."""
        cut = self.tonnes > 0.0
        return int(cut[:, 0].sum() + (cut[:, 1:] & ~cut[:, :-1]).sum())


def plan_harvest(
    tables: HarvestTables, progress: Progress = lambda _: None, *, tidy: bool = True, price_equity: bool = True
) -> HarvestPlan:
    """The plan of most worth. Raises NoPlan naming the limits that cannot all be kept."""
    programme = programme_of(tables)
    progress(f"solving {programme.gain.size} unknowns under {programme.low.size} limits")
    linear = Linear(programme.gain, programme.top, programme.matrix, programme.low, programme.high)
    best = linear.solve()
    if best is None:
        progress("looking for the limits that contradict one another")
        raise NoPlan([each.says for each in conflicts(tables)] or [ALMOST])
    shares = _tidied(tables, programme, linear, best, progress) if tidy else best.unknowns
    free = best.value
    if price_equity and tables.band is not None:
        progress("solving without the equity band, for its price")
        free = max(free, best_worth(replace(tables, band=None)) or free)
    return _plan(tables, programme, best, shares, free)


def best_worth(tables: HarvestTables) -> float | None:
    """The bound alone, $: the optimum without tidying and prices; None where the limits cannot all be kept."""
    p = programme_of(tables)
    found = Linear(p.gain, p.top, p.matrix, p.low, p.high).solve()
    return None if found is None else found.value


def _tidied(tables: HarvestTables, programme: Programme, linear: Linear, best: Solved, progress: Progress) -> Floats:
    """Solve again and again with a price on each piece that is less for larger ones, keeping to the pieces there are.

    A piece of x tonnes is priced x / (x0 + small) with x0 its tonnes before: nearly 1 for a large one and for any that
    stays, more than 1 for one that grows (the reweighting of Candès, Wakin and Boyd 2008, from memory).
    """
    cuts = programme.block.size
    mass = tables.tonnes[programme.block, programme.week]
    usual = float(np.abs(programme.gain[:cuts]).sum() / mass.sum())
    shares = best.unknowns
    for turn in range(TIDY_ROUNDS):
        cut = shares[:cuts] * mass
        price = PIECE_PRICE * SMALL_PIECE * usual * mass / (cut + SMALL_PIECE)
        progress(f"tidying, round {turn + 1} of {TIDY_ROUNDS}: {int((cut > 0.05).sum())} pieces")
        linear.change(programme.gain[:cuts] - price, np.where(cut > 0.05, programme.top[:cuts], 0.0))
        found = linear.solve()
        if found is None or found.value < best.value - WORST_GAP * abs(best.value):
            break
        shares = found.unknowns
    return shares


def _plan(tables: HarvestTables, programme: Programme, best: Solved, shares: Floats, free: float) -> HarvestPlan:
    tonnes = np.zeros_like(tables.tonnes)
    cuts = programme.block.size
    tonnes[programme.block, programme.week] = shares[:cuts] * tables.tonnes[programme.block, programme.week]
    standing = np.zeros(len(tables.blocks))
    if tables.standover is not None:
        standing = shares[cuts : cuts + standing.size] * tables.crop
    groups = np.zeros_like(tables.group_tonnes)
    for about, price in zip(programme.rows_of("group").about, programme.of_kind("group", best.duals), strict=True):
        groups[about] += price
    return HarvestPlan(
        np.where(tonnes > 1e-6, tonnes, 0.0), standing, float(programme.gain @ shares), best.value,
        programme.of_kind("crush", best.duals), -programme.of_kind("least", best.duals),
        programme.of_kind("haul", best.duals), groups, free,
    )  # fmt: skip


def pro_rata_value(tables: HarvestTables) -> float:
    """Worth in $ if every block were cut by the same share each week, in the weeks' crush: no choice at all."""
    share = tables.crush / tables.crush.sum()
    return float((tables.tonnes * tables.worth * share).sum())


def shares_cut(tables: HarvestTables, tonnes: Floats) -> Floats:
    """Share of each farm's cane that counts cut by each week's end, with what was cut before; farms by weeks."""
    shares = np.divide(tonnes, tables.tonnes, out=np.zeros_like(tonnes), where=tables.tonnes > 0.0)
    by_farm = np.zeros((len(tables.farms), len(tables.weeks)))
    np.add.at(by_farm, tables.farm, shares * tables.counted[:, None])
    total = np.maximum(tables.farm_total, 1e-9)
    found: Floats = (tables.cut[:, None] + np.cumsum(by_farm, axis=1)) / total[:, None]
    return found


def split_blocks(tonnes: Floats) -> Whole:
    """Number of weeks in which each block is cut."""
    found: Whole = (tonnes > 0.0).sum(axis=1)
    return found
