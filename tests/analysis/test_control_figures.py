"""Laboratory, dosing, blending, steam, payment and grain figures: chained numbers and a second way to each.

Published figures of a single formula lie in ``src/canewright/published``.
"""

from __future__ import annotations

from collections.abc import Callable
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from canewright.analysis import (
    blending,
    boiling_house,
    brix,
    cane,
    cane_measures,
    colour,
    determinations,
    dosing,
    filter_station,
    grain,
    grain_methods,
    molasses_balance,
    payment,
    pol_methods,
    precision,
    refinery,
    refinery_losses,
    spindle,
    steam_figures,
    stock,
    time_account,
)
from canewright.analysis.pol_methods import Clarifier, MethodsMixed, Pol, PolMethod
from canewright.properties.boiling import boils_at
from canewright.properties.sucrose import apparent_specific_gravity, sucrose_density
from canewright.quantity import OutOfRange


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


INDIA = "press report of 22 February 2024, read"
SASTA = "SASTA Laboratory Manual, chapter 3, rule read"
REFINERY = "reference refinery, 55 t/h solids, derived from molar masses"
MILL = "reference mill, balance"

Check = tuple[str, Callable[[], object], float, float, str]
CHECKS: tuple[Check, ...] = (
    ("India 9.0", lambda: payment.india_price_with_floor(9.0, 3400.0, 10.25, 33.2), 3151.0, 1e-9, INDIA),
    ("mill balance factor", lambda: filter_station.direct_analysis_factor(40.0, 7.0, 47.365), 99.22939, 1e-5, SASTA),
    ("crystal colour", lambda: refinery_losses.crystal_colour(1.0e4, 0.55, 0.03), 430.374, 1e-3, REFINERY),
    ("dose law", lambda: refinery_losses.removal_by_dose(300.0, 1.0, 180.0), 0.81, 0.002, REFINERY),
    ("cake loss", lambda: filter_station.pol_lost_in_cake(350.0, 1.5, 1350.0), 0.3889, 5e-5, MILL),
    ("molasses loss", lambda: molasses_balance.pol_lost_in_molasses(341.0, 30.6, 1350.0), 7.7293, 5e-5, MILL),
    ("non-pol", lambda: molasses_balance.non_pol_ratio(185.504, 209.3684), 0.8860, 5e-5, MILL),
    ("non-pol left", lambda: molasses_balance.non_pol_difference(209.3684, 12, 11.84, 185.504), 0.0244, 5e-5, MILL),
    ("cane per sugar", lambda: molasses_balance.cane_per_sugar(10000.0, 1184.0), 8.4459, 5e-5, MILL),
    ("reduced overall", lambda: molasses_balance.reduced_overall_recovery(96.5514, 89.2824), 86.2034, 1e-4, MILL),
    ("relative 1", lambda: payment.relative_quality_additive(11.8, 12.934, 12.06667), 12.66733, 1e-5, "clause 148"),
    ("available", lambda: time_account.available_time_efficiency(143.7, 168.0, 17.0), 95.166, 1e-3, "own week"),
    ("mechanical", lambda: time_account.mechanical_time_efficiency(143.7, 5.2), 96.508, 1e-3, "own week"),
    ("overall", lambda: time_account.overall_time_efficiency(143.7, 168.0), 85.536, 1e-3, "own week"),
)


@pytest.mark.parametrize(("name", "calculate", "expected", "tolerance", "source"), CHECKS, ids=[c[0] for c in CHECKS])
def test_published_figure(
    name: str, calculate: Callable[[], float], expected: float, tolerance: float, source: str
) -> None:
    assert float(calculate()) == pytest.approx(expected, abs=tolerance), f"{name}: {source}"


@given(between(0.0, 70.0), between(15.0, 30.0))
def test_a_spindle_at_its_own_temperature_needs_no_correction(reading: float, reference: float) -> None:
    assert spindle.spindle_correction(reading, reference, reference) == pytest.approx(0.0, abs=1e-9)


@given(between(1.0, 70.0), between(5.0, 60.0))
def test_spindle_sinks_to_its_own_mass(reading: float, temperature: float) -> None:
    """Mass of liquid displaced at temperature equals that at the reference: the law, worked the other way."""
    found = float(spindle.spindle_brix(reading, temperature, 20.0))
    if 0.0 <= found <= 85.0:
        displaced = sucrose_density(found, temperature) * (1.0 + 25e-6 * (temperature - 20.0))
        assert displaced == pytest.approx(sucrose_density(reading, 20.0), rel=1e-10)


