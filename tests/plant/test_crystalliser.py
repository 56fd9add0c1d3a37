"""Crystalliser: only sucrose passes to crystal, and cooling takes the heat."""

from __future__ import annotations

import pytest

from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure


def cooled() -> Plant:
    stations = {
        "pan": {
            "kind": "massecuite supply", "rate": 25.6984, "moisture": 3.98079, "purity": 57.4949, "film_purity": 38,
            "reducing_sugars": 27.1385, "ash": 21.4989, "suspended": 0.4786, "temperature": 66,
        },
        "crystallisers": {"kind": "crystalliser", "temperature": 52, "mother_liquor_purity": 33},
    }  # fmt: skip
    return described(stations, {"crystallisers.massecuite": "pan.massecuite", "outside.cooled": "crystallisers.cooled"})


def test_crystal_of_a_c_massecuite_cooled_from_38_to_33_purity() -> None:
    """Crystal 7.7201 struck, 8.9762 cured for 10.4361 t/h of non-sucrose: NS (P/(1-P)) twice, by hand."""
    state = cooled().predict()
    assert number(state, "pan.massecuite", "crystal") == pytest.approx(7.7201, rel=1e-4)
    assert number(state, "crystallisers.cooled", "crystal") == pytest.approx(8.9762, rel=1e-4)
    for name in ("water", "reducing_sugars", "ash", "other", "suspended"):
        assert number(state, "crystallisers.cooled", name) == pytest.approx(
            number(state, "pan.massecuite", name), rel=1e-12
        )
    assert worst_closure(state) <= 1e-9


def test_heat_removed_is_cooling_plus_crystallising() -> None:
    """Cooling alone is heat x 14 K; crystallising adds 33-42 kJ/kg (heat of solution at 52-66 °C) for 1.256 t/h."""
    state = cooled().predict()
    heat = state.values["crystallisers.heat_removed"] * 3.6
    came, out = of(state, "pan.massecuite"), of(state, "crystallisers.cooled")
    grown = out.crystal - came.crystal
    middle = (15.8 + 0.541 * (52 - 25) + 0.0016 * (52 * 52 - 625), 15.8 + 0.541 * (66 - 25) + 0.0016 * (66 * 66 - 625))
    solution = 4.1868 * (came.water + came.dissolved) - 2.97 * came.dissolved + 0.46 * came.sucrose
    solution += 0.0075 * 59.0 * came.dissolved
    cooling = 14.0 * (solution + came.crystal * (1.1358 + 0.0043 * 59.0) + 0.9 * came.suspended)
    assert cooling + grown * middle[0] == pytest.approx(heat, rel=1e-5)
    assert middle[0] < middle[1]


def test_colder_purer_or_idle() -> None:
    plant = cooled()
    base = plant.predict()
    further = plant.predict({"crystallisers.mother_liquor_purity": 31.0})
    assert number(further, "crystallisers.cooled", "crystal") > number(base, "crystallisers.cooled", "crystal")
    assert number(further, "crystallisers.cooled", "crystal_colour") > number(
        base, "crystallisers.cooled", "crystal_colour"
    )
    assert idle(plant, pan__rate=0.0)["crystallisers.heat_removed"] == pytest.approx(0.0, abs=1e-9)
