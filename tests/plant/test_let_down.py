"""Let-down: live steam is cooled to a little superheat with the water that the balance asks."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from plant.steam_plant import solved, steam_plant


def test_cooling_water_on_live_steam() -> None:
    """Water = steam (h live - h reduced) / (h reduced - h water), enthalpies by the iapws library.

    Source: mixing balance of a desuperheater (common practice, no source).
    """
    state = solved(steam_plant(), {"turbine.steam_flow": 20.0})
    reduced = state.stream("let-down.reduced")
    live = IAPWS97(T=440.0 + 273.15, P=4.5).h
    out = IAPWS97(T=IAPWS97(P=0.23, x=1).T + 10.0, P=0.23).h
    water = IAPWS97(T=98.0 + 273.15, P=0.5).h
    steam, cooling = state.stream("main.branches.2").flow, state.stream("spray.water.1").flow
    assert reduced.flow > 30.0
    assert cooling / steam == pytest.approx((live - out) / (out - water), rel=1e-4)
    assert reduced.temperature == pytest.approx(IAPWS97(P=0.23, x=1).T - 273.15 + 10.0, abs=1e-3)


def test_more_superheat_takes_less_water() -> None:
    little, much = (
        solved(steam_plant(), {"turbine.steam_flow": 20.0, "let-down.superheat": s}).stream("spray.water.1").flow
        for s in (5.0, 60.0)
    )
    assert much < little


def test_let_down_that_is_not_needed_only_leaks() -> None:
    assert solved(steam_plant()).stream("let-down.reduced").flow < 1e-4
