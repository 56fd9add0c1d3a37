"""Undetermined loss: sucrose alone is missing."""

from __future__ import annotations

import pytest

from plant.boiling_house import described, idle, number, of, worst_closure


@pytest.mark.parametrize(
    ("kind", "supply", "port"),
    [("undetermined loss", "liquor supply", "liquor"), ("undetermined juice loss", "juice supply", "juice")],
)
def test_only_sucrose_is_lost(kind: str, supply: str, port: str) -> None:
    stations = {"feed": {"kind": supply, "suspended": 0.1}, "loss": {"kind": kind, "loss": 0.8}}
    connections = {f"loss.{port}": f"feed.{port}", "outside.lost": "loss.lost", "outside.passed": "loss.passed"}
    plant = described(stations, connections)
    state = plant.predict()
    feed, passed, lost = (of(state, n) for n in (f"feed.{port}", "loss.passed", "loss.lost"))
    assert lost.flow == pytest.approx(0.008 * feed.sucrose, rel=1e-12)
    assert passed.sucrose == pytest.approx(0.992 * feed.sucrose, rel=1e-12)
    assert passed.non_sucrose == pytest.approx(feed.non_sucrose, rel=1e-12)
    assert passed.colour == pytest.approx(feed.colour, rel=1e-12)
    assert passed.temperature == pytest.approx(feed.temperature)
    assert worst_closure(state) <= 1e-9
    more = plant.predict({"loss.loss": 2.0})
    assert number(more, "loss.passed", "purity") < number(state, "loss.passed", "purity")
    gained = plant.predict({"loss.loss": -2.0})
    assert number(gained, "loss.lost", "sucrose") == pytest.approx(-0.02 * feed.sucrose, rel=1e-12)
    assert idle(plant, feed__rate=0.0)["loss.lost.sucrose"] == pytest.approx(0.0, abs=1e-12)


def test_crystals_that_come_along_dissolve() -> None:
    stations = {"feed": {"kind": "sugar supply", "suspended": 0.1}, "loss": {"kind": "undetermined loss", "loss": 1}}
    connections = {"loss.liquor": "feed.sugar", "outside.lost": "loss.lost", "outside.passed": "loss.passed"}
    state = described(stations, connections).predict()
    came = of(state, "feed.sugar")
    assert number(state, "loss.lost", "sucrose") == pytest.approx(0.01 * (came.sucrose + came.crystal), rel=1e-10)
    assert worst_closure(state) <= 1e-9
