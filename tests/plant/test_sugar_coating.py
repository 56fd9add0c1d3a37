"""Sugar coating: syrup for a colour by hand, moisture, and limits."""

from __future__ import annotations

from typing import Any

import pytest

from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure


def coating(sugar: dict[str, Any] | None = None, **settings: Any) -> Plant:
    """30 IU sugar coated with syrup of 40,000 IU that is drawn from a tank."""
    stations = {
        "white": {"kind": "sugar supply", "rate": 10, "moisture": 0.03, "purity": 99.97, "film_purity": 98,
                  "colour": 30, "temperature": 38} | (sugar or {}),
        "dark": {"kind": "liquor supply", "rate": 3, "dry_substance": 76, "purity": 60, "colour": 40000,
                 "suspended": 0, "temperature": 60},
        "draw": {"kind": "liquor draw"},
        "it": {"kind": "sugar coating", **settings},
    }  # fmt: skip
    connections = {"draw.feed": "dark.liquor", "it.syrup": "draw.part", "it.sugar": "white.sugar",
                   "outside.rest": "draw.rest", "outside.soft": "it.coated"}  # fmt: skip
    return described(stations, connections)


def test_syrup_for_a_colour_by_hand() -> None:
    """30 IU sugar, 40,000 IU syrup solids, 2,000 IU wanted: (2000 - 30)/(40000 - 30) = 4.929 % (worked by hand)."""
    state = coating().predict()
    assert state.values["it.syrup_solids"] == pytest.approx(100.0 * 1970.0 / 39970.0, rel=1e-5)
    assert state.values["it.syrup_solids"] == pytest.approx(4.929, abs=0.001)
    assert number(state, "it.coated", "icumsa_colour") == pytest.approx(2000.0, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_moisture_and_sugars_by_hand() -> None:
    """4.929 % of solids as 76 % syrup bring 4.929 · 24/76 of water, with 0.03 % on the sugar."""
    state = coating().predict()
    coated, white = of(state, "it.coated"), of(state, "white.sugar")
    added = state.values["it.syrup_solids"] / 100.0 * coated.solids * 24.0 / 76.0
    assert coated.water == pytest.approx(white.water + added, rel=1e-5)
    assert state.values["it.moisture"] == pytest.approx(100.0 * coated.water / coated.flow, rel=1e-6)
    assert 1.0 < state.values["it.moisture"] < 4.0
    assert state.values["it.sugars"] > 88.0
    assert coated.crystal == pytest.approx(white.crystal, rel=1e-12)


def test_darker_takes_more_syrup_and_a_share_can_be_given() -> None:
    plant = coating()
    shares = [plant.predict({"it.colour": c}).values["it.syrup_solids"] for c in (1000.0, 2000.0, 4000.0)]
    assert shares == sorted(shares)
    state = coating(given="syrup share", syrup_share=8.0).predict()
    assert number(state, "draw.part", "flow") == pytest.approx(0.8, rel=1e-9)
    assert number(state, "it.coated", "icumsa_colour") > 2000.0


def test_too_wet_is_named() -> None:
    state = coating(given="syrup share", syrup_share=25.0, mixer=5.0).predict()
    limits = list(state.assembly.stations["it"].bound(state.values.__getitem__).capacities())
    assert len(limits) == 2
    assert all(float(used) > float(there) for _, used, there in limits)


def test_idle() -> None:
    values = idle(coating(), white__rate=0.0)
    assert values["it.coated.crystal"] == pytest.approx(0.0, abs=1e-12)
    assert values["draw.part.sucrose"] == pytest.approx(0.0, abs=1e-9)
    assert values["it.coated.temperature"] == pytest.approx(38.0, abs=1e-6)