@given(between(0.0, 80.0))
def test_specific_gravity_inverts(solids: float) -> None:
    gravity = min(max(float(apparent_specific_gravity(solids)), 1.0), 1.42)
    assert spindle.brix_of_specific_gravity(gravity) == pytest.approx(solids, abs=1e-7)


@given(between(1.0, 1.075))
def test_specific_gravity_and_the_table_fit_agree_in_juice(gravity: float) -> None:
    ours = float(spindle.brix_of_specific_gravity(gravity))
    assert ours == pytest.approx(float(brix.brix_from_relative_density(gravity)), abs=0.02)


@given(between(0.0, 80.0), between(5.0, 100.0))
def test_density_meter_inverts(solids: float, temperature: float) -> None:
    density = float(sucrose_density(solids, temperature))
    if 940.0 <= density <= 1420.0:
        assert spindle.brix_of_density(density, temperature) == pytest.approx(solids, abs=1e-7)


@given(between(0.0, 60.0))
def test_baume_inverts(baume: float) -> None:
    gravity = min(float(spindle.relative_density_of_baume(baume)), 2.0)
    assert spindle.baume_of_relative_density(gravity) == pytest.approx(baume, abs=1e-10)


@given(between(1.0, 40.0))
def test_milk_of_lime_strength_is_the_mixture_it_came_from(hydroxide: float) -> None:
    """A litre with this much hydroxide by volume of 2240 kg/m³, weighed and read back."""
    share = hydroxide / 400.0
    gravity = (share * 2240.0 + (1.0 - share) * 998.2) / 998.2
    if gravity <= 1.25:
        expected = share * 2240.0 * 56.077 / 74.093
        assert dosing.milk_of_lime_strength(gravity, 2240.0) == pytest.approx(expected, rel=1e-10)


def test_recalled_table_of_milk_of_lime_does_not_close() -> None:
    """94, 148 and 206 g/L at 10, 15 and 20 degrees Baumé (from memory): volumes that add give 5 to 8 % more."""
    for baume, recalled in ((10.0, 94.0), (15.0, 148.0), (20.0, 206.0)):
        ours = float(dosing.milk_of_lime_strength(spindle.relative_density_of_baume(baume), 2240.0))
        assert 1.05 < ours / recalled < 1.08


@given(between(0.0, 3000.0), between(0.0, 5.0), between(50.0, 300.0))
def test_lime_doses_follow_their_flows(crushed: float, dose: float, strength: float) -> None:
    lime = float(dosing.lime_on_cane(crushed, dose))
    assert dosing.milk_of_lime_flow(lime, strength) * strength / 1000.0 == pytest.approx(lime, rel=1e-12)
    assert dosing.hydroxide_of_lime(lime) == pytest.approx(lime * (1.0 + 18.015 / 56.077), rel=1e-4)
    assert dosing.burnt_lime_needed(lime, 85.0) * 0.85 == pytest.approx(lime, rel=1e-12)
    assert dosing.dosing_flow(crushed, dose, 0.1) == pytest.approx(crushed * dose / 1.0, rel=1e-12)


@given(between(2.0, 15.0), between(20.0, 40.0), between(0.0, 1.9))
def test_filter_retention_is_that_of_the_balance(mud: float, cake: float, filtrate: float) -> None:
    caked = (mud - filtrate) / (cake - filtrate)
    held = 100.0 * caked * cake / mud
    assert filter_station.filter_retention(mud, cake, filtrate) == pytest.approx(held, rel=1e-12)
    assert filter_station.cake_from_solids(caked * cake, cake) == pytest.approx(100.0 * caked, rel=1e-12)


@given(between(0.0, 1.0), between(50.0, 95.0), between(50.0, 95.0))
def test_mass_share_keeps_the_solids(share: float, first: float, second: float) -> None:
    by_mass = float(blending.mass_share(share, first, second))
    solids = by_mass * first / (by_mass * first + (1.0 - by_mass) * second)
    assert solids == pytest.approx(share, abs=1e-12)


