"""Feed pump, desuperheater, hot well, diversion of condensate, drives in proportion, and the losses of the stack."""

from __future__ import annotations

from typing import Any

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from plant.steam_plant import CONNECTIONS, STATIONS, plant_of, solved, steam_plant

# --- feed pump -------------------------------------------------------------------------------------------------------


def pumped(**settings: Any) -> Plant:
    """The small steam plant with its feedwater lifted by a pump of its own."""
    stations = {
        **STATIONS, "deaerator": {"kind": "deaerator", "pressure": 145.0}, "pump": {"kind": "feed pump", **settings},
        "board": {"kind": "power board"}, "grid": {"kind": "grid"},
    }  # fmt: skip
    connections = {k: v for k, v in CONNECTIONS.items() if k not in {"boiler.feedwater", "let-down.water"}} | {
        "pump.water": "deaerator.feedwater", "boiler.feedwater": "pump.delivered", "let-down.water": "pump.delivered",
        "pump.power": "board.branches", "board.imported": "grid.power", "outside.export": "board.exported",
    }  # fmt: skip
    return plant_of({k: v for k, v in stations.items() if k != "spray"}, connections)


def test_work_of_the_feed_pump_by_hand() -> None:
    """Volume times rise of pressure on the efficiencies, volume and end point by the iapws library."""
    state = solved(pumped())
    water, warm = state.stream("deaerator.feedwater"), state.stream("pump.delivered.1")
    volume = IAPWS97(T=383.15, P=0.145).v
    work = float(water.flow) / 3.6 * volume * (6000.0 - 145.0)
    assert state.values["board.branches.1.power"] == pytest.approx(work / 0.72 / 0.94, rel=1e-4)
    after = IAPWS97(P=6.0, h=IAPWS97(T=383.15, P=0.145).h + volume * (6000.0 - 145.0) / 0.72)
    assert float(warm.temperature) == pytest.approx(after.T - 273.15, abs=0.01)


def test_better_pump_takes_less_power_and_warms_less() -> None:
    plant = pumped()
    worse, better = (solved(plant, {"pump.pump_efficiency": e}) for e in (60.0, 80.0))
    assert better.values["board.branches.1.power"] < worse.values["board.branches.1.power"]
    assert better.stream("pump.delivered.1").temperature < worse.stream("pump.delivered.1").temperature


def test_idle_pump_takes_no_power() -> None:
    state = solved(pumped(), {"turbine.steam_flow": 0.0, "juice.rate": 0.0, "bagasse.rate": 0.0})
    assert state.values["board.branches.1.power"] < 1.0


# --- desuperheater ---------------------------------------------------------------------------------------------------


def sprayed(**settings: Any) -> Plant:
    """A heater on superheated steam that is sprayed before it."""
    stations: dict[str, dict[str, Any]] = {
        "steam": {"kind": "steam supply", "pressure": 239.3691, "superheat": 35.0},
        "feedwater": {"kind": "water supply", "temperature": 98.0},
        "spray": {"kind": "desuperheater", **settings},
        "juice": {"kind": "liquor supply", "rate": 400.0, "dry_substance": 15.0, "temperature": 30.0},
        "heater": {"kind": "liquor heater"},
    }
    connections = {
        "spray.steam": "steam.steam", "spray.water": "feedwater.water", "heater.vapour": "spray.cooled",
        "heater.liquor": "juice.liquor", "outside.juice": "heater.heated", "outside.condensate": "heater.condensate",
    }  # fmt: skip
    return plant_of(stations, connections)


def test_spray_water_by_hand() -> None:
    """Water = steam (h - h cooled) / (h cooled - h water) by the iapws library.

    With 5 K left the worked case prints 2724.5 kJ/kg, saturated steam and 1.9 kJ/kg for each kelvin (own, read).
    """
    state = solved(sprayed(superheat=5.0))
    boiling = IAPWS97(P=0.2393691, x=1).T
    came, left = (IAPWS97(T=boiling + k, P=0.2393691).h for k in (35.0, 5.0))
    assert left == pytest.approx(2724.5, abs=1.0)
    water = IAPWS97(T=371.15, P=0.5).h
    ratio = state.stream("feedwater.water.1").flow / state.stream("steam.steam.1").flow
    assert ratio == pytest.approx((came - left) / (left - water), rel=1e-4)
    assert state.stream("spray.cooled").pressure == pytest.approx(239.3691, rel=1e-12)


def test_steam_with_no_superheat_to_take_is_refused_by_name() -> None:
    with pytest.raises(NotSolved, match=r"feedwater\.water\.1\.water"):
        sprayed(superheat=60.0).predict()


