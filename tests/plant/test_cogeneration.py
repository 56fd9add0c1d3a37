"""Cogeneration within its limits: dear power goes up to what the grid takes, cheap power leaves the least to condense.

Invented figures; prices at which condensing pays are worked by hand.
"""

from __future__ import annotations

from typing import Any

import pytest

from canewright.plant.advising import PlantAdvice, advise_plant
from canewright.plant.plant import Plant
from plant.steam_plant import CONNECTIONS, STATIONS, written

SET: dict[str, Any] = {
    "kind": "extraction turbine", "admission": "follows exhaust", "most_extracted": 120.0, "condensed": 30.0,
    "least_condensed": 12.0, "wide_open_pressure": 230.0,
}  # fmt: skip
MOVES = """
[[prices]]
what = "power sold"
stream = "board.exported"
kind = "income"
price = {power}
unit = "$/MWh"

[[prices]]
what = "bagasse burnt"
stream = "store.reclaimed"
kind = "cost"
price = 20
unit = "$/t"

[[advice.moves]]
setting = "set.condensed"
low = 0
high = 90
step = 90
"""


def plant(power: float, most_exported: float = 20000.0) -> Plant:
    """A steam plant with an extraction turbine that sells power at a price, in $/MWh."""
    stations = {k: v for k, v in STATIONS.items() if k != "turbine"} | {
        "set": SET, "river": {"kind": "water supply", "temperature": 28.0},
        "range": {"kind": "exhaust range", "pressure_is": "governed", "pressure": 230.0, "most_exhaust": 120.0},
        "board": {"kind": "power board", "most_exported": most_exported}, "grid": {"kind": "grid"},
        "use": {"kind": "power use", "demand": 1000.0},
    }  # fmt: skip
    connections = {k: v for k, v in CONNECTIONS.items() if not str(v).startswith("turbine") and "turbine" not in k}
    connections |= {
        "set.steam": "main.branches", "set.water": "river.water", "range.exhausts": "set.extraction",
        "board.supplies": "set.power", "board.imported": "grid.power", "outside.export": "board.exported",
        "use.power": "board.branches", "outside.warm": "set.warm", "deaerator.condensates": "set.condensate",
    }  # fmt: skip
    return Plant.from_text(written(stations, connections) + MOVES.replace("{power}", str(power)))


def advised(power: float, most_exported: float = 20000.0) -> PlantAdvice:
    """What to do with the condensing end at this price."""
    made = plant(power, most_exported)
    return advise_plant(made, made.predict())


@pytest.mark.parametrize("most", [20000.0, 23000.0])
def test_dear_power_is_sold_up_to_what_the_grid_takes(most: float) -> None:
    advice = advised(120.0, most)
    assert any("grid takes" in each for each in advice.advice.binding)
    made = plant(120.0, most)
    state = made.predict({m.setting: m.then for m in advice.moves})
    assert state.values["board.exported.power"] == pytest.approx(most, rel=1e-5)
    assert advice.gain_a_day > 0


def test_cheap_power_leaves_the_least_to_condense() -> None:
    advice = advised(30.0)
    assert [m.then for m in advice.moves] == [pytest.approx(12.0, rel=1e-4)]
    assert any("least steam to the condenser" in each for each in advice.advice.binding)


def test_price_at_which_condensing_pays_by_hand() -> None:
    """A tonne more to the condenser makes power and burns bagasse: either side of the price at which they are even."""
    made = plant(60.0)
    start = made.predict()
    more = made.predict({"set.condensed": 31.0}, start=start)
    power = more.values["board.exported.power"] - start.values["board.exported.power"]
    burnt = float(more.stream("store.reclaimed").flow - start.stream("store.reclaimed").flow)
    even = 20.0 * burnt / (power / 1000.0)
    assert advised(even * 1.05).moves[0].then > 30.0
    assert advised(even * 0.95).moves[0].then < 30.0
