"""Deep-bed filter: clean head loss, run length and insolubles, by hand."""

from __future__ import annotations

from math import exp

import pytest

from canewright.plant.plant import State
from canewright.properties.sucrose import sucrose_density, viscosity
from plant.refinery_line import alone, colour, idle, liquor, solved

DENSITY = sucrose_density(65.0, 80.0) / 1000.0
VOLUME = 55.0 / 0.65 / DENSITY
"""Liquor of the worked case, m³/h."""


def _bed(velocity: float) -> State:
    """One filter on line, of the area that gives a velocity, with liquor of 13.5 mPa·s."""
    settings = {"filters": 1.0, "off_line": 0.0, "area": VOLUME / velocity, "liquor_left": 0.0}
    bed = {"depth": 1.0, "grain_size": 0.9, "sphericity": 0.8, "voidage": 0.4, "resistance": "Carman-Kozeny"}
    return solved(alone("deep-bed filter", viscosity_factor=0.0135 / viscosity(65.0, 80.0), **settings, **bed))


@pytest.mark.parametrize(("velocity", "bar"), [(6.0, 0.440), (8.0, 0.587), (10.0, 0.735)])
def test_clean_head_loss(velocity: float, bar: float) -> None:
    """0.9 mm, sphericity 0.8, voids 0.40, 1 m, 13.5 mPa·s, constant 180: worked by hand from Ergun's equation."""
    state = _bed(velocity)
    assert state.values["it.velocity"] == pytest.approx(velocity, rel=1e-5)
    assert state.values["it.clean_head_loss"] / 100.0 == pytest.approx(bar, abs=0.001)


def test_run_length_by_hand() -> None:
    """Run = margin over rise: what the bed holds on each square metre in an hour times its rise of head loss."""
    state = solved(alone("deep-bed filter", {"suspended": 0.01}, longest_run=2000.0, coefficient=2.0, depth=1.0))
    v = state.values
    held = 1000.0 * float(liquor(state, "melt.liquor").suspended) * (1.0 - exp(-2.0))
    rise = 6.0 * held / (3.0 * 2.8)
    margin = 150.0 - v["it.clean_head_loss"]
    by_head, by_time = margin / rise, 2000.0
    assert v["it.run_length"] == pytest.approx(1.0 / (1.0 / by_head + 1.0 / by_time), rel=1e-6)
    assert v["it.in_backwash"] == pytest.approx(4.0 / (v["it.run_length"] + 1.0), rel=1e-9)


def test_overloaded_filter_has_no_run_and_says_so() -> None:
    """Half the area: the clean bed takes more than the limit, runs end at once, and both capacities are exceeded."""
    state = solved(alone("deep-bed filter", {"suspended": 0.01}, area=1.0, viscosity_factor=2.0))
    assert state.values["it.run_length"] < 0.01
    used = list(state.assembly.stations["it"].bound(state.values.__getitem__).capacities())
    assert len(used) == 2
    assert all(float(taken) > float(there) for _, taken, there in used)


def test_insolubles_pass_by_depth() -> None:
    plant = alone("deep-bed filter", {"suspended": 0.02}, coefficient=2.0)
    for depth in (0.5, 1.0, 1.5):
        state = solved(plant, {"it.depth": depth})
        before, after = liquor(state, "melt.liquor"), liquor(state, "it.filtered")
        share = float(after.suspended) / float(after.flow) / (float(before.suspended) / float(before.flow))
        assert share == pytest.approx(exp(-2.0 * depth), rel=1e-3)


def test_dirtier_or_colder_liquor_shortens_the_run() -> None:
    plant = alone("deep-bed filter", {"suspended": 0.01})
    usual = solved(plant)
    dirtier, colder = solved(plant, {"melt.suspended": 0.02}), solved(plant, {"melt.temperature": 70.0})
    assert dirtier.values["it.run_length"] < usual.values["it.run_length"]
    assert colder.values["it.clean_head_loss"] > 1.2 * usual.values["it.clean_head_loss"]
    assert colder.values["it.run_length"] < usual.values["it.run_length"]
    assert float(dirtier.stream("it.sludge").flow) > float(usual.stream("it.sludge").flow)


def test_backwash_and_sweet_water_by_hand() -> None:
    """Bed volumes at each change over the time of a whole cycle, for four beds of 2.8 m³."""
    state = solved(alone("deep-bed filter", {"suspended": 0.01}, liquor_left=0.4, tail=0.0))
    cycle = state.values["it.run_length"] + 1.0
    assert float(state.stream("hot.water.1").flow) == pytest.approx(4.0 * 11.2 / cycle * 0.9749, rel=1e-3)
    sweet = liquor(state, "it.sweet_water")
    assert float(sweet.solids) == pytest.approx(0.65 * 0.4 * 11.2 / cycle * DENSITY, rel=1e-3)
    assert float(liquor(state, "it.sludge").solids) == pytest.approx(0.0, abs=1e-9)


def test_colour_passes() -> None:
    assert colour(solved(alone("deep-bed filter")), "it.filtered") == pytest.approx(1000.0, rel=1e-9)


def test_idle() -> None:
    state = idle(alone("deep-bed filter"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.filtered").flow) == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.run_length"] == pytest.approx(240.0, rel=1e-6)
