"""What mutation testing found untested: signs, factors and edges that worked examples happen to hide."""

from __future__ import annotations

import itertools

import pytest

from canewright.analysis import grain, grain_methods, payment, pol_methods, precision
from canewright.properties import bagasse, boiling, crystal, saturation, sucrose


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
    assert grain.cumulative_inside((0.8,), (100.0 + 1e-9,)) == []
    with pytest.raises(grain.SievesRefused):
        grain.cumulative_inside((0.8, 0.6), (50.0, 50.0 + 5e-9))


def test_three_sieves_are_enough_for_an_rrsb_line() -> None:
    found = grain_methods.grain_size_by_rrsb((0.8, 0.6, 0.4), (20.0, 30.0, 30.0))
    assert 0.4 < found.mean_aperture < 0.8


def test_solids_enter_the_divisor_of_double_polarisation() -> None:
    """The worked example stands at 13 g, where the term drops out; 23 g make the divisor 132.63 + 0.794."""
    assert pol_methods.jackson_gillis_sucrose(94.0, -30.0, 23.0, 20.0) == pytest.approx(12400.0 / 133.424, rel=1e-12)


PRINTED_PRECISION = [
    # determination, from, to, r, R as printed in the abstracts of the methods (read)
    ("white sugar pol", 99.0, 100.0, 0.066, 0.094),  # ICUMSA GS2-1 (2022)
    ("raw sugar pol, near infrared", 97.5, 99.9, 0.16, 0.27),  # ICUMSA GS1-2 (2022)
    ("colour at pH 7", 50.0, 200.0, 9.0, 18.0),  # ICUMSA GS9/1/2/3-8 (2011), precision table, five rows
    ("colour at pH 7", 200.0, 500.0, 23.0, 68.0),
    ("colour at pH 7", 500.0, 1200.0, 48.0, 140.0),
    ("colour at pH 7", 1200.0, 2500.0, 210.0, 320.0),
    ("colour at pH 7", 2500.0, 5000.0, 220.0, 530.0),
    ("turbidity", 0.0, 20.0, 3.0, 5.0),  # ICUMSA GS2/3-18 (2013)
    ("colour type", 0.0, 4.85, 0.14, 0.55),  # ICUMSA GS2-13 (2024)
]


@pytest.mark.parametrize(("determination", "low", "high", "repeatability", "reproducibility"), PRINTED_PRECISION)
def test_precision_is_that_printed_by_the_method(
    determination: str, low: float, high: float, repeatability: float, reproducibility: float
) -> None:
    found = precision.published_limits(determination, 0.5 * (low + high))
    assert found is not None
    assert (found.low, found.high) == (low, high)
    assert (found.repeatability, found.reproducibility) == (repeatability, reproducibility)


def test_refractometer_correction_far_from_20_degrees_and_thick() -> None:
    """60 brix read at 10 °C, worked by hand: -10 (0.07636216) + 100 (-0.0000934004) = -0.77296164 brix."""
    assert sucrose.refractometer_correction(60.0, 10.0) == pytest.approx(-0.77296164, abs=1e-8)


def test_a_week_of_rich_cane_raises_what_its_cane_is_worth() -> None:
    """The worked example has a relative factor of 1: 500 · 0.9 · (11.9 · 1.1 − 4)/100 worked by hand."""
    assert payment.jamaica_cane_price(500.0, 90.0, 11.9, 1.1, 4.0) == pytest.approx(40.905, rel=1e-12)


def test_ends_of_the_grain_lie_beyond_every_sieve() -> None:
    sieves, retained = (1.0, 0.8, 0.6), (20.0, 40.0, 30.0)
    for coarsest, finest in ((1.0, 0.2), (1.4, 0.7), (1.4, 0.6)):
        with pytest.raises(grain.SievesRefused):
            grain_methods.grain_size_by_moments(sieves, retained, coarsest, finest)


USUAL = [
    # determination, usual standard uncertainty from, to (daily composites with sampling; from memory), digits kept
    ("cane mass", 0.1, 0.2, 2), ("belt weigher mass", 0.3, 1.0, 1), ("mixed juice mass, batch scale", 0.1, 0.2, 2),
    ("flow, Coriolis meter", 0.2, 0.3, 2), ("flow, magnetic meter", 0.5, 1.0, 2), ("imbibition flow", 1.0, 1.5, 2),
    ("bagasse mass by difference", 3.0, 5.0, 0), ("filter cake mass", 10.0, 15.0, 1),
    ("molasses mass, scale", 0.3, 0.5, 1), ("molasses mass, tank dip", 1.0, 2.0, 1), ("sugar mass", 0.1, 0.1, 1),
    ("pol in cane", 0.15, 0.25, 2), ("brix in cane", 0.2, 0.2, 2), ("fibre in cane", 0.3, 0.5, 2),
    ("mixed juice brix", 0.05, 0.1, 3), ("mixed juice pol", 0.05, 0.05, 2), ("bagasse pol", 0.07, 0.12, 2),
    ("bagasse moisture", 0.4, 0.7, 2), ("filter cake pol", 0.2, 0.2, 2), ("syrup brix", 0.2, 0.2, 2),
    ("massecuite brix", 0.4, 0.4, 2), ("massecuite purity", 0.4, 0.4, 2), ("molasses brix", 0.4, 0.4, 2),
    ("molasses pol", 0.3, 0.3, 2), ("molasses purity", 0.5, 0.5, 2), ("raw sugar pol", 0.05, 0.05, 2),
    ("raw sugar moisture", 0.01, 0.02, 3), ("conductivity ash", 2.0, 3.0, 1), ("mean aperture", 0.01, 0.02, 3),
    ("coefficient of variation of grain", 1.0, 1.0, 1), ("sulphur dioxide", 2.0, 2.0, 1),
]  # fmt: skip


@pytest.mark.parametrize(("determination", "least", "most", "digits"), USUAL)
def test_a_default_uncertainty_is_the_middle_of_what_is_usual(
    determination: str, least: float, most: float, digits: int
) -> None:
    found = precision.default_uncertainty(determination, 100.0)  # a relative one is then its own figure
    assert found == pytest.approx(round(0.5 * (least + most), digits), rel=1e-9)
    assert least <= found <= most
