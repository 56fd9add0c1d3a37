"""Vacuum, its water and its gas: condensers, cooling circuit, and juice carried over with vapour."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from canewright.engine import NotSolved, predict
from canewright.plant.plant import Plant, State
from canewright.properties.condensing import gas_drawn, tail_pipe_column
from canewright.properties.entrainment import greatest_vapour_velocity
from canewright.properties.steam import saturation_pressure, saturation_temperature
from plant.juice_side import TRACE, effects_in_series, flow, part, plant, station, worst_closure

BODY = [
    station("juice", "liquor supply", rate=60, dry_substance=50, temperature=85),
    station("vapour 4", "steam supply", pressure=60, superheat=0),
    station("river", "water supply", temperature=30),
]


def last_body(condenser: str, **settings: Any) -> Plant:
    """A last body of 1000 m² over a condenser of this kind."""
    body = station("body", "evaporator effect", area=1000, heat_transfer_coefficient=0.5)
    links = effects_in_series(["body"], "juice.liquor", "vapour 4.steam", "condenser") | {
        "condenser.water": "river.water"
    }
    return plant([*BODY, body, station("condenser", condenser, **settings)], links)


@cache
def usual() -> State:
    """The last body over a condenser at 15 kPa."""
    return last_body("condenser").predict()


def test_injection_water_by_hand() -> None:
    """Water W takes V of vapour from h to the tail pipe: W = V (h - h_out)/(h_out - h_in), with 4.18 kJ/kg K."""
    state = usual()
    vapour = state.stream("body.vapour")
    warm = part(state.stream("condenser.warm"), "temperature")
    assert warm == pytest.approx(float(saturation_temperature(15.0)) - 5.0, abs=1e-9)
    by_hand = part(vapour, "water") * (2599.0 + 1.9 * 3.2 - 4.18 * warm) / (4.18 * (warm - 30.0))
    assert flow(state, "river.water.1") == pytest.approx(by_hand, rel=0.005)
    assert worst_closure(state) <= 1e-9


def test_gas_and_the_volume_that_it_fills() -> None:
    """By hand: 50 kg/h of leaks, a gram on a kilogram of vapour, 20 mg on a kilogram of water; V = m R T/(p - p_s)."""
    state = usual()
    gas = 50.0 + 1.0 * flow(state, "body.vapour") + 0.020 * flow(state, "river.water.1")
    assert state.values["condenser.gas"] == pytest.approx(gas, rel=1e-9)
    volume = gas * 0.287 * (273.15 + 34.0) / (15.0 - float(saturation_pressure(34.0)))
    assert state.values["condenser.pump_volume"] == pytest.approx(volume, rel=1e-3)


def test_gas_leaving_beside_warm_water_fills_more() -> None:
    """In a parallel condenser the gas is as warm as the tail pipe; 5 K leave it little of the pressure."""
    parallel = last_body("condenser", gas_flow="parallel").predict()
    assert parallel.values["condenser.pump_volume"] > 2.5 * usual().values["condenser.pump_volume"]
    wide = last_body("condenser", gas_flow="parallel", approach=10.0).predict()
    assert wide.values["condenser.pump_volume"] < parallel.values["condenser.pump_volume"]


def test_published_gas_load_of_a_condenser() -> None:
    """5-8 kg of gas with a tonne of vapour (lecture slides on barometric columns of mills, read) fill a known volume.

    At 6.5 kg/t, 60 °C vapour (19.9 kPa) and gas at 34 °C: 6.5 · 0.287 · 307.15 / (19.9 - 5.3) = 39 m³ a tonne.
    """
    state = last_body("condenser", pressure=19.9, gas_in_vapour=6500, air_leak=0, gas_in_water=0).predict()
    ratio = state.values["condenser.pump_volume"] / flow(state, "body.vapour")
    assert ratio == pytest.approx(39.3, abs=0.3)


def test_water_in_the_tail_pipe() -> None:
    """10.34 m at perfect vacuum and 11 m of height (lecture notes on mill condensers, read); less at 15 kPa."""
    assert float(tail_pipe_column(0.0, 4.0, 101.325)) == pytest.approx(10.34, abs=0.01)
    assert usual().values["condenser.water_column"] == pytest.approx(86.3 / 9.807 / 0.989, rel=0.002)


def test_capacities_of_the_condenser() -> None:
    """A small pump and a short tail pipe are named."""
    case = last_body("condenser", pump_displacement=500.0, tail_pipe_height=8.0)
    view = case.assembly.stations["condenser"].bound(case.predict().values.__getitem__)
    assert all(float(used) > float(there) for _, used, there in view.capacities())


def test_the_pump_holds_the_vacuum() -> None:
    """With a pump of the volume that 15 kPa asks for, the pressure comes out as 15 kPa."""
    volume = usual().values["condenser.pump_volume"]
    state = last_body("condenser with vacuum pump", pump_displacement=volume).predict()
    assert state.measured("body.vapour", "pressure") == pytest.approx(15.0, abs=1e-6)
    assert flow(state, "river.water.1") == pytest.approx(flow(usual(), "river.water.1"), rel=1e-8)


@pytest.mark.parametrize(
    ("change", "sign"),
    [
        ({"condenser.air_leak": 150.0}, 1),
        ({"condenser.gas_in_vapour": 5000.0}, 1),
        ({"river.temperature": 33.0}, 1),
        ({"condenser.pump_displacement": 1200.0}, -1),
    ],
)
def test_what_costs_vacuum_costs_syrup(change: dict[str, float], sign: int) -> None:
    """Leaks, gas and warm water raise the pressure and weaken the syrup; a larger pump does the contrary."""
    case = last_body("condenser with vacuum pump", pump_displacement=900.0)
    before, after = case.predict(), case.predict(change)
    assert (after.values["condenser.pressure"] - before.values["condenser.pressure"]) * sign > 0.05
    stronger = [s.measured("body.concentrated", "dry substance") for s in (before, after)]
    assert (stronger[0] - stronger[1]) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_pump_and_gas_by_hand() -> None:
    """The pressure found is that at which the pump draws the gas that comes."""
    state = last_body("condenser with vacuum pump", pump_displacement=900.0).predict()
    drawn = float(gas_drawn(900.0, 34.0, state.values["condenser.pressure"]))
    assert drawn == pytest.approx(state.values["condenser.gas"], rel=1e-9)


@pytest.mark.parametrize("kind", ["condenser", "condenser with vacuum pump"])
def test_no_vapour_still_solves(kind: str) -> None:
    """A body that is shut and empty leaves a condenser that only draws its leaks."""
    case = last_body(kind)
    changes = {"juice.rate": 0.0, "body.in_service": 0.0}
    found = predict(case.model, case.first_estimate(case.settings(changes)))
    state = State(case.assembly, found.values, found.scaled, found.method)
    assert flow(state, "river.water.1") == pytest.approx(0.0, abs=1e-8)
    assert state.values["condenser.gas"] == pytest.approx(50.0, abs=1e-6)
    assert worst_closure(state) <= 1e-9


def test_warm_water_hotter_than_cold_can_make_it_is_refused() -> None:
    """Water from the river warmer than the tail pipe condenses nothing."""
    with pytest.raises(NotSolved):
        last_body("condenser").predict({"river.temperature": 55.0})


def circuit(**tower: Any) -> Plant:
    """Two bodies with a condenser each on one cooling tower; the river makes up."""
    stations = [*BODY, station("tower", "cooling tower", **tower)]
    links: dict[str, str | list[str]] = {"tower.makeup": "river.water", "outside.overflow": "tower.overflow"}
    for n in ("A", "B"):
        stations += [
            station(f"juice {n}", "liquor supply", rate=60, dry_substance=50, temperature=85),
            station(f"body {n}", "evaporator effect", area=1000, heat_transfer_coefficient=0.5),
            station(f"condenser {n}", "condenser"),
        ]
        links |= {
            f"body {n}.liquor": f"juice {n}.liquor", f"body {n}.steam": "vapour 4.steam",
            f"condenser {n}.vapours": f"body {n}.vapour", f"condenser {n}.water": "tower.cold",
            f"outside.syrup {n}": f"body {n}.concentrated", f"outside.drain {n}": f"body {n}.condensate",
        }  # fmt: skip
    links["tower.warm"] = ["condenser A.warm", "condenser B.warm"]
    del stations[0]
    return plant(stations, links)


def test_cooling_circuit_by_hand() -> None:
    """Heat and water of the loop by hand; what condenses and does not evaporate overflows."""
    state = circuit().predict()
    cold = [state.stream(f"tower.cold.{k}") for k in (1, 2)]
    assert [part(s, "temperature") for s in cold] == pytest.approx([30.0, 30.0], abs=1e-9)
    warm = [state.stream(f"condenser {n}.warm") for n in ("A", "B")]
    heat = sum(part(s, "water") * 4.18 * (part(s, "temperature") - 30.0) for s in warm)
    assert state.values["tower.cooling"] == pytest.approx(heat / 3.6, rel=0.002)
    evaporated = state.values["tower.evaporated"]
    assert evaporated == pytest.approx(0.85 * heat / 2430.0, rel=0.003)
    drift = 2e-4 * sum(part(s, "water") for s in warm)
    condensed = sum(flow(state, f"body {n}.vapour") for n in ("A", "B"))
    assert flow(state, "tower.overflow") == pytest.approx(condensed - evaporated - drift, rel=1e-6)
    assert worst_closure(state) <= 1e-9


def test_published_evaporation_of_cooling_towers() -> None:
    """0.00085 of the circulation for each °F (read second hand): the share of evaporation is 89 %, not all the heat."""
    state = circuit(latent_share=88.9).predict()
    warm = [state.stream(f"condenser {n}.warm") for n in ("A", "B")]
    rule = sum(0.00085 * part(s, "water") * 1.8 * (part(s, "temperature") - 30.0) for s in warm)
    assert state.values["tower.evaporated"] == pytest.approx(rule, rel=0.01)


@pytest.mark.parametrize(
    ("change", "stream", "quantity", "sign"),
    [
        ({"tower.wet_bulb": 27.0}, "tower.cold.1", "mass flow", 1),
        ({"tower.approach": 4.0}, "tower.cold.1", "mass flow", -1),
        ({"tower.latent_share": 95.0}, "tower.overflow", "mass flow", -1),
        ({"tower.makeup_flow": 10.0}, "tower.overflow", "mass flow", 1),
        ({"tower.drift": 0.2}, "tower.overflow", "mass flow", -1),
    ],
)
def test_cooling_answers_in_the_right_direction(
    change: dict[str, float], stream: str, quantity: str, sign: int
) -> None:
    """Damp air asks for more circulation; evaporation, drift and make-up move the overflow."""
    before, after = circuit().predict(), circuit().predict(change)
    assert (after.measured(stream, quantity) - before.measured(stream, quantity)) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_an_idle_circuit_solves() -> None:
    """Nothing condensed, nothing evaporated, nothing over."""
    case = circuit()
    changes = {f"juice {n}.rate": 0.0 for n in "AB"} | {f"body {n}.in_service": 0.0 for n in "AB"}
    found = predict(case.model, case.first_estimate(case.settings(changes)))
    state = State(case.assembly, found.values, found.scaled, found.method)
    assert flow(state, "tower.overflow") == pytest.approx(0.0, abs=1e-8)
    assert state.values["tower.evaporated"] == pytest.approx(0.0, abs=1e-8)
    assert worst_closure(state) <= 1e-9


def test_capacity_of_the_tower() -> None:
    """Heat against what the tower can take."""
    case = circuit(greatest_cooling=10000.0)
    view = case.assembly.stations["tower"].bound(case.predict().values.__getitem__)
    [(_, used, there)] = list(view.capacities())
    assert float(used) > float(there) == 10000.0


def separated(**settings: Any) -> Plant:
    """The last body with an entrainment separator before its condenser."""
    stations = [
        *BODY,
        station("body", "evaporator effect", area=1000, heat_transfer_coefficient=0.5),
        station("separator", "entrainment separator", **settings),
        station("condenser", "condenser"),
    ]
    links: dict[str, str | list[str]] = {
        "body.liquor": "juice.liquor", "body.steam": "vapour 4.steam", "separator.liquor": "body.concentrated",
        "separator.vapour": "body.vapour", "condenser.vapours": "separator.cleaned", "condenser.water": "river.water",
        "outside.syrup": "separator.kept", "outside.sugar lost": "separator.carried", "outside.warm": "condenser.warm",
        "outside.drain": "body.condensate",
    }  # fmt: skip
    return plant(stations, links)


def test_sugar_in_the_condensate_by_hand() -> None:
    """Velocity by the volume of vapour, juice by the cube of the velocity, sugar by the strength of the juice."""
    state = separated().predict()
    vapour = state.stream("body.vapour")
    volume = 8.314462618 / 18.015 * (part(vapour, "temperature") + 273.15) / 15.0  # ideal gas, 0.2 % off here
    velocity = part(vapour, "water") / 3.6 * volume / 20.0
    assert state.values["separator.velocity"] == pytest.approx(velocity, rel=0.005)
    kept = state.stream("separator.kept")
    density = 983.0 * (1 + 0.385 * part(kept, "dry_substance") / 100 * 1.2)  # round, 3 % off at most
    greatest = float(greatest_vapour_velocity(0.05, density, 1 / volume))
    juice = 200.0 * (velocity / greatest) ** 3
    assert state.values["separator.juice_on_vapour"] == pytest.approx(juice, rel=0.06)
    sugar = state.values["separator.juice_on_vapour"] * part(kept, "sucrose") / float(kept.flow)
    assert state.values["separator.sugar_in_condensate"] == pytest.approx(sugar, rel=1e-4)
    lost = part(state.stream("separator.carried"), "sucrose")
    assert 1e6 * lost / part(vapour, "water") == pytest.approx(sugar, rel=1e-4)
    assert worst_closure(state) <= 1e-9


@pytest.mark.parametrize(
    ("change", "sign"),
    [
        ({"separator.cross_section": 30.0}, -1),
        ({"separator.separator_constant": 0.1}, -1),
        ({"condenser.pressure": 10.0}, 1),
        ({"vapour 4.pressure": 66.0}, 1),
        ({"separator.carried_at_greatest": 400.0}, 1),
    ],
)
def test_what_carries_sugar_over(change: dict[str, float], sign: int) -> None:
    """Room and a mesh hold juice back; a deeper vacuum and a hotter calandria bring more sugar into the water."""
    before, after = separated().predict(), separated().predict(change)
    name = "separator.sugar_in_condensate"
    assert (after.values[name] - before.values[name]) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_pressure_drop_of_the_separator_costs_vacuum() -> None:
    """The body boils at the pressure of the condenser and the drop."""
    state = separated(pressure_drop=0.5).predict()
    assert state.measured("body.vapour", "pressure") == pytest.approx(15.5, abs=1e-8)


def test_capacities_of_the_separator() -> None:
    """A narrow body is too fast and brings more sugar than the limit."""
    case = separated(cross_section=2.5)
    view = case.assembly.stations["separator"].bound(case.predict().values.__getitem__)
    assert all(float(used) > float(there) for _, used, there in view.capacities())


def test_an_idle_separator_solves() -> None:
    """No vapour, no droplets, no sugar."""
    case = separated()
    found = predict(case.model, case.first_estimate(case.settings({"juice.rate": 0.0, "body.in_service": 0.0})))
    state = State(case.assembly, found.values, found.scaled, found.method)
    assert flow(state, "separator.carried") == pytest.approx(0.0, abs=1e-9)
    assert state.values["separator.sugar_in_condensate"] == pytest.approx(0.0, abs=1e-6)
    assert worst_closure(state) <= 1e-9


def test_water_carries_no_sugar() -> None:
    """Where the liquor is all but water, droplets bring nothing."""
    case = separated().predict({"juice.dry_substance": TRACE["dry_substance"]})
    assert case.values["separator.sugar_in_condensate"] < 0.01
