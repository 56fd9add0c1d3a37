"""Brix by spindle and by density: the hydrometer's temperature, specific gravity, Baumé and a density meter.

A spindle reads high in muddy or salty juice; it agrees with a refractometer on pure sucrose only.
"""

from __future__ import annotations

from canewright.analysis.declaring import SPINDLE, degrees_celsius, percent, plain
from canewright.properties.ranges import AMBIENT_TEMPERATURE, AMOUNT, COLD_LIQUOR_TEMPERATURE, SHARE, SIGNED
from canewright.properties.sucrose import DENSITY_SOURCE, STANDARD_AIR, density_law
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

GLASS = 25e-6
"""Volume expansion of the soda-lime glass of a hydrometer, 1/K (from memory)."""
FLOATING = f"a floating hydrometer displaces its own mass; glass 25e-6 per K; density from {DENSITY_SOURCE}"
BAUME = "encyclopaedia article Baumé scale: heavier than water, 145 at 20 °C (144.32 at 15.5 °C)"
STEP = 1e-3
READING = percent("reading of the spindle", 0.0, 70.0, "r", "spindle, uncorrected")
SAMPLE_TEMPERATURE = degrees_celsius("temperature of the sample", *AMBIENT_TEMPERATURE)
REFERENCE = degrees_celsius("temperature for which the spindle is made, 20 or 27.5 °C", 15.0, 30.0, "t₀")


def _brix_of(density: Num, temperature: Num, start: Num) -> Num:
    # Newton with the slope of the density law by a central difference, in which the rounding is below 1e-9 brix
    w = start
    for _ in range(4):
        rise = density_law(w + STEP, temperature) - density_law(w - STEP, temperature)
        w = w - 2.0 * STEP * (density_law(w, temperature) - density) / rise
    return 100.0 * w


def _true_brix(reading: Num, temperature: Num, reference: Num) -> Num:
    swollen = 1.0 + GLASS * (temperature - reference)
    return _brix_of(density_law(reading / 100.0, reference) / swollen, temperature, reading / 100.0)


@formula(
    result=percent("brix", *SHARE, "B", SPINDLE),
    equation="ρ(B, t) [1 + γ (t - t₀)] = ρ(r, t₀), solved for B",
    source=FLOATING,
    status="derived",
    caveat="sample and spindle at one temperature; muddy juice reads high",
    example=(15.0, 30.0, 20.0),
    gives=15.6861786,
    reading=READING,
    temperature=SAMPLE_TEMPERATURE,
    reference=REFERENCE,
)
def spindle_brix(reading: Num, temperature: Num, reference: Num) -> Num:
    """Brix by spindle, corrected for the temperature of the sample."""
    return _true_brix(reading, temperature, reference)


@formula(
    result=percent("brix to add to the reading", *SIGNED, "ΔB"),
    equation="ΔB = B - r",
    source=FLOATING,
    status="derived",
    caveat="grows with temperature and brix; about 0.06 brix per K between 20 and 30 °C",
    example=(4.0, 25.0, 20.0),
    gives=0.284086375,
    reading=READING,
    temperature=SAMPLE_TEMPERATURE,
    reference=REFERENCE,
)
def spindle_correction(reading: Num, temperature: Num, reference: Num) -> Num:
    """What to add to a spindle read away from its own temperature."""
    return _true_brix(reading, temperature, reference) - reading


@formula(
    result=percent("brix from density", *SHARE, "B", SPINDLE),
    equation="SG(B) = s, solved for B",
    source=f"definition of apparent specific gravity 20/20; density from {DENSITY_SOURCE}",
    status="derived",
    caveat="up to 0.01 brix from the older table fit below 20 brix",
    example=(1.06,),
    gives=14.7339444,
    relative_density=plain("apparent relative density 20/20 °C", 1.0, 1.42, "s"),
)
def brix_of_specific_gravity(relative_density: Num) -> Num:
    """Brix from apparent specific gravity over the whole range of syrups."""
    density = STANDARD_AIR + relative_density * (density_law(0.0, 20.0) - STANDARD_AIR)
    return _brix_of(density, 20.0, 1.75 * (relative_density - 1.0))


@formula(
    result=percent("brix by density", *SHARE, "B", SPINDLE),
    equation="ρ(B, t) = ρ, solved for B",
    source=f"density from {DENSITY_SOURCE}",
    status="derived",
    caveat="without air and solids in the stream; impure liquors are denser than sucrose of the same solids",
    example=(1052.06, 40.0),
    gives=14.9992112,
    density=argument("kg/m³", "density of the stream", 940.0, 1420.0, symbol="ρ"),
    temperature=degrees_celsius("temperature of the stream", *COLD_LIQUOR_TEMPERATURE),
)
def brix_of_density(density: Num, temperature: Num) -> Num:
    """Brix from the reading of a density meter in a pipe."""
    return _brix_of(density, temperature, (density - 985.0) / 550.0)


@formula(
    result=plain("relative density", *AMOUNT, "s"),
    equation="s = 145 / (145 - Bé)",
    source=BAUME,
    status="read",
    example=(15.0,),
    gives=1.11538462,
    baume=plain("degrees Baumé, heavier than water", 0.0, 60.0, "Bé"),
)
def relative_density_of_baume(baume: Num) -> Num:
    """Relative density from degrees Baumé."""
    return 145.0 / (145.0 - baume)


@formula(
    result=plain("degrees Baumé", *AMOUNT, "Bé"),
    equation="Bé = 145 (1 - 1/s)",
    source=BAUME,
    status="read",
    example=(1.1153846154,),
    gives=15.0,
    relative_density=plain("relative density", 1.0, 2.0, "s"),
)
def baume_of_relative_density(relative_density: Num) -> Num:
    """Degrees Baumé from relative density."""
    return 145.0 * (1.0 - 1.0 / relative_density)