@given(between(0.1, 0.8), between(0.0, 1.0))
def test_three_way_blend_meets_both_wishes(first: float, split: float) -> None:
    second = (1.0 - first) * split
    third = 1.0 - first - second
    made = [blending.Material("syrup", 86.0, 12000.0), blending.Material("A molasses", 70.0, 30000.0)]
    made.append(blending.Material("magma", 95.0, 9000.0))
    shares = (first, second, third)
    purity = sum(s * m.purity for s, m in zip(shares, made, strict=True))
    quality = sum(s * m.quality for s, m in zip(shares, made, strict=True))
    found = blending.three_way_blend(made, purity, quality)
    system = np.array([[1.0] * 3, [m.purity for m in made], [m.quality for m in made]])
    by_matrix = np.linalg.solve(system, np.array([1.0, purity, quality]))
    for m, s, other in zip(made, shares, by_matrix, strict=True):
        assert found[m.name] == pytest.approx(s, abs=1e-8)
        assert found[m.name] == pytest.approx(other, abs=1e-8)
    weighed = [part for s, m in zip(shares, made, strict=True) for part in (s * 100.0, m.purity)]
    assert blending.blend_of_three(*weighed) == pytest.approx(purity, rel=1e-12)


@pytest.mark.parametrize(
    ("qualities", "purity", "says"),
    [
        (((86.0, 100.0), (70.0, 200.0)), 80.0, "needs exactly three"),
        (((80.0, 100.0), (70.0, 200.0), (60.0, 300.0)), 75.0, "lie on one line"),
        (((86.0, 100.0), (70.0, 200.0), (95.0, 150.0)), 99.0, "would be negative"),
    ],
)
def test_impossible_blends_are_refused(qualities: tuple[tuple[float, float], ...], purity: float, says: str) -> None:
    made = [blending.Material(f"material {n}", *each) for n, each in enumerate(qualities)]
    with pytest.raises(blending.BlendImpossible, match=says):
        blending.three_way_blend(made, purity, 150.0)


@given(between(601.0, 5000.0), between(0.0, 600.0), between(0.0, 1.0))
def test_colour_share_is_undone_by_mixing(dark: float, light: float, share: float) -> None:
    wanted = share * dark + (1.0 - share) * light
    found = float(blending.blend_share_by_colour(dark, light, wanted))
    assert found == pytest.approx(share, abs=1e-9)
    if share > 0.01:
        mixed = colour.mixed_colour(100.0 * share, dark, 100.0 * (1.0 - share), light)
        assert mixed == pytest.approx(wanted, rel=1e-10)


@given(between(60.0, 180.0), between(30.0, 59.0))
def test_flash_is_that_of_the_steam_library(hot: float, cold: float) -> None:
    low = IAPWS97(T=cold + 273.15, x=0)
    into = IAPWS97(T=hot + 273.15, x=0).h
    dry = IAPWS97(T=cold + 273.15, x=1).h - low.h
    assert steam_figures.flash_share(hot, cold) == pytest.approx(100.0 * (into - low.h) / dry, rel=1e-4)


def test_flash_of_nothing_is_nothing() -> None:
    assert steam_figures.flash_share(100.0, 100.0) == 0.0
    assert boils_at(101.41798) == pytest.approx(100.0, abs=1e-4)


@given(between(10.0, 300.0), between(3000.0, 9000.0), between(50.0, 90.0))
def test_boiler_efficiency_and_steam_per_bagasse_invert(bagasse: float, heat: float, efficiency: float) -> None:
    steam = bagasse * float(steam_figures.steam_per_bagasse(efficiency, heat, 3230.0, 440.0))
    assert steam_figures.boiler_efficiency(min(steam, 2000.0), 3230.0, 440.0, bagasse, heat) == pytest.approx(
        efficiency, rel=1e-9
    )


@given(between(1.0, 500.0), between(5.0, 20.0), between(60.0, 75.0))
def test_evaporation_keeps_its_solids(feed: float, brix_in: float, brix_out: float) -> None:
    left = feed - float(steam_figures.evaporation_by_brix(feed, brix_in, brix_out))
    assert left * brix_out == pytest.approx(feed * brix_in, rel=1e-12)


@given(between(0.0, 90.0), between(0.0, 90.0), between(100.0, 5000.0))
def test_removals_in_series_are_colours_in_series(first: float, second: float, start: float) -> None:
    left = colour.colour_after_removal(colour.colour_after_removal(start, first), second)
    both = refinery_losses.removal_in_series(first, second)
    assert colour.colour_after_removal(start, both) == pytest.approx(left, rel=1e-10, abs=1e-9)


