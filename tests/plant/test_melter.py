"""Melter and dilution tank: water, steam and heat for a set liquor."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure

STATIONS = {
    "affined": {"kind": "sugar supply", "rate": 55, "moisture": 1, "temperature": 60},
    "water": {"kind": "water supply", "temperature": 80},
    "steam": {"kind": "steam supply", "pressure": 150},
    "melter": {"kind": "melter", "dry_substance": 65, "temperature": 80, "heat_loss": 0},
}
CONNECTIONS = {
    "melter.sugar": "affined.sugar",
    "melter.water": "water.water",
    "melter.steam": "steam.steam",
    "outside.liquor": "melter.liquor",
}


def melting() -> Plant:
    return described(STATIONS, CONNECTIONS)


def test_liquor_and_water_by_hand() -> None:
    """55 t/h of 1 % moisture to 65 %: 54.45 / 0.65 = 83.769 t/h of liquor, 28.769 t/h of water with the steam."""
    state = melting().predict()
    added = number(state, "water.water.1", "water") + number(state, "steam.steam.1", "water")
    assert number(state, "melter.liquor", "flow") == pytest.approx(83.769, abs=5e-4)
    assert added == pytest.approx(28.769, abs=5e-4)
    assert number(state, "melter.liquor", "colour") == pytest.approx(number(state, "affined.sugar", "total_colour"))
    assert worst_closure(state) <= 1e-9


def test_steam_heats_and_dissolves() -> None:
    """Heat to warm the sugar from 60 to 80 °C and to dissolve it, given by steam that becomes water at 80 °C.

    Steam from an independent IAPWS-97; hot water already is at 80 °C (liquor law and IAPWS differ by 0.1 %).
    """
    state = melting().predict()
    came = of(state, "affined.sugar")
    crystal = came.crystal * (20 * (1.1358 + 0.0043 * 70) + 15.8 + 0.541 * 55 + 0.0016 * (80 * 80 - 625))
    film = 4.1868 * (came.water + came.dissolved) - 2.97 * came.dissolved + 0.46 * came.sucrose
    film = 20 * (film + 0.0075 * 70 * came.dissolved)
    steam = number(state, "steam.steam.1", "water")
    water = number(state, "water.water.1", "water")
    hot = IAPWS97(P=0.5, T=353.15).h
    given = steam * (IAPWS97(P=0.15, T=number(state, "steam.steam.1", "temperature") + 273.15).h - 80 * 4.1868)
    assert given == pytest.approx(crystal + film - water * (hot - 80 * 4.1868), rel=1e-4)


def test_too_much_sweet_water_is_refused_by_name() -> None:
    stations = {**STATIONS, "sweet": {"kind": "liquor supply", "rate": 60, "dry_substance": 10, "temperature": 70}}
    plant = described(stations, {**CONNECTIONS, "melter.sweet_water": "sweet.liquor"})
    with pytest.raises(NotSolved, match=r"water\.water\.1\.water would be -"):
        plant.predict()
    state = plant.predict({"sweet.rate": 10.0})
    assert number(state, "water.water.1", "water") < number(melting().predict(), "water.water.1", "water")
    assert worst_closure(state) <= 1e-9


def test_thinner_liquor_takes_more_water_and_colour_forms_as_set() -> None:
    plant = melting()
    base, thin = plant.predict(), plant.predict({"melter.dry_substance": 60.0})
    assert number(thin, "water.water.1", "water") > number(base, "water.water.1", "water")
    formed = plant.predict({"melter.colour_formed": 2.0})
    assert number(formed, "melter.liquor", "colour") == pytest.approx(1.02 * number(base, "melter.liquor", "colour"))
    assert idle(plant, affined__rate=0.0)["steam.steam.1.water"] == pytest.approx(0.0, abs=1e-12)


def test_dilution_tank_by_hand() -> None:
    """51.3852 t/h of molasses at 80.13 % to 72 %: solids 41.175, liquor 57.188, water 5.802 t/h."""
    stations = {
        "molasses": {"kind": "liquor supply", "rate": 51.3852, "dry_substance": 80.13, "suspended": 0},
        "water": {"kind": "water supply", "temperature": 70},
        "tank": {"kind": "dilution tank", "dry_substance": 72},
    }
    plant = described(
        stations, {"tank.feeds": "molasses.liquor", "tank.water": "water.water", "outside.liquor": "tank.liquor"}
    )
    state = plant.predict()
    assert number(state, "water.water.1", "water") == pytest.approx(51.3852 * (80.13 / 72 - 1), rel=1e-9)
    assert worst_closure(state) <= 1e-9
    assert idle(plant, molasses__rate=0.0)["tank.liquor.temperature"] == pytest.approx(68.0)


def test_molasses_is_held_until_its_grain_has_dissolved() -> None:
    """57.188 t/h of 72 % at 68 °C (1332.3 kg/m³ by SPS-4, read coefficients) for 20 min fill 14.308 m³, by hand."""
    stations = {
        "molasses": {"kind": "liquor supply", "rate": 51.3852, "dry_substance": 80.13, "suspended": 0},
        "water": {"kind": "water supply", "temperature": 70},
        "tank": {"kind": "dilution tank", "dry_substance": 72},
    }
    wiring = {"tank.feeds": "molasses.liquor", "tank.water": "water.water", "outside.liquor": "tank.liquor"}
    state = described(stations, wiring).predict()
    tank = state.assembly.stations["tank"].bound(state.values.__getitem__)
    [(_, held, there)] = list(tank.capacities())
    assert (held, there) == pytest.approx((14.308, 20.0), rel=1e-4)
