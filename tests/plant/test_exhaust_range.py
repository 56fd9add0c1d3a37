"""Exhaust range: short steam is let down, surplus is blown off, never both."""

from __future__ import annotations

import numpy as np
import pytest

from plant.steam_plant import solved, steam_plant


def test_short_range_is_made_up_from_the_let_down() -> None:
    """Mass by hand: users take what the turbine exhausts and the let-down adds."""
    state = solved(steam_plant(), {"turbine.steam_flow": 20.0})
    users = sum(float(state.stream(f"range.branches.{i}").flow) for i in (1, 2))
    assert state.stream("let-down.reduced").flow == pytest.approx(users - 20.0, abs=1e-4)
    assert state.stream("range.blow_off").flow < 1e-4


def test_surplus_is_blown_off() -> None:
    state = solved(steam_plant())
    users = sum(float(state.stream(f"range.branches.{i}").flow) for i in (1, 2))
    assert state.stream("range.blow_off").flow == pytest.approx(135.0415 - users, abs=1e-4)


@pytest.mark.parametrize("flow", [0.0, 30.0, 55.0, 56.0, 57.0, 135.0, 149.0])
def test_both_sides_of_the_change_over_solve(flow: float) -> None:
    """The product of let-down and blow-off is a quarter of the square of 0.05 t/h (definition of the join)."""
    state = solved(steam_plant(), {"turbine.steam_flow": flow})
    product = state.stream("let-down.reduced").flow * state.stream("range.blow_off").flow
    assert product == pytest.approx(0.000625, rel=1e-5)


def test_every_pressure_and_temperature_is_the_ranges() -> None:
    state = solved(steam_plant(), {"range.pressure": 215.0})
    for name in ("range.branches.1", "range.branches.2", "range.blow_off", "turbine.exhaust", "let-down.reduced"):
        assert state.stream(name).pressure == pytest.approx(215.0, rel=1e-12)
    warm = {float(state.stream(n).temperature) for n in ("range.branches.1", "range.branches.2", "range.blow_off")}
    assert max(warm) - min(warm) < 1e-9


def test_change_over_from_the_other_side_solves() -> None:
    """From a state that blows off, straight to one that lets down, starting where the first ended."""
    plant = steam_plant()
    blowing = plant.predict()
    letting = plant.predict({"turbine.steam_flow": 20.0}, start=blowing)
    assert letting.stream("let-down.reduced").flow == pytest.approx(
        float(plant.predict({"turbine.steam_flow": 20.0}).stream("let-down.reduced").flow), rel=1e-8
    )


def test_many_scenarios_across_the_change_over() -> None:
    plant = steam_plant()
    flows = np.array([10.0, 50.0, 55.9, 80.0, 140.0])
    found = plant.predict_many({"turbine.steam_flow": flows}, processes=1)
    assert "not solved" not in found["status"]
