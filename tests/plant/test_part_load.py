"""Part load: the straight steam line of a turbine against a worked example, and how a set answers below it."""

from __future__ import annotations

import pytest

from canewright.analysis.combustion import part_load_efficiency
from plant.steam_plant import CONNECTIONS, STATIONS, plant_of, solved

EXAMPLE = {100: 10.0, 75: 10.1667, 50: 10.5, 25: 11.5}
"""Load in %: steam rate in lb/kWh of a set of 100 MW, 1,000,000 lb/h at full and 50,000 lb/h at no load.

Source: Handbook of Energy Engineering Calculations, page 76, steam rate 50/L + 9.5 (statement and equation read, the
rates worked from it).
"""


@pytest.mark.parametrize(("load", "rate"), EXAMPLE.items())
def test_steam_rate_of_the_published_example(load: int, rate: float) -> None:
    """Steam on power at a load: full rate on the efficiency that is left."""
    steam = (50.0 + 9.5 * load) / 1000.0
    assert 10.0 / part_load_efficiency(steam, 0.05) == pytest.approx(rate, rel=1e-3)


def test_line_is_straight_and_has_a_round_foot() -> None:
    """Worked by hand: power is (x - n) / (1 - n) of full; at the foot and at rest it is all but nothing."""
    for load in (0.4, 0.6, 0.8, 1.0):
        assert load * part_load_efficiency(load, 0.1) == pytest.approx((load - 0.1) / 0.9, rel=1e-3)
    assert 0.1 * part_load_efficiency(0.1, 0.1) < 0.005
    assert part_load_efficiency(0.0, 0.1) < 0.002


def test_set_at_half_steam_gives_less_than_half_power() -> None:
    turbine = {**STATIONS["turbine"], "part_load": "straight steam line", "no_load_steam": 10.0, "swallow": 150.0}
    plant = plant_of({**STATIONS, "turbine": turbine}, CONNECTIONS)
    full, half, none = (
        solved(plant, {"turbine.steam_flow": f, "turbine.isentropic_efficiency": 70.0}).values["turbine.power.power"]
        for f in (150.0, 75.0, 0.0)
    )
    assert half / full == pytest.approx((0.5 - 0.1) / 0.9, rel=1e-3)
    assert abs(none) < 1e-6


def test_rating_is_a_limit() -> None:
    state = solved(plant_of(STATIONS, CONNECTIONS))
    bound = state.assembly.stations["turbine"].bound(state.values.__getitem__)
    limits = {sentence: (float(used), float(there)) for sentence, used, there in bound.capacities()}
    assert limits["power within the rating of the generator"][0] == pytest.approx(state.values["turbine.power.power"])
    assert limits["steam within what the turbine swallows"] == pytest.approx((135.0415, 150.0))
