"""A season's harvest plan of the invented district, against cutting what is ripest, week by week."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from canewright.cane.demo_district import FARMS, GROUPS, WEEKS, district
from canewright.plans import HarvestPlan, HarvestPrices, HarvestTables, plan_harvest, worth_per_tonne
from canewright.plans.harvesting import shares_cut
from canewright.plans.highs import Linear
from canewright.plans.programme import programme_of
from canewright_bench.timing import Result, Rival, timed

SPARE = 1.025
"""Crush capacity of the season over its crop."""


def harvest(blocks: int) -> Iterator[Result]:
    """The plan of the district, or of its first blocks."""
    tables = season_tables(blocks)
    ours = timed(lambda: plan_harvest(tables, price_equity=False), 1, warm_up=False)
    plan: HarvestPlan = ours.gave
    p = programme_of(tables)
    floor = timed(lambda: Linear(p.gain, p.top, p.matrix, p.low, p.high).solve(), 1, warm_up=False)
    rival = timed(lambda: by_ripeness(tables), 1, warm_up=False)
    greedy: np.ndarray = rival.gave
    worth = float((greedy * tables.worth).sum())
    short = tables.crop.sum() - greedy.sum()
    beyond = f"farms up to {_beyond(tables, greedy):.0f} points from the district's share (band 10)"
    notes = (
        f"{len(tables.blocks)} blocks, one run; {100 * plan.gap:.4f} % below the bound of $ {plan.bound:,.0f}",
        f"the ripest first: {100 * (1 - worth / plan.bound):.2f} % below the bound, {short:,.0f} t uncut, {beyond}",
    )
    rivals = (Rival("the ripest first within crush, groups, upper band (finds no bound)", rival.seconds),)
    yield Result("plans.harvest", ours.seconds, p.gain.size, rivals, floor.seconds, notes)


def season_tables(blocks: int) -> HarvestTables:
    """The invented district with capacities a little above its crop."""
    made = district()
    some = np.arange(min(blocks, made.tonnes.size))
    crop = made.tonnes[some]
    ccs = np.stack([made.ccs(float(w), some) for w in range(1, WEEKS + 1)], axis=1)
    km = np.random.default_rng(1).uniform(3.0, 35.0, FARMS)[made.farm[some]]
    week = SPARE * crop.sum() / WEEKS
    groups = np.bincount(made.group[some], crop, GROUPS) / WEEKS
    every = (some.size, WEEKS)
    fields: dict[str, Any] = {
        "blocks": tuple(np.array(made.block_names())[some]), "farms": tuple(map(str, range(FARMS))),
        "groups": tuple(map(str, range(GROUPS))), "weeks": tuple(map(str, range(1, WEEKS + 1))),
        "farm": made.farm[some], "group": made.group[some], "crop": crop,
        "tonnes": np.repeat(crop[:, None], WEEKS, axis=1),
        "worth": worth_per_tonne(ccs, km, np.zeros(some.size, dtype=bool), HarvestPrices()),
        "may_cut": np.ones(every, dtype=bool), "ordered": np.zeros(some.size, dtype=bool),
        "workable": np.ones(every), "haul_hours": (0.5 + 2.0 * km / 40.0) / 36.0, "crush": np.full(WEEKS, week),
        "least": np.full(WEEKS, 0.85 * week), "haul": np.full(WEEKS, np.inf),
        "group_tonnes": np.repeat(1.3 * groups[:, None], WEEKS, axis=1), "cut": np.zeros(FARMS), "band": 0.10,
    }  # fmt: skip
    return HarvestTables(**fields)


def by_ripeness(t: HarvestTables) -> np.ndarray:
    """Each week the blocks nearest to their best are cut until a limit is met; t by block and week."""
    left, cut = t.crop.copy(), np.zeros_like(t.tonnes)
    farm_cut, total, best = np.zeros(len(t.farms)), t.farm_total, t.worth.max(axis=1)
    pace = np.cumsum(t.crush) / t.crush.sum()
    for week in range(len(t.weeks)):
        room, groups = float(t.crush[week]), t.group_tonnes[:, week].copy()
        for b in np.argsort(best - t.worth[:, week], kind="stable"):
            farm, group = t.farm[b], t.group[b]
            upper = (min(1.0, pace[week] + (t.band or 1.0))) * total[farm] - farm_cut[farm]
            taken = max(0.0, min(left[b], room, groups[group], upper))
            cut[b, week] = taken
            left[b] -= taken
            room -= taken
            groups[group] -= taken
            farm_cut[farm] += taken
    return cut


def _beyond(t: HarvestTables, tonnes: np.ndarray) -> float:
    """Greatest distance of a farm's share cut from the district's, points."""
    shares = shares_cut(t, tonnes)
    district_share = (shares * t.farm_total[:, None]).sum(axis=0) / t.farm_total.sum()
    there = t.farm_total > 0.0
    return float(100.0 * np.abs(shares - district_share)[there].max())
