"""Liquid sugar: water and steam by hand, effect of the hold, ultraviolet dose and inversion."""

from __future__ import annotations

from typing import Any

import pytest

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from canewright.properties.sucrose import sucrose_density
from plant.boiling_house import described, idle, number, of, worst_closure

WHITE = {"kind": "sugar supply", "rate": 8, "moisture": 0.04, "purity": 99.97, "film_purity": 98, "colour": 25,
         "temperature": 35}  # fmt: skip
FINE = {"kind": "liquor supply", "rate": 4, "dry_substance": 70, "purity": 99.6, "suspended": 0, "colour": 120,
        "temperature": 75}  # fmt: skip


def made(fed: str = "both", **settings: Any) -> Plant:
    """Liquid sugar from refined sugar, fine liquor or both."""
    stations: dict[str, Any] = {
        "steam": {"kind": "steam supply", "pressure": 170, "superheat": 3},
        "water": {"kind": "water supply", "temperature": 40},
        "it": {"kind": "liquid sugar", **settings},
    }
    connections = {"it.water": "water.water", "it.steam": "steam.steam", "outside.liquid": "it.liquid",
                   "outside.condensate": "it.condensate"}  # fmt: skip
    if fed != "liquor":
        stations["white"] = WHITE
        connections["it.sugar"] = "white.sugar"
    if fed != "sugar":
        stations["fine"] = FINE
        connections["it.liquors"] = "fine.liquor"
    return described(stations, connections)


def test_water_for_the_strength_by_hand() -> None:
    """8 t/h of 0.04 % moisture to 67 %: 7.9968 · 33/67 - 0.0032 = 3.9356 t/h (worked by hand)."""
    state = made("sugar").predict()
    assert number(state, "water.water.1", "water") == pytest.approx(3.9356, abs=2e-4)
    assert number(state, "it.liquid", "dry_substance") == pytest.approx(67.0, rel=1e-9)
    assert number(state, "it.liquid", "icumsa_colour") == pytest.approx(25.0, rel=1e-4)
    assert worst_closure(state) <= 1e-9


@pytest.mark.parametrize("fed", ["sugar", "liquor", "both"])
def test_made_of_sugar_of_liquor_or_of_both(fed: str) -> None:
    state = made(fed).predict()
    assert worst_closure(state) <= 1e-9
    assert number(state, "it.liquid", "temperature") == pytest.approx(28.0, abs=1e-9)
    assert number(state, "steam.steam.1", "water") > 0.1 * (fed != "liquor")


def test_liquor_too_thin_is_refused_by_name() -> None:
    with pytest.raises(NotSolved, match=r"\(fine\.dry_substance to 67\.03 %\); .* heads for its limit of 0 t/h"):
        made("liquor").predict({"fine.dry_substance": 60.0})


def test_effect_of_the_hold_is_tenfold_for_each_seven_kelvin() -> None:
    """5 min at 80 °C are 5 · 10^(10/7) = 134 min at 70 °C (law of Bigelow, from memory; worked by hand)."""
    plant = made()
    assert plant.predict().values["it.pasteurisation"] == pytest.approx(5.0 * 10.0 ** (10.0 / 7.0), rel=1e-9)
    hotter = plant.predict({"it.hold_temperature": 87.0}).values["it.pasteurisation"]
    assert hotter == pytest.approx(50.0 * 10.0 ** (10.0 / 7.0), rel=1e-9)


def test_ultraviolet_dose_by_hand() -> None:
    """150 W/m² through 1 cm of one decade: mean 0.9/ln 10, for volume on flow (law of Beer, worked by hand)."""
    state = made("sugar").predict()
    flow = float(of(state, "it.liquid").flow) / (sucrose_density(67.0, 28.0) / 1000.0)
    dose = 150.0 * 0.9 / 2.302585 * 0.12 / flow * 3600.0
    assert state.values["it.dose"] == pytest.approx(dose, rel=1e-4)
    cloudy = made("sugar").predict({"it.absorption": 3.0})
    assert cloudy.values["it.dose"] < 0.4 * state.values["it.dose"]


def test_acid_or_long_hold_inverts() -> None:
    """One pH unit is ten times the inversion (Vukov 1965, from memory)."""
    plant = made("sugar")
    neutral, acid = plant.predict(), plant.predict({"it.ph": 6.0})
    assert acid.values["it.inverted"] == pytest.approx(10.0 * neutral.values["it.inverted"], rel=1e-3)
    longer = plant.predict({"it.hold": 10.0})
    assert longer.values["it.inverted"] == pytest.approx(2.0 * neutral.values["it.inverted"], rel=1e-4)
    gained = number(acid, "it.liquid", "reducing_sugars") - number(acid, "white.sugar", "reducing_sugars")
    assert gained == pytest.approx(1.05263e-3 * acid.values["it.inverted"], rel=1e-5)


def test_recuperation_saves_steam_and_cooling() -> None:
    plant = made("sugar")
    none, half = plant.predict(), plant.predict({"it.recuperation": 50.0})
    assert half.values["it.cooling"] == pytest.approx(0.5 * none.values["it.cooling"], rel=1e-4)
    assert number(half, "steam.steam.1", "water") < 0.7 * number(none, "steam.steam.1", "water")


def test_cold_hold_weak_lamp_and_strong_syrup_are_named() -> None:
    state = made(hold_temperature=60.0, irradiance=10.0, dry_substance=69.0, store_temperature=15.0).predict()
    limits = list(state.assembly.stations["it"].bound(state.values.__getitem__).capacities())
    assert len(limits) == 3
    assert all(float(used) > float(there) for _, used, there in limits)


def test_idle() -> None:
    values = idle(made(), white__rate=0.0, fine__rate=0.0)
    assert values["it.liquid.sucrose"] == pytest.approx(0.0, abs=1e-12)
    assert values["it.condensate.water"] == pytest.approx(0.0, abs=1e-9)
