"""The named ranges: what they say of one another, of matter and of instruments, and of published extremes.

Nothing here repeats a declaration: each statement would hold or fail without it. The limits of pure judgement are
counted at the end and not tested.
"""

from __future__ import annotations

import dataclasses
import math
import sys
from collections import Counter
from collections.abc import Callable
from statistics import NormalDist

import pytest

import canewright.analysis  # noqa: F401  (declares the formulas)
from canewright.analysis.grain import SievesRefused
from canewright.analysis.grain_methods import grain_size_by_two_sieves
from canewright.properties import ranges
from canewright.properties.ranges import PHYSICAL, PLAUSIBLE, SOURCE, Range
from canewright.quantity import CATALOGUE, Formula, OutOfRange


def named() -> dict[str, Range]:
    """Every named range."""
    return {name: each for name, each in vars(ranges).items() if isinstance(each, Range)}


def limits(formula: str, word: str) -> tuple[float, float]:
    """What a formula takes."""
    declared = CATALOGUE[formula].arguments[word]
    return declared.low, declared.high


# --- what matter and the calendar say ---------------------------------------------------------------------------------


def test_a_period_is_at_most_a_leap_year() -> None:
    assert limits("lost_time", "gross")[1] == 366 * 24
    assert limits("time_efficiency", "crushing") == (0.0, 366 * 24)


def test_ph_is_symmetrical_about_neutral_water() -> None:
    """Ion product of water at 25 °C 1.0e-14 (handbooks): a base of 1 mol/L lies as far above 7 as an acid below."""
    neutral = -0.5 * math.log10(1.0e-14)
    result = CATALOGUE["ph_at_temperature"].result
    assert (result.low, result.high) == (neutral - 7.0, neutral + 7.0)


def test_liquor_not_under_pressure_is_liquid_from_freezing_to_boiling() -> None:
    low, high = limits("solids_in_tank", "temperature")
    assert low == 0.0
    assert high == pytest.approx(CATALOGUE["saturation_temperature"](101.325), abs=0.1)
    for name in ("crystal_specific_heat", "crystal_density_at", "solubility_bubnik", "solubility_herzfeld"):
        assert limits(name, "temperature") == (low, high)


def test_the_refractive_index_runs_from_water_to_the_thickest_solution() -> None:
    """Water at 20 °C has 1.33299 (handbooks); the other end is that of the thickest solution that flows."""
    index = CATALOGUE["refractive_index"]
    low, high = limits("brix_of_refractive_index", "refractive_index")
    assert low == pytest.approx(1.33299, abs=5e-6)
    assert low == pytest.approx(index(limits("refractive_index", "dry_substance")[0]), abs=1e-6)
    assert high == pytest.approx(index(limits("refractive_index", "dry_substance")[1]), abs=5e-5)


def test_the_thickest_solution_lies_beyond_the_handbook_table() -> None:
    """CRC Handbook, concentrative properties of sucrose: 0 to 84 % (read)."""
    assert 84.0 <= limits("sucrose_density", "dry_substance")[1] <= 86.0


def test_a_crystal_fills_at_most_its_cube() -> None:
    low, high = limits("crystal_mass", "shape")
    assert high == 1.0
    assert low < math.pi / 6.0, "a ball has π/6 of its cube"


def test_masses_of_crystals_are_those_of_their_sizes_and_shapes() -> None:
    mass = CATALOGUE["crystal_mass"]
    sizes, shapes = limits("crystal_mass", "size"), limits("crystal_mass", "shape")
    low, high = limits("crystal_size", "crystal_mass")
    assert low <= mass(sizes[0], shapes[0]) <= 1.008 * low
    assert mass(sizes[1], shapes[1]) <= high <= 1.008 * mass(sizes[1], shapes[1])
    assert limits("crystal_surface", "crystal_mass") == (low, high)


def test_grain_jams_beyond_every_share_that_is_taken_and_below_the_densest_packing() -> None:
    """Spheres of one size fill at most π/√18 of space."""
    low, high = limits("massecuite_viscosity", "densest")
    assert 0 < low - limits("massecuite_viscosity", "crystal_volume")[1] < 0.034
    assert high <= math.pi / math.sqrt(18.0) <= 1.005 * high


