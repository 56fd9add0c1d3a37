"""Dust scrubber: dust, water and loss by hand."""

from __future__ import annotations

from functools import cache

import pytest

from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, worst_closure


@cache
def scrubber() -> Plant:
    """Refined sugar whose dust is caught."""
    stations = {
        "white": {"kind": "sugar supply", "rate": 50, "moisture": 0.04, "purity": 99.95, "film_purity": 98,
                  "colour": 30, "temperature": 45},
        "cold": {"kind": "water supply", "temperature": 28},
        "it": {"kind": "dust scrubber"},
    }  # fmt: skip
    connections = {"it.sugar": "white.sugar", "it.water": "cold.water", "outside.sugar": "it.passed",
                   "outside.stack": "it.lost", "outside.sweet": "it.sweet_water"}  # fmt: skip
    return described(stations, connections)


def test_dust_loss_and_water_by_hand() -> None:
    """0.5 % of 50 t/h is 250 kg/h; 99.5 % caught loses 1.25 kg/h; to 12 % takes 7.33 t water for each t (by hand)."""
    state = scrubber().predict()
    assert number(state, "it.passed", "flow") == pytest.approx(49.75, rel=1e-12)
    assert number(state, "it.lost", "flow") == pytest.approx(0.00125, rel=1e-9)
    solids = 0.25 * 0.995 * 0.9996
    assert number(state, "it.sweet_water", "sucrose") == pytest.approx(solids * 0.9995, rel=1e-9)
    water = solids * 88.0 / 12.0 - 0.25 * 0.995 * 0.0004
    assert number(state, "cold.water.1", "water") == pytest.approx(water, rel=1e-9)
    assert number(state, "it.sweet_water", "icumsa_colour") == pytest.approx(30.0, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_more_dust_more_sweet_water_better_catch_less_lost() -> None:
    plant = scrubber()
    base, dustier, better = (plant.predict(c) for c in ({}, {"it.dust": 1.0}, {"it.caught": 99.9}))
    assert number(dustier, "cold.water.1", "water") > number(base, "cold.water.1", "water")
    assert number(better, "it.lost", "crystal") < number(base, "it.lost", "crystal")


def test_idle() -> None:
    values = idle(scrubber(), white__rate=0.0)
    assert values["it.sweet_water.sucrose"] == pytest.approx(0.0, abs=1e-12)