@given(between(10.0, 2000.0), between(1.0, 1.1), between(0.35, 0.6), between(6.0, 30.0))
def test_a_white_strike_accounts_for_its_colour(feed: float, rise: float, share: float, ratio: float) -> None:
    boiled = float(refinery.strike_massecuite_colour(feed, 1.0, rise, share, ratio))
    dry = float(refinery.strike_sugar_colour(feed, 1.0, rise, share, ratio))
    left = float(refinery.strike_run_off_colour(feed, 1.0, rise, share, ratio))
    rest = refinery_losses.colour_unaccounted(100.0, boiled, 100.0 * share, dry, 100.0 * (1.0 - share), left)
    assert rest == pytest.approx(0.0, abs=1e-9)


@given(between(0.2, 0.7), between(0.001, 0.01))
def test_little_inclusion_is_the_mean_of_the_mother_liquor(crystal_yield: float, inclusion: float) -> None:
    """With hardly any colour taken in, the mother liquor darkens as 1/(1 - x): its mean over the strike is the log."""
    expected = -inclusion * np.log(1.0 - crystal_yield) / crystal_yield * 1000.0
    assert refinery_losses.crystal_colour(1000.0, crystal_yield, inclusion) == pytest.approx(expected, rel=7e-3)
    assert refinery_losses.crystal_colour(1000.0, crystal_yield, 1.0) == pytest.approx(1000.0, rel=1e-12)


@given(between(70.0, 95.0))
def test_basic_recovery_holds_winter_carp_and_sjm(juice: float) -> None:
    carp = boiling_house.winter_carp_recovery(juice)
    assert molasses_balance.basic_recovery(juice, 100 * 0.4 / 1.4) == pytest.approx(carp, abs=1e-10)
    sjm = boiling_house.sjm_recovery(100.0, juice, 35.0)
    assert molasses_balance.basic_recovery(juice, 35.0) == pytest.approx(sjm, abs=1e-10)


@given(between(1.0, 5000.0), between(60.0, 97.0), between(25.0, 50.0))
def test_molasses_expected_is_that_of_the_stock(solids: float, juice: float, molasses: float) -> None:
    expected = stock.molasses_in_stock(solids, juice, 99.0, molasses, 85.0)
    assert molasses_balance.molasses_expected(solids, juice, 99.0, molasses, 85.0) == pytest.approx(expected, rel=1e-12)
    assert molasses_balance.molasses_at_85(100.0, 85.0) == 100.0
    assert molasses_balance.sugar_at_96(100.0, 96.0) == 100.0


def test_reference_mill_molasses() -> None:
    """Solids to the pans 1471.6 t at 86.5878 give 341.04 t of 85 brix; 341.0 t were weighed."""
    solids = 341.0442 * 0.85 * (98.998 - 36.0) / (98.998 - 86.5878)
    assert molasses_balance.molasses_expected(solids, 86.5878, 98.998, 36.0, 85.0) == pytest.approx(341.0442, abs=1e-6)


@given(between(5.0, 20.0), between(5.0, 20.0), between(10.0, 18.0))
def test_ccs_of_a_juice_implies_molasses_of_a_third(pol: float, other: float, fibre: float) -> None:
    """Half the impurities lost is SJM with sugar 100 and molasses 33.33."""
    in_cane, solids = pol, pol + other
    purity = 100.0 * in_cane / solids
    if 70.0 <= purity <= 98.0 and fibre > 0:
        recovery = boiling_house.sjm_recovery(100.0, purity, 100.0 / 3.0)
        assert cane.ccs_of_cane(in_cane, solids) == pytest.approx(in_cane * recovery / 100.0, rel=1e-9)


def test_relative_payment_of_three_weeks() -> None:
    """Two growers in three weeks: 12.57789 and 13.26272, the sum of 646.7 kept."""
    masses = ((1000.0, 500.0), (800.0, 1200.0), (600.0, 900.0))
    found = ((11.8, 12.6), (13.4, 14.1), (12.2, 12.9))
    weeks = [sum(t * q for t, q in zip(m, f, strict=True)) / sum(m) for m, f in zip(masses, found, strict=True)]
    total = sum(sum(m) for m in masses)
    season = sum(sum(m) * w for m, w in zip(masses, weeks, strict=True)) / total
    for form in (payment.relative_quality_additive, payment.relative_quality_multiplicative):
        paid = [[float(form(q, season, w)) for q in f] for f, w in zip(found, weeks, strict=True)]
        units = sum(t * q for m, p in zip(masses, paid, strict=True) for t, q in zip(m, p, strict=True)) / 100.0
        assert units == pytest.approx(646.7, abs=1e-9)
        if form is payment.relative_quality_additive:
            means = [
                sum(m[g] * p[g] for m, p in zip(masses, paid, strict=True)) / sum(m[g] for m in masses) for g in (0, 1)
            ]
            assert means == pytest.approx([12.57789, 13.26272], abs=1e-5)


