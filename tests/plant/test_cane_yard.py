"""Cane yard: hours, sucrose lost, water taken up and dried off, by hand and by published losses."""

from __future__ import annotations

from functools import cache
from math import exp, log
from typing import Any

import pytest

from canewright.plant.plant import Plant, State
from canewright.plant.streams import Liquor
from plant.extraction_plants import solved, standing
from plant.steam_plant import plant_of


@cache
def yard(**settings: Any) -> Plant:
    """400 t/h of cane through a yard."""
    stations = {"cane": {"kind": "cane supply", "rate": 400}, "yard": {"kind": "cane yard", **settings}}
    return plant_of(stations, {"yard.receipts": "cane.cane", "outside.crushed": "yard.crushed"})


def sucrose_lost(state: State) -> float:
    """Sucrose lost, units of % cane on the cane received."""
    v = state.values
    return 100.0 * (v["cane.cane.sucrose"] - v["yard.crushed.sucrose"]) / 400.0


def test_hours_by_hand() -> None:
    """2,000 t at 400 t/h are 5 h; with 8 h before, 13 h from cutting to crushing."""
    v = solved(yard()).values
    assert v["yard.hours_in_yard"] == pytest.approx(5.0, rel=1e-6)
    assert v["yard.delay"] == pytest.approx(13.0, rel=1e-6)
    assert v["yard.stock_change"] == pytest.approx(0.0, abs=1e-9)


def test_loss_over_a_commercial_chain() -> None:
    """1.2 units of sucrose % cane over a mean of 40 h from burning to milling: 0.030 an hour.

    Larrahondo, Briceño, Rojas and Palma, Sugar Tech 8(4) (2006) 233-238 (read). Fitted: the rate, from 13.4 % cane.
    """
    rate = -log(1.0 - 1.2 / 13.4) / 40.0
    state = solved(yard(loss_rate=rate, temperature=20, hours_before=35, drying=0))
    assert sucrose_lost(state) == pytest.approx(1.2, rel=1e-6)
    assert sucrose_lost(state) / state.values["yard.delay"] == pytest.approx(0.030, rel=1e-6)


@pytest.mark.parametrize("rate", [0.0004, 0.0008, 0.0012])
def test_usual_rates_lose_what_was_found_in_the_field(rate: float) -> None:
    """Usual rates at 27 °C lose 0.008-0.03 units an hour; 0.010-0.023 was found in the field (same paper, read)."""
    state = solved(yard(loss_rate=rate))
    assert 0.008 < sucrose_lost(state) / state.values["yard.delay"] < 0.03


def test_inversion_takes_up_water() -> None:
    """One tonne of sucrose at one per cent: 0.010526 t of invert with 0.000526 t of water (own, molar masses)."""
    rate = -log(0.99) / 13.0
    state = solved(yard(loss_rate=rate, temperature=20, to_dextran=0, drying=0))
    came, went = (state.stream(s) for s in ("cane.cane", "yard.crushed"))
    assert isinstance(came, Liquor)
    assert isinstance(went, Liquor)
    per_tonne = 1.0 / float(came.sucrose)
    assert float(went.sucrose - came.sucrose) * per_tonne == pytest.approx(-0.01, rel=1e-6)
    assert float(went.water - came.water) * per_tonne == pytest.approx(-0.000526, abs=5e-7)
    assert float(went.reducing_sugars - came.reducing_sugars) * per_tonne == pytest.approx(0.010526, abs=5e-7)
    assert float(went.flow) == pytest.approx(float(came.flow), rel=1e-12)


def test_dextran_takes_no_water() -> None:
    """One sucrose (342.296) gives 162.140 of dextran and 180.156 of fructose."""
    state = solved(yard(to_dextran=100, drying=0))
    v, lost = state.values, state.values["yard.sucrose_lost"]
    assert v["yard.crushed.water"] == pytest.approx(v["cane.cane.water"], rel=1e-12)
    assert v["yard.crushed.other"] - v["cane.cane.other"] == pytest.approx(lost * 162.140 / 342.296, rel=1e-9)
    gained = v["yard.crushed.reducing_sugars"] - v["cane.cane.reducing_sugars"]
    assert gained == pytest.approx(lost * 180.156 / 342.296, rel=1e-9)


@pytest.mark.parametrize("drying", [0.4, 0.8])
def test_mass_lost_in_a_day(drying: float) -> None:
    """0.4-0.8 % of the mass a day (Cox and Sahadeo, 1992, read): after 24 h cane weighs that much less."""
    state = solved(yard(drying=drying, hours_before=19, loss_rate=0))
    assert float(state.stream("yard.crushed").flow) == pytest.approx(400.0 * exp(-drying / 100.0), rel=1e-8)


def test_longer_warmer_and_more_stock_lose_more_and_lower_the_purity() -> None:
    for name, values in (
        ("hours_before", (2.0, 20.0, 40.0)),
        ("temperature", (20.0, 27.0, 34.0)),
        ("stock", (1e3, 4e3)),
    ):
        states = [solved(yard(), {f"yard.{name}": float(x)}) for x in values]
        lost = [sucrose_lost(s) for s in states]
        purity = [s.measured("yard.crushed", "apparent purity") for s in states]
        assert lost == sorted(lost)
        assert purity == sorted(purity, reverse=True)
    doubled = [solved(yard(), {"yard.temperature": t}).values["yard.sucrose_lost"] for t in (20.0, 30.0)]
    assert doubled[1] / doubled[0] == pytest.approx(2.0, rel=0.02)


def test_cane_laid_in_stock_closes_the_balances() -> None:
    state = solved(yard(), {"yard.crushed_on_receipts": 90.0})
    assert state.values["yard.stock_change"] == pytest.approx(40.0, rel=1e-9)
    assert state.values["yard.crushed.fibre"] == pytest.approx(0.9 * state.values["cane.cane.fibre"], rel=1e-9)
    assert solved(yard(), {"yard.crushed_on_receipts": 120.0}).values["yard.stock_change"] == pytest.approx(-80.0)


def test_limits_of_room_and_hours() -> None:
    """Billets should be crushed within 16 h of cutting (Mackintosh, Sugar Milling, ch. 17, read)."""
    state = solved(yard(stock=4400, capacity=4000, hours_before=10))
    station = state.assembly.stations["yard"].bound(state.values.__getitem__)
    used = {said: float(a / b) for said, a, b in station.capacities()}
    assert used["cane in the yard within its room"] == pytest.approx(1.1)
    assert used["cane crushed within the hours it keeps"] == pytest.approx(21.0 / 16.0, rel=1e-5)


def test_an_idle_yard_solves() -> None:
    standing(yard())
