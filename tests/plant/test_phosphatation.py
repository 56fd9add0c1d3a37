"""Phosphatation: stoichiometry of lime and phosphate, colour by dose, and the scum, by hand."""

from __future__ import annotations

from math import exp

import pytest

from canewright.properties.sucrose import sucrose_density
from plant.refinery_line import alone, colour, idle, liquor, solved

CASES = {
    "tricalcium phosphate": (19.56, 36.06),
    "hydroxyapatite": (21.73, 38.93),
    "dicalcium phosphate": (13.04, None),
}
"""CaO and dry precipitate, kg/h, for 300 mg/kg P2O5 on 55 t/h solids: worked by hand from molar masses."""


@pytest.mark.parametrize("precipitate", CASES)
def test_lime_and_acid_by_molar_ratio(precipitate: str) -> None:
    """300 mg/kg on 55 t/h solids: P2O5 16.50, H3PO4 22.78 kg/h; lime by ratio of 2, 3 and 10/3 (hand-worked)."""
    state = solved(alone("phosphatation", precipitate_formed=precipitate, p2o5_dose=300.0, buffering=0.0))
    lime, formed = CASES[precipitate]
    assert state.values["it.p2o5"] == pytest.approx(16.50, abs=0.005)
    assert state.values["it.phosphoric_acid"] == pytest.approx(22.78, abs=0.005)
    assert state.values["it.acid_as_bought"] == pytest.approx(30.38, abs=0.005)  # of 75 %, worked by hand
    assert state.values["it.lime"] == pytest.approx(lime, abs=0.005)
    if formed is not None:
        assert state.values["it.precipitate"] == pytest.approx(formed, abs=0.005)


def test_mass_of_precipitate_is_what_acid_and_lime_bring() -> None:
    """Acid and lime in equal precipitate and freed water (conservation of mass, molar masses)."""
    for precipitate in CASES:
        state = solved(alone("phosphatation", precipitate_formed=precipitate, buffering=0.0))
        exchanges = list(state.assembly.stations["it"].bound(state.values.__getitem__).exchanges())
        named = {"calcium phosphate precipitated", "water freed from the acid"}
        formed = sum(float(x.amount) for x in exchanges if x.name in named)
        brought = 1e-3 * (state.values["it.phosphoric_acid"] + state.values["it.lime"])
        assert formed == pytest.approx(brought, rel=1e-4)


def test_colour_follows_the_saturating_law() -> None:
    """At 300 mg/kg with 180 characteristic, 0.81 of the greatest removal (hand-worked)."""
    plant = alone("phosphatation", greatest_removal=40.0, characteristic_dose=180.0)
    state = solved(plant, {"it.p2o5_dose": 300.0})
    assert state.values["it.colour_removal"] == pytest.approx(40.0 * 0.81, abs=0.05)
    assert colour(state, "it.clarified") == pytest.approx(1000.0 * (1.0 - 0.4 * (1.0 - exp(-300.0 / 180.0))), rel=1e-3)
    assert colour(state, "it.scum") == pytest.approx(colour(state, "it.clarified"), rel=1e-6)


def test_more_dose_less_colour_and_more_scum() -> None:
    plant = alone("phosphatation", {"suspended": 0.05})
    states = [solved(plant, {"it.p2o5_dose": dose}) for dose in (0.0, 150.0, 300.0, 600.0)]
    colours = [colour(s, "it.clarified") for s in states]
    assert colours == sorted(colours, reverse=True)
    assert colours[0] > colours[1] > colours[2] > colours[3]
    sugar = [float(liquor(s, "it.scum").sucrose) for s in states]
    assert sugar[0] < sugar[1] < sugar[2] < sugar[3]
    assert colour(solved(plant, {"it.precipitant_dose": 200.0}), "it.clarified") < colours[2]


def test_no_dose_changes_nothing() -> None:
    """No phosphate, lime, flocculant, water or time to invert: colour, insolubles and sucrose pass."""
    nothing = {"p2o5_dose": 0.0, "buffering": 0.0, "dosing_water": 0.0, "floc_dose": 0.0, "ph": 9.0, "volume": 0.1}
    state = solved(alone("phosphatation", {"suspended": 0.05}, **nothing))
    before, after = liquor(state, "melt.liquor"), liquor(state, "it.clarified")
    for name in ("water", "sucrose", "ash", "suspended", "colour"):
        assert float(getattr(after, name)) == pytest.approx(float(getattr(before, name)), rel=1e-8)


def test_scum_holds_its_insolubles() -> None:
    """To the trickle of 0.1 kg/h on 85 t/h that gives a share of nothing a value: one part in a million."""
    state = solved(alone("phosphatation", {"suspended": 0.05}, scum_solids=5.0))
    scum = liquor(state, "it.scum")
    assert float(scum.suspended) / float(scum.flow) == pytest.approx(0.05, rel=2e-6)


def test_lime_for_acidity_is_buffering_times_rise_of_ph() -> None:
    """60 mg/kg for each unit from pH 6.2 to 7.2 on 55 t/h of solids is 3.3 kg/h, which stays dissolved (by hand)."""
    plant = alone("phosphatation")
    none, usual = solved(plant, {"it.buffering": 0.0}), solved(plant)
    assert usual.values["it.lime"] - none.values["it.lime"] == pytest.approx(3.3, rel=1e-9)
    risen = sum(float(liquor(usual, f"it.{o}").ash) for o in ("clarified", "scum"))
    assert risen - float(liquor(usual, "melt.liquor").ash) == pytest.approx(0.0033, rel=1e-9)


def test_flocculant_floats_the_precipitate() -> None:
    plant = alone("phosphatation", {"suspended": 0.05})
    states = [solved(plant, {"it.floc_dose": d}) for d in (0.0, 1.0, 3.0, 12.0)]
    left = [float(liquor(s, "it.clarified").suspended) for s in states]
    assert left == sorted(left, reverse=True)
    assert len(set(left)) == len(left)
    assert states[-1].values["it.floc"] == pytest.approx(0.012 * 55.0, rel=1e-3)
    one = states[1].values["it.precipitate"] * (1.0 - (1.0 - exp(-1.0)) * 0.92) / 1000.0
    brought = float(liquor(states[1], "melt.liquor").suspended) * exp(-3.0)
    assert left[1] == pytest.approx(one + brought, rel=1e-6)


def test_time_air_and_inversion() -> None:
    """45 m³ on 65.9 m³/h; 3 % of air; one pH unit is ten times the inversion (Vukov 1965, from memory)."""
    plant = alone("phosphatation")
    usual, acid = solved(plant), solved(plant, {"it.ph": 6.2, "it.buffering": 0.0})
    flow = float(liquor(usual, "melt.liquor").flow) / (sucrose_density(65.0, 80.0) / 1000.0)
    assert usual.values["it.residence"] == pytest.approx(45.0 / flow, rel=1e-5)
    assert usual.values["it.air_flow"] == pytest.approx(0.03 * flow, rel=1e-9)
    assert acid.values["it.inverted"] == pytest.approx(10.0 * usual.values["it.inverted"], rel=1e-3)
    ((_, held, there),) = usual.assembly.stations["it"].bound(usual.values.__getitem__).capacities()
    assert float(held) == pytest.approx(flow * 25.0 / 60.0, rel=1e-9)
    assert float(held) < float(there)


def test_idle() -> None:
    state = idle(alone("phosphatation"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.clarified").flow) == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.lime"] == pytest.approx(0.0, abs=1e-9)
