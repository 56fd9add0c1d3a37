"""Drives: mills, shredder and feed pump turned by steam or by electricity."""

from __future__ import annotations

from typing import Any

import pytest
from iapws import IAPWS97

from canewright.plant.plant import Plant, State
from plant.steam_plant import plant_of, solved

CANE = {"kind": "cane supply", "rate": 400.0}
PREPARED: dict[str, Any] = {
    "cane": CANE, "preparation": {"kind": "cane preparation"}, "mill": {"kind": "mill", "specific_power": 55.0},
}  # fmt: skip
MILLED: dict[str, Any] = {
    "preparation.cane": "cane.cane", "mill.feed": "preparation.prepared", "outside.bagasse": "mill.bagasse",
    "outside.juice": "mill.juice",
}  # fmt: skip


def by_steam(**settings: Any) -> Plant:
    """Shredder and mill on one turbine; its exhaust is blown off or let down for a heater."""
    stations: dict[str, dict[str, Any]] = {
        **PREPARED,
        "live": {"kind": "steam supply", "given": "temperature", "pressure": 4500.0, "temperature": 440.0},
        "spray": {"kind": "water supply", "temperature": 90.0},
        "turbine": {"kind": "drive turbine", "isentropic_efficiency": 62.0, **settings},
        "let-down": {"kind": "let-down"},
        "range": {"kind": "exhaust range", "pressure": 239.3691},
        "syrup": {"kind": "liquor supply", "rate": 10.0, "temperature": 60.0},
        "heater": {"kind": "liquor heater", "temperature": 70.0},
    }
    connections = {
        **MILLED,
        "preparation.power": "turbine.shafts", "mill.power": "turbine.shafts",
        "turbine.steam": "live.steam", "let-down.steam": "live.steam", "let-down.water": "spray.water",
        "range.exhausts": "turbine.exhaust", "range.let_down": "let-down.reduced", "heater.liquor": "syrup.liquor",
        "heater.vapour": "range.branches", "outside.over": "range.blow_off", "outside.syrup": "heater.heated",
        "outside.condensate": "heater.condensate",
    }  # fmt: skip
    return plant_of(stations, connections)


def by_motor(**settings: Any) -> Plant:
    """The same on motors, bought from the grid."""
    stations = {
        **PREPARED, "drive": {"kind": "electric drive", **settings}, "board": {"kind": "power board"},
        "grid": {"kind": "grid"},
    }  # fmt: skip
    connections = {
        **MILLED,
        "preparation.power": "drive.shafts", "mill.power": "drive.shafts", "drive.power": "board.branches",
        "board.imported": "grid.power", "outside.export": "board.exported",
    }  # fmt: skip
    return plant_of(stations, connections)


def taken(state: State) -> float:
    """Shaft power of shredder and mill, kW: 50 and 55 kW for each of the 56 t/h of fibre (worked by hand)."""
    power = sum(float(state.values[n]) for n in state.values if n.endswith(".power") and ".shafts." in n)
    assert power == pytest.approx(56.0 * (50.0 + 55.0), rel=1e-9)
    return power


def test_steam_of_a_shredder_turbine() -> None:
    """45 bar, 440 °C to 239.37 kPa at 62 %: exhaust 2882.08 kJ/kg (own figures, read), steam by the iapws library."""
    state = solved(by_steam(mechanical_efficiency=98.0))
    exhaust = state.stream("turbine.exhaust")
    assert float(exhaust.enthalpy_flow / exhaust.flow) == pytest.approx(2882.0806, abs=0.05)
    live = IAPWS97(T=713.15, P=4.5)
    fall = 0.62 * (live.h - IAPWS97(P=0.2393691, s=live.s).h)
    assert float(exhaust.flow) == pytest.approx(3.6 * taken(state) / (0.98 * fall), rel=1e-4)


def test_worse_gear_and_higher_exhaust_take_more_steam() -> None:
    plant = by_steam()
    usual, gear, range_ = (
        float(solved(plant, c).stream("turbine.exhaust").flow)
        for c in ({}, {"turbine.mechanical_efficiency": 90.0}, {"range.pressure": 300.0})
    )
    assert gear == pytest.approx(usual * 95.0 / 90.0, rel=1e-6)
    assert range_ > usual


def test_straight_steam_line_takes_more_at_part_load() -> None:
    """At a third of its swallow a turbine with a tenth of no-load steam has 0.78 of its efficiency (worked by hand)."""
    line = {"part_load": "straight steam line", "no_load_steam": 10.0, "swallow": 150.0}
    flat, falling = (float(solved(by_steam(**s)).stream("turbine.exhaust").flow) for s in ({"swallow": 150.0}, line))
    load = falling / 150.0
    assert flat / falling == pytest.approx((load - 0.1) / 0.9 / load, rel=2e-3)
    assert load < 0.6


def test_motors_lose_what_their_efficiencies_say() -> None:
    """Shaft power on 0.94 and 0.96 (worked by hand), bought from the grid."""
    state = solved(by_motor())
    assert state.values["board.branches.1.power"] == pytest.approx(taken(state) / 0.94 / 0.96, rel=1e-9)
    assert state.values["grid.power.power"] == pytest.approx(taken(state) / 0.94 / 0.96, abs=1e-3)


def test_import_and_rating_are_limits() -> None:
    state = solved(by_motor(rating=6000.0))
    limits = {
        sentence: float(used) - float(there)
        for name in ("drive", "board")
        for sentence, used, there in state.assembly.stations[name].bound(state.values.__getitem__).capacities()
    }
    assert limits["power within the rating of the motors"] > 0
    assert limits["power imported within what the line gives"] < 0


@pytest.mark.parametrize("made", [by_steam, by_motor])
def test_no_cane_takes_no_power(made: Any) -> None:
    state = solved(made(), {"cane.rate": 0.0})
    shafts = [n for n in state.values if ".shafts." in n]
    assert sum(abs(float(state.values[n])) for n in shafts) < 1e-9