def test_massecuite_thins_when_sheared() -> None:
    for name in ("apparent_viscosity", "massecuite_pressure_drop"):
        formula = CATALOGUE[name]
        assert math.isfinite(formula(**{**formula.example, "flow_index": 1.0}))
        with pytest.raises(OutOfRange):
            formula(**{**formula.example, "flow_index": 1.005})


def test_juice_is_no_thinner_than_hot_water_and_no_thicker_than_the_richest_juice_at_freezing() -> None:
    """Water at 130 °C: 0.2128 mPa·s (tables of IAPWS 2008, from memory); the other end by the richest juice."""
    thickest = CATALOGUE["viscosity"](limits("brix_in_cane", "juice_brix")[1], 0.0)
    for name, word in (("mud_settling_velocity", "viscosity"), ("drum_filtrate", "viscosity")):
        least, most = limits(name, word)
        assert least <= 0.2128e-3 <= 1.007 * least
        assert thickest <= most <= 1.008 * thickest
        assert least == limits("filtration_time", "viscosity")[0] == limits("reynolds_number", "viscosity")[0]


def test_heat_passes_liquor_as_slowly_as_the_thickest_and_as_fast_as_hot_water() -> None:
    conducts = CATALOGUE["liquor_conductivity"]
    (_, thickest), (coldest, hottest) = (limits("liquor_conductivity", w) for w in ("dry_substance", "temperature"))
    low, high = limits("prandtl_number", "conductivity")
    assert low <= conducts(thickest, coldest) <= 1.008 * low
    assert conducts(0.0, hottest) <= high <= 1.008 * conducts(0.0, hottest)


def test_vapour_is_as_dense_as_where_water_boils_in_condensers_and_exhaust() -> None:
    """Steam tables: saturated vapour fills 147.01 m³/kg at 5 °C (read) and 0.1944 m³/kg at 1000 kPa (from memory)."""
    low, high = limits("greatest_vapour_velocity", "vapour")
    assert low <= 1.0 / 147.01 <= 1.005 * low
    assert 1.0 / 0.1944 <= high <= 1.005 / 0.1944
    assert limits("boiling_temperature", "pressure")[1] == 1000.0
    assert (
        limits("boiling_point_elevation_norrish", "temperature")[0] == limits("steam_enthalpy", "temperature")[0] == 5.0
    )


def test_heat_of_feed_water_and_of_condensing_is_that_of_water_from_20_to_200_degrees() -> None:
    """Steam tables: 83.91 and 2453.5 kJ/kg at 20 °C (read), 852.4 and 1939.7 kJ/kg at 200 °C (from memory)."""
    low, high = limits("boiler_efficiency", "water_enthalpy")
    assert low <= 83.91 <= 1.005 * low
    assert 852.4 <= high <= 1.005 * 852.4
    low, high = limits("condensing_coefficient", "latent")
    assert low <= 1939.7 <= 1.005 * low
    assert 2453.5 <= high <= 1.005 * 2453.5
    assert limits("flash_share", "hot") == (20.0, 200.0)


def test_nothing_is_farther_apart_than_the_hottest_vapour_and_freezing_liquor() -> None:
    hottest = limits("boiling_point_elevation_norrish", "temperature")[1]
    for name, word in (("heat_exchanged", "difference"), ("log_mean_difference", "difference_in")):
        assert limits(name, word)[1] == hottest - limits("liquor_enthalpy", "temperature")[0]


def test_a_condenser_may_be_emptied_from_the_pressure_of_the_air_to_nothing() -> None:
    """Torricelli: at perfect vacuum ice-cold water stands 10.33 m high at sea level (handbooks, from memory)."""
    assert CATALOGUE["tail_pipe_column"](0.0, 0.0, 101.325) == pytest.approx(10.33, abs=0.01)
    assert limits("gas_drawn", "pressure") == limits("tail_pipe_column", "pressure")
    assert limits("tail_pipe_column", "pressure")[1] == limits("tail_pipe_column", "atmosphere")[1]


