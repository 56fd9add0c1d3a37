"""The recipe of a strike: feed, movement water, steam and vacuum over time, chosen for least time or least steam.

What is dropped stays that of the strike as described: its massecuite, its brix, at least its wanted size. False grain
is kept out by holding the supersaturation below its limit less a margin. The recipe found is then boiled again step by
step by the integrator, colour and false grain included, and the difference is told with it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from canewright.engine.collocation import Begin, Driven, NoBest, Stage, begin_from, best
from canewright.engine.dynamics import Motion
from canewright.pans import motion
from canewright.pans.description import Described, StrikeRefused
from canewright.pans.settings import declared, feed_name
from canewright.pans.strike import MINUTES, Boiled, boil
from canewright.quantity import noting_breaches

Vector = NDArray[np.float64]
AIMS = ("time", "steam")
MARGIN = 0.02
"""Supersaturation kept free below the limit of false grain."""
LEAST_OPENING = 0.02
VACUUM = (0.7, 1.3)
"""Absolute pressures that a recipe may take, on that described."""
SEEDS = (0.1, 10.0)
"""Seed that a recipe may take, on that described."""
SPARE = 0.01
"""m³ within which a level counts as reached."""
FILLING, EDGE = 18, 6
"""Elements of all filling together, and of concentrating and of tightening."""
BY = {"time": 0.01, "steam": 0.1}
"""Scale of what is made least: about one."""
TIE = 1e-3
"""Weight of a minute where steam is made least: ten kilograms of steam, or a strike would last for ever for a trace."""


@dataclass(frozen=True)
class Row:
    """A step of the recipe: until when, what to set, and where the pan should stand at its end."""

    phase: str
    until: float
    feed: float
    which: int
    water: float
    opening: float
    pressure: float
    told: Mapping[str, float]


@dataclass(frozen=True)
class Recipe:
    """A recipe with the strike that it was made from, and what comes of it when boiled step by step."""

    strike: Described
    aim: str
    before: Boiled
    driven: Driven
    rows: tuple[Row, ...]
    after: Mapping[str, float]
    parts: float
    """Largest difference of volume, brix or mean size between plan and boiling, on the value."""

    @property
    def seed(self) -> float:
        """Seed that the recipe takes, kg."""
        return self.driven.settings["seed.mass"]

    @property
    def time(self) -> float:
        """Minutes from steam to drop."""
        return self.rows[-1].until

    def prices(self) -> dict[str, float]:
        """What a unit more of each binding limit costs, in minutes or tonnes of steam."""
        return {says: by / BY[self.aim] for says, by in self.driven.prices.items()}

    def answers(self, share: float = 0.01) -> dict[str, float]:
        """What one per cent more of each setting changes, in minutes or tonnes of steam, the recipe chosen anew."""
        changes = {
            name: by * share * self.strike.values[name] / BY[self.aim]
            for name, by in self.driven.answers.items()
            if name != "seed.mass" and by
        }
        return dict(sorted(changes.items(), key=lambda item: -abs(item[1])))


def recipe(strike: Described, aim: str = "time", progress: Callable[[str], None] | None = None) -> Recipe:
    """The recipe of least time or steam.

    Raises StrikeRefused for an unknown aim, where the strike as described cannot be boiled, or where no recipe meets
    the limits, naming those that are missed.
    """
    if aim not in AIMS:
        raise StrikeRefused(f"aim: found '{aim[:40]}'; accepted: {' or '.join(AIMS)}")
    before = boil(strike, every=0.25, progress=progress)
    planned = motion.to_plan(strike.feeds, strike.choices["growth.law"], strike.choices["colour.included_from"])
    seed = declared("seed.mass")
    mass = strike.values["seed.mass"]
    freed = {"seed.mass": (max(seed.low, SEEDS[0] * mass), min(seed.high, SEEDS[1] * mass))}
    stages, begin = _stages(strike, before), _begin(before, planned)
    try:
        with noting_breaches():
            driven = best(planned, strike.values, stages, begin, {"time": BY["time"]}, freed, progress)
            if aim == "steam":
                again = begin_from(planned, driven, begin.states[:, 0])
                worth = {"steam": BY["steam"], "time": TIE}
                driven = best(planned, driven.settings, stages, again, worth, freed, progress)
    except NoBest as none:
        raise StrikeRefused(
            f"{none}; ask for another size or brix, more room below the limit of false grain, or more time"
        ) from None
    rows = _rows(strike, planned, driven)
    after, parts = _boiled(strike, driven, rows)
    return Recipe(strike, aim, before, driven, rows, after, parts)


def _stages(strike: Described, before: Boiled) -> list[Stage]:
    v = strike.values
    pressure = {
        "pressure": (
            max(v["vapour.least_pressure"], VACUUM[0] * v["vapour.pressure"]),
            VACUUM[1] * v["vapour.pressure"],
        )
    }
    highest = v["false_grain.limit"] - MARGIN
    steam, water = (LEAST_OPENING, 1.0), (0.0, v["control.water_most"])
    feed, level = (0.0, v["control.feed_most"]), (v["pan.least"], v["pan.full"])
    shut = dict.fromkeys(_inputs(strike), 0.0)
    longest = MINUTES * v["drop.longest"]
    safe = {"supersaturation": (1.0, highest), "crystal on massecuite": (0.0, v["drop.most_crystal"])}
    yield_of = {
        "volume": (before.end["volume"] - SPARE, v["pan.full"]),
        "mean size": (v["drop.size"], np.inf),
        "variation": (0.0, v["drop.most_variation"]),
    }
    by_brix = strike.choices["drop.by"] == "brix"
    ends = {"brix": (v["drop.brix"],) * 2} if by_brix else {"crystal on solids": (v["drop.crystal"],) * 2}
    stages = [
        Stage(
            "concentrate", EDGE, shut, {"opening": steam, motion.feeding(1): feed}, (0.5, longest),
            {"volume": level}, {"supersaturation": (1.0 + MARGIN, highest)}, pressure,
        )
    ]  # fmt: skip
    for i in range(1, strike.feeds + 1):
        upto = v[feed_name(i, "until")] if i < strike.feeds else v["pan.full"]
        stages.append(
            Stage(
                f"fill {i}", max(4, FILLING // strike.feeds), {**shut, "seeded": 1.0},
                {"opening": steam, motion.feeding(i): feed, "water rate": water}, (1.0, longest),
                {"volume": level, **safe}, {"volume": (upto - SPARE, upto)}, pressure,
            )
        )  # fmt: skip
    stages.append(
        Stage(
            "tighten", EDGE, {**shut, "seeded": 1.0}, {"opening": steam}, (0.5, longest), {"volume": level, **safe},
            {**ends, **yield_of}, pressure,
        )
    )  # fmt: skip
    return stages


def _inputs(strike: Described) -> list[str]:
    return [*motion.RECIPE_INPUTS, *(motion.feeding(i) for i in range(1, strike.feeds + 1))]


def _begin(before: Boiled, planned: Motion) -> Begin:
    """The strike as described, on the plan's states; a phase of topping up counts to the one before it."""
    known = {s.name: i for i, s in enumerate(before.motion.states)}
    states = np.hstack([leg.states if i == 0 else leg.states[:, 1:] for i, leg in enumerate(before.legs)])
    course, v = before.course, before.strike.values
    inputs = {
        "water rate": course["water rate in"], "opening": course["opening"] / 100.0,
        "pressure": np.full(len(before.times), v["vapour.pressure"]),
    }  # fmt: skip
    for i in range(1, before.strike.feeds + 1):
        inputs[motion.feeding(i)] = course["feed rate"]
    ends = [to for name, _, to in before.phases if name != "top up"]
    return Begin(before.times, states[[known[s.name] for s in planned.states]], inputs, ends)


