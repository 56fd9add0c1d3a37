"""What must hold for any input: inverses, closures and identities."""

from __future__ import annotations

from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.analysis import (
    boiling_house,
    brix,
    cane,
    colour,
    grain,
    milling,
    polarimetry,
    raw_sugar,
    refinery,
    stock,
)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@given(between(0, 20), between(0, 80))
def test_pol_to_reading_and_back(pol: float, solids: float) -> None:
    air = polarimetry.pol_from_polarimeter(polarimetry.polarimeter_reading(pol, solids), solids)
    vacuo = polarimetry.pol_from_polarimeter_vacuo(polarimetry.polarimeter_reading_vacuo(pol, solids), solids)
    assert air == pytest.approx(pol, abs=1e-11)
    assert vacuo == pytest.approx(pol, abs=1e-11)


@given(between(0.1, 100), between(0, 80))
def test_conventions_part_by_less_as_brix_rises(reading: float, solids: float) -> None:
    air, vacuo = (
        f(reading, solids) for f in (polarimetry.pol_from_polarimeter, polarimetry.pol_from_polarimeter_vacuo)
    )
    assert 5e-5 < air / vacuo - 1 < 4.2e-4
    assert air / vacuo <= polarimetry.pol_from_polarimeter(reading, 0.0) / polarimetry.pol_from_polarimeter_vacuo(
        reading, 0.0
    ) * (1 + 1e-12)


@given(between(2, 78), between(10, 30))
def test_refractometer_reading_inverts_the_correction(solids: float, temperature: float) -> None:
    assert brix.corrected_brix(brix.refractometer_reading(solids, temperature), temperature) == pytest.approx(
        solids, abs=1e-11
    )


@given(between(0, 3), between(0.5, 20), between(0.5, 80))
def test_colour_and_absorbance_invert(absorbance: float, cell: float, solids: float) -> None:
    expected = colour.icumsa_colour(absorbance, cell, solids)
    if expected <= 100000:
        assert colour.absorbance_of_colour(expected, cell, solids) == pytest.approx(absorbance, abs=1e-12)


@given(between(45, 80), between(0, 6), between(1, 11), between(0, 50))
def test_direct_analysis_closes(moisture: float, extract: float, ratio: float, free: float) -> None:
    fibre = cane.direct_fibre(moisture, extract, ratio, free)
    if 0 <= fibre <= 70:
        solids = cane.direct_brix(extract, fibre, ratio, free)
        assert moisture + solids + fibre == pytest.approx(100.0, abs=1e-9)


@given(between(5, 28), between(5, 32), between(5, 30))
def test_ccs_is_pol_less_half_the_impurities(pol: float, solids: float, fibre: float) -> None:
    in_cane, all_in_cane = cane.pol_in_cane(pol, fibre), cane.brix_in_cane(solids, fibre)
    assert cane.ccs(solids, pol, fibre) == pytest.approx(1.5 * in_cane - 0.5 * all_in_cane, abs=1e-12)


@given(between(50, 100))
def test_deerr_equals_mittal_at_reference_fibre(extraction: float) -> None:
    deerr = milling.reduced_extraction_deerr(extraction, 12.5)
    assert deerr == pytest.approx(milling.reduced_extraction_mittal(extraction, 12.5), abs=1e-12)


@given(between(70, 98))
def test_winter_carp_is_sjm_with_its_implied_molasses(juice: float) -> None:
    expected = boiling_house.sjm_recovery(100.0, juice, 100 * 0.4 / 1.4)
    assert boiling_house.winter_carp_recovery(juice) == pytest.approx(expected, abs=1e-11)


@given(between(75, 92), between(75, 96))
def test_reduced_recovery_is_gundu_rao_for_pure_sugar(juice: float, recovery: float) -> None:
    expected = boiling_house.reduced_recovery_gundu_rao(juice, recovery)
    assert boiling_house.reduced_recovery(100.0, juice, recovery) == pytest.approx(expected, abs=1e-9)


@given(between(80, 100), between(75, 80), between(70, 90))
def test_virtual_purity_explains_the_recovery(sugar: float, juice: float, recovery: float) -> None:
    virtual = boiling_house.virtual_molasses_purity(sugar, juice, recovery)
    if 10 <= virtual <= 65:
        assert boiling_house.sjm_recovery(sugar, juice, virtual) == pytest.approx(recovery, abs=1e-8)