def test_idle_spray_passes_nothing() -> None:
    state = solved(sprayed(), {"juice.rate": 0.0})
    assert abs(float(state.stream("feedwater.water.1").flow)) < 1e-9


# --- blowdown --------------------------------------------------------------------------------------------------------


def test_blowdown_flashes_into_the_exhaust() -> None:
    """Boiling water of 45 bar let down to the heater's steam gives (h' - h'low) / (h"low - h'low) of itself (iapws)."""
    stations = {**STATIONS, "pot": {"kind": "flash pot"}}
    connections = {k: v for k, v in CONNECTIONS.items() if k != "outside.blowdown"} | {
        "pot.vapour": "range.branches", "heater.vapour": "pot.joined", "pot.condensates": "boiler.blowdown",
        "outside.blowdown": "pot.condensate",
    }  # fmt: skip
    state = solved(plant_of(stations, connections))
    high, low, dry = IAPWS97(P=4.5, x=0).h, IAPWS97(P=0.23, x=0).h, IAPWS97(P=0.23, x=1).h
    blown, left = state.stream("boiler.blowdown").flow, state.stream("pot.condensate").flow
    assert 1.0 - float(left / blown) == pytest.approx((high - low) / (dry - low), rel=2e-3)


# --- hot well --------------------------------------------------------------------------------------------------------


def well(**settings: Any) -> Plant:
    """A hot well fed by a heater's condensate, from which a second juice is diluted and a mill washed."""
    stations: dict[str, dict[str, Any]] = {
        "steam": {"kind": "steam supply", "pressure": 170.0},
        "juice": {"kind": "liquor supply", "rate": 400.0, "dry_substance": 15.0, "temperature": 30.0},
        "heater": {"kind": "liquor heater"},
        "fresh": {"kind": "water supply", "temperature": 25.0},
        "well": {"kind": "hot well", "heat_loss": 0.0, **settings},
        "cane": {"kind": "cane supply", "rate": 50.0},
        "imbibition": {"kind": "imbibition", "on_fibre": 200.0},
    }
    connections = {
        "heater.vapour": "steam.steam", "heater.liquor": "juice.liquor", "outside.juice": "heater.heated",
        "well.condensates": "heater.condensate", "well.make_up": "fresh.water", "imbibition.source": "well.branches",
        "imbibition.cane": "cane.cane", "outside.cane": "imbibition.passed", "outside.water": "imbibition.water",
        "outside.surplus": "well.surplus",
    }  # fmt: skip
    return plant_of(stations, connections)


@pytest.mark.parametrize("rate", [0.0, 50.0, 150.0, 173.0, 180.0, 400.0, 1000.0])
def test_well_is_made_up_or_runs_over(rate: float) -> None:
    """Make-up times surplus is a quarter of the square of 0.05 t/h, whichever side the well is on."""
    state = solved(well(), {"cane.rate": rate})
    made_up, over = (float(state.stream(n).flow) for n in ("fresh.water.1", "well.surplus"))
    assert made_up * over == pytest.approx(0.000625, rel=1e-6)
    condensed, drawn = (float(state.stream(n).flow) for n in ("heater.condensate", "well.branches.1"))
    assert over - made_up == pytest.approx(condensed - drawn, abs=1e-9)


def test_cold_make_up_cools_the_well() -> None:
    plant = well()
    rich, poor = (solved(plant, {"cane.rate": r}).stream("well.surplus").temperature for r in (50.0, 1000.0))
    assert rich == pytest.approx(115.1, abs=0.2), "condensate at 170 kPa"
    assert poor < 80.0


def test_heat_lost_by_hand() -> None:
    """20 kW for each kelvin above 30 °C is what the water gives up, liquid enthalpies at 500 kPa (iapws)."""
    state = solved(well(heat_loss=20.0))
    came, left = state.stream("heater.condensate"), state.stream("well.surplus")
    fall = IAPWS97(T=float(came.temperature) + 273.15, P=0.5).h - IAPWS97(T=float(left.temperature) + 273.15, P=0.5).h
    assert float(came.flow) * fall / 3.6 == pytest.approx(20.0 * (float(left.temperature) - 30.0), rel=1e-3)


def test_empty_well_solves() -> None:
    state = solved(well(), {"cane.rate": 0.0, "juice.rate": 0.0})
    assert float(state.stream("well.surplus").flow) == pytest.approx(0.025, rel=1e-6)


# --- diversion -------------------------------------------------------------------------------------------------------


