"""A refinery off season: oil and stacked bagasse raise its steam, the grid gives what its turbine lacks.

Invented figures; what holds is worked by hand from balances.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from canewright.plant.balance import amount
from canewright.plant.plant import Plant, State

PLANT = Path(__file__).with_name("off_season_refinery.toml")


@cache
def refinery() -> Plant:
    """The refinery as described."""
    return Plant.read(PLANT)


@cache
def usual() -> State:
    """As described, solved."""
    return refinery().predict()


def flow(state: State, stream: str) -> float:
    """Flow of a stream, t/h."""
    return float(state.stream(stream).flow)


def test_bagasse_is_drawn_as_far_as_allowed_and_oil_gives_the_rest() -> None:
    state = usual()
    assert flow(state, "bagasse store.reclaimed") == pytest.approx(6.0, abs=1e-3)
    heat = state.values["boiler.heat_fired"] * 3.6
    oil = float(state.stream("oil.fuel.1").combustion_heat)
    assert oil / heat == pytest.approx(0.27, abs=0.02)
    assert state.method == "newton"


def test_stack_shrinks_by_what_is_burnt_but_for_the_rain_and_by_its_loss() -> None:
    """6 t/h with 3 % of rain, and 0.03 % a day of 30,000 t (worked by hand)."""
    lost = 30000.0 * 0.03 / 100.0 / 24.0
    assert usual().values["bagasse store.stock_change"] == pytest.approx(-6.0 * 0.97 - lost, abs=1e-3)


def test_grid_gives_what_the_turbine_lacks() -> None:
    state = usual()
    pump = state.values["board.branches.1.power"]
    made, bought = state.values["turbine.power.power"], state.values["grid.power.power"]
    assert made + bought == pytest.approx(3500.0 + pump, abs=1e-3)
    assert state.values["board.exported.power"] * bought == pytest.approx(1.0, rel=1e-6)


@pytest.mark.parametrize("demand", [0.0, 1000.0, 1395.0, 1400.0, 2000.0])
def test_import_and_export_exclude_each_other_on_both_sides(demand: float) -> None:
    state = refinery().predict({"refinery power.demand": demand}, start=usual())
    sent, bought = state.values["board.exported.power"], state.values["grid.power.power"]
    assert sent * bought == pytest.approx(1.0, rel=1e-6)
    net = state.values["turbine.power.power"] - state.values["board.branches.1.power"] - demand
    assert sent - bought == pytest.approx(net, abs=1e-6)


def test_without_bagasse_all_steam_is_of_oil() -> None:
    state = refinery().predict({"boiler.most_bagasse": 0.0})
    assert flow(state, "bagasse store.reclaimed") == pytest.approx(0.0, abs=1e-6)
    oil = float(state.stream("oil.fuel.1").combustion_heat)
    assert oil == pytest.approx(3.6 * state.values["boiler.heat_fired"], rel=1e-6)
    assert state.values["boiler.efficiency"] > usual().values["boiler.efficiency"]


def test_with_bagasse_enough_no_oil_burns() -> None:
    state = refinery().predict({"boiler.most_bagasse": 60.0})
    assert flow(state, "oil.fuel.1") < 1e-4


def test_sugar_in_condensate_goes_to_hot_water_and_town_water_feeds_the_boiler() -> None:
    sweet = refinery().predict({"sugar test.sugar": 200.0})
    assert flow(sweet, "town water.water.1") > flow(usual(), "town water.water.1") + 12.0
    assert flow(sweet, "town water.water.2") < flow(usual(), "town water.water.2") - 12.0
    assert flow(sweet, "oil.fuel.1") > flow(usual(), "oil.fuel.1")


def test_water_of_the_whole_circuit_closes() -> None:
    """Town water in; blowdown, blown off steam, surplus and what the sugar took out (mass by hand)."""
    state = usual()
    took = sum(flow(state, n) for n in ("hot water.branches.1", "hot water.branches.2"))
    direct = flow(state, "exhaust range.branches.1")
    out = sum(flow(state, n) for n in ("boiler.blowdown", "exhaust range.blow_off", "hot water.surplus"))
    came = sum(flow(state, f"town water.water.{i}") for i in (1, 2))
    assert came == pytest.approx(took + direct + out, rel=1e-9)


def test_whole_site_energy_closes() -> None:
    state = usual()
    assert max(c.relative for c in state.closures) <= 1e-9
    bound = [s.bound(state.values.__getitem__) for s in state.assembly.stations.values() if not s.boundary]
    given = {x.prefix for s in bound for x in s.leaving}
    taken = {x.prefix for s in bound for x in s.entering}
    came = sum(float(amount(x, "energy")) for s in bound for x in s.entering if x.prefix not in given)
    left = sum(float(amount(x, "energy")) for s in bound for x in s.leaving if x.prefix not in taken)
    gained = sum(float(x.amount) for s in bound for x in s.exchanges() if x.what == "energy")
    assert came + gained == pytest.approx(left, rel=1e-9)


def test_refinery_that_stands_solves() -> None:
    """Only what leaks through valves of the range and the wells is raised."""
    state = refinery().predict({"raw sugar.rate": 0.0, "refinery power.demand": 0.0})
    assert flow(state, "boiler.steam") < 0.2
    assert flow(state, "centrifugals.sugar") == pytest.approx(0.0, abs=1e-9)


def test_more_melt_more_oil_and_less_bought_power_for_each_tonne() -> None:
    less, more = (refinery().predict({"raw sugar.rate": r}, start=usual()) for r in (35.0, 50.0))
    assert flow(more, "oil.fuel.1") > flow(less, "oil.fuel.1")
    assert more.values["grid.power.power"] < less.values["grid.power.power"]
