"""A strike as a motion in time: its states, what drives it, what is told of it; by control law or by recipe.

By law, valves answer to the pan: feed to the dry substance of the massecuite (or the level), movement water to the
supersaturation, steam to the crystal surface. By recipe, feed, water, steam and vacuum are what a person or a log says.
Pan and rates are the same.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from canewright.engine import Variable
from canewright.engine.dynamics import Motion
from canewright.pans import grain, pan
from canewright.pans.settings import names
from canewright.quantity import Num
from canewright.quantity.maths import exp, log, smooth_positive, sqrt

SMALL = 1e-12
"""Moments and squares below this are nothing; keeps means and spreads of no crystals finite."""
LEVEL_BAND = 0.005
"""Share of the full volume over which the feed valve opens where it holds the level."""
LAW_INPUTS = ("seeded", "feeding", "holding level", "level", "water on", "steam by surface", "concentrating")
RECIPE_INPUTS = ("seeded", "water rate", "opening", "pressure")


def states(feeds: int, size: float = 40.0) -> list[Variable]:
    """What has passed since the start; nominal sizes are of a pan of this volume, m³."""
    unit = size / 40.0
    fixed = [
        Variable("water", "t", unit), Variable("evaporated", "t", 10.0 * unit), Variable("heat", "MJ", 2e4 * unit),
        Variable("vapour heat", "MJ", 2e4 * unit), Variable("steam", "t", 10.0 * unit), Variable("travel", "mm", 0.3),
        Variable("merged", "1", 0.1), Variable("crystal colour", "IU·t", 100.0 * unit),
        Variable("colour formed", "IU·t", 100.0 * unit),
    ]  # fmt: skip
    false = [Variable(f"false {k}", f"10⁹ mm^{k}", 10.0 ** (1 - 0.5 * k) * unit) for k in range(grain.MOMENTS)]
    return [*(Variable(f"fed {i}", "t", 10.0 * unit) for i in range(1, feeds + 1)), *fixed, *false]


def feeding(number: int) -> str:
    """The input that says whether a feed is the one in use (by law), or its rate in t/h (by recipe)."""
    return f"feed {number} on"


@cache
def by_law(feeds: int, law: str, included_from: str) -> Motion:
    """A strike whose valves answer to the pan."""
    inputs = [*LAW_INPUTS, *(feeding(i) for i in range(1, feeds + 1))]
    return Motion(states(feeds), names(feeds), inputs, lambda v: _by_law(v, feeds, law, included_from))


@cache
def by_recipe(feeds: int, law: str, included_from: str) -> Motion:
    """A strike whose valves are where a recipe or a log says."""
    inputs = [*RECIPE_INPUTS, *(feeding(i) for i in range(1, feeds + 1))]
    return Motion(states(feeds), names(feeds), inputs, lambda v: _by_recipe(v, feeds, law, included_from))


PLANNED = ("water", "evaporated", "heat", "vapour heat", "steam", "travel", "merged")
PLAN_TELLS = (
    "volume", "brix", "supersaturation", "temperature", "crystal on massecuite", "crystal on solids", "mean size",
    "variation", "steam", "crystal", "steam rate",
)  # fmt: skip


@cache
def to_plan(feeds: int, law: str, included_from: str) -> Motion:
    """A strike by recipe without what a recipe is not planned by: colour, and false grain, which it keeps out."""
    whole = states(feeds)
    kept = [s for s in whole if s.name in PLANNED or s.name.startswith("fed ")]
    left_out = {s.name: 0.0 for s in whole if s not in kept}
    inputs = [*RECIPE_INPUTS, *(feeding(i) for i in range(1, feeds + 1))]

    def law_of(v: pan.Values) -> tuple[dict[str, Any], dict[str, Any]]:
        rates, told = _by_recipe({**v, **left_out}, feeds, law, included_from)
        return rates, {name: told[name] for name in PLAN_TELLS}

    return Motion(kept, names(feeds), inputs, law_of)


def _by_law(v: pan.Values, feeds: int, law: str, included_from: str) -> tuple[dict[str, Any], dict[str, Any]]:
    c = pan.contents(v, feeds)
    return _told(v, c, law_flows(v, c, feeds), law, included_from)


def law_flows(v: pan.Values, c: pan.Contents, feeds: int) -> pan.Flows:
    """What the control law lets in, from what stands in the pan and the inputs of a phase."""
    wanted = v["control.brix"] + _filled(v, c) * (v["control.brix_full"] - v["control.brix"])
    by_brix = pan.opened(c.brix - wanted, v["control.feed_band"])
    by_level = pan.opened(v["level"] - c.volume, LEVEL_BAND * v["pan.full"])
    valve = v["feeding"] * by_brix + v["holding level"] * by_level
    water = v["water on"] * pan.opened(c.supersaturation - v["control.water_at"], v["control.water_band"])
    surface = c.surface / (c.surface + v["control.surface_for_steam"])
    after = v["control.steam_seeded"] + surface * (v["control.steam_full"] - v["control.steam_seeded"])
    opening = 0.01 * (v["concentrating"] * v["control.steam_concentrating"] + v["steam by surface"] * after)
    return pan.Flows(
        [v[feeding(i)] * valve * v["control.feed_most"] / 60.0 for i in range(1, feeds + 1)],
        water * v["control.water_most"] / 60.0,
        opening,
        v["vapour.pressure"],
    )


def _filled(v: pan.Values, c: pan.Contents) -> Num:
    """How far the pan has filled above its footing, by the power chosen; smooth and near zero below it too."""
    share = (c.volume - v["pan.footing"]) / (v["pan.full"] - v["pan.footing"])
    return exp(v["control.bend"] * log(smooth_positive(share, 1e-3)))


def _by_recipe(v: pan.Values, feeds: int, law: str, included_from: str) -> tuple[dict[str, Any], dict[str, Any]]:
    c = pan.contents(v, feeds)
    rates = [v[feeding(i)] / 60.0 for i in range(1, feeds + 1)]
    return _told(v, c, pan.Flows(rates, v["water rate"] / 60.0, v["opening"], v["pressure"]), law, included_from)


def _told(
    v: pan.Values, c: pan.Contents, flows: pan.Flows, law: str, included_from: str
) -> tuple[dict[str, Num], dict[str, Num]]:
    """The rates, and everything that is shown of a strike or ends one of its phases."""
    through = pan.exchanged(v, c, flows.opening, flows.pressure)
    moments = c.all_grain
    third = moments[3] + SMALL
    mean = moments[4] / third
    variance = moments[5] / third / (mean * mean + SMALL) - 1.0
    total = c.total
    told = {
        "volume": c.volume,
        "massecuite": c.mass,
        "brix": c.brix,
        "purity": 100.0 * (c.sucrose + c.crystal) / total.solids,
        "liquor brix": c.liquor_brix,
        "liquor purity": c.liquor_purity,
        "supersaturation": c.supersaturation,
        "temperature": c.temperature,
        "boiling point": through.boiling,
        "crystal": c.crystal,
        "crystal on massecuite": 100.0 * c.crystal / c.mass,
        "crystal on solids": 100.0 * c.crystal / total.solids,
        "crystals": moments[0],
        "mean size": mean,
        "variation": 100.0 * sqrt(variance * variance + SMALL) ** 0.5,
        "false grain": 100.0 * grain.mass(c.false) / (c.crystal + SMALL),
        "false crystals": 100.0 * c.false[0] / (moments[0] + SMALL),
        "growth": pan.growth(v, c, law),
        "crystal surface": c.surface,
        "coefficient": through.coefficient,
        "opening": 100.0 * flows.opening,
        "steam rate": 60.0 * through.steam,
        "evaporation": 60.0 * through.vapour,
        "feed rate": 60.0 * sum(flows.feeds),
        "water rate in": 60.0 * flows.water,
        "steam": v["steam"],
        "evaporated": v["evaporated"],
        "fed": sum(v[f"fed {i}"] for i in range(1, len(flows.feeds) + 1)),
        "movement water": v["water"],
        "liquor colour": c.liquor_colour,
        "massecuite colour": c.massecuite_colour,
        "crystal colour": c.crystal_colour / (c.crystal + SMALL),
        "viscosity": c.liquor_viscosity,
        "water in pan": total.water,
        "sucrose in solution": c.sucrose,
        "non-sucrose": total.non_sucrose,
        "heat in pan": total.heat,
    }
    return pan.rates(v, c, flows, law, included_from), told
