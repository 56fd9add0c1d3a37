"""Centrifugals: crystal lost, film left, moisture and colour, worked by hand."""

from __future__ import annotations

import math

import pytest

from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure


def spun(**settings: float) -> Plant:
    stations = {
        "massecuite": {"kind": "massecuite supply", "rate": 100, "suspended": 0.2},
        "water": {"kind": "water supply", "temperature": 80},
        "centrifugals": {"kind": "centrifugals", **settings},
    }
    return described(
        stations,
        {
            "centrifugals.massecuite": "massecuite.massecuite",
            "centrifugals.wash": "water.water",
            "outside.sugar": "centrifugals.sugar",
            "outside.molasses": "centrifugals.molasses",
        },
    )


def test_sugar_by_hand() -> None:
    """100 t/h of 8 % water, 87 and 70 purity: crystal (91.8)(17/30) = 52.02; wash 2 t takes 5 t, the screen 2 %.

    Film 4 % times exp(-25·2/52.02). Settings invented, arithmetic by hand.
    """
    state = spun().predict()
    sugar, came = of(state, "centrifugals.sugar"), of(state, "massecuite.massecuite")
    crystal = 91.8 * 17 / 30
    kept = crystal - 2.5 * 2.0 - 0.02 * crystal
    film = 0.04 * kept * math.exp(-25 * 2.0 / crystal)
    assert came.crystal == pytest.approx(crystal, rel=1e-9)
    assert sugar.crystal == pytest.approx(kept, rel=1e-9)
    assert sugar.dissolved == pytest.approx(film, rel=1e-7)
    assert 100 * sugar.sucrose / sugar.dissolved == pytest.approx(70.0, rel=1e-9)
    assert 100 * sugar.water / sugar.flow == pytest.approx(1.0, rel=1e-9)
    assert sugar.crystal_colour == pytest.approx(came.crystal_colour * kept / crystal, rel=1e-7)
    assert sugar.colour == pytest.approx(came.colour * film / came.dissolved, rel=1e-7)
    assert sugar.suspended == pytest.approx(0.05 * 0.2, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_more_wash_gives_paler_sugar_less_of_it_and_purer_molasses() -> None:
    plant = spun()
    steps = [plant.predict({"centrifugals.wash_on_massecuite": w}) for w in (0.5, 1.0, 2.0, 4.0)]
    colour = [number(s, "centrifugals.sugar", "icumsa_colour") for s in steps]
    sugar = [number(s, "centrifugals.sugar", "flow") for s in steps]
    purity = [number(s, "centrifugals.molasses", "purity") for s in steps]
    assert colour == sorted(colour, reverse=True)
    assert sugar == sorted(sugar, reverse=True)
    assert purity == sorted(purity)
    assert purity[0] > 70.0


def test_massecuite_without_crystal_and_no_massecuite_solve() -> None:
    liquor = spun(wash_on_massecuite=0).predict({"massecuite.purity": 70.0})
    assert number(liquor, "centrifugals.sugar", "solids") == pytest.approx(0.0, abs=1e-9)
    values = idle(spun(), massecuite__rate=0.0)
    assert values["centrifugals.molasses.water"] == pytest.approx(0.0, abs=1e-12)
    assert values["centrifugals.recovered"] == pytest.approx(1.0)


def test_capacity_is_what_the_machines_spin() -> None:
    state = spun(machines=4, charge=1.5, cycles=18).predict()
    station = state.assembly.stations["centrifugals"].bound(state.values.__getitem__)
    [(_, used, there)] = list(station.capacities())
    assert (used, there) == pytest.approx((100.0, 108.0))