def diverting(**settings: Any) -> Plant:
    """Exhaust condensate past a sugar test to the deaerator of the small steam plant, the rest to a drain."""
    connections = {k: v for k, v in CONNECTIONS.items() if k != "outside.condensate"} | {
        "test.condensate": "heater.condensate", "deaerator.condensates": "test.to_boilers",
        "outside.drain": "test.diverted",
    }  # fmt: skip
    return plant_of({**STATIONS, "test": {"kind": "condensate diversion", **settings}}, connections)


@pytest.mark.parametrize(("sugar", "share"), [(2.0, 0.0), (15.0, 0.0), (20.0, 0.5), (25.0, 1.0), (400.0, 1.0)])
def test_sugar_turns_the_condensate_away(sugar: float, share: float) -> None:
    state = solved(diverting(), {"test.sugar": sugar})
    assert state.values["test.share"] == pytest.approx(share, abs=1e-4)
    diverted, came = state.stream("test.diverted").flow, state.stream("heater.condensate").flow
    assert float(diverted) == pytest.approx(share * float(came), abs=1e-2)


def test_diverted_condensate_is_made_up_and_costs_steam() -> None:
    plant = diverting()
    clean, sweet = (solved(plant, {"test.sugar": s}) for s in (1.0, 100.0))
    assert sweet.stream("water.water.1").flow > clean.stream("water.water.1").flow + 40.0
    assert sweet.stream("store.reclaimed").flow > clean.stream("store.reclaimed").flow


# --- drives in proportion --------------------------------------------------------------------------------------------


def test_power_in_proportion_to_cane_steam_and_water() -> None:
    """13 kWh/t cane, 7 kWh/t steam, 0.06 kWh/t water (worked by hand); what passes is unchanged."""
    stations: dict[str, dict[str, Any]] = {
        "cane": {"kind": "cane supply", "rate": 400.0},
        "house": {"kind": "power use by cane", "specific_power": 13.0},
        "steam": {"kind": "steam supply", "pressure": 170.0},
        "fans": {"kind": "power use by steam"},
        "juice": {"kind": "liquor supply", "rate": 400.0, "dry_substance": 15.0, "temperature": 30.0},
        "heater": {"kind": "liquor heater"},
        "river": {"kind": "water supply"},
        "pumps": {"kind": "power use by water"},
        "imbibition": {"kind": "imbibition", "on_fibre": 220.0},
        "board": {"kind": "power board"},
        "grid": {"kind": "grid"},
    }
    connections = {
        "house.cane": "cane.cane", "imbibition.cane": "house.passed", "outside.cane": "imbibition.passed",
        "fans.steam": "steam.steam", "heater.vapour": "fans.passed", "heater.liquor": "juice.liquor",
        "outside.juice": "heater.heated", "outside.condensate": "heater.condensate",
        "pumps.water": "river.water", "imbibition.source": "pumps.passed", "outside.water": "imbibition.water",
        **{f"{n}.power": "board.branches" for n in ("house", "fans", "pumps")},
        "board.imported": "grid.power", "outside.export": "board.exported",
    }  # fmt: skip
    state = solved(plant_of(stations, connections))
    steam = float(state.stream("heater.condensate").flow)
    found = [state.values[f"board.branches.{i}.power"] for i in (1, 2, 3)]
    assert found == pytest.approx([5200.0, 7.0 * steam, 0.06 * 123.2], rel=1e-9)
    assert state.stream("fans.passed").pressure == pytest.approx(170.0)
    assert state.stream("house.passed").fibre == pytest.approx(56.0)


# --- losses of the stack ---------------------------------------------------------------------------------------------


def test_stack_loses_its_share_a_day() -> None:
    """20,000 t at 0.04 % a day: 0.3333 t/h (worked by hand), off the stock beside what is burnt."""
    usual = solved(steam_plant())
    lossy = solved(steam_plant(), {"store.stock": 20000.0, "store.loss": 0.04})
    assert lossy.values["store.lost"] == pytest.approx(8.0 / 24.0, rel=1e-9)
    assert lossy.values["store.stock_change"] == pytest.approx(
        usual.values["store.stock_change"] - 8.0 / 24.0, rel=1e-9
    )


def test_room_and_reclaimers_are_limits() -> None:
    state = solved(steam_plant(), {"store.stock": 70000.0, "store.reclaim_rate": 50.0})
    bound = state.assembly.stations["store"].bound(state.values.__getitem__)
    assert all(float(used) > float(there) for _, used, there in bound.capacities())
