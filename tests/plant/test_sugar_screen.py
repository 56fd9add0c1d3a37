"""Sugar screen: grades against the RRSB law for sharp decks, and grain that is neither made nor lost."""

from __future__ import annotations

from functools import cache
from math import exp, gamma

import numpy as np
import pytest
from scipy.integrate import quad

from canewright.plant.plant import Plant, State
from plant.boiling_house import described, idle, number, of, worst_closure

GRADES = ("oversize", "granulated", "fine", "undersize")
WHITE = {"kind": "sugar supply", "rate": 50, "moisture": 0.04, "purity": 99.95, "film_purity": 98, "colour": 30}


@cache
def screen(**settings: float) -> Plant:
    """A screen between refined sugar and the outside."""
    return described(
        {"white": WHITE, "it": {"kind": "sugar screen", **settings}},
        {"it.sugar": "white.sugar", **{f"outside.{g}": f"it.{g}" for g in GRADES}},
    )


def shares(state: State) -> list[float]:
    return [state.values[f"it.{g}_share"] for g in GRADES]


def test_sharp_decks_part_by_the_law_of_the_grain() -> None:
    """Perfect screens: what is above an aperture is exp(-(a/a')ⁿ) of the sugar (RRSB, from memory)."""
    state = screen(sharpness=60.0, efficiency=1.0, uniformity=3.5, characteristic=0.7).predict()
    above = [exp(-((a / 0.7) ** 3.5)) for a in (1.0, 0.4, 0.15)]
    ideal = [above[0], above[1] - above[0], above[2] - above[1], 1.0 - above[2]]
    assert shares(state) == pytest.approx(ideal, abs=0.006)
    assert state.values["it.mean_aperture"] == pytest.approx(0.7 * np.log(2.0) ** (1.0 / 3.5), rel=1e-12)


def _share(retained_on: float | None, passed: tuple[float, ...], power: float = 0.0) -> float:
    """Share retained on one deck after passing others, by numerical integration over sizes (scipy quad)."""

    def passes(size: float, aperture: float) -> float:
        return float(0.96 / (1.0 + exp(min(12.0 * (size - aperture) / aperture, 600.0))))

    def density(size: float) -> float:
        u = size / 0.68
        part = 3.8 / 0.68 * u**2.8 * exp(-(u**3.8)) * size**power
        for aperture in passed:
            part *= passes(size, aperture)
        return float(part * (1.0 - passes(size, retained_on)) if retained_on else part)

    return float(quad(density, 0.0, 2.5, epsabs=1e-10, limit=400)[0])


def test_imperfect_decks_against_numerical_integration() -> None:
    state = screen().predict()
    wanted = [_share(1.0, ()), _share(0.4, (1.0,)), _share(0.15, (1.0, 0.4)), _share(None, (1.0, 0.4, 0.15))]
    assert shares(state) == pytest.approx(wanted, abs=2e-4)
    assert state.values["it.granulated_size"] == pytest.approx(_share(0.4, (1.0,), 1.0) / wanted[1], rel=1e-3)
    assert state.values["it.fine_size"] == pytest.approx(_share(0.15, (1.0, 0.4), 1.0) / wanted[2], rel=2e-3)
    mean = state.values["it.granulated_size"]
    spread = (_share(0.4, (1.0,), 2.0) / wanted[1] - mean * mean) ** 0.5 / mean
    assert state.values["it.granulated_variation"] == pytest.approx(100.0 * spread, rel=5e-3)


def test_mean_size_of_all_grain_is_that_of_the_law() -> None:
    """A top deck that passes all leaves the mean size a' Γ(1 + 1/n) to what lies below it (Weibull mean)."""
    state = screen(first_aperture=5.0, second_aperture=0.04, third_aperture=0.03, efficiency=1.0).predict()
    assert state.values["it.granulated_size"] == pytest.approx(0.68 * gamma(1.0 + 1.0 / 3.8), rel=2e-3)
    assert state.values["it.granulated_share"] > 0.995


def test_grades_carry_what_came() -> None:
    plant = screen()
    state = plant.predict()
    assert sum(shares(state)) == pytest.approx(1.0, rel=1e-12)
    for name in ("crystal", "sucrose", "ash", "colour", "crystal_colour", "water"):
        whole = sum(number(state, f"it.{g}", name) for g in GRADES)
        assert whole == pytest.approx(number(state, "white.sugar", name), rel=1e-12)
    assert worst_closure(state) <= 1e-9
    assert number(state, "it.granulated", "icumsa_colour") == pytest.approx(30.0, rel=1e-9)
    assert idle(plant, white__rate=0.0)["it.granulated.crystal"] == pytest.approx(0.0, abs=1e-12)


def test_finer_decks_and_grain_move_sugar_down() -> None:
    plant = screen()
    base = plant.predict()
    wider, finer = plant.predict({"it.second_aperture": 0.5}), plant.predict({"it.characteristic": 0.55})
    assert wider.values["it.fine_share"] > base.values["it.fine_share"]
    assert finer.values["it.oversize_share"] < base.values["it.oversize_share"]
    assert finer.values["it.undersize_share"] > base.values["it.undersize_share"]
    assert finer.values["it.granulated_size"] < base.values["it.granulated_size"]


def test_blinded_decks_leave_fines_in_the_granulated() -> None:
    plant = screen()
    base, blinded = plant.predict(), plant.predict({"it.efficiency": 0.7})
    assert blinded.values["it.oversize_share"] > base.values["it.oversize_share"]
    assert blinded.values["it.fine_share"] < base.values["it.fine_share"]
    assert blinded.values["it.granulated_variation"] > base.values["it.granulated_variation"]


def test_load_of_the_deck_is_a_limit() -> None:
    state = screen(area=5.0).predict()
    ((_, used, there),) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert (float(used), float(there)) == pytest.approx((50.0, 30.0))
    assert of(state, "it.fine").temperature == pytest.approx(32.0)
