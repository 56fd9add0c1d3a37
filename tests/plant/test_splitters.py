"""Splitters, draws and the undetermined loss."""

from __future__ import annotations

import pytest

from canewright.engine import NotSolved
from plant.boiling_house import STRIKE, STRIKE_CONNECTIONS, described, idle, number, of, worst_closure

LIQUOR = {"kind": "liquor supply", "rate": 80, "temperature": 70}


@pytest.mark.parametrize(
    ("kind", "supply", "port"),
    [
        ("liquor splitter", "liquor supply", "liquor"),
        ("juice splitter", "juice supply", "juice"),
        ("sugar splitter", "massecuite supply", "massecuite"),
    ],
)
def test_a_splitter_parts_everything_in_one_share(kind: str, supply: str, port: str) -> None:
    stations = {"feed": {"kind": supply, "rate": 80, "suspended": 0.1}, "split": {"kind": kind, "share": 30}}
    connections = {"split.feed": f"feed.{port}", "outside.a": "split.part", "outside.b": "split.rest"}
    plant = described(stations, connections)
    state = plant.predict()
    feed, part, rest = (of(state, n) for n in (f"feed.{port}", "split.part", "split.rest"))
    for name in feed.holds:
        if name != "temperature":
            assert getattr(part, name) == pytest.approx(0.3 * getattr(feed, name), rel=1e-12)
            assert getattr(rest, name) == pytest.approx(0.7 * getattr(feed, name), rel=1e-12)
    assert part.temperature == pytest.approx(feed.temperature)
    assert worst_closure(state) <= 1e-9
    assert idle(plant, feed__rate=0.0)["split.part.temperature"] == pytest.approx(feed.temperature)
    nothing = plant.predict({"split.share": 0.0})
    assert number(nothing, "split.part", "flow") == pytest.approx(0.0, abs=1e-12)


def test_crystals_dissolve_in_a_liquor_splitter() -> None:
    stations = {"feed": {"kind": "sugar supply", "suspended": 0.1}, "split": {"kind": "liquor splitter"}}
    state = described(
        stations, {"split.feed": "feed.sugar", "outside.a": "split.part", "outside.b": "split.rest"}
    ).predict()
    assert number(state, "split.part", "sucrose") * 2 == pytest.approx(
        number(state, "feed.sugar", "sucrose") + number(state, "feed.sugar", "crystal")
    )
    assert number(state, "split.part", "temperature") < number(state, "feed.sugar", "temperature")
    assert worst_closure(state) <= 1e-9


def test_a_draw_gives_what_its_user_needs_and_no_more_than_there_is() -> None:
    """Magma of 50 t/h sugar to 90 % with syrup of 65 %: (50·0.9975 - 0.9·50)/(0.9 - 0.65) = 19.5 t/h, by hand."""
    stations = {
        "feed": {**LIQUOR, "suspended": 0},
        "sugar": {"kind": "sugar supply", "rate": 50, "moisture": 0.25},
        "draw": {"kind": "liquor draw"},
        "mixer": {"kind": "magma mixer"},
    }
    plant = described(
        stations,
        {
            "draw.feed": "feed.liquor",
            "mixer.liquor": "draw.part",
            "mixer.sugar": "sugar.sugar",
            "outside.m": "mixer.magma",
            "outside.r": "draw.rest",
        },
    )
    state = plant.predict()
    assert number(state, "draw.part", "flow") == pytest.approx(19.5, rel=1e-9)
    assert state.values["draw.share"] == pytest.approx(100 * 19.5 / 80, rel=1e-7)
    assert number(state, "draw.part", "purity") == pytest.approx(number(state, "feed.liquor", "purity"), rel=1e-7)
    assert worst_closure(state) <= 1e-9
    with pytest.raises(NotSolved, match=r"draw\.rest\.water is .* heads for its limit of 0 t/h"):
        plant.predict({"feed.rate": 10.0})


def test_a_water_draw_passes_on_what_is_over() -> None:
    """Pan condensate makes magma; the rest goes on. Water for 20 t/h of 0.25 % moisture to 88 %: 2.670 t/h, by hand."""
    stations = {
        **STRIKE,
        "sugar": {"kind": "sugar supply", "rate": 20, "moisture": 0.25},
        "mixer": {"kind": "magma mixer", "dry_substance": 88},
        "draw": {"kind": "water draw"},
    }
    connections = {k: v for k, v in STRIKE_CONNECTIONS.items() if k != "outside.condensate"} | {
        "draw.feed": "pan.condensate", "mixer.liquor": "draw.part", "mixer.sugar": "sugar.sugar",
        "outside.over": "draw.rest", "outside.magma": "mixer.magma",
    }  # fmt: skip
    state = described(stations, connections).predict()
    assert number(state, "draw.part", "water") == pytest.approx(20 * (0.9975 / 0.88 - 1), rel=1e-9)
    over = number(state, "pan.condensate", "water") - number(state, "draw.part", "water")
    assert number(state, "draw.rest", "water") == pytest.approx(over, rel=1e-9)
    assert worst_closure(state) <= 1e-9