def test_mixed_with_vapour_nothing_that_boils_is_heavier_than_its_crystal() -> None:
    """Sucrose crystal: 1587.9 kg/m³ (from memory)."""
    most = limits("hydrostatic_boiling_rise", "density")[1]
    assert 1587.9 <= most <= 1.008 * 1587.9


FRACTIONS = [
    ("mass_share", "solids_share"), ("estimated_recoverable_crystal", "sucrose_share"),
    ("estimated_recoverable_crystal", "non_sucrose_loss"), ("recoverable_value", "non_sucrose_loss"),
    ("colour_in_film", "crystal_share"), ("crystal_colour", "inclusion"), ("removal_by_dose", "most"),
    ("pol_of_solution", "rotation_ratio"), ("sucrose_inverted", "rate"), ("cake_resistance", "compressibility"),
    ("passing_one_deck", "efficiency"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "word"), FRACTIONS)
def test_a_fraction_is_at_most_one(name: str, word: str) -> None:
    formula = CATALOGUE[name]
    assert math.isfinite(formula(**{**formula.example, word: 1.0}))
    with pytest.raises(OutOfRange, match=word):
        formula(**{**formula.example, word: 1.005})


# --- ranges that must fit one another ---------------------------------------------------------------------------------


def test_fibre_and_moisture_of_bagasse_fill_it_when_its_juice_is_gone() -> None:
    moisture, fibre = limits("bagasse_fibre", "moisture"), limits("bagasse_from_fibre", "bagasse_fibre")
    assert moisture[0] + fibre[1] == 100.0
    assert moisture[1] + fibre[0] <= 100.0


def test_fibre_and_juice_fill_the_cane() -> None:
    share = CATALOGUE["absolute_juice_share"]
    least, most = limits("absolute_juice_share", "fibre")
    assert least / 100.0 + share(least) == pytest.approx(1.0)
    assert most / 100.0 + share(most) == pytest.approx(1.0)
    assert least < most < 50.0, "cane is more juice than fibre"


def test_cane_has_less_pol_and_brix_than_its_juice_and_juice_less_pol_than_brix() -> None:
    pol, brix = limits("pol_in_cane", "juice_pol"), limits("brix_in_cane", "juice_brix")
    assert limits("ccs_of_cane", "pol_in_cane") == pol
    assert limits("ccs_of_cane", "brix_in_cane") == brix
    assert pol[1] < brix[1]


def test_what_one_formula_of_cane_answers_the_next_accepts() -> None:
    least = limits("pol_in_cane", "fibre")[0]
    pol, brix = limits("pol_in_cane", "juice_pol")[1], limits("brix_in_cane", "juice_brix")[1]
    assert CATALOGUE["pol_in_cane"](pol, least) <= limits("ccs_of_cane", "pol_in_cane")[1]
    assert CATALOGUE["brix_in_cane"](brix, least) <= limits("ccs_of_cane", "brix_in_cane")[1]


def test_the_highest_mill_stands_in_the_thinnest_air() -> None:
    least = limits("relative_humidity", "pressure")[0]
    highest = CATALOGUE["standard_pressure"](limits("standard_pressure", "altitude")[1])
    assert least <= highest <= 1.005 * least


def test_vapour_never_fills_the_air() -> None:
    least = limits("humidity_ratio", "pressure")[0]
    hottest = limits("humidity_at", "temperature")[1]
    most, vapour = limits("humidity_ratio", "vapour_pressure")[1], CATALOGUE["saturation_pressure"](hottest)
    assert vapour <= most <= 1.005 * vapour
    assert most < least


def test_dew_points_begin_at_freezing() -> None:
    humidity, pressure = limits("dew_point", "humidity")[0], limits("dew_point", "pressure")[0]
    assert 0.0 <= CATALOGUE["dew_point"](humidity, pressure) <= 0.3


def test_a_gain_may_be_a_loss_of_the_same_size() -> None:
    low, high = limits("melt_loss", "stock_gain")
    assert low == -high == -limits("melt_loss", "pol_out")[1]


def test_the_darker_begins_where_the_lighter_ends() -> None:
    assert (
        0 < limits("blend_share_by_colour", "dark_colour")[0] - limits("blend_share_by_colour", "light_colour")[1] <= 1
    )
    assert limits("coating_syrup_share", "syrup_colour")[0] - limits("coating_syrup_share", "sugar_colour")[1] > 0


