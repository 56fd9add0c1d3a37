"""Magma mixer: liquor for a dry substance, and an affination loop that returns its own syrup."""

from __future__ import annotations

import pytest

from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure

FOOTING = {
    "sugar": {"kind": "sugar supply", "rate": 11.80102, "moisture": 2, "purity": 96.8598, "film_purity": 52},
    "water": {"kind": "water supply", "temperature": 70},
    "mixer": {"kind": "magma mixer", "dry_substance": 90, "temperature": 60},
}
FOOTING_CONNECTIONS = {"mixer.sugar": "sugar.sugar", "mixer.liquor": "water.water", "outside.magma": "mixer.magma"}


def test_water_for_a_magma_by_hand() -> None:
    """11.80102 t/h of 2 % moisture to 90 %: solids 11.5650, magma 12.8500, water 1.0490 t/h."""
    state = described(FOOTING, FOOTING_CONNECTIONS).predict()
    assert number(state, "mixer.magma", "flow") == pytest.approx(12.8500, rel=1e-5)
    assert number(state, "water.water.1", "water") == pytest.approx(1.0490, abs=1e-4)
    assert number(state, "mixer.magma", "crystal") == pytest.approx(number(state, "sugar.sugar", "crystal"), rel=1e-12)
    assert worst_closure(state) <= 1e-9


def test_what_dissolves_takes_its_colour_along() -> None:
    plant = described(FOOTING, FOOTING_CONNECTIONS)
    state = plant.predict({"mixer.crystal_dissolved": 5.0})
    came, magma = of(state, "sugar.sugar"), of(state, "mixer.magma")
    assert magma.crystal == pytest.approx(0.95 * came.crystal, rel=1e-12)
    assert magma.colour == pytest.approx(came.colour + 0.05 * came.crystal_colour, rel=1e-12)
    assert idle(plant, sugar__rate=0.0)["mixer.magma.crystal"] == pytest.approx(0.0, abs=1e-12)


def affination() -> Plant:
    stations = {
        "raw": {"kind": "sugar supply", "rate": 46, "moisture": 0.25},
        "water": {"kind": "water supply", "temperature": 82},
        "mingler": {"kind": "magma mixer", "dry_substance": 90.5, "temperature": 68, "crystal_dissolved": 3},
        "centrifugals": {"kind": "centrifugals", "wash_on_massecuite": 2, "film": 2, "moisture": 0.8},
        "syrup": {"kind": "liquor draw"},
    }
    return described(
        stations,
        {
            "mingler.sugar": "raw.sugar",
            "mingler.liquor": "syrup.part",
            "centrifugals.massecuite": "mingler.magma",
            "centrifugals.wash": "water.water",
            "syrup.feed": "centrifugals.molasses",
            "outside.affined": "centrifugals.sugar",
            "outside.purge": "syrup.rest",
        },
    )


def test_affination_returns_its_syrup_and_removes_film_colour() -> None:
    """What leaves is what came; colour inside the crystal can only be removed with crystal that dissolves."""
    state = affination().predict()
    raw, affined, purge = (of(state, n) for n in ("raw.sugar", "centrifugals.sugar", "syrup.rest"))
    wash = number(state, "water.water.1", "water")
    assert affined.flow + purge.flow == pytest.approx(raw.flow + wash, rel=1e-10)
    assert affined.non_sucrose + purge.non_sucrose == pytest.approx(raw.non_sucrose, rel=1e-10)
    assert affined.total_colour + purge.total_colour == pytest.approx(raw.total_colour, rel=1e-10)
    removed = 1 - affined.icumsa_colour / raw.icumsa_colour
    assert 0.3 < removed < 0.6, "film held 60 % of the colour"
    assert affined.crystal_colour / affined.crystal == pytest.approx(raw.crystal_colour / raw.crystal, rel=1e-6)
    assert 0 < state.values["syrup.share"] < 100
    assert worst_closure(state) <= 1e-9


def test_less_wash_leaves_darker_affined_sugar() -> None:
    plant = affination()
    pale, dark = (plant.predict({"centrifugals.wash_on_massecuite": w}) for w in (3.0, 1.0))
    assert number(dark, "centrifugals.sugar", "icumsa_colour") > number(pale, "centrifugals.sugar", "icumsa_colour")


def test_an_idle_affination_solves() -> None:
    values = idle(affination(), raw__rate=0.0)
    assert values["syrup.part.sucrose"] == pytest.approx(0.0, abs=1e-12)
    assert 0.0 <= values["syrup.share"] <= 100.0 + 1e-6


def test_mixer_too_small_is_named() -> None:
    """12.85 t/h of magma of 1.42 t/m³ for 15 min: 2.262 m³ (worked by hand)."""
    state = described(FOOTING, FOOTING_CONNECTIONS).predict({"mixer.volume": 2.0})
    ((_, held, there),) = state.assembly.stations["mixer"].bound(state.values.__getitem__).capacities()
    assert float(held) == pytest.approx(12.85 / 1.42 / 4.0, rel=1e-5)
    assert float(held) > float(there)
