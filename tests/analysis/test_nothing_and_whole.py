"""Limiting cases that follow from what a formula means: nothing put in, nothing of a part, and the pure or whole.

What may be absent must be accepted as absent, and the answer is then known without the formula. Balances and
definitions only; no figure here was taken from a declaration.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

import canewright.analysis  # noqa: F401  (declares the formulas)
from canewright.quantity import CATALOGUE, OutOfRange

NOTHING_FOR_NOTHING = """
humidity_ratio vapour_pressure
boiling_point_elevation_handbook dry_substance
boiling_point_elevation_norrish dry_substance
boiling_point_elevation_hugot dry_substance
boiling_point_elevation_textbook dry_substance
hydrostatic_boiling_rise density
hydrostatic_boiling_rise height
supersaturation sucrose_to_water
supersaturation_of_liquor dry_substance
massecuite_viscosity liquor_viscosity
apparent_viscosity consistency
massecuite_pressure_drop consistency
molasses_viscosity_by_solids factor
crystal_volume_share crystal
heat_exchanged coefficient
heat_exchanged surface
heat_exchanged difference
sucrose_inverted rate
sucrose_inverted hours
invert_formed sucrose_lost
colour_formation_rate reference_rate
liquor_enthalpy temperature
liquor_enthalpy_flow temperature
fibre_enthalpy temperature
suspended_solids_enthalpy temperature
mass_share solids_share
direct_brix extract_brix
direct_pol extract_pol
pol_in_cane juice_pol
brix_in_cane juice_brix
java_ratio cane_pol
in_absolute_juice content
absolute_juice_brix_from_first_juice juice_brix
jamaica_recoverable_sugar press_pol
jamaica_recoverable_sugar_short press_pol
colour_concentration brix
absorbance_of_colour colour
absorbance_of_colour brix
icumsa_colour absorbance
colour_after_removal colour
sulphated_ash residue
insoluble_matter residue
content_on_solids content
content_on_brix content
reducing_sugars_to_ash reducing_sugars
filterability volume
fibre_by_washing residue
dry_substance_by_drying after
affined_colour_ratio whole
hydroxide_of_lime lime
burnt_lime_needed lime
lime_on_cane cane
lime_on_cane dose
milk_of_lime_flow lime
phosphate_dose solids
phosphate_dose dose
phosphoric_acid_needed phosphate
lime_for_phosphate phosphate
phosphate_precipitate phosphate
carbon_dioxide_needed lime
carbonate_precipitate lime
dosing_flow stream
dosing_flow dose
pol_lost_in_cake cake
pol_lost_in_cake cake_pol
cake_from_solids solids
cake_wash_ratio wash_water
shared_content content
direct_analysis_factor in_juice+in_bagasse
on_cane stream
dilution_on_imbibition dilution
absolute_juice_recovered brix
massecuite_on_brix volume
extraction in_mixed_juice
bagasse_from_fibre cane
milling_loss bagasse_pol
imbibition_on_fibre imbibition
lost_absolute_juice bagasse_brix
preparation_index leached
time_efficiency crushing
fibre_rate crushing_rate
non_pol_ratio molasses
molasses_expected solids
pol_lost_in_molasses molasses
pol_lost_in_molasses molasses_pol
molasses_at_85 molasses
cane_per_sugar cane
sugar_at_96 sugar
standard_tons net
thailand_cane_price price_at_ten
thailand_mill_return price_at_ten
jamaica_cane_price sugar_price
relative_quality_multiplicative quality
relative_quality_multiplicative season
pol_from_polarimeter reading
polarimeter_reading pol
undiluted_reading reading
quartz_value value
reading_from_angle angle
reading_at_20 reading
pol_of_slurry reading
pol_of_bagasse extract_pol
standard_deviation_of_limit limit
apparent_purity pol
gravity_purity sucrose
true_purity sucrose
eu_ash_points ash
eu_type_points colour_type
eu_solution_points colour
strike_massecuite_colour feed_colour
strike_sugar_colour feed_colour
strike_run_off_colour feed_colour
remelt_on_production remelt
pan_yield sugar_solids
crystal_colour feed_colour
removal_by_dose dose
removal_by_dose most
steam_on_cane steam
evaporation_by_brix feed
steam_economy evaporated
evaporation_rate evaporated
bleeding_saving bleed
heating_steam flow
boiler_efficiency steam
power_on_cane power
entrainment_loss vapour
entrainment_loss content
seed_mass crystal
solids_in_tank volume
solids_in_tank brix
sugar_in_stock solids
molasses_in_stock solids
safety_factor moisture
dilution_indicator moisture
conductivity_at_20 conductivity
overall_time_efficiency crushing
available_time_efficiency crushing
lost_time stops
boiling_house_recovery sugar_pol
boiling_house_efficiency recovery
overall_recovery extraction
overall_recovery recovery
no_void_volume_rate rate
filling_ratio no_void
reabsorption_factor bagasse
compaction fibre
gas_drawn volume
evaporated_by_cooling duty
evaporated_by_cooling latent_share
juice_entrained at_greatest
juice_entrained velocity
clear_juice_turbidity solids+haze
clear_juice_turbidity of_solids+haze
column_passed exposure
equilibrium_colour held
cane_deterioration_rate at_20
filtration_time filtrate
drum_filtrate area
pasteurisation_units minutes
basket_charge layer
gravity_factor speed
theoretical_air carbon+hydrogen+oxygen
calorific_value_by_elements carbon+hydrogen+oxygen+sulphur
oxygen_in_gas excess
film_moisture non_sucrose
gas_for_carbon_dioxide carbon_dioxide
ccs juice_brix+juice_pol
louisiana_recoverable_sugar sucrose+brix
heating_steam temperature_in+temperature_out
"""
"""Proportional to it: none of it gives none. A + sets two to nothing."""

KNOWN_WITHOUT = [
    # formula, argument at nothing, what the answer then is
    ("moist_air_enthalpy", {"humidity": 0.0}, 1.006 * 30.0),
    ("moist_air_enthalpy", {"temperature": 0.0}, 0.02 * 2501.0),
    ("relative_humidity", {"humidity": 0.0}, 0.0),
    ("humidity_at", {"relative_humidity": 0.0}, 0.0),
    ("gross_calorific_value", {"moisture": 0.0, "ash": 0.0, "brix": 0.0}, 19605.0),
    ("net_calorific_value", {"moisture": 0.0, "ash": 0.0, "brix": 0.0}, 18260.0),
    ("calorific_value_by_parts", {"fibre": 0.0, "sucrose": 0.0, "reducing_sugars": 0.0, "moisture": 0.0}, 0.0),
    ("water_activity_of_liquor", {"dry_substance": 0.0}, 1.0),
    ("oversaturation", {"sucrose_to_water": 0.0}, -1.0),
    ("sorption_moisture", {"relative_humidity": 0.0}, 0.01),
    ("sorption_moisture", {"slope": 0.0, "least": 0.0}, 0.0),
    ("massecuite_viscosity", {"crystal_volume": 0.0}, 10.0),
    ("massecuite_density", {"crystal": 0.0}, 1450.0),
    ("massecuite_specific_heat", {"crystal": 0.0}, 2.20),
    ("specific_heat_hugot", {"dry_substance": 0.0}, 4.1868),
    ("textbook_specific_heat", {"dry_substance": 0.0}, 4.19),
    ("liquor_specific_heat", {"dry_substance": 0.0}, 4.1868),
    ("fouled_coefficient", {"rate": 0.0}, 2.5),
    ("fouled_coefficient", {"hours": 0.0}, 2.5),
    ("fouled_coefficient_by_root", {"rate": 0.0}, 2.5),
    ("fouled_coefficient_by_root", {"hours": 0.0}, 2.5),
    ("heat_transfer_fitted", {"dry_substance": 0.0}, 3.5),
    ("ph_at_temperature", {"fall": 0.0}, 7.0),
    ("blend_share_by_colour", {"light_colour": 0.0, "target": 0.0}, 0.0),
    ("direct_fibre", {"extract_brix": 0.0}, 30.0),
    ("direct_fibre", {"extract_brix": 0.0, "brix_free_water": 0.0}, 30.0),
    ("direct_brix", {"fibre": 0.0}, 5.2 * 3.0),
    ("direct_pol", {"fibre": 0.0, "brix_free_water": 0.0}, 4.55 * 3.0),
    ("direct_brix", {"brix_free_water": 0.0}, 5.2 * (3.0 - 0.1540107)),
    ("recoverable_value", {"non_sucrose": 0.0, "fibre_loss": 0.0}, 13.5),
    ("recoverable_value", {"non_sucrose_loss": 0.0, "fibre_loss": 0.0}, 13.5),
    ("estimated_recoverable_crystal", {"non_sucrose": 0.0, "fibre_loss": 0.0}, 0.978 * 13.0),
    ("estimated_recoverable_crystal", {"sucrose": 0.0, "non_sucrose_loss": 0.0, "fibre_loss": 0.0}, 0.0),
    ("classic_cane_price", {"sugar_price": 0.0}, 0.578),
    ("classic_cane_price", {"ccs": 0.0, "constant": 0.0}, -0.9 * 4.0 * 4.0),
    ("turbidity", {"filtered": 0.0}, 24.722),
    ("turbidity", {"unfiltered": 0.0, "filtered": 0.0}, 0.0),
    ("colour_removal", {"colour_out": 0.0}, 100.0),
    ("colour_removal", {"solids_out": 0.0}, 100.0),
    ("colour_after_removal", {"removal": 0.0}, 1200.0),
    ("mixed_colour", {"solids_two": 0.0}, 800.0),
    ("mixed_colour", {"colour_one": 0.0, "colour_two": 0.0}, 0.0),
    ("blend_of_three", {"solids_two": 0.0, "solids_three": 0.0}, 86.0),
    ("dry_substance_by_water", {"water": 0.0}, 100.0),
    ("colour_in_film", {"affined": 0.0}, 100.0),
    ("fibre_without_soil", {"ash": 0.0, "clean_ash": 0.0}, 15.4),
    ("filter_retention", {"filtrate": 0.0}, 100.0),
    ("mill_extraction", {"pol_out": 0.0}, 100.0),
    ("extraction_from_fibre_ratio", {"bagasse_pol": 0.0}, 100.0),
    ("bagasse_fibre", {"pol": 0.0}, 50.0),
    ("mixed_juice_by_balance", {"imbibition": 0.0, "bagasse": 0.0}, 10000.0),
    ("mixed_juice_by_balance", {"cane": 0.0, "bagasse": 0.0}, 2800.0),
    ("dilution_water", {"brix": 0.0}, 9852.631579),
    ("dilution_water", {"mixed_juice": 0.0, "brix": 0.0}, 0.0),
    ("undetermined_loss", {"cake_pol": 0.0, "sugar_pol": 0.0, "molasses_pol": 0.0}, 1296.947368),
    ("undetermined_loss", {"juice_pol": 0.0, "cake_pol": 0.0, "sugar_pol": 0.0, "molasses_pol": 0.0}, 0.0),
    ("non_pol_difference", {"juice": 0.0, "cake": 0.0, "sugar": 0.0, "molasses": 0.0}, 0.0),
    ("india_fair_price", {"premium": 0.0}, 3400.0),
    ("relative_quality_additive", {"quality": 0.0, "season": 0.0, "week": 0.0}, 0.0),
    ("relative_quality_multiplicative", {"quality": 0.0}, 0.0),
    ("jamaica_cane_price", {"sugar_price": 0.0, "recoverable": 0.0, "fixed": 0.0}, 0.0),
    ("quartz_value", {"temperature": 0.0, "reference": 0.0}, 33.0),
    ("reading_at_20", {"coefficient": 0.0}, 98.20),
    ("pol_of_bagasse", {"extract_pol": 0.0, "extract_brix": 0.0}, 0.0),
    ("pol_of_solution", {"reducing_sugars": 0.0}, 13.0),
    ("pol_of_solution", {"rotation_ratio": 0.0}, 13.0),
    ("pol_of_solution", {"sucrose": 0.0, "reducing_sugars": 0.0}, 0.0),
    ("apparent_non_pol", {"pol": 0.0}, 15.0),
    ("apparent_non_pol", {"brix": 0.0, "pol": 0.0}, 0.0),
    ("raw_yield_with_loss", {"loss": 0.0}, 97.0),
    ("raw_yield_by_ash", {"ash": 0.0, "invert": 0.0, "loss": 0.0}, 98.5),
    ("raw_yield_by_ash", {"ash": 0.0, "invert_factor": 0.0, "loss": 0.0}, 98.5),
    ("refinery_yield", {"refined": 0.0, "stock_gain": 0.0}, 0.0),
    ("melt_loss", {"pol_out": 0.0, "stock_gain": 0.0}, 100.0),
    ("refinery_yield_on_pol", {"refined_pol": 0.0, "stock_gain": 0.0}, 0.0),
    ("undetermined_on_melt", {"refined_pol": 0.0, "molasses_pol": 0.0, "known_pol": 0.0, "stock_gain": 0.0}, 100.0),
    ("colour_unaccounted", {"solids_one": 0.0, "solids_two": 0.0}, 100.0),
    ("colour_unaccounted", {"colour_one": 0.0, "colour_two": 0.0}, 100.0),
    ("raw_melt", {"remelt": 0.0}, 1042.0),
    ("raw_melt", {"total_melt": 0.0, "remelt": 0.0}, 0.0),
    ("removal_in_series", {"first": 0.0, "second": 0.0}, 0.0),
    ("coating_syrup_share", {"sugar_colour": 0.0, "target_colour": 0.0}, 0.0),
    ("scum_loss_three_stages", {"wash_ratio": 0.0}, 1.0),
    ("relative_density_of_baume", {"baume": 0.0}, 1.0),
    ("baume_of_relative_density", {"relative_density": 1.0}, 0.0),
    ("milk_of_lime_strength", {"relative_density": 1.0}, 0.0),
    ("brix_of_specific_gravity", {"relative_density": 1.0}, 0.0),
    ("conductivity_ash_white", {"solution": 0.0, "water": 0.0}, 0.0),
    ("conductivity_ash_white", {"water": 0.0}, 6e-4 * 32.0),
    ("conductivity_ash_raw", {"solution": 0.0, "water": 0.0}, 0.0),
    ("mother_liquor_brix", {"crystal": 0.0}, 92.0),
    ("moisture_by_drying", {"after": 0.0}, 100.0),
    ("sugar_purity", {"moisture": 0.0}, 98.80),
    ("mechanical_time_efficiency", {"mechanical": 0.0}, 100.0),
    ("available_time_efficiency", {"outside": 0.0}, 100.0 * 143.7 / 168.0),
    ("undiluted_brix", {"water": 0.0}, 14.10),
    ("undiluted_brix", {"diluted_brix": 0.0}, 0.0),
    ("dry_substance_from_brix", {"brix": 0.0}, 0.0),
    ("no_void_density", {"fibre": 0.0}, "juice_density"),
    ("solubility_coefficient_queensland", {"non_sucrose_to_water": 0.0}, 1.0),
    ("solubility_coefficient", {"non_sucrose_to_water": 0.0}, 1.0),
    ("colour_in_film", {"affined": 0.0, "crystal_share": 1.0}, 100.0),
    ("mud_settling_velocity", {"flocculant": 0.0}, "unaided"),
    ("mud_settling_velocity", {"gain": 0.0}, "unaided"),
    ("clear_juice_turbidity", {"haze": 0.0}, 0.1 * 300.0),
    ("clear_juice_turbidity", {"phosphate": 0.0}, 0.1 * 300.0 + 200.0),
    ("overall_coefficient", {"resistance": 0.0}, 7.422 * 10.0 / 17.422),
    ("crystal_number", {"variation": 0.0}, 1e9 / (1587.9 * 0.69 * 0.6**3)),
    ("preparation_index_by_power", {"power": 0.0}, "before"),
    ("preparation_index_by_power", {"power": 0.0, "before": 0.0}, 0.0),
    ("filtration_time", {"solids": 0.0}, 0.001 * 2.861e12 * 0.0389705882 / 3e5),
    ("filtration_rate", {"filtrate": 0.0}, 3600.0 * 3e5 / (0.001 * 2.861e12)),
    ("filtration_rate", {"solids": 0.0}, 3600.0 * 3e5 / (0.001 * 2.861e12)),
    ("cake_resistance", {"compressibility": 0.0}, "at_one_bar"),
    ("left_by_washing", {"wash_ratio": 0.0}, 1.0),
    ("left_by_washing", {"efficiency": 0.0}, 1.0),
    ("column_passing", {"transfer_units": 0.0}, 1.0),
    ("column_passing", {"transfer_units": 0.0, "exposure": 0.0}, 1.0),
    ("column_passed", {"transfer_units": 0.0, "exposure": 1.0}, 1.0),
    ("evaporation_by_brix", {"brix_in": 0.0}, "feed"),
    ("standard_pressure", {"altitude": 0.0}, 101.325),
    ("ph_at_temperature", {"temperature": 20.0}, "cooled"),
    ("impure_viscosity", {"purity": 100.0, "decades": -0.5}, 8.11819169 / 10.0**0.96),
    ("icumsa_colour", {"absorbance": -0.06}, -0.5 * 19.51769274),
    ("india_fair_price", {"base_price": 0.0, "premium": 0.0}, 0.0),
    ("sorption_moisture", {"slope": 0.1, "relative_humidity": 50.0, "least": 0.0}, 0.1),
    ("cane_deterioration_rate", {"quotient": 1.0}, "at_20"),
    # a law of the first power, and the first or only one of a row
    ("juice_entrained", {"exponent": 1.0}, 100.0),
    ("molasses_viscosity_by_solids", {"exponent": 1.0}, 0.04),
    ("rrsb_retained", {"uniformity": 1.0, "aperture": 0.7}, 100.0 / math.e),
    ("rrsb_mean_aperture", {"uniformity": 1.0}, 0.7 * math.log(2.0)),
    ("rrsb_variation", {"uniformity": 1.0}, 50.0 * math.log(0.84 / 0.16) / math.log(2.0)),
    ("mill_capacity_hugot", {"rolls": 2.0}, 255.032634 * math.sqrt(2.0 / 15.0)),
    ("bleeding_saving", {"vessel": 1.0, "vessels": 1.0}, "bleed"),
    # the pure and the whole
    ("cake_resistance", {"compressibility": 1.0, "pressure": 300.0}, 3.0 * 2e11),
    ("heat_exchanged", {"coefficient": 1.0, "surface": 1.0}, "difference"),
    ("liquor_specific_heat", {"dry_substance": 100.0, "temperature": 0.0}, 4.1868 - 2.97 + 0.0046 * 85.0),
    ("massecuite_density", {"crystal": 100.0}, 1587.9),
    ("massecuite_specific_heat", {"crystal": 100.0}, 1.394),
    ("crystal_volume_share", {"crystal": 100.0}, 1.0),
    ("apparent_viscosity", {"shear_rate": 1.0}, "consistency"),
    ("apparent_viscosity", {"shear_rate": 1.0, "flow_index": 1.0}, "consistency"),
    ("massecuite_pressure_drop", {"velocity": 2.0, "diameter": 1.0, "flow_index": 1.0, "consistency": 1.0}, 64.0),
    ("mass_share", {"solids_share": 1.0}, 1.0),
    ("mass_share", {"first_brix": 100.0, "second_brix": 100.0}, 0.333333333),
    ("burnt_lime_needed", {"available": 100.0}, "lime"),
    ("spindle_brix", {"reading": 0.0, "temperature": 20.0}, 0.0),
    ("crystal_on_solids", {"massecuite_purity": 100.0}, 100.0),
    ("exhaustion", {"massecuite_purity": 100.0}, 100.0),
    ("crystal_content", {"massecuite_purity": 100.0, "massecuite_brix": 100.0}, 100.0),
    ("crystal_content_by_brix", {"massecuite_brix": 100.0}, 100.0),
    ("sugar_yield_on_solids", {"massecuite_purity": 100.0, "sugar_purity": 100.0}, 100.0),
    ("colour_after_removal", {"removal": 100.0}, 0.0),
    ("colour_after_removal", {"removal": -100.0}, 2400.0),
    ("removal_in_series", {"first": 100.0}, 100.0),
    ("raw_yield", {"pol": 100.0}, 100.0),
    ("raw_yield_with_loss", {"pol": 100.0, "loss": 0.0}, 100.0),
    ("sjm_recovery", {"sugar_purity": 100.0, "molasses_purity": 20.0, "juice_purity": 50.0}, 75.0),
    ("winter_carp_recovery", {"juice_purity": 50.0}, 60.0),
    ("boiling_house_efficiency", {"recovery": 100.0, "theoretical": 100.0}, 100.0),
    ("overall_recovery", {"extraction": 100.0, "recovery": 100.0}, 100.0),
    ("reduced_extraction_deerr", {"extraction": 100.0}, 100.0),
    ("reduced_extraction_mittal", {"extraction": 100.0}, 100.0),
    ("non_sucrose_removed", {"after": 100.0}, 100.0),
    ("pol_of_solution", {"sucrose": 100.0, "reducing_sugars": 0.0}, 100.0),
    ("dry_substance_by_water", {"water": 100.0}, 0.0),
    ("pan_yield", {"sugar_solids": 50.0}, 100.0),
    ("mechanical_time_efficiency", {"mechanical": 143.7}, 50.0),
    ("strike_run_off_purity", {"feed_purity": 100.0}, 100.0),
    ("run_off_colour_factor", {"colour_rise": 1.0, "colour_ratio": 10.0, "solids_yield": 0.5}, 1.9),
    ("removal_by_dose", {"most": 1.0, "dose": 5000.0, "scale": 100.0}, 1.0),
]  # fmt: skip


def nothing_for_nothing() -> list[tuple[str, list[str]]]:
    """Formula and the arguments that are set to nothing together."""
    lines = (line.split() for line in NOTHING_FOR_NOTHING.strip().splitlines())
    return [(name, words.split("+")) for name, words in lines]


@pytest.mark.parametrize(("name", "words"), nothing_for_nothing(), ids=str)
def test_none_of_it_gives_none(name: str, words: list[str]) -> None:
    formula = CATALOGUE[name]
    assert formula(**{**formula.example, **dict.fromkeys(words, 0.0)}) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("name", "absent", "known"), KNOWN_WITHOUT, ids=str)
def test_what_remains_is_known(name: str, absent: dict[str, float], known: float | str) -> None:
    formula = CATALOGUE[name]
    expected = formula.example[known] if isinstance(known, str) else known
    assert formula(**{**formula.example, **absent}) == pytest.approx(expected, rel=1e-8, abs=1e-9)


MORE_THAN_ALL = {
    ("boiling_house_efficiency", "recovery"), ("overall_recovery", "recovery"),
    ("reduced_overall_recovery", "reduced_recovery"), ("grower_share", "recovery"),
    ("jamaica_cane_price", "recovery_index"), ("shared_content", "factor"), ("heat_transfer_fitted", "most"),
    ("evaporated_by_cooling", "latent_share"), ("oxygen_in_gas", "excess"),
}  # fmt: skip
"""Percentages that errors of measurement, an extrapolated line, warm air or an excess may carry beyond the whole; the
rest may not."""


def parts_of_a_whole() -> list[tuple[str, str]]:
    """Formulas and their arguments in per cent that cannot be more than the whole."""
    given = ((f.name, n, a.unit) for f in CATALOGUE.values() for n, a in f.arguments.items())
    return [(name, word) for name, word, unit in given if unit.startswith("%") and (name, word) not in MORE_THAN_ALL]


@pytest.mark.parametrize(("name", "word"), parts_of_a_whole())
def test_more_than_the_whole_is_refused(name: str, word: str) -> None:
    formula = CATALOGUE[name]
    with pytest.raises(OutOfRange, match=word):
        formula(**{**formula.example, word: 100.2})


@pytest.mark.parametrize(("name", "word"), sorted(MORE_THAN_ALL))
def test_a_little_more_than_all_is_let_through_where_errors_must_be_seen(name: str, word: str) -> None:
    formula = CATALOGUE[name]
    assert np.isfinite(float(formula(**{**formula.example, word: 101.0})))