def test_stops_outside_never_fill_the_period() -> None:
    gap = limits("available_time_efficiency", "gross")[0] - limits("available_time_efficiency", "outside")[1]
    assert 0 < gap <= 1


def test_tubes_run_from_a_quarter_to_twice_the_normal_tube() -> None:
    """The tubes of polarimetry are 50, 100, 200 and 400 mm (common practice, no source)."""
    assert limits("reading_from_angle", "tube") == (0.25 * 200.0, 2.0 * 200.0)


def test_two_sieves_have_the_deviates_that_their_shares_ask_for() -> None:
    """The coarse sieve holds less than 46 %, both more than 54 %, so the deviates keep clear of nothing."""
    nearest = grain_size_by_two_sieves((0.71, 0.50), (45.99, 8.02))
    assert 0.50 < nearest.mean_aperture < 0.71
    with pytest.raises(SievesRefused):
        grain_size_by_two_sieves((0.71, 0.50), (46.0, 20.0))
    most = limits("two_sieve_mean", "coarse_deviate")[1]
    assert NormalDist().inv_cdf(0.46) <= most < 0
    assert limits("two_sieve_mean", "fine_deviate")[0] == -most


def test_a_solution_is_saturated_between_freezing_and_the_end_of_the_solubility_set() -> None:
    low, high = limits("liquor_saturation_temperature", "sucrose_to_water")
    first, last = limits("solubility", "temperature")
    saturated = CATALOGUE["saturated_sucrose_to_water"]
    assert saturated(first, 0.0) <= low <= 1.005 * saturated(first, 0.0)
    assert high <= saturated(last, 0.0) <= 1.005 * high


def test_sugar_is_purer_than_what_runs_off_it() -> None:
    assert limits("sugar_yield_on_solids", "run_off_purity")[1] < limits("sugar_yield_on_solids", "sugar_purity")[0]
    assert limits("sjm_recovery", "molasses_purity")[1] < limits("sjm_recovery", "sugar_purity")[0]


def test_the_best_juice_makes_a_cane_quality_that_is_accepted() -> None:
    """Pure juice of the greatest pol in cane of the least fibre."""
    pol, fibre = limits("ccs", "juice_pol")[1], limits("ccs", "fibre")[0]
    best = CATALOGUE["ccs"](pol, pol, fibre)
    assert best <= limits("classic_cane_price", "ccs")[1] <= 1.005 * best


def test_evaporators_end_where_massecuite_begins() -> None:
    thickest = limits("inversion_rate", "dry_substance")[1]
    assert (
        thickest
        == limits("crystal_content", "massecuite_brix")[0]
        == limits("heat_transfer_swedish", "dry_substance")[1]
    )


def test_nothing_in_process_is_less_pure_than_molasses() -> None:
    least = limits("molasses_expected", "molasses_purity")[0]
    poorest = [
        ("impure_viscosity", "purity"), ("crystal_content", "liquor_purity"), ("pearson_share", "poor_purity"),
        ("sugar_yield_on_solids", "run_off_purity"),
    ]  # fmt: skip
    assert {limits(name, word)[0] for name, word in poorest} == {least}


def test_the_purity_of_dry_sugar_is_its_pol() -> None:
    assert limits("sjm_recovery", "sugar_purity") == limits("sugar_purity", "pol")


def test_dry_bagasse_and_its_water_are_the_whole() -> None:
    """The driest sample holds no juice that counts: what is not moisture is fibre."""
    assert limits("direct_fibre", "moisture")[0] + limits("direct_brix", "fibre")[1] == 100.0


def test_the_coarsest_crystal_lies_on_the_coarsest_sieve() -> None:
    assert limits("crystal_mass", "size")[1] == limits("coefficient_of_variation", "aperture_84")[1]