def test_jamaica_forms_part_away_from_fourteen_fibre() -> None:
    full = cane_measures.jamaica_recoverable_sugar
    near = payment.jamaica_recoverable_sugar_short(16.0, 14.0, 85.0) / full(16.0, 14.0, 85.0)
    far = payment.jamaica_recoverable_sugar_short(16.0, 18.0, 85.0) / full(16.0, 18.0, 85.0)
    assert abs(near - 1.0) < 5e-4
    assert abs(far - 1.0) > 0.009


def test_india_floor_holds_and_range_is_refused() -> None:
    assert payment.india_price_with_floor(8.0, 3400.0, 10.25, 33.2) == pytest.approx(3151.0)
    with pytest.raises(OutOfRange, match="recovery"):
        payment.india_price_with_floor(20.0, 3400.0, 10.25, 33.2)


@given(between(1.0, 100.0), between(0.1, 200.0))
def test_content_on_solids_undoes_its_concentration(solids: float, content: float) -> None:
    if solids <= 80.0:
        per_litre = content * float(colour.colour_concentration(solids))
        assert determinations.content_on_solids(per_litre, solids) == pytest.approx(content, rel=1e-12)


def test_determinations_agree_with_one_another() -> None:
    assert determinations.dry_substance_by_drying(10.0, 7.95) == pytest.approx(
        determinations.dry_substance_by_water(20.5), rel=1e-12
    )
    assert determinations.colour_in_film(1800.0, 600.0, 1.0) == pytest.approx(
        100.0 * (1.0 - 1.0 / float(determinations.affined_colour_ratio(1800.0, 600.0))), rel=1e-12
    )
    assert determinations.fibre_without_soil(15.0, 0.225, 1.5) == pytest.approx(15.0, rel=1e-12)
    assert determinations.filterability(80.0, 80.0) == 100.0


APERTURES = (1.00, 0.85, 0.71, 0.60, 0.50, 0.425, 0.30)
RETAINED = (1.4, 7.8, 21.0, 24.4, 20.9, 11.4, 9.8)


def test_grain_by_moments_of_the_sieve_set() -> None:
    found = grain_methods.grain_size_by_moments(APERTURES, RETAINED, 1.18, 0.15)
    assert found.mean_aperture == pytest.approx(0.6217, abs=5e-5)
    assert found.coefficient_of_variation == pytest.approx(28.559, abs=5e-4)


def test_methods_part_by_more_than_a_unit_of_variation() -> None:
    found = [
        grain.grain_size_by_regression(APERTURES, RETAINED).coefficient_of_variation,
        grain_methods.grain_size_by_moments(APERTURES, RETAINED, 1.18, 0.15).coefficient_of_variation,
        grain_methods.grain_size_by_rrsb(APERTURES, RETAINED).coefficient_of_variation,
    ]
    assert 0.5 < max(found) - min(found) < 10.0


@given(between(0.4, 0.9), between(15.0, 35.0))
def test_two_sieves_are_exact_on_a_normal_sugar(mean: float, variation: float) -> None:
    normal = NormalDist(mean, mean * variation / 100.0)
    sieves = [normal.inv_cdf(p) for p in (0.7, 0.3)]
    above = [100.0 * (1.0 - normal.cdf(a)) for a in sieves]
    found = grain_methods.grain_size_by_two_sieves(sieves, [above[0], above[1] - above[0]])
    assert found.mean_aperture == pytest.approx(mean, rel=1e-9)
    assert found.coefficient_of_variation == pytest.approx(variation, rel=1e-9)


@given(between(0.4, 0.9), between(2.0, 6.0))
def test_rrsb_line_is_exact_on_an_rrsb_sugar(characteristic: float, uniformity: float) -> None:
    sieves = [characteristic * f for f in (1.3, 1.1, 0.9, 0.7, 0.5)]
    totals = [float(grain_methods.rrsb_retained(a, characteristic, uniformity)) for a in sieves]
    retained = [b - a for a, b in zip([0.0, *totals], totals, strict=False)]
    found = grain_methods.grain_size_by_rrsb(sieves, retained)
    half = grain_methods.rrsb_mean_aperture(characteristic, uniformity)
    assert found.mean_aperture == pytest.approx(half, rel=1e-6)
    assert grain_methods.rrsb_retained(half, characteristic, uniformity) == pytest.approx(50.0, rel=1e-12)
    assert found.coefficient_of_variation == pytest.approx(grain_methods.rrsb_variation(uniformity), rel=1e-6)


