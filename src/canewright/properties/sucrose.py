"""Sucrose in water: density, refractive index, viscosity, solubility; and the sucrose crystal.

Dry substance is the mass of everything dissolved per mass of solution. For impure juice the pure-sucrose law is used
with the dry substance in place of the sucrose, which is ordinary mill practice.
"""

from __future__ import annotations

from canewright.properties.ranges import (
    AMOUNT,
    LIQUOR_TEMPERATURE,
    NON_SUCROSE_TO_WATER,
    SHARE,
    SOLUBILITY_TEMPERATURE,
    SUGAR_SOLUTION,
    VISCOSITY_TEMPERATURE,
)
from canewright.quantity import Argument, Num, argument, constant, formula
from canewright.quantity.maths import exp, horner, log, sqrt

crystal_density = constant(1587.9, "kg/m³")
"""Density of crystal sucrose at 15 to 20 °C (from memory; handbooks give 1587 to 1588)."""

STANDARD_AIR = 1.2
"""Density of laboratory air, kg/m³, for weighings in air (convention of apparent specific gravity)."""

LN10 = 2.302585092994046

KELL = (999.83952, 16.952577, -7.9905127e-3, -46.241757e-6, 105.84601e-9, -281.03006e-12)
SOLUTION = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)
"""Rows: powers of (t - 20)/100 from 0; columns: powers of the mass fraction from 1."""
REFRACTION = (1.33299, 0.142619, 0.058373, -0.004460, 0.040400, -0.024876)
START = (0.136984, 0.075123)
"""Slope and curvature of the quadratic through the refractive index at 0, 42.5 and 85 %, where the inverse starts."""
DENSITY_SOURCE = (
    "ICUMSA method SPS-4 (1998); Bettin, Emmerich, Spieweck and Toth (1998), Zuckerindustrie 123, 341-348; "
    "coefficients read in a public transcription, table of the pure-sucrose formula"
)


def dissolved(high: float = SUGAR_SOLUTION[1], kind: str = "true") -> Argument:
    """Declare the dry substance of a solution; ``kind`` says true or as read by an instrument."""
    return argument("% m/m", "dry substance of the solution", 0.0, high, symbol="w", kind=kind)


def _water_density(t: Num) -> Num:
    return horner(t, KELL) / (1.0 + 16.887236e-3 * t)


def density_law(w: Num, t: Num) -> Num:
    """Density, kg/m³, from a mass fraction 0 to 1 and °C, without a check of range."""
    theta = (t - 20.0) / 100.0
    rows: Num = horner(w, SOLUTION[4])
    for row in reversed(SOLUTION[:4]):
        rows = rows * theta + horner(w, row)
    return _water_density(t) + w * rows


@formula(
    result=argument("kg/m³", "density of water", *AMOUNT, symbol="ρ_w"),
    temperature=argument("°C", "temperature", *LIQUOR_TEMPERATURE, symbol="t"),
    equation="ρ_w = (999.83952 + 16.952577 t − ... − 281.03e-12 t⁵) / (1 + 0.016887236 t)",
    source="Kell (1975), J. Chem. Eng. Data 20, 97, on the 1990 temperature scale as used by ICUMSA SPS-4",
    status="read",
    example=(20.0,),
    gives=998.203,
    caveat="At atmospheric pressure; above 100 °C within 0.1 kg/m³ of IAPWS-IF97 boiling water.",
)
def water_density(temperature: Num) -> Num:
    """Density of air-free water, the zero line of the sucrose density formula."""
    return _water_density(temperature)