def test_what_rolls_sweep_and_what_passes_them_is_accepted() -> None:
    swept, words = CATALOGUE["escribed_volume_rate"], ("length", "opening", "speed")
    for end in (0, 1):
        expected = swept(*(limits("escribed_volume_rate", word)[end] for word in words))
        assert limits("filling_ratio", "escribed")[end] == pytest.approx(expected, rel=1e-9)
    flow, density = limits("no_void_volume_rate", "rate")[1], limits("no_void_volume_rate", "density")[0]
    greatest = CATALOGUE["no_void_volume_rate"](flow, density)
    assert greatest <= limits("filling_ratio", "no_void")[1] <= 1.005 * greatest


def test_bagasse_is_heavier_than_juice_and_juice_than_water() -> None:
    """Water at 30 °C: 995.65 kg/m³ (handbooks, from memory)."""
    juice, bagasse = limits("bagasse_volume_ratio", "juice_density"), limits("bagasse_volume_ratio", "bagasse_density")
    assert juice[0] <= 995.65 <= 1.005 * juice[0]
    assert 0 < bagasse[0] - juice[1] <= 10


def test_a_spindle_sinks_alike_in_kilograms_and_in_relative_density() -> None:
    heaviest = limits("brix_of_density", "density")[1]
    assert heaviest == pytest.approx(1000.0 * limits("brix_of_specific_gravity", "relative_density")[1])


def test_colour_may_double_as_it_may_vanish() -> None:
    low, high = limits("colour_after_removal", "removal")
    assert low == -high


EITHER_WAY = [
    ("shared_content", "factor", 100.0), ("jamaica_cane_price", "relative", 1.0), ("clerget_sucrose", "inverted", 0.0),
    ("lane_eynon_reducing_sugars", "factor", 50.0),
]  # fmt: skip
"""About a nominal figure: 10 mL of Fehling's solution take about 50 mg of invert sugar (handbooks, from memory)."""


@pytest.mark.parametrize(("name", "word", "nominal"), EITHER_WAY)
def test_what_may_be_off_either_way_may_be_off_as_far_both_ways(name: str, word: str, nominal: float) -> None:
    low, high = limits(name, word)
    assert 0.5 * (low + high) == pytest.approx(nominal, rel=1e-12, abs=1e-12)


def test_a_part_may_be_as_much_as_its_whole() -> None:
    """Leached of all there is, filtrate of that of pure sucrose, velocity of the greatest."""
    pairs = [
        ("preparation_index", "leached", "disintegrated"), ("filterability", "volume", "pure_volume"),
        ("juice_entrained", "velocity", "greatest"),
    ]  # fmt: skip
    for name, part, whole in pairs:
        assert limits(name, part)[1] == limits(name, whole)[1], name


def test_juice_is_as_poor_before_as_after() -> None:
    assert limits("non_sucrose_removed", "before")[0] == limits("non_sucrose_removed", "after")[0]


def test_the_thickest_that_a_refractometer_corrects_leaves_the_evaporators() -> None:
    thickest = limits("inversion_rate", "dry_substance")[1]
    assert limits("corrected_brix", "reading")[1] == limits("refractometer_correction", "reading")[1] == thickest


def test_a_polarimeter_turns_by_the_light_that_the_standard_allows() -> None:
    """The 100 °Z point at 633 and 540 nm, the ends that OIML R 14 states."""
    rotation = CATALOGUE["rotation_of_normal_solution"]
    low, high = limits("reading_from_angle", "hundred_point")
    assert low <= rotation(633.0) <= 1.005 * low
    assert rotation(540.0) <= high <= 1.005 * rotation(540.0)


def test_normal_deviates_are_symmetrical() -> None:
    """Three standard deviations: 99.7 % of the grain lies within."""
    coarse, fine = limits("two_sieve_mean", "coarse_deviate"), limits("two_sieve_mean", "fine_deviate")
    assert fine == (-coarse[1], -coarse[0])
    assert NormalDist().cdf(fine[1]) - NormalDist().cdf(coarse[0]) == pytest.approx(0.9973, abs=5e-5)


def test_the_same_error_is_let_through_in_every_recovery() -> None:
    assert limits("overall_recovery", "recovery")[1] == limits("grower_share", "recovery")[1]


