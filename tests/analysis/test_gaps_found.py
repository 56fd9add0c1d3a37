"""What mutation testing found untested: signs, factors and edges that worked examples happen to hide."""

from __future__ import annotations

import itertools

import pytest

from canewright.analysis import grain, grain_methods, pol_methods, precision
from canewright.properties import bagasse, boiling, crystal, saturation


def test_crystals_grow_faster_in_the_warmth() -> None:
    """Activation energy 60 kJ/mol: the worked example stands at the reference temperature, where it drops out."""
    warm, cool = (crystal.crystal_growth_rate(1.1, t, 0.0) for t in (75.0, 65.0))
    assert warm / cool == pytest.approx(1.84591, abs=1e-5)


def test_reducing_sugars_burn_too() -> None:
    """The worked example has none: 6750 Btu/lb for each part, equation 22 of the source."""
    with_them, without = (bagasse.calorific_value_by_parts(40.0, 6.0, g, 50.0) for g in (1.0, 0.0))
    assert with_them - without == pytest.approx(6750.0 * 2.326 / 100.0, rel=1e-9)


def test_sorption_doubles_its_slope_term_from_half_to_two_thirds_humid() -> None:
    """The term a φ/(100 − φ) is a at 50 % and 2 a at 66.67 %."""
    assert crystal.sorption_moisture(50.0, 0.008, 0.01) == pytest.approx(0.018, rel=1e-9)
    assert crystal.sorption_moisture(200.0 / 3.0, 0.008, 0.01) == pytest.approx(0.026, rel=1e-9)


def test_the_film_counts_its_reducing_sugars_in_per_cent() -> None:
    """With 50 % reducing sugars the film is one of half and half: the activity it is made of, worked by itself."""
    sucrose = saturation.saturated_sucrose_to_water(30.0, 2.0)
    expected = 100.0 * boiling.liquor_activity(1.0, sucrose, 1.0, 1.0)
    assert crystal.film_equilibrium_humidity(2.0, 30.0, 50.0) == pytest.approx(expected, rel=1e-12)


def test_bands_of_published_precision_adjoin() -> None:
    """Where a method states several ranges, each begins where the one before ends."""
    for _, bands in itertools.groupby(precision.PUBLISHED, key=lambda p: p.determination):
        for before, after in itertools.pairwise(bands):
            assert before.high == after.low


def test_sieves_that_hold_nothing_or_everything_above_are_left_out() -> None:
    inside = grain.cumulative_inside((1.0, 0.8, 0.6, 0.4), (0.0, 30.0, 40.0, 30.0))
    assert [aperture for aperture, _ in inside] == [0.8, 0.6]


def test_a_sum_of_a_hundred_may_be_off_by_rounding_only() -> None:
    assert grain.cumulative_inside((0.8, 0.6), (50.0, 50.0 + 5e-10))
    with pytest.raises(grain.SievesRefused):
        grain.cumulative_inside((0.8, 0.6), (50.0, 50.0 + 5e-9))


def test_three_sieves_are_enough_for_an_rrsb_line() -> None:
    found = grain_methods.grain_size_by_rrsb((0.8, 0.6, 0.4), (20.0, 30.0, 30.0))
    assert 0.4 < found.mean_aperture < 0.8


def test_solids_enter_the_divisor_of_double_polarisation() -> None:
    """The worked example stands at 13 g, where the term drops out; 23 g make the divisor 132.63 + 0.794."""
    assert pol_methods.jackson_gillis_sucrose(94.0, -30.0, 23.0, 20.0) == pytest.approx(12400.0 / 133.424, rel=1e-12)
