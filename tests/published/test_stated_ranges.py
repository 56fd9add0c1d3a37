"""Ranges that a source states: what is declared is the source's, no more and no less.

Each entry names where the source ends and whether that was read or is from memory. A range that no source states is
judgement; it says so in ``canewright.properties.ranges`` or stands in the formula, and is not tested here.
"""

from __future__ import annotations

import math

import pytest

import canewright.analysis  # noqa: F401  (declares the formulas)
from canewright.quantity import CATALOGUE, OutOfRange

KELVIN = 273.15
IF97 = "IAPWS R7-97(2012): regions 1 and 4 and their limits, quoted by documentation of public steam programs; read"
NBS = "encyclopaedia article Brix, Specific gravity: outside 1.00000 to 1.17874 (0 to 40 °Bx) not to be used; read"
PRISM = "GOST table of refractometers begins at 10 °C, CRC Handbook table ends at 30 °C; read"
R14 = "OIML R 14 (1995), scope: light source between 540 and 633 nm; read in the abstract of its adoption"
SIEVES = "ISO 3310-1 and ASTM E11, scope: wire cloth from 125 mm down to 20 µm; scope of ASTM E11-13 read"
INDIA = "press report of 22 February 2024: no lower than the price at 9.5 % recovery; read"
STALE = "São Paulo growers' association, How to calculate: 72 h to the end of August, 60 h after; read"
PATEK = "Pátek and others (2009), J. Phys. Chem. Ref. Data 38, 21: 253.15 to 383.15 K at 0.1 MPa; from memory"
ASH = "ICUMSA GS2/3-17 and GS1/3/4/7/8-13: corrected to 20 °C within 5 K only; from memory"
NORMAL = "ICUMSA, normal solution: 26.000 g in 100 mL; read (general definitions)"
ICE = "water freezes at 0 °C"
WET_BULB = "ASHRAE Fundamentals (2017), chapter 1: this form for a wet bulb above freezing; from memory"
EYNON = "Lane and Eynon (1923), J. Soc. Chem. Ind. 42, 32T: tables from 15 to 50 mL; from memory; burette of 50 mL read"
BOUND_WATER = "brix-free water on fibre: 10 to 50 % is found in the literature; second hand"
UP, DOWN = math.inf, -math.inf

STATED = [
    # formula, argument, least, most (where the source states that end), source
    ("saturation_pressure", "temperature", 273.15 - KELVIN, 647.096 - KELVIN, IF97),
    ("saturation_temperature", "pressure", 0.611213, 22064.0, IF97),
    ("water_enthalpy", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("water_enthalpy", "pressure", 0.611213, 100e3, IF97),
    ("water_volume", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("water_volume", "pressure", 0.611213, 100e3, IF97),
    ("water_entropy", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("water_entropy", "pressure", 0.611213, 100e3, IF97),
    ("saturated_water_enthalpy", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("saturated_steam_enthalpy", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("latent_heat", "temperature", 273.15 - KELVIN, 623.15 - KELVIN, IF97),
    ("water_viscosity", "temperature", 0.0, 383.15 - KELVIN, PATEK),
    ("viscosity_with_water_limit", "temperature", 0.0, 383.15 - KELVIN, PATEK),
    ("brix_from_relative_density", "relative_density", 1.0, 1.17874, NBS),
    ("corrected_brix", "temperature", 10.0, 30.0, PRISM),
    ("refractometer_reading", "temperature", 10.0, 30.0, PRISM),
    ("refractometer_correction", "temperature", 10.0, UP, PRISM),
    ("rotation_of_normal_solution", "wavelength", 540.0, 633.0, R14),
    ("coefficient_of_variation", "aperture_16", 0.020, UP, SIEVES),
    ("two_sieve_mean", "fine", 0.020, UP, SIEVES),
    ("rrsb_retained", "aperture", 0.020, UP, SIEVES),
    ("india_fair_price", "recovery", 9.5, UP, INDIA),
    ("stale_cane_factor", "limit", 60.0, 72.0, STALE),
    ("stale_cane_factor", "hours", 60.0, UP, STALE),
    ("conductivity_at_20", "temperature", 15.0, 25.0, ASH),
    ("jackson_gillis_sucrose", "solids", 0.0, 26.0, NORMAL),
    ("humidity_of_wet_bulb", "wet_bulb", 0.0, UP, WET_BULB),
    ("lane_eynon_reducing_sugars", "titre", 15.0, 50.0, EYNON),
    ("direct_fibre", "brix_free_water", DOWN, 50.0, BOUND_WATER),
    ("dew_point", "pressure", 75.0, UP, "the least pressure of air, at which the highest mill stands"),
    *(
        (name, "temperature", 0.0, UP, ICE)
        for name in (
            "moist_air_enthalpy", "relative_humidity", "humidity_at", "moist_air_volume", "water_density",
            "sucrose_density", "viscosity", "impure_viscosity", "impure_density", "solubility", "solubility_bubnik",
            "solubility_herzfeld", "supersaturation", "saturation_purity", "crystal_specific_heat",
            "film_equilibrium_humidity", "liquor_conductivity", "heat_of_crystallisation", "solids_in_tank",
            "clerget_sucrose", "quartz_value",
        )
    ),
]  # fmt: skip


@pytest.mark.parametrize(("name", "word", "least", "most", "source"), STATED, ids=lambda each: str(each)[:40])
def test_the_range_is_that_of_the_source(name: str, word: str, least: float, most: float, source: str) -> None:
    formula = CATALOGUE[name]

    def at(value: float) -> float:
        return float(formula(**{**formula.example, word: value}))

    for end, outwards in ((least, -1.0), (most, 1.0)):
        if math.isfinite(end):
            assert math.isfinite(at(round(end, 9))), source
            with pytest.raises(OutOfRange, match=word):
                at(end + outwards * 0.001 * (1.0 + abs(end)))
