"""Brix and dry substance: temperature, dilution, density and the instrument's expected reading."""

from __future__ import annotations

from canewright.analysis.declaring import APPARENT, REFRACTOMETER, SPINDLE, TRUE_SOLIDS, degrees_celsius, percent, plain
from canewright.properties.ranges import PURITY_OF_STOCK, REFRACTOMETER_SCALE, SAMPLE, SHARE, WEIGHED
from canewright.properties.sucrose import refractometer_correction
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

TEMPERATURE_TABLE = "published temperature tables of refractometric sucrose, fitted in canewright.properties.sucrose"
# the tables begin at 10 °C (GOST) and end at 30 °C (CRC Handbook)
PRISM = degrees_celsius("temperature of the prism", 10.0, 30.0)


@formula(
    result=percent("brix at 20 °C", *SHARE, "B", REFRACTOMETER),
    equation="B = r + ΔB(r, t)",
    source=TEMPERATURE_TABLE,
    status="own fit",
    caveat="never on an instrument that compensates for temperature itself",
    example=(16.40, 15.0),
    gives=16.081241,
    reading=percent("refractometer reading at t", 0.5, 80.0, "r", "refractometer, uncorrected"),
    temperature=PRISM,
)
def corrected_brix(reading: Num, temperature: Num) -> Num:
    """Refractometer brix at 20 °C from the reading of an uncompensated instrument."""
    return reading + refractometer_correction(reading, temperature)


@formula(
    result=percent("reading expected at t", *SHARE, "r", "refractometer, uncorrected"),
    equation="r such that r + ΔB(r, t) = B",
    source=TEMPERATURE_TABLE,
    status="own fit",
    caveat="solved by eight substitutions, each shrinking the error at least a hundredfold",
    example=(16.081241, 15.0),
    gives=16.40,
    # so far within 0 to 80 that the reading stays in the tables
    brix=percent("brix at 20 °C", 2.0, 78.0, "B", REFRACTOMETER),
    temperature=PRISM,
)
def refractometer_reading(brix: Num, temperature: Num) -> Num:
    """What an uncompensated refractometer at this temperature would read."""
    reading = brix
    for _ in range(8):
        reading = brix - refractometer_correction(reading, temperature)
    return reading


@formula(
    result=percent("brix of the undiluted sample", *SHARE, "B", REFRACTOMETER),
    equation="B = b (m + w) / m",
    source="mass balance of the dilution",
    status="derived",
    caveat="dilution itself shifts the apparent brix of molasses: state the ratio",
    example=(14.10, 100.0, 500.0),
    gives=84.60,
    diluted_brix=percent("brix of the diluted sample", *REFRACTOMETER_SCALE, "b", REFRACTOMETER),
    sample=argument("g", "mass of sample", *SAMPLE, symbol="m"),
    water=argument("g", "mass of water added", *WEIGHED, symbol="w"),
)
def undiluted_brix(diluted_brix: Num, sample: Num, water: Num) -> Num:
    """Brix of a sample from the brix after diluting it by mass."""
    return diluted_brix * (sample + water) / sample


@formula(
    result=percent("dry substance", *SHARE, "DS", TRUE_SOLIDS),
    equation="DS = B [1 - 0.00066 (B - Q)]",
    source="Rein, Cane Sugar Engineering, 2007 (South African data)",
    status="from memory",
    caveat="optional; for syrups to molasses, error of a unit is possible; determine by drying where it matters",
    example=(82.0, 36.0),
    gives=79.51048,
    brix=percent("refractometer brix", *REFRACTOMETER_SCALE, "B", REFRACTOMETER),
    purity=percent("apparent purity", *PURITY_OF_STOCK, "Q", APPARENT),
)
def dry_substance_from_brix(brix: Num, purity: Num) -> Num:
    """True dry substance of an impure liquor from its refractometer brix."""
    return brix * (1.0 - 0.00066 * (brix - purity))


@formula(
    result=percent("brix from density", *SHARE, "B", SPINDLE),
    equation="B = 182.46007 s³ - 775.68212 s² + 1262.7794 s - 669.56218",
    source="encyclopaedia article Brix, section Specific gravity: fit to the NBS table",
    status="read",
    caveat="apparent relative density 20/20 °C; up to 0.01 brix from the ICUMSA density equation below 20 brix",
    example=(1.04,),
    gives=9.993379,
    # 0 to 40 brix by the source
    relative_density=plain("apparent relative density 20/20 °C", 1.0, 1.17874, "s"),
)
def brix_from_relative_density(relative_density: Num) -> Num:
    """Brix of a juice from its relative density."""
    s = relative_density
    return ((182.46007 * s - 775.68212) * s + 1262.7794) * s - 669.56218
