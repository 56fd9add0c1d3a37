"""Every property formula repeats its example, reads numbers of all kinds alike, is smooth and holds its range."""

from __future__ import annotations

import itertools
from typing import Any

import casadi as ca
import numpy as np
import pytest

import canewright.properties  # noqa: F401  declares the formulas
from canewright.quantity import CATALOGUE, Dimensional, Formula, OutOfRange, UnitMismatch, Word, unit

FORMULAS = [f for f in CATALOGUE.values() if f.module.startswith("canewright.properties.")]
NAMES = [f.name for f in FORMULAS]
EXPECTED = {
    "mean_coefficient_between_cleanings", "best_run_between_cleanings",
    "mud_settling_velocity", "clear_juice_turbidity",
    "greatest_vapour_velocity", "juice_entrained", "gas_drawn", "tail_pipe_column", "evaporated_by_cooling",
    "saturation_pressure", "saturation_temperature", "water_enthalpy", "water_volume", "water_entropy",
    "steam_enthalpy", "steam_volume", "steam_entropy", "saturated_water_enthalpy", "saturated_steam_enthalpy",
    "latent_heat",
    "water_density", "sucrose_density", "apparent_specific_gravity", "refractive_index", "brix_of_refractive_index",
    "refractometer_correction", "viscosity", "solubility", "solubility_coefficient",
    "water_activity", "boiling_temperature", "boiling_point_elevation_handbook", "boiling_point_elevation_textbook",
    "hydrostatic_boiling_rise",
    "liquor_enthalpy_flow", "liquor_specific_heat", "heat_of_crystallisation", "crystal_enthalpy", "fibre_enthalpy",
    "suspended_solids_enthalpy", "textbook_specific_heat", "liquor_conductivity",
    "humidity_ratio", "moist_air_enthalpy", "relative_humidity", "humidity_at", "dew_point",
    "gross_calorific_value", "net_calorific_value",
    "inversion_rate", "heat_transfer_dessin", "heat_transfer_swedish",
    "sucrose_inverted", "invert_formed", "colour_formation_rate",
    "moist_air_volume", "standard_pressure", "calorific_value_by_parts",
    "water_activity_of_liquor", "boiling_point_elevation_norrish", "boiling_point_elevation_hugot",
    "boiling_temperature_at_depth",
    "solubility_bubnik", "solubility_coefficient_queensland", "solubility_coefficient_beet",
    "solubility_coefficient_fitted", "saturated_sucrose_to_water", "supersaturation", "oversaturation",
    "supersaturation_of_liquor", "liquor_saturation_temperature", "saturation_purity",
    "crystal_specific_heat", "crystal_specific_heat_bubnik", "crystal_surface", "specific_crystal_surface",
    "crystal_mass", "crystal_size", "crystal_number", "linear_growth", "crystal_growth_rate",
    "film_equilibrium_humidity", "film_moisture", "sorption_moisture",
    "log_mean_difference", "reynolds_number", "prandtl_number", "film_coefficient_sieder_tate",
    "film_coefficient_dittus_boelter", "overall_coefficient", "fouled_coefficient", "fouled_coefficient_by_root",
    "heat_exchanged",
    "massecuite_density", "crystal_volume_share", "massecuite_viscosity", "water_viscosity",
    "viscosity_with_water_limit", "impure_viscosity", "molasses_viscosity_by_solids",
    "molasses_viscosity_by_temperature", "apparent_viscosity", "massecuite_pressure_drop",
    "specific_heat_hugot", "liquor_enthalpy", "massecuite_specific_heat",
    "solubility_herzfeld", "impure_density", "crystal_density_at", "humidity_of_wet_bulb", "ph_at_temperature",
    "condensing_coefficient", "heat_transfer_fitted",
    "crystal_growth_power_law", "crystal_growth_spiral_law", "false_grain_rate", "merging_rate", "pan_heat_transfer",
}  # fmt: skip
KINKS = {
    ca.OP_FMIN, ca.OP_FMAX, ca.OP_FABS, ca.OP_IF_ELSE_ZERO, ca.OP_LT, ca.OP_LE, ca.OP_EQ, ca.OP_NE, ca.OP_FLOOR,
    ca.OP_CEIL, ca.OP_SIGN, ca.OP_FMOD, ca.OP_COPYSIGN, ca.OP_NOT, ca.OP_AND, ca.OP_OR,
}  # fmt: skip
DIFFERENCES = {"hydrostatic_boiling_rise": 100.0, "boiling_point_elevation_norrish": 100.0}
"""Size of the two figures of which a formula is the difference: rounding is relative to them, not to the result."""
LIQUORS = ((0, 0, 0, 0), (1, 0, 0, 0), (85, 12, 1, 2), (35, 55, 4, 6), (20, 30, 15, 35), (5, 95, 0, 0), (5, 0, 60, 35))
"""Water, sucrose, reducing sugars and other non-sucrose: flows cannot be drawn from a box, their proportions matter."""


