"""Turbine that follows the exhaust: it meets the demand up to its swallow, the let-down takes the rest."""

from __future__ import annotations

import pytest

from canewright.plant.either import surplus
from canewright.plant.plant import Plant, State
from plant.steam_plant import CONNECTIONS, STATIONS, plant_of, solved

FOLLOWING = {
    "kind": "back-pressure turbine", "admission": "follows exhaust", "swallow": 120.0, "wide_open_pressure": 230.0,
    "droop": 8.0,
}  # fmt: skip
GOVERNED = {"kind": "exhaust range", "pressure_is": "governed", "pressure": 230.0, "most_exhaust": 120.0}


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The small steam plant with both governors."""
    return plant_of({**STATIONS, "turbine": FOLLOWING, "range": GOVERNED}, CONNECTIONS)


def flow(state: State, stream: str) -> float:
    """Flow of a stream, t/h."""
    return float(state.stream(stream).flow)


def demand(state: State) -> float:
    """What the users of the exhaust take, t/h."""
    return sum(flow(state, f"range.branches.{i}") for i in (1, 2))


@pytest.mark.parametrize("rate", [200.0, 400.0, 700.0])
def test_turbine_meets_the_demand(plant: Plant, rate: float) -> None:
    """Below its swallow the turbine gives what is taken, but for the leak of the valves, and power goes with it."""
    state = solved(plant, {"juice.rate": rate})
    assert flow(state, "turbine.exhaust") == pytest.approx(demand(state), abs=5e-3)
    opening = (238.0 - state.values["range.actual_pressure"]) / 8.0
    assert flow(state, "turbine.exhaust") == pytest.approx(120.0 * opening, rel=1e-4)


def test_let_down_takes_what_the_turbine_cannot_swallow(plant: Plant) -> None:
    state = solved(plant, {"range.most_exhaust": 40.0})
    assert flow(state, "turbine.exhaust") == pytest.approx(40.0, abs=0.01)
    assert flow(state, "let-down.reduced") == pytest.approx(demand(state) - 40.0, abs=0.01)
    assert flow(state, "range.blow_off") < 1e-3


def test_set_turbine_on_a_governed_range_blows_off_what_is_over() -> None:
    state = solved(plant_of({**STATIONS, "range": {**GOVERNED, "most_exhaust": 150.0}}, CONNECTIONS))
    leak = flow(state, "let-down.reduced")
    assert leak * (150.0 - 135.0415) == pytest.approx(0.25 * 0.5**2, rel=0.01)
    assert flow(state, "range.blow_off") == pytest.approx(135.0415 + leak - demand(state), abs=1e-6)
    assert state.values["range.actual_pressure"] > 242.0


def test_power_follows_the_demand(plant: Plant) -> None:
    less, more = (solved(plant, {"juice.rate": r}).stream("turbine.power").power for r in (300.0, 400.0))
    assert more > 1.2 * less


def test_round_corners() -> None:
    """Worked by hand: at the corner half the width; far away the value itself, or nothing."""
    assert float(surplus(0.0, 0.04)) == pytest.approx(0.1)
    assert float(surplus(5.0, 0.04)) == pytest.approx(5.002, abs=1e-5)
    assert float(surplus(-5.0, 0.04)) == pytest.approx(0.002, abs=1e-5)