@given(between(90, 100))
def test_yield_at_fifty_is_twice_the_pol_less_hundred(pol: float) -> None:
    assert raw_sugar.raw_yield(pol, 50.0) == pytest.approx(2 * pol - 100, abs=1e-12)


@given(between(0, 5000), between(40, 99), between(20, 60))
def test_stock_keeps_its_pol(solids: float, purity: float, molasses: float) -> None:
    sugar_tonnes = stock.sugar_in_stock(solids, purity, 99.0, molasses, 0.2)
    molasses_tonnes = stock.molasses_in_stock(solids, purity, 99.0, molasses, 85.0)
    pol = sugar_tonnes * 0.998 * 0.99 + molasses_tonnes * 0.85 * molasses / 100
    assert pol == pytest.approx(solids * purity / 100, abs=1e-9 * max(1.0, solids))


@given(between(1, 2000), between(1, 1.2), between(0.3, 0.65), between(5, 40), st.integers(1, 5))
def test_strikes_follow_from_one_another(feed: float, rise: float, share: float, ratio: float, strike: int) -> None:
    run_off = refinery.strike_run_off_colour(feed, float(strike), rise, share, ratio)
    following = refinery.strike_massecuite_colour(feed, float(strike + 1), rise, share, ratio)
    sugar_colour = refinery.strike_sugar_colour(feed, float(strike + 1), rise, share, ratio)
    left = refinery.strike_run_off_colour(feed, float(strike + 1), rise, share, ratio)
    assert following == pytest.approx(rise * run_off, rel=1e-12)
    assert share * sugar_colour + (1 - share) * left == pytest.approx(following, rel=1e-12)


APERTURES = (1.00, 0.85, 0.71, 0.60, 0.50, 0.425, 0.30)
RETAINED = (1.4, 7.8, 21.0, 24.4, 20.9, 11.4, 9.8)


def test_grain_size_of_the_sieve_set() -> None:
    """Own sieve set, normal 0.620 mm / 28 % rounded to 0.1 %; definitions after Pollach's comments on GS2-37 (read)."""
    by_line = grain.grain_size_by_regression(APERTURES, RETAINED)
    assert by_line.mean_aperture == pytest.approx(0.6195, abs=5e-4)
    assert by_line.coefficient_of_variation == pytest.approx(27.9953, abs=0.02)
    between_sieves = grain.grain_size_by_interpolation(APERTURES, RETAINED)
    assert between_sieves.mean_aperture == pytest.approx(0.6200, abs=5e-4)
    assert between_sieves.coefficient_of_variation == pytest.approx(27.8311, abs=0.02)


@given(between(0.4, 0.9), between(15, 35))
def test_regression_is_exact_on_a_normal_sugar(mean: float, variation: float) -> None:
    normal = NormalDist(mean, mean * variation / 100)
    sieves = [normal.inv_cdf(p) for p in (0.98, 0.9, 0.7, 0.5, 0.3, 0.1, 0.04)]
    above = [100 * (1 - normal.cdf(a)) for a in sieves]
    found = grain.grain_size_by_regression(sieves, [b - a for a, b in zip([0.0, *above], above, strict=False)])
    assert found.mean_aperture == pytest.approx(mean, abs=1e-6)
    assert found.coefficient_of_variation == pytest.approx(variation, abs=1e-6)


@pytest.mark.parametrize(
    ("apertures", "retained", "says"),
    [
        ((0.5, 0.7), (50, 50), "coarse to fine"),
        ((0.7, 0.5, 0.3), (50.0, -1.0, 20.0), "0 or more"),
        ((0.7, 0.5, 0.3), (50.0, 41.0, 20.0), "at most 100"),
        ((0.7, 0.5, 0.3), (30.0, 40.0, 20.0), "bracket"),
        ((0.7, 0.5, 0.3), (10.0, 40.0, 20.0), "bracket"),
    ],
)
def test_bad_sieves_are_refused(apertures: tuple[float, ...], retained: tuple[float, ...], says: str) -> None:
    with pytest.raises(grain.SievesRefused, match=says):
        grain.grain_size_by_regression(apertures, retained)
