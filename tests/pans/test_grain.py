"""Moments of crystals against closed solutions of the population balance.

Randolph and Larson, Theory of Particulate Processes (1971): mixed-suspension crystalliser, moments n0 k! (Gτ)^(k+1),
mass distribution gamma(4) with dominant size 3 Gτ, mean 4 Gτ and coefficient of variation 50 % (from memory; a public
page on the population balance prints the median as 3.67 Gτ, read). McCabe (1929), Ind. Eng. Chem. 21, 30: growth of
every crystal by the same length (from memory).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from scipy.special import roots_genlaguerre

from canewright.analysis.grain import coefficient_of_variation
from canewright.engine import Variable
from canewright.engine.dynamics import Motion
from canewright.pans import grain

SIZES = st.floats(0.005, 0.5)
SPREADS = st.floats(0.0, 0.6)
TRAVELS = st.floats(0.0, 1.5)


def crystalliser() -> Motion:
    """A mixed-suspension crystalliser: growth, new grain of no size, and withdrawal."""
    states = [Variable(f"m{k}", "1", float(math.factorial(k))) for k in range(grain.MOMENTS)]

    def law(v: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        moments = [v[f"m{k}"] for k in range(grain.MOMENTS)]
        gained = grain.born_and_grown(moments, v["growth"], v["born"], 0.0)
        rates = {f"m{k}": gained[k] - moments[k] / v["residence"] for k in range(grain.MOMENTS)}
        return rates, {"number": moments[0]}

    return Motion(states, ["growth", "born", "residence"], [], law)


def test_a_mixed_suspension_crystalliser_comes_to_the_published_moments() -> None:
    motion, growth, residence, born = crystalliser(), 0.02, 40.0, 3.0
    p = motion.vector({"growth": growth, "born": born, "residence": residence})
    end = motion.stepped(np.zeros(6), p, np.zeros((0, 1)), np.array([60.0 * residence]), 1e-11)[:, 0] * motion.nominal
    length, density = growth * residence, born / growth
    for k in range(grain.MOMENTS):
        assert end[k] == pytest.approx(density * math.factorial(k) * length ** (k + 1), rel=1e-9)
    moments = list(end)
    assert grain.mean_by_mass(moments) == pytest.approx(4.0 * length, rel=1e-9)
    assert math.sqrt(grain.variation_squared(moments)) == pytest.approx(0.5, rel=1e-9)


def test_the_mass_of_a_mixed_suspension_has_its_published_dominant_size_median_and_sieve_variation() -> None:
    law = stats.gamma(4.0)
    dominant = optimize.minimize_scalar(lambda x: -law.pdf(x), bounds=(1.0, 6.0), method="bounded").x
    assert dominant == pytest.approx(3.0, abs=1e-5)
    coarse, middle, fine = (float(law.isf(share)) for share in (0.16, 0.50, 0.84))
    assert middle == pytest.approx(3.67206, abs=1e-5)
    assert float(coefficient_of_variation.function(coarse, middle, fine)) == pytest.approx(51.89, abs=0.005)


@given(size=SIZES, spread=SPREADS, travel=TRAVELS)
def test_without_dispersion_every_crystal_grows_by_the_same_length(size: float, spread: float, travel: float) -> None:
    seed = grain.log_normal_moments(2.0, size, spread)
    grown = grain.grown(seed, grain.pace_moments(0.0), travel, 0.0)
    assert grown[0] == pytest.approx(2.0, rel=1e-13)
    assert grown[1] / 2.0 == pytest.approx(size + travel, rel=1e-12)
    # spread about the mean is that of the seed, in mm
    assert grown[2] / 2.0 - (size + travel) ** 2 == pytest.approx((size * spread) ** 2, abs=1e-12 + 1e-11 * travel**2)


@settings(max_examples=40)
@given(size=SIZES, spread=st.floats(0.05, 0.4), pace=st.floats(0.12, 0.5), travel=st.floats(0.01, 1.5))
def test_moments_are_those_of_size_plus_pace_times_travel(
    size: float, spread: float, pace: float, travel: float
) -> None:
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    width = math.sqrt(math.log1p(spread**2))
    sizes = size * np.exp(width * nodes - 0.5 * width**2)
    share = weights / weights.sum()
    order = pace**-2.0
    paces = roots_genlaguerre(8, order - 1.0)
    places, chance = paces[0] / order, paces[1] / paces[1].sum()
    whole = sizes[:, None] + travel * places[None, :]
    grown = grain.grown(grain.log_normal_moments(1.0, size, spread), grain.pace_moments(pace), travel, 0.0)
    for k in range(grain.MOMENTS):
        assert grown[k] == pytest.approx(float(share @ whole**k @ chance), rel=1e-9)


@given(size=SIZES, spread=SPREADS, pace=SPREADS, travel=TRAVELS, merged=st.floats(0.0, 0.3))
def test_merging_keeps_mass_and_shape_and_lowers_the_number(
    size: float, spread: float, pace: float, travel: float, merged: float
) -> None:
    seed, paces = grain.log_normal_moments(1.0, size, spread), grain.pace_moments(pace)
    before, after = grain.grown(seed, paces, travel, 0.0), grain.grown(seed, paces, travel, merged)
    assert after[3] == pytest.approx(before[3], rel=1e-12)
    assert after[0] == pytest.approx(before[0] * math.exp(-3.0 * merged), rel=1e-12)
    assert grain.variation_squared(after) == pytest.approx(grain.variation_squared(before), rel=1e-8, abs=1e-10)


def test_growing_is_the_derivative_of_the_moment() -> None:
    seed, pace = grain.log_normal_moments(3.0, 0.1, 0.3), grain.pace_moments(0.25)
    step = 1e-5
    for order in (1, 2, 3, 4, 5):
        up, down = (grain.grown(seed, pace, 0.4 + s, 0.0)[order] for s in (step, -step))
        assert grain.growing(seed, pace, 0.4, order) == pytest.approx((up - down) / (2 * step), rel=1e-8)


def test_a_milliard_crystals_of_a_milligram_are_a_tonne() -> None:
    size = (1.0 / grain.PER_CUBE) ** (1.0 / 3.0)
    assert grain.number_for(1.0, size, 0.0) == pytest.approx(1.0, rel=1e-12)
    assert grain.mass(grain.log_normal_moments(1.0, size, 0.0)) == pytest.approx(1.0, rel=1e-12)
