"""Carbonatation: lime, gas and chalk by molar masses, colour by dose, and heat taken by wet gas."""

from __future__ import annotations

from math import exp

import psychrolib
import pytest

from plant.refinery_line import alone, colour, idle, liquor, solved

WORKED = {"lime_dose": 0.6, "lime_left": 0.0, "strength": 10.0, "first_absorbs": 100.0, "second_absorbs": 100.0}


def test_chalk_and_gas_by_molar_masses() -> None:
    """0.6 % CaO on 55 t/h solids: 330 kg/h CaO, 259.0 CO2, 589.0 CaCO3, 1,319 m³/h of 10 % gas (worked by hand)."""
    state = solved(alone("carbonatation", **WORKED))
    assert state.values["it.lime"] == pytest.approx(330.0, rel=1e-9)
    assert state.values["it.absorbed"] == pytest.approx(259.0, abs=0.05)
    assert state.values["it.chalk"] == pytest.approx(589.0, abs=0.05)
    assert state.values["it.first_gas"] + state.values["it.second_gas"] == pytest.approx(1319.0, abs=0.5)
    assert float(liquor(state, "it.carbonated").suspended) == pytest.approx(0.589, abs=5e-5)


def test_chalk_weighs_what_lime_and_gas_lose() -> None:
    """Lime in is chalk, less the carbon dioxide that the gas lost, and what stays dissolved (conservation of mass)."""
    state = solved(alone("carbonatation"))
    v = state.values
    # molar masses to three decimals leave one part in a hundred thousand: 56.077 + 44.009 against 100.087
    assert v["it.chalk"] - v["it.absorbed"] + 0.01 * v["it.lime"] == pytest.approx(v["it.lime"], rel=2e-5)
    gas, off = state.stream("flue.air.1"), state.stream("it.gas_out")
    assert float(gas.dry_air - off.dry_air) == pytest.approx(1e-3 * v["it.absorbed"], rel=1e-9)
    risen = float(liquor(state, "it.carbonated").ash) - float(liquor(state, "melt.liquor").ash)
    assert risen == pytest.approx(1e-5 * v["it.lime"], rel=1e-6)


def test_gas_follows_its_strength_and_what_each_saturator_absorbs() -> None:
    """90 % of the lime at 65 % absorbed, 10 % at 45 %: 1,319 (0.9/0.65 + 0.1/0.45) m³/h (worked by hand)."""
    state = solved(alone("carbonatation", **WORKED | {"first_absorbs": 65.0, "second_absorbs": 45.0}))
    assert state.values["it.first_gas"] == pytest.approx(1319.0 * 0.9 / 0.65, rel=1e-4)
    assert state.values["it.second_gas"] == pytest.approx(1319.0 * 0.1 / 0.45, rel=1e-4)
    stronger = solved(alone("carbonatation"), {"it.strength": 30.0})
    usual = solved(alone("carbonatation"))
    assert stronger.values["it.first_gas"] == pytest.approx(usual.values["it.first_gas"] / 3.0, rel=1e-9)


def test_milk_of_lime_brings_its_water() -> None:
    """330 kg/h of CaO in milk of 12 %: 2.42 t/h of water (worked by hand)."""
    state = solved(alone("carbonatation", **WORKED))
    assert float(state.stream("hot.water.1").flow) == pytest.approx(0.33 * 88.0 / 12.0, rel=1e-9)


def test_colour_follows_the_saturating_law() -> None:
    """40-60 % of the colour goes (from memory); at 0.6 % with 0.35 characteristic 0.82 of the greatest (by hand)."""
    state = solved(alone("carbonatation"))
    assert state.values["it.colour_removal"] == pytest.approx(60.0 * (1.0 - exp(-0.6 / 0.35)), rel=1e-12)
    assert 40.0 < state.values["it.colour_removal"] < 60.0
    assert colour(state, "it.carbonated") == pytest.approx(1000.0 * (1.0 - 0.6 * (1.0 - exp(-0.6 / 0.35))), rel=2e-4)


def test_more_lime_less_colour_more_chalk() -> None:
    plant = alone("carbonatation")
    states = [solved(plant, {"it.lime_dose": d}) for d in (0.0, 0.3, 0.6, 1.2)]
    colours = [colour(s, "it.carbonated") for s in states]
    assert colours == sorted(colours, reverse=True)
    assert len(set(colours)) == len(colours)
    chalk = [s.values["it.chalk"] for s in states]
    assert chalk == sorted(chalk)
    assert colours[0] == pytest.approx(1000.0, rel=1e-9)


def test_gas_leaves_saturated_and_cools_the_liquor() -> None:
    """Humidity of the gas off against PsychroLib (ASHRAE 2017 equations); more gas cools more."""
    state = solved(alone("carbonatation"))
    off = state.stream("it.gas_out")
    warm = float(liquor(state, "it.carbonated").temperature)
    assert float(off.temperature) == pytest.approx(warm, abs=1e-9)
    psychrolib.SetUnitSystem(psychrolib.SI)
    saturated = psychrolib.GetSatHumRatio(warm, 101325.0)
    # PsychroLib takes the saturation pressure of ASHRAE, this model that of IAPWS-IF97: 0.2 % apart near 75 °C
    assert float(off.water) / float(off.dry_air) == pytest.approx(saturated, rel=5e-3)
    weaker = solved(alone("carbonatation"), {"it.strength": 7.0})
    assert float(liquor(weaker, "it.carbonated").temperature) < warm < 80.0


def test_heat_of_carbonatation_warms() -> None:
    """2,590 kJ/kg on 259 kg/h is 186 kW (114 kJ/mol from standard enthalpies, from memory)."""
    state = solved(alone("carbonatation", **WORKED))
    station = state.assembly.stations["it"].bound(state.values.__getitem__)
    (heat,) = (x.amount for x in station.exchanges() if x.name == "heat of carbonatation")
    assert float(heat) / 3.6 == pytest.approx(186.3, abs=0.2)


def test_alkali_destroys_reducing_sugars_and_no_sucrose() -> None:
    state = solved(alone("carbonatation", sugars_destroyed=5.0))
    fed, out = liquor(state, "melt.liquor"), liquor(state, "it.carbonated")
    assert float(out.sucrose) == pytest.approx(float(fed.sucrose), rel=1e-12)
    assert float(out.reducing_sugars) == pytest.approx(0.95 * float(fed.reducing_sugars), rel=1e-12)
    assert float(out.other) == pytest.approx(float(fed.other) + 0.05 * float(fed.reducing_sugars), rel=1e-12)


def test_saturators_too_small_are_named() -> None:
    state = solved(alone("carbonatation", volume=10.0))
    ((_, held, there),) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(held) == pytest.approx(65.9 * 40.0 / 60.0, rel=2e-3)
    assert float(held) > float(there)


def test_idle() -> None:
    state = idle(alone("carbonatation"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.carbonated").flow) == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.chalk"] == pytest.approx(0.0, abs=1e-9)