def test_no_house_in_work_loses_more_than_half() -> None:
    made = [
        ("boiling_house_efficiency", "theoretical"), ("reduced_extraction_deerr", "extraction"),
        ("grower_share", "recovery"), ("reduced_overall_recovery", "reduced_recovery"),
        ("jamaica_cane_price", "recovery_index"),
    ]  # fmt: skip
    assert {limits(name, word)[0] for name, word in made} == {50.0}


# --- published extremes lie inside ------------------------------------------------------------------------------------

PUBLISHED = {
    # from the table of usual ranges of control figures, from memory, unless said otherwise
    "FIBRE_OF_CANE": (8.0, 20.0), "MOISTURE_OF_BAGASSE": (46.0, 52.0), "POL_OF_BAGASSE": (0.5, 6.0),
    "EXTRACTION": (90.0, 98.5), "PURITY_OF_JUICE": (70.0, 93.0), "BRIX_OF_MASSECUITE": (88.0, 98.0),
    "PURITY_OF_MOLASSES": (28.0, 60.0), "POL_OF_SUGAR": (96.0, 99.95), "SUGARS_TO_ASH": (0.4, 2.0),
    "NON_SUCROSE_TO_WATER": (0.0, 4.0), "SUPERSATURATION": (1.0, 1.3), "EVAPORATOR_TEMPERATURE": (55.0, 120.0),
    "COLOUR": (10.0, 60000.0), "NET_HEAT_OF_BAGASSE": (6500.0, 18260.0), "LATENT_HEAT": (2014.0, 2406.0),
    "LIQUOR_HEAT": (1.2, 4.25), "LIQUOR_DENSITY": (958.0, 1500.0), "FEED_WATER_ENTHALPY": (85.0, 700.0),
    "STEAM_ENTHALPY": (2700.0, 3450.0), "HEAT_COEFFICIENT": (0.5, 4.0),
}  # fmt: skip


@pytest.mark.parametrize(("name", "published"), PUBLISHED.items())
def test_what_was_found_in_mills_is_accepted(name: str, published: tuple[float, float]) -> None:
    low, high = named()[name]
    assert low <= published[0] < published[1] <= high


# --- records ----------------------------------------------------------------------------------------------------------


def records() -> list[type]:
    """Every record that the formulas return or are given."""
    modules = [
        m for name, m in sys.modules.items() if name.startswith(("canewright.properties", "canewright.analysis"))
    ]
    found = {c for m in modules for c in vars(m).values() if isinstance(c, type) and dataclasses.is_dataclass(c)}
    return sorted((c for c in found if c.__module__.startswith("canewright.")), key=lambda each: each.__qualname__)


def test_a_record_cannot_be_changed() -> None:
    """A result that was handed out stays what it was."""
    assert len(records()) > 8
    for record in records():
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(object.__new__(record), dataclasses.fields(record)[0].name, None)


# --- one home ---------------------------------------------------------------------------------------------------------


def test_each_range_says_what_it_is_and_on_what_it_rests() -> None:
    for name, each in named().items():
        low, high = each
        assert low < high, name
        assert len(each.says) > 5, name
        assert each.basis in {PHYSICAL, SOURCE, PLAUSIBLE}, name
    assert Counter(each.basis for each in named().values())[PHYSICAL] >= 9


SAME: dict[str, Callable[[str], bool]] = {
    "fibre % cane": lambda says: says == "fibre % cane",
    "mass of a period": lambda says: says in {"cane", "mixed juice", "final molasses", "bagasse"},
    "purity of massecuite": lambda says: says == "purity of massecuite",
    "pol in bagasse": lambda says: says == "pol in bagasse",
    "moisture of bagasse": lambda says: says == "moisture of bagasse",
    "brix of massecuite": lambda says: says == "brix of massecuite",
}


@pytest.mark.parametrize("quantity", SAME)
def test_one_quantity_has_one_range_wherever_it_is_asked(quantity: str) -> None:
    def asked(formula: Formula) -> list[tuple[str, float, float]]:
        return [
            (a.unit, 0.0 if a.low == ranges.MASS_PRESENT[0] else a.low, a.high)
            for a in formula.arguments.values()
            if SAME[quantity](a.says) and a.unit != "t/h"
        ]

    assert len({each for formula in CATALOGUE.values() for each in asked(formula)}) == 1