@formula(
    result=argument("kg/m³", "density of the solution", *AMOUNT, symbol="ρ"),
    dry_substance=dissolved(),
    temperature=argument("°C", "temperature", *LIQUOR_TEMPERATURE, symbol="t"),
    equation="ρ = ρ_w(t) + Σ_k ((t − 20)/100)^k Σ_i A_ik w^i",
    source=DENSITY_SOURCE,
    status="read",
    example=(30.0, 20.0),
    gives=1127.03,
    caveat="Measured 0 to about 75 % and 0 to 80 °C; beyond that an extrapolation. Checked against tables only below "
    "31 °C. Impure final molasses is 1 to 2 % denser at the same dry substance (from memory).",
)
def sucrose_density(dry_substance: Num, temperature: Num) -> Num:
    """Density of a pure sucrose solution; for juice and syrup with their dry substance."""
    return density_law(dry_substance / 100.0, temperature)


@formula(
    result=argument("1", "apparent specific gravity 20/20 in air", *AMOUNT, symbol="SG"),
    dry_substance=dissolved(),
    equation="SG = (ρ(w, 20 °C) − 1.2) / (ρ_w(20 °C) − 1.2)",
    source="definition with air of 1.2 kg/m³; density from " + DENSITY_SOURCE,
    status="derived",
    example=(10.0,),
    gives=1.04003,
)
def apparent_specific_gravity(dry_substance: Num) -> Num:
    """Weight in air of a solution over that of the same volume of water, both at 20 °C."""
    water = _water_density(20.0) - STANDARD_AIR
    return (density_law(dry_substance / 100.0, 20.0) - STANDARD_AIR) / water


@formula(
    result=argument("1", "refractive index at 20 °C and 589 nm", *AMOUNT, symbol="n"),
    dry_substance=dissolved(),
    equation="n = 1.33299 + 0.142619 w + 0.058373 w² − 0.00446 w³ + 0.0404 w⁴ − 0.024876 w⁵",
    source="fitted here to the 63-point sucrose table 'Concentrative properties of aqueous solutions', CRC Handbook",
    status="own fit",
    example=(50.0,),
    gives=1.4201,
    caveat="Largest difference from the table 5e-5, about 0.03 brix. The official SPS-3 coefficients were not "
    "available; a refractometer calibrated to them may differ by as much.",
)
def refractive_index(dry_substance: Num) -> Num:
    """Refractive index at 20 °C of a pure sucrose solution, relative to air, sodium light."""
    return horner(dry_substance / 100.0, REFRACTION)


@formula(
    result=argument("% m/m", "brix", *SHARE, symbol="B", kind="refractometer"),
    refractive_index=argument("1", "refractive index at 20 °C and 589 nm", 1.33299, 1.5037, symbol="n"),
    equation="B solves n(B) = n: a quadratic start and three Newton steps",
    source="inverse of the refractive index formula, itself fitted here to the CRC Handbook table",
    status="own fit",
    example=(1.3478,),
    gives=9.97734,
    caveat="Inverts the formula to 1e-9 brix; the formula itself is good to about 0.03 brix.",
)
def brix_of_refractive_index(refractive_index: Num) -> Num:
    """Refractometer brix from the refractive index at 20 °C."""
    above = refractive_index - REFRACTION[0]
    # the quadratic through 0, 42 and 85 % starts within 0.3 brix; each Newton step squares the error
    w = (sqrt(START[0] * START[0] + 4.0 * START[1] * above) - START[0]) / (2.0 * START[1])
    slopes = tuple(i * c for i, c in enumerate(REFRACTION))[1:]
    for _ in range(3):
        w = w - (horner(w, REFRACTION) - refractive_index) / horner(w, slopes)
    return 100.0 * w