def points(formula: Formula) -> np.ndarray:
    """Rows of arguments: every corner of the range, its middle, and some of the inside."""
    bounds = [(a.low, a.high) for a in formula.arguments.values()]
    assert np.isfinite(bounds).all(), f"{formula.name} has an argument without a range"
    if formula.name in {"water_activity", "boiling_temperature"}:
        flows = [[size * part for part in liquor] for liquor in LIQUORS for size in (1e-3, 1.0, 50.0)]
        return np.array([flow + list(rest) for flow in flows for rest in itertools.product(*bounds[4:])])
    lows, highs = np.array(bounds, dtype=np.float64).T
    inside = np.random.default_rng(20).uniform(lows, highs, (20, len(bounds)))
    return np.vstack([np.array(list(itertools.product(*bounds))), inside])


def symbolic(formula: Formula, kind: Any = ca.SX) -> tuple[list[Any], Any]:
    """The formula on symbols of a kind."""
    symbols = [kind.sym(name) for name in formula.arguments]
    return symbols, formula(*symbols)


def kinks(expression: Any, symbols: list[Any]) -> set[int]:
    """The operations in a symbolic expression that have no derivative somewhere."""
    function = ca.Function("f", symbols, [expression])
    return {function.instruction_id(k) for k in range(function.n_instructions())} & KINKS


def test_the_catalogue_holds_what_is_promised() -> None:
    assert set(NAMES) == EXPECTED


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_example_gives_its_figure_to_the_digits_stated(formula: Formula) -> None:
    decimals = len(np.format_float_positional(formula.gives).split(".")[1])
    value = formula(*formula.example.values())
    assert abs(value - formula.gives) <= max(1e-9 * abs(formula.gives), 0.5 * 10.0**-decimals)


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_floats_arrays_and_symbols_agree(formula: Formula) -> None:
    rows = points(formula)
    floats = np.array([formula(*map(float, row)) for row in rows])
    arrays = np.broadcast_to(formula(*rows.T), floats.shape)
    rounding = 1e-12 * DIFFERENCES.get(formula.name, 0.1)
    np.testing.assert_allclose(arrays, floats, rtol=1e-12, atol=rounding)
    for kind in (ca.SX, ca.MX):
        symbols, expression = symbolic(formula, kind)
        values = np.array(ca.Function("f", symbols, [expression])(*[ca.DM(column).T for column in rows.T])).ravel()
        np.testing.assert_allclose(values, floats, rtol=1e-12, atol=rounding)


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_first_and_second_derivatives_exist_throughout(formula: Formula) -> None:
    symbols, expression = symbolic(formula)
    together = ca.vertcat(*symbols)
    hessian, gradient = ca.hessian(expression, together)
    derivatives = ca.Function("d", [together], [gradient, hessian])
    for row in points(formula):
        for value in derivatives(row):
            assert np.isfinite(np.array(value)).all(), f"at {dict(zip(formula.arguments, row, strict=True))}"


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_no_kinks(formula: Formula) -> None:
    symbols, expression = symbolic(formula)
    assert not kinks(expression, symbols)


def test_the_scan_for_kinks_finds_them() -> None:
    x = ca.SX.sym("x")
    for broken in (ca.fmax(x, 0), ca.fabs(x), ca.if_else(x > 0, x, 0), ca.floor(x)):
        assert kinks(broken, [x])


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_units_are_read_and_wrong_ones_refused(formula: Formula) -> None:
    right = [Dimensional(a.unit) for a in formula.arguments.values()]
    assert formula(*right).unit.same_measure(unit(formula.result.unit))
    for place in range(len(right)):
        wrong = [*right[:place], Dimensional("IU·t/h"), *right[place + 1 :]]
        with pytest.raises(UnitMismatch, match=list(formula.arguments)[place]):
            formula(*wrong)


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_it_prints_itself(formula: Formula) -> None:
    printed = str(formula(*[Word(name) for name in formula.arguments]))
    assert printed == f"{formula.name}({', '.join(formula.arguments)})"


@pytest.mark.parametrize("formula", FORMULAS, ids=NAMES)
def test_values_out_of_range_are_refused_by_name(formula: Formula) -> None:
    good = list(formula.example.values())
    for place, (name, declared) in enumerate(formula.arguments.items()):
        reach = 0.01 * (declared.high - declared.low)
        for bad in (declared.low - reach, declared.high + reach, float("nan")):
            with pytest.raises(OutOfRange, match=rf"{formula.name}: {name} is"):
                formula(*good[:place], bad, *good[place + 1 :])
            with pytest.raises(OutOfRange):
                formula(*good[:place], np.array([good[place], bad]), *good[place + 1 :])