@pytest.mark.parametrize(
    ("method", "arguments", "says"),
    [
        (grain_methods.grain_size_by_two_sieves, ((0.7, 0.5, 0.3), (20.0, 40.0, 20.0)), "takes two"),
        (grain_methods.grain_size_by_two_sieves, ((0.7, 0.5), (60.0, 20.0)), "both sides of the mean"),
        (grain_methods.grain_size_by_moments, (APERTURES, RETAINED, 0.9, 0.15), "must enclose"),
        (grain_methods.grain_size_by_rrsb, ((0.7, 0.5), (20.0, 40.0)), "at least three"),
    ],
)
def test_unfit_sieves_are_refused(method: Callable[..., object], arguments: tuple[object, ...], says: str) -> None:
    with pytest.raises(grain.SievesRefused, match=says):
        method(*arguments)


LEAD, NEAR_INFRARED = PolMethod(Clarifier.DRY_LEAD), PolMethod(Clarifier.FILTER_AID, 880.0)


def test_pols_by_two_methods_are_not_one_series() -> None:
    pols = [Pol(12.1, LEAD), Pol(12.2, NEAR_INFRARED)]
    with pytest.raises(MethodsMixed, match=r"pol 2 of 2 is by filter aid only, 880 nm"):
        pol_methods.one_series(pols, LEAD)
    assert pol_methods.one_series(pols[:1], LEAD) == [12.1]


def test_a_fitted_offset_joins_two_methods() -> None:
    truth = [11.0 + 0.1 * k for k in range(12)]
    lead = [Pol(v, LEAD) for v in truth]
    other = [Pol(v - 0.15 + (0.01 if k % 2 else -0.01), NEAR_INFRARED) for k, v in enumerate(truth)]
    offset = pol_methods.fitted_offset(other, lead)
    assert offset.value == pytest.approx(0.15, abs=1e-9)
    assert offset.uncertainty == pytest.approx(0.01 * (12 / 11) ** 0.5 / 12**0.5, rel=1e-9)
    joined = pol_methods.one_series([*lead, *other], LEAD, [offset])
    assert joined[12:] == pytest.approx([p.value + 0.15 for p in other], abs=1e-9)


def test_offsets_need_pairs_of_one_method_each() -> None:
    pols = [Pol(12.0, LEAD)] * 9
    with pytest.raises(MethodsMixed, match="at least 10"):
        pol_methods.fitted_offset(pols, pols)
    with pytest.raises(MethodsMixed, match="one method only"):
        pol_methods.fitted_offset([*pols, Pol(12.0, NEAR_INFRARED)], [Pol(12.0, LEAD)] * 10)


def test_lead_is_told_to_be_poisonous() -> None:
    assert "poisonous" in Clarifier.DRY_LEAD.caution
    assert "poisonous" in Clarifier.WET_LEAD.caution
    assert not Clarifier.ALUMINIUM.caution


@pytest.mark.parametrize(
    ("determination", "value", "expected"),
    [
        ("white sugar pol", 99.8, 0.094 / 2.8),
        ("raw sugar pol", 98.5, 0.27 / 2.8),
        ("raw sugar pol", 96.0, 0.05),  # below the range of the published limits: the default
        ("colour", 100.0, 18.0 / 2.8),
        ("colour", 800.0, 140.0 / 2.8),
        ("mixed juice brix", 15.0, 0.075),
        ("cane mass", 10000.0, 15.0),
    ],
)
def test_each_method_brings_its_uncertainty(determination: str, value: float, expected: float) -> None:
    assert precision.method_uncertainty(determination, value) == pytest.approx(expected, rel=1e-12)


def test_duplicates_beyond_repeatability_are_told() -> None:
    limits = precision.published_limits("raw sugar pol", 98.5)
    assert limits is not None
    assert precision.significant(98.50, 98.70, limits.repeatability)
    assert not precision.significant(98.50, 98.60, limits.repeatability)
    with pytest.raises(KeyError, match="no default uncertainty for 'luck'"):
        precision.method_uncertainty("luck", 1.0)