@formula(
    result=argument("% m/m", "brix to add to the reading", symbol="ΔB"),
    reading=dissolved(80.0, "refractometer"),
    temperature=argument("°C", "temperature of the sample", 10.0, 32.0, symbol="t"),
    equation="ΔB = θ(0.056398 + 0.06429 w − 0.051694 w²) + θ²(4.4986e-4 − 4.1431e-4 w − 8.1854e-4 w²), θ = t − 20",
    source="fitted here to 250 points of two published correction tables: GOST refractometer table (10 to 19 °C) and "
    "CRC Handbook (21 to 30 °C)",
    status="own fit",
    example=(20.0, 30.0),
    gives=0.71,
    caveat="Within 0.04 brix of the tables, which themselves part by up to 0.08 near 15 °C. Do not use beyond 10 to "
    "32 °C.",
)
def refractometer_correction(reading: Num, temperature: Num) -> Num:
    """What to add to a refractometer brix read away from 20 °C on a scale made for 20 °C."""
    w = reading / 100.0
    theta = temperature - 20.0
    linear = horner(w, (0.056398, 0.064290, -0.051694))
    square = horner(w, (4.4986e-4, -4.1431e-4, -8.1854e-4))
    return theta * (linear + theta * square)


@formula(
    result=argument("Pa·s", "viscosity", *AMOUNT, symbol="η"),
    dry_substance=dissolved(),
    temperature=argument("°C", "temperature", *VISCOSITY_TEMPERATURE, symbol="t"),
    equation="log10(1000 η) = 22.46 N − 0.114 + (30 − t)/(91 + t) (1.1 + 43.1 N^1.25), N = w/(19 − 18 w)",
    source="Genotelle (1978), Ind. Alim. Agric. 95, 747, as given by Longinotti and Corti (2008), "
    "J. Phys. Chem. Ref. Data 37, 1503",
    status="read",
    example=(65.0, 60.0),
    gives=0.017817,
    caveat="Pure sucrose: within 4 % at 20 °C to 74 %, up to 8 % above 80 °C. Low-purity liquors are far more viscous.",
)
def viscosity(dry_substance: Num, temperature: Num) -> Num:
    """Viscosity of a pure sucrose solution."""
    w = dry_substance / 100.0
    n = w / (19.0 - 18.0 * w)
    # a power of n² + 1e-12 keeps the second derivative finite at w = 0; it moves the value by less than 1e-6
    curved = exp(0.625 * log(n * n + 1e-12))
    phi = (30.0 - temperature) / (91.0 + temperature)
    return exp(LN10 * (22.46 * n - 3.114 + phi * (1.1 + 43.1 * curved)))


@formula(
    result=argument("% m/m", "sucrose in a saturated pure solution", *SHARE, symbol="w_s"),
    temperature=argument("°C", "temperature", *SOLUBILITY_TEMPERATURE, symbol="t"),
    equation="w_s = 64.397 + 0.07251 t + 0.0020569 t² − 9.035e-6 t³",
    source="Vavrinecz (also quoted under Charles, 1960, Int. Sugar J. 62, 126); the attribution is unresolved",
    status="from memory",
    example=(70.0,),
    gives=76.45,
    caveat="Published solubilities part by 0.1 to 0.5 % m/m; name this set beside every supersaturation reported.",
)
def solubility(temperature: Num) -> Num:
    """Sucrose, % of solution, that saturates pure water."""
    return horner(temperature, (64.397, 0.07251, 0.0020569, -9.035e-6))


@formula(
    result=argument("1", "solubility coefficient", *AMOUNT, symbol="SC"),
    non_sucrose_to_water=argument("kg/kg", "non-sucrose per water", *NON_SUCROSE_TO_WATER, symbol="x"),
    equation="SC = 0.982 − 0.06265 x + 0.018 exp(−2.1 x)",
    source="form of Wiklund and Vavrinecz; cane set from Thieme's data, Rózsa (2000), Int. Sugar J. 102, 230-235, "
    "quoted at second hand",
    status="from memory",
    example=(3.0,),
    gives=0.7941,
    caveat="Calibrate to the plant's own molasses; the sign near pure liquors is disputed. Not for beet.",
)
def solubility_coefficient(non_sucrose_to_water: Num) -> Num:
    """Sucrose per water at saturation in an impure cane liquor over that in pure water at the same temperature."""
    return 0.982 - 0.06265 * non_sucrose_to_water + 0.018 * exp(-2.1 * non_sucrose_to_water)
