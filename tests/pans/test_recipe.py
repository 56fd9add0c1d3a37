"""Recipes: within their limits, better than the strike as described, and what they say of their limits."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from canewright.pans import card
from canewright.pans.description import StrikeRefused
from canewright.pans.recipe import MARGIN, Recipe, recipe
from pans.strikes import described


@cache
def found(name: str, aim: str = "time", **changes: float) -> Recipe:
    """A recipe, kept once found."""
    return recipe(described(name, **changes), aim)


@pytest.mark.parametrize(("name", "aim"), [("refined", "time"), ("refined", "steam"), ("raw-a", "time")])
def test_a_recipe_keeps_every_limit_and_is_better_than_the_strike_as_described(name: str, aim: str) -> None:
    one = found(name, aim)
    v, before = one.strike.values, one.before
    assert one.driven.miss < 1e-7
    assert one.parts < 2e-3
    rows = [row.told for row in one.rows]
    assert max(row["volume"] for row in rows) <= v["pan.full"] + 1e-3
    assert min(row["volume"] for row in rows) >= v["pan.least"] - 1e-3
    assert max(row["supersaturation"] for row in rows) <= v["false_grain.limit"] - MARGIN + 1e-6
    assert all(0.0 <= row.feed <= v["control.feed_most"] + 1e-6 for row in one.rows)
    assert all(v["vapour.least_pressure"] - 1e-6 <= row.pressure for row in one.rows)
    assert one.after["mean size"] >= v["drop.size"] * (1.0 - 1e-3)
    assert one.after["brix"] == pytest.approx(v["drop.brix"], abs=0.1)
    assert one.after["massecuite"] >= 0.99 * before.end["massecuite"]
    assert one.after["false grain"] < 1e-3
    if aim == "time":
        assert one.time < 0.95 * before.times[-1]
    else:
        assert one.after["steam"] < 0.99 * before.end["steam"]
        assert one.after["steam"] <= found(name).after["steam"] + 1e-3


def test_the_price_of_the_brix_is_what_a_recipe_for_more_brix_takes() -> None:
    price = next(by for says, by in found("refined").prices().items() if "brix" in says)
    step = 0.05
    up, down = (_to_brix(89.5 + s) for s in (step, -step))
    assert price == pytest.approx((up - down) / (2.0 * step), rel=0.03)


def _to_brix(brix: float) -> float:
    """Time of a recipe to a brix that must drop what the strike of 89.5 % drops."""
    from canewright.engine.collocation import best
    from canewright.pans import motion
    from canewright.pans.recipe import BY, SEEDS, _begin, _stages
    from canewright.quantity import noting_breaches

    base = found("refined")
    strike = base.strike.with_values({"drop.brix": brix})
    planned = motion.to_plan(1, "power", "mother liquor")
    mass = base.strike.values["seed.mass"]
    with noting_breaches():
        driven = best(
            planned, strike.values, _stages(strike, base.before), _begin(base.before, planned), {"time": BY["time"]},
            {"seed.mass": (SEEDS[0] * mass, SEEDS[1] * mass)},
        )  # fmt: skip
    return driven.value / BY["time"]


def test_the_answer_to_a_setting_is_what_a_recipe_with_it_gains() -> None:
    base, step = found("refined"), 0.01
    told = base.answers()["growth.rate"]
    up = _with_rate(50.0 * (1.0 + step))
    assert told == pytest.approx(up - base.driven.value / 0.01, rel=0.05)


def _with_rate(rate: float) -> float:
    from canewright.engine.collocation import best
    from canewright.pans import motion
    from canewright.pans.recipe import BY, SEEDS, _begin, _stages
    from canewright.quantity import noting_breaches

    base = found("refined")
    planned, mass = motion.to_plan(1, "power", "mother liquor"), base.strike.values["seed.mass"]
    with noting_breaches():
        driven = best(
            planned, {**base.strike.values, "growth.rate": rate}, _stages(base.strike, base.before),
            _begin(base.before, planned), {"time": BY["time"]}, {"seed.mass": (SEEDS[0] * mass, SEEDS[1] * mass)},
        )  # fmt: skip
    return driven.value / BY["time"]


def test_the_card_says_what_to_set_and_warns() -> None:
    text = card.text(found("refined"))
    assert text.startswith("Recipe card: refined strike (refined), least time")
    assert "confined space" in text
    assert "Seed 1.0" in text or "Seed 9" in text
    assert len({len(line) for line in text.splitlines() if line.lstrip().startswith("fill 1")}) == 1
    assert np.all(np.diff([row.until for row in card.steps(found("refined"))]) > 0.0)


def test_what_cannot_be_reached_is_named() -> None:
    with pytest.raises(
        StrikeRefused, match=r"no recipe was found within the limits .* at the end of tighten: variation"
    ):
        recipe(described("refined", drop__most_variation=15.0))
    with pytest.raises(StrikeRefused, match="aim: found 'money'; accepted: time or steam"):
        recipe(described("refined"), "money")
