"""Raw store, hopper and silo: stocks, hours in hand and the last moisture, by hand."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from math import exp, log
from typing import Any

import pytest

from canewright.plant.plant import Plant, State
from canewright.plant.streams import Massecuite
from plant.refinery_line import idle, solved
from plant.steam_plant import plant_of

WHITE: dict[str, Any] = {
    "kind": "sugar supply", "rate": 55.0, "moisture": 0.035, "purity": 99.95, "film_purity": 98.0, "colour": 40.0,
    "temperature": 40.0,
}  # fmt: skip


def _store(*, receipts: bool = True, **settings: Any) -> Plant:
    stations: dict[str, Mapping[str, Any]] = {"store": {"kind": "raw store", **settings}}
    connections: dict[str, Any] = {"outside.melt": "store.sugar"}
    if receipts:
        stations |= {"rake": {"kind": "sugar supply", "rate": 60.0}, "mill": {"kind": "sugar supply", "rate": 20.0}}
        connections["store.receipts"] = ["rake.sugar", "mill.sugar"]
    return plant_of(stations, connections)


@cache
def _plug(kind: str) -> Plant:
    """A hopper or a silo between a supply of sugar and the outside."""
    return plant_of({"white": WHITE, "it": {"kind": kind}}, {"it.sugar": "white.sugar", "outside.out": "it.sugar_out"})


def _sugar(state: State, name: str) -> Massecuite:
    stream = state.stream(name)
    assert isinstance(stream, Massecuite)
    return stream


def test_raw_store_gives_the_composition_of_the_stock() -> None:
    """46 t/h at 0.2 % moisture, 99.15 purity, film of 65 purity: film solids 0.85/0.35 on solids (worked by hand)."""
    state = solved(_store(rate=46.0, moisture=0.2, purity=99.15, film_purity=65.0, suspended=0.0, colour=1600.0))
    sugar = _sugar(state, "store.sugar")
    assert float(sugar.flow) == pytest.approx(46.0, rel=1e-12)
    assert float(sugar.water) == pytest.approx(0.092, rel=1e-12)
    assert float(sugar.dissolved) == pytest.approx(0.0085 / 0.35 * 45.908, rel=1e-9)
    assert float(sugar.icumsa_colour) == pytest.approx(1600.0, rel=1e-9)
    assert float(sugar.colour) == pytest.approx(0.6 * 1600.0 * 45.908, rel=1e-9)
    assert state.values["store.film_solids"] == pytest.approx(100.0 * float(sugar.dissolved) / 46.0, rel=1e-9)


def test_safety_factor_by_hand() -> None:
    """0.25 % moisture in sugar of 98.9 % sucrose: 0.25/(100 - 98.9) = 0.227 (worked by hand)."""
    state = solved(_store(moisture=0.25, suspended=0.0, purity=98.9 / 0.9975))
    assert state.values["store.safety_factor"] == pytest.approx(0.227, abs=0.0005)


def test_stock_and_hours_in_hand() -> None:
    """850 t at 46 t/h is 18.48 h; 80 t/h in and 46 out lays 34 t/h in stock (worked by hand)."""
    state = solved(_store(stock=850.0))
    assert state.values["store.residence"] == pytest.approx(18.48, abs=0.005)
    assert state.values["store.stock_change"] == pytest.approx(34.0, rel=1e-9)


def test_store_without_receipts_draws_its_stock() -> None:
    state = solved(_store(receipts=False))
    assert state.values["store.stock_change"] == pytest.approx(-46.0, rel=1e-9)


def test_more_film_colour_leaves_less_in_the_crystal() -> None:
    plant = _store(receipts=False)
    states = [solved(plant, {"store.colour_in_film": share}) for share in (40.0, 60.0, 80.0)]
    inside = [float(_sugar(state, "store.sugar").crystal_colour) for state in states]
    assert inside[0] > inside[1] > inside[2]


def test_idle_store() -> None:
    state = idle(_store(receipts=False), {"store.rate": 0.0})
    assert float(state.stream("store.sugar").flow) == pytest.approx(0.0, abs=1e-12)


def test_hopper_passes_sugar_as_it_came() -> None:
    state = solved(_plug("hopper"), {"it.stock": 850.0, "white.rate": 46.0})
    came, drawn = state.stream("white.sugar"), state.stream("it.sugar_out")
    for name in Massecuite.holds:
        assert float(getattr(drawn, name)) == pytest.approx(float(getattr(came, name)), rel=1e-9, abs=1e-12)
    assert state.values["it.residence"] == pytest.approx(18.48, abs=0.005)


def test_hopper_lays_in_stock_what_is_not_drawn() -> None:
    state = solved(_plug("hopper"), {"it.drawn": 80.0})
    assert state.values["it.stock_change"] == pytest.approx(11.0, rel=1e-9)
    assert solved(_plug("hopper"), {"it.drawn": 120.0}).values["it.stock_change"] == pytest.approx(-11.0, rel=1e-9)


@pytest.mark.parametrize(("hours", "stock"), [(24.0, 1320.0), (36.0, 1980.0)])
def test_silo_holds_rate_times_hours(hours: float, stock: float) -> None:
    """55 t/h for 24 and 36 h: 1,320 and 1,980 t (worked by hand)."""
    state = solved(_plug("silo"), {"it.stock": stock})
    assert state.values["it.residence"] == pytest.approx(hours, rel=3e-4)


def test_silo_releases_moisture() -> None:
    """0.035 to 0.020 % in 36 h with a final 0.018 takes k = 0.05945 1/h, half of it in 11.66 h (worked by hand)."""
    rate = log((0.035 - 0.018) / (0.020 - 0.018)) / 36.0
    assert rate == pytest.approx(0.05945, abs=5e-6)
    assert log(2.0) / rate == pytest.approx(11.66, abs=0.005)
    state = solved(_plug("silo"), {"it.release_rate": rate, "it.stock": 1980.0, "it.final_moisture": 0.018})
    sugar = _sugar(state, "it.sugar_out")
    assert 100.0 * float(sugar.water) / float(sugar.flow) == pytest.approx(0.020, abs=2e-5)
    assert state.values["it.moisture_released"] == pytest.approx(1000.0 * 55.0 * 0.00015, rel=2e-3)


def test_moisture_given_to_the_air_is_not_stock() -> None:
    state = solved(_plug("silo"))
    assert state.values["it.stock_change"] == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.moisture_released"] > 1.0
    assert solved(_plug("silo"), {"it.drawn": 90.0}).values["it.stock_change"] == pytest.approx(5.5, rel=1e-9)


def test_air_for_the_silo() -> None:
    """5.5 kg/h of water taken up at 2 g/kg wants 2,750 kg/h of dry air (worked by hand)."""
    state = solved(_plug("silo"))
    assert state.values["it.air_needed"] == pytest.approx(2750.0 / 5.5 * state.values["it.moisture_released"], rel=1e-9)


def test_longer_in_the_silo_is_drier() -> None:
    plant = _plug("silo")
    sooner, later = solved(plant, {"it.stock": 500.0}), solved(plant, {"it.stock": 1500.0})
    assert float(later.stream("it.sugar_out").water) < float(sooner.stream("it.sugar_out").water)
    for state in (sooner, later):
        assert float(state.stream("it.sugar_out").water) == pytest.approx(_by_the_law(state), rel=1e-9)


def _by_the_law(state: State) -> float:
    """Water that leaves by the law, with moisture on dry sugar."""
    came, v = _sugar(state, "white.sugar"), state.values
    dry = float(came.flow - came.water)
    final = 0.018 / 100.0 * dry
    return final + (float(came.water) - final) * exp(-0.06 * v["it.residence"])


@pytest.mark.parametrize("kind", ["hopper", "silo"])
def test_idle(kind: str) -> None:
    state = idle(_plug(kind), {"white.rate": 0.0})
    assert float(state.stream("it.sugar_out").flow) == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.stock_change"] == pytest.approx(0.0, abs=1e-9)