def _rows(strike: Described, planned: Motion, driven: Driven) -> tuple[Row, ...]:
    told = planned.told(driven.states, planned.vector(driven.settings), driven.inputs)
    at = np.cumsum(driven.lengths)
    place = {name: i for i, name in enumerate(planned.inputs)}
    rows = []
    for k, stage in enumerate(driven.stages):
        which = int(stage.split()[1]) if stage.startswith("fill") else (1 if stage == "concentrate" else strike.feeds)
        u = {name: float(driven.inputs[i, k]) for name, i in place.items()}
        rows.append(
            Row(
                stage, float(at[k]), u[motion.feeding(which)], which, u["water rate"], 100.0 * u["opening"],
                u["pressure"], {name: float(row[k]) for name, row in told.items()},
            )
        )  # fmt: skip
    return tuple(rows)


def _boiled(strike: Described, driven: Driven, rows: tuple[Row, ...]) -> tuple[dict[str, float], float]:
    """The recipe boiled step by step with all states, and how far it parts from the plan."""
    whole = motion.by_recipe(strike.feeds, strike.choices["growth.law"], strike.choices["colour.included_from"])
    p, u = whole.vector(driven.settings), driven.inputs
    states = whole.stepwise(np.zeros(len(whole.states)), p, u, driven.lengths)
    told = whole.told(states, p, u)
    parts = max(
        abs(float(told[name][k]) / row.told[name] - 1.0) for k, row in enumerate(rows) for name in ("volume", "brix")
    )
    parts = max(parts, abs(float(told["mean size"][-1]) / rows[-1].told["mean size"] - 1.0))
    return {name: float(row[-1]) for name, row in told.items()}, parts
