"""Stock tanks: what is laid in and given back, hours in hand, molasses that must be cool, and readings of stocks."""

from __future__ import annotations

from typing import Any

import pytest

from canewright.engine import predict
from canewright.plant.plant import Plant, State
from canewright.plant.sucrose_account import sucrose_account
from plant.boiling_house import described, number, of, worst_closure

FED: dict[str, tuple[dict[str, Any], str]] = {
    "juice stock tank": ({"kind": "juice supply", "rate": 400, "temperature": 70}, "juice"),
    "liquor stock tank": ({"kind": "liquor supply", "rate": 90}, "liquor"),
    "massecuite receiver": ({"kind": "massecuite supply", "rate": 50}, "massecuite"),
    "molasses store": (
        {"kind": "liquor supply", "rate": 18, "dry_substance": 80, "purity": 35, "temperature": 52}, "liquor",
    ),
}  # fmt: skip
"""A supply and its port for each kind."""


def tank(kind: str, more: str = "", **settings: Any) -> Plant:
    """One tank between its supply and the outside."""
    supply, port = FED[kind]
    stations = {"supply": supply, "tank": {"kind": kind, **settings}}
    return described(stations, {"tank.came": f"supply.{port}", "outside.drawn": "tank.given"}, more)


@pytest.mark.parametrize("kind", sorted(FED))
@pytest.mark.parametrize("drawn", [0.0, 60.0, 100.0, 140.0])
def test_what_is_not_drawn_is_laid_in(kind: str, drawn: float) -> None:
    """Each component by the share; the change of stock and the hours in hand by hand; every balance closed."""
    state = tank(kind, drawn=drawn, stock=240.0).predict()
    came, given = of(state, f"supply.{FED[kind][1]}"), of(state, "tank.given")
    for name in ("water", "sucrose", "reducing_sugars", "ash", "other", "crystal", "suspended", "colour"):
        wanted = drawn / 100.0 * float(getattr(came, name))
        assert float(getattr(given, name)) == pytest.approx(wanted, rel=1e-9, abs=1e-12), name
    assert state.values["tank.stock_change"] == pytest.approx((1.0 - drawn / 100.0) * float(came.flow), abs=1e-9)
    hours = 240.0 / (drawn / 100.0 * float(came.flow) + 1e-4)
    assert state.values["tank.residence"] == pytest.approx(hours, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_heat_of_cooled_molasses_by_hand() -> None:
    """18 t/h of molasses of 80 % cooled by 10 K; 2.2 kJ/kg K (Bubnik, from memory), so 109 kW."""
    state = tank("molasses store", drawn=100.0).predict()
    assert number(state, "tank.given", "temperature") == pytest.approx(42.0, rel=1e-12)
    specific = 4.1868 - 0.0297 * 80 + 4.6e-5 * 80 * 35 + 7.5e-5 * 80 * 47
    assert state.values["tank.heat_lost"] == pytest.approx(18.0 / 3.6 * specific * 10.0, rel=0.01)


@pytest.mark.parametrize(("cooling", "keeps"), [(10.0, True), (2.0, False)])
def test_molasses_stored_too_warm_is_told(cooling: float, keeps: bool) -> None:
    plant = tank("molasses store", cooling=cooling)
    state = plant.predict()
    limits = {s: (float(u), float(t)) for s, u, t in plant.assembly.stations["tank"].bound(
        state.values.__getitem__).capacities()}  # fmt: skip
    warm, warmest = limits["molasses cool enough to keep"]
    assert (warm <= warmest) == keeps


def test_stock_stands_in_the_account_of_sucrose() -> None:
    """What is laid in is a way that sucrose goes; what is given back one by which it comes."""
    laid_in = sucrose_account(tank("liquor stock tank", drawn=70.0).predict())
    assert [(w.name, round(w.share, 6)) for w in laid_in.went] == [("drawn", 70.0), ("change of the stock", 30.0)]
    given_back = sucrose_account(tank("liquor stock tank", drawn=125.0).predict())
    assert [(w.name, round(w.share, 6)) for w in given_back.came] == [
        ("supply.liquor", 80.0), ("change of the stock", 20.0)
    ]  # fmt: skip
    assert abs(given_back.gap) <= 1e-9 * given_back.tonnes


@pytest.mark.parametrize("kind", sorted(FED))
def test_an_idle_tank_solves(kind: str) -> None:
    plant = tank(kind)
    found = predict(plant.model, plant.first_estimate(plant.settings({"supply.rate": 0.0})))
    state = State(plant.assembly, found.values, found.scaled, found.method)
    assert number(state, "tank.given", "flow") == pytest.approx(0.0, abs=1e-9)
    assert state.values["tank.stock_change"] == pytest.approx(0.0, abs=1e-9)


def test_a_stock_reading_tells_what_was_drawn() -> None:
    """Opening 900 t, closing 1,044 t: 144 t laid in over 24 h is 6 t/h, so 93.3 % of 90 t/h was drawn."""
    meter = (
        '[[meters]]\ntag = "syrup stock"\nstream = "tank.stock_change"\nquantity = "over the day"\n'
        'uncertainty = 1.0\nfile = "stocks"\n'
    )
    plant = tank("liquor stock tank", meter, **{"drawn.value": 100, "drawn.uncertainty": 20})
    day = plant.reconcile({"syrup stock": 1044.0 - 900.0})
    assert day.state.values["tank.drawn"] == pytest.approx(100.0 * (1.0 - 6.0 / 90.0), abs=0.1)
    assert max(c.relative for c in day.state.closures) <= 1e-9
