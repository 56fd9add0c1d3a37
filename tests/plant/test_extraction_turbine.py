"""Extraction turbine: a textbook problem, both expansions against an independent steam library, the governor."""

from __future__ import annotations

from typing import Any

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from plant.steam_plant import CONNECTIONS, STATIONS, plant_of, solved

HOURLY = 3.6


def _plant(live: float, temperature: float, between: float, **settings: Any) -> Plant:
    """A set on given live steam with all that is extracted blown off, so that its flow is the one set."""
    stations: dict[str, dict[str, Any]] = {
        "live": {"kind": "steam supply", "given": "temperature", "pressure": live, "temperature": temperature},
        "river": {"kind": "water supply", "temperature": 28.0},
        "spray": {"kind": "water supply", "temperature": 90.0},
        "set": {"kind": "extraction turbine", **settings},
        "let-down": {"kind": "let-down"},
        "range": {"kind": "exhaust range", "pressure": between},
    }
    connections = {
        "set.steam": "live.steam", "let-down.steam": "live.steam", "let-down.water": "spray.water",
        "set.water": "river.water", "range.exhausts": "set.extraction", "range.let_down": "let-down.reduced",
        "outside.process": "range.blow_off", "outside.power": "set.power", "outside.condensate": "set.condensate",
        "outside.warm": "set.warm",
    }  # fmt: skip
    stations["juice"] = {"kind": "liquor supply", "rate": 1.0, "temperature": 60.0}
    stations["heater"] = {"kind": "liquor heater", "temperature": 70.0}
    connections |= {
        "heater.liquor": "juice.liquor",
        "heater.vapour": "range.branches",
        "outside.juice": "heater.heated",
    }
    return plant_of(stations, {**connections, "outside.drips": "heater.condensate"})


TEXTBOOK = {
    "extracted": 1.5 * HOURLY, "condensed": 13.5 * HOURLY, "pressure": 20.0, "isentropic_efficiency": 88.0,
    "tail_efficiency": 88.0, "mechanical_efficiency": 100.0, "generator_efficiency": 100.0,
}  # fmt: skip


def _power(efficiency: float) -> float:
    """Power of the textbook set, kW, section by section by the iapws library."""
    live = IAPWS97(T=773.15, P=6.0)
    between = live.h - efficiency * (live.h - IAPWS97(P=1.2, s=live.s).h)
    half = IAPWS97(P=1.2, h=between)
    fall = efficiency * (half.h - IAPWS97(P=0.02, s=half.s).h)
    return float(15.0 * (live.h - between) + 13.5 * fall)


def test_textbook_set() -> None:
    """6 MPa, 500 °C, 15 kg/s; a tenth extracted at 1.2 MPa, the rest to 20 kPa; 88 %.

    Source: Çengel and Boles, Thermodynamics: an engineering approach, problems of chapter 7; statement read, answers
    16,291 kW ideal and 14,336 kW (0.88 of it) from memory. Section by section the second regains some of the friction
    of the first, so the real one is 1.8 % above that product.
    """
    assert _power(1.0) == pytest.approx(16291.0, rel=2e-3)
    power = solved(_plant(6000.0, 500.0, 1200.0, **TEXTBOOK)).values["set.power.power"]
    assert power == pytest.approx(_power(0.88), rel=1e-4)
    assert power == pytest.approx(14336.0, rel=2e-2)
    assert power > 14336.0


def test_nothing_to_the_condenser_is_a_back_pressure_turbine() -> None:
    """The worked expansion: 531.88 kJ/kg from 45 bar and 440 °C to 2.3 bar at 78 % (own figures, read)."""
    state = solved(_plant(4500.0, 440.0, 230.0, extracted=100.0, condensed=0.0))
    shaft = state.values["set.power.power"] / 0.95 / 0.96
    assert 3600.0 * shaft / 100000.0 == pytest.approx(531.88, abs=0.05)


def test_more_to_the_condenser_more_power_and_cooling_water() -> None:
    plant = _plant(4500.0, 440.0, 230.0)
    less, more = (solved(plant, {"set.condensed": c}) for c in (20.0, 60.0))
    assert more.values["set.power.power"] > less.values["set.power.power"]
    assert more.stream("river.water.1").flow == pytest.approx(3.0 * float(less.stream("river.water.1").flow), rel=1e-6)


def test_higher_extraction_pressure_gives_less_power() -> None:
    plant = _plant(4500.0, 440.0, 230.0)
    low, high = (solved(plant, {"range.pressure": p}).values["set.power.power"] for p in (200.0, 280.0))
    assert high < low


def test_extraction_follows_the_process() -> None:
    """On a governed range the extraction is what the users take, and the condenser keeps its flow."""
    stations = {k: v for k, v in STATIONS.items() if k != "turbine"} | {
        "set": {
            "kind": "extraction turbine", "admission": "follows exhaust", "most_extracted": 120.0, "condensed": 30.0,
            "wide_open_pressure": 230.0,
        },
        "range": {"kind": "exhaust range", "pressure_is": "governed", "pressure": 230.0, "most_exhaust": 120.0},
        "river": {"kind": "water supply", "temperature": 28.0},
    }  # fmt: skip
    connections = {k: v for k, v in CONNECTIONS.items() if not str(v).startswith("turbine") and "turbine" not in k}
    connections |= {
        "set.steam": "main.branches", "set.water": "river.water", "range.exhausts": "set.extraction",
        "outside.power": "set.power", "outside.warm": "set.warm", "deaerator.condensates": "set.condensate",
    }  # fmt: skip
    plant = plant_of(stations, connections)
    for rate in (200.0, 500.0):
        state = solved(plant, {"juice.rate": rate})
        users = sum(float(state.stream(f"range.branches.{i}").flow) for i in (1, 2))
        assert state.stream("set.extraction").flow == pytest.approx(users, abs=5e-3)
        assert state.stream("set.condensate").flow == pytest.approx(30.0, rel=1e-9)


def test_limits_of_cogeneration_are_named() -> None:
    state = solved(_plant(4500.0, 440.0, 230.0, condensed=5.0))
    bound = state.assembly.stations["set"].bound(state.values.__getitem__)
    beyond = [sentence for sentence, used, there in bound.capacities() if float(used) > float(there)]
    assert beyond == ["least steam to the condenser within what it gets"]


def test_wet_extraction_is_refused_by_name() -> None:
    with pytest.raises(NotSolved, match="extraction_superheat"):
        _plant(4500.0, 300.0, 230.0, isentropic_efficiency=88.0).predict()


def test_set_that_stands_gives_nothing() -> None:
    state = solved(_plant(4500.0, 440.0, 230.0, extracted=0.0, condensed=0.0))
    assert abs(state.values["set.power.power"]) < 1e-9
    assert abs(state.stream("river.water.1").flow) < 1e-9
