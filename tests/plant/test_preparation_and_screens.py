"""Preparation, juice screen and bagacillo screen, by hand and by usual ranges."""

from __future__ import annotations

from math import exp
from typing import Any

import pytest

from canewright.plant.plant import Plant, State
from plant.extraction_plants import solved, standing
from plant.steam_plant import BAGASSE, plant_of


def preparation(**settings: Any) -> Plant:
    """Cane through knives and shredder."""
    stations: dict[str, dict[str, Any]] = {
        "cane": {"kind": "cane supply", "rate": 400},
        "grid": {"kind": "grid"},
        "it": {"kind": "cane preparation", **settings},
    }
    return plant_of(stations, {"it.cane": "cane.cane", "it.power": "grid.power", "outside.prepared": "it.prepared"})


def limits(state: State) -> dict[str, float]:
    """Use of each capacity of the station ``it``."""
    station = state.assembly.stations["it"].bound(state.values.__getitem__)
    return {said: float(used / there) for said, used, there in station.capacities()}


# --- preparation ------------------------------------------------------------------------------------------------------


def test_power_and_warmth_by_hand() -> None:
    """50 kW for each of 56 t/h of fibre is 2,800 kW: 10,080 MJ/h into 400 t/h of cane, less what is lost."""
    state = solved(preparation())
    assert state.values["grid.power.power"] == pytest.approx(2800.0, rel=1e-12)
    gained = float(state.stream("it.prepared").enthalpy_flow) - float(state.stream("cane.cane").enthalpy_flow)
    lost = 3.6 * 0.5 * (state.values["it.prepared.temperature"] - 30.0)
    assert gained == pytest.approx(10_080.0 - lost, rel=1e-9)
    assert limits(state)["preparation power within the installed power"] == pytest.approx(0.56)


@pytest.mark.parametrize(("power", "low", "high"), [(15.0, 60.0, 75.0), (35.0, 80.0, 92.0), (60.0, 85.0, 92.5)])
def test_index_in_the_usual_ranges(power: float, low: float, high: float) -> None:
    """60-75 after knives at 10-20 kW, 85-92 after a heavy-duty shredder at 35-60 (common practice, from memory)."""
    state = solved(preparation(specific_power=power))
    assert low <= state.measured("it.prepared", "preparation index") <= high
    assert state.measured("it.prepared", "preparation index") == pytest.approx(100.0 - 45.0 * exp(-power / 35.0))


def test_worn_hammers_open_less_with_the_same_power() -> None:
    sharp, worn = (
        solved(preparation(opening_power=e)).measured("it.prepared", "preparation index") for e in (35.0, 50.0)
    )
    assert worn < sharp


def test_preparation_at_rest() -> None:
    standing(preparation())


# --- juice screen -----------------------------------------------------------------------------------------------------


def screen(**settings: Any) -> Plant:
    """Two raw juices over a screen."""
    raw = {"kind": "juice supply", "rate": 200.0, "fibre": 0.8, "suspended": 0.4}
    stations = {
        "first": raw,
        "second": {**raw, "rate": 150.0, "fibre": 1.2},
        "it": {"kind": "juice screen", **settings},
    }
    return plant_of(
        stations,
        {"it.raw": ["first.juice", "second.juice"], "outside.juice": "it.screened", "outside.back": "it.caught"},
    )


def test_screen_by_hand() -> None:
    """3.4 t/h of fibre: 90 % is 3.06, with 4 t of juice on each: 12.24 t/h; 15 % of 1.4 t/h of soil: 0.21."""
    state = solved(screen())
    caught = state.stream("it.caught")
    assert float(caught.fibre) == pytest.approx(3.06, rel=1e-9)
    assert float(caught.water + caught.dissolved) == pytest.approx(12.24, rel=1e-9)
    assert float(caught.suspended) == pytest.approx(0.21, rel=1e-9)
    assert state.measured("it.caught", "true purity") == pytest.approx(state.measured("it.screened", "true purity"))
    assert state.measured("it.caught", "dry substance") == pytest.approx(state.measured("it.screened", "dry substance"))


def test_a_small_screen_floods() -> None:
    used = limits(solved(screen(area=5.0)))["juice within what the screen lets through"]
    assert used == pytest.approx(4.0 * limits(solved(screen()))["juice within what the screen lets through"], rel=1e-9)
    assert used > 1.0


def test_a_screen_at_rest() -> None:
    state = screen().predict({"first.rate": 0.0, "second.rate": 0.0})
    assert abs(state.values["it.caught.water"]) < 1e-9
    assert state.values["it.screened.temperature"] == pytest.approx(30.0, abs=1e-3)


# --- bagacillo --------------------------------------------------------------------------------------------------------


def bagacillo(**settings: Any) -> Plant:
    """Bagasse of the reference case over a bagacillo screen."""
    stations = {"bagasse": BAGASSE, "it": {"kind": "bagacillo screen", **settings}}
    return plant_of(
        stations, {"it.bagasse": "bagasse.juice", "outside.filters": "it.bagacillo", "outside.fuel": "it.rest"}
    )


def test_bagacillo_has_the_composition_of_the_bagasse() -> None:
    """2.2 of 118.8 t/h, as in the worked reference case (own): 5.5 kg for each of 400 t/h of cane."""
    state = solved(bagacillo(share=100 * 2.2 / 118.8286), {"bagasse.rate": 118.8286})
    assert float(state.stream("it.bagacillo").flow) == pytest.approx(2.2, rel=1e-9)
    assert float(state.stream("it.bagacillo").fibre) == pytest.approx(1.0293, abs=5e-5)
    assert state.measured("it.bagacillo", "moisture") == pytest.approx(state.measured("it.rest", "moisture"))


def test_no_more_is_drawn_than_passes_the_screen() -> None:
    """25 % of fines, half of which pass: 12.5 % of the fibre."""
    assert limits(solved(bagacillo(share=12.5)))["bagacillo within the fines that pass the screen"] == pytest.approx(
        1.0
    )
    assert limits(solved(bagacillo(share=20.0)))["bagacillo within the fines that pass the screen"] > 1.0


def test_a_bagacillo_screen_at_rest() -> None:
    state = bagacillo().predict({"bagasse.rate": 0.0})
    assert abs(state.values["it.bagacillo.fibre"]) < 1e-12
