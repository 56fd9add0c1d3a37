"""Powdered carbon: Freundlich contacting in one and two stages, worked by hand."""

from __future__ import annotations

from functools import cache

import pytest
from scipy.optimize import brentq, minimize_scalar

from canewright.plant.plant import Plant
from plant.refinery_line import alone, colour, idle, liquor, solved

ISOTHERM = {"isotherm_capacity": 400.0, "isotherm_exponent": 1.6}


@cache
def tank(contacting: str) -> Plant:
    """Carbon of q = 400 C^(1/1.6) in liquor of 1,000 IU."""
    return alone("powdered carbon", contacting=contacting, **ISOTHERM)


def out(contacting: str, dose: float, share: float = 50.0) -> float:
    state = solved(tank(contacting), {"it.dose": 100.0 * dose, "it.first_share": share})
    return float(state.values["it.colour_out"])


@pytest.mark.parametrize(
    ("contacting", "dose", "between"),
    [("one stage", 0.072927, 200.0), ("counter-current", 0.036631, 601.84)],
)
def test_dose_for_a_fifth_of_the_colour(contacting: str, dose: float, between: float) -> None:
    """1,000 to 200 IU: 0.072927 kg carbon on kg solids in one stage, 0.036631 in two counter-current (by hand)."""
    found = brentq(lambda x: out(contacting, x) - 200.0, 0.02, 0.10, xtol=1e-9)
    assert found == pytest.approx(dose, abs=1e-6)
    state = solved(tank(contacting), {"it.dose": 100.0 * found})
    assert state.values["it.colour_between"] == pytest.approx(between, abs=0.01)


def test_best_split_of_two_cross_current_stages() -> None:
    """Least carbon for 1,000 to 200 IU in two stages with fresh carbon: 0.052937, between them 469.81 IU (by hand)."""

    def wanted(share: float) -> float:
        return float(brentq(lambda x: out("cross-current", x, share) - 200.0, 0.03, 0.09, xtol=1e-10))

    best = minimize_scalar(wanted, bounds=(20.0, 80.0), method="bounded", options={"xatol": 1e-3})
    assert best.fun == pytest.approx(0.052937, abs=1e-6)
    state = solved(tank("cross-current"), {"it.dose": 100.0 * best.fun, "it.first_share": float(best.x)})
    assert state.values["it.colour_between"] == pytest.approx(469.81, abs=0.5)


def test_two_stages_beat_one_and_counter_current_beats_both() -> None:
    one, cross, counter = (out(c, 0.04) for c in ("one stage", "cross-current", "counter-current"))
    assert one > cross > counter


@pytest.mark.parametrize("contacting", ["one stage", "cross-current", "counter-current"])
def test_more_carbon_lightens_and_leaves_with_the_liquor(contacting: str) -> None:
    plant = tank(contacting)
    states = [solved(plant, {"it.dose": d}) for d in (0.0, 1.0, 2.0, 4.0)]
    colours = [colour(s, "it.treated") for s in states]
    assert colours == sorted(colours, reverse=True)
    assert colours[0] == pytest.approx(1000.0, rel=1e-6)
    assert float(liquor(states[2], "it.treated").suspended) == pytest.approx(0.02 * 55.0, rel=1e-9)


@pytest.mark.parametrize("contacting", ["one stage", "cross-current", "counter-current"])
def test_no_colour_and_no_liquor(contacting: str) -> None:
    pale = solved(tank(contacting), {"melt.colour": 0.0})
    assert float(liquor(pale, "it.treated").colour) == pytest.approx(0.0, abs=1e-3)
    state = idle(tank(contacting), {"melt.rate": 0.0})
    assert float(liquor(state, "it.treated").flow) == pytest.approx(0.0, abs=1e-12)


def test_tanks_too_small_are_named() -> None:
    state = solved(alone("powdered carbon", volume=10.0))
    ((_, held, there),) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(held) == pytest.approx(65.9 * 25.0 / 60.0, rel=2e-3)
    assert float(held) > float(there)
