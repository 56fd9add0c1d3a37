"""Crystals: specific heat, surface, size and number, how fast they grow, and the moisture of sugar in air.

Sugar dust in air explodes; dryers, silos and packing follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.properties.boiling import liquor_activity
from canewright.properties.ranges import (
    AMBIENT_TEMPERATURE,
    AMOUNT,
    COLD_LIQUOR_TEMPERATURE,
    CRYSTAL_MASS,
    CRYSTAL_SHAPE,
    CRYSTAL_SIZE,
    NON_SUCROSE_TO_WATER,
    PAN_TEMPERATURE,
    SHARE,
    SORPTION,
    SUPERSATURATION,
)
from canewright.properties.saturation import saturated_sucrose_to_water
from canewright.properties.sucrose import crystal_density
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log

DENSITY = float(crystal_density)
KUKHARENKO = "Kukharenko, S = 4.12 m^(2/3) cm² and g, form as in Belhamri and Mathlouthi (2004); the number from memory"
GAS_CONSTANT = 8.314462618
"""J/(mol·K)."""


def _size(says: str = "sieve size of the crystal") -> Argument:
    return argument("mm", says, *CRYSTAL_SIZE, symbol="L")


def _shape() -> Argument:
    return argument("1", "volume of a crystal over its sieve size cubed", *CRYSTAL_SHAPE, symbol="k_v")


@formula(
    result=argument("kJ/kg/K", "specific heat of crystal sucrose", *AMOUNT, symbol="c"),
    temperature=argument("°C", "temperature", *COLD_LIQUOR_TEMPERATURE, symbol="t"),
    equation="c = 1.1355 + 0.004312 t",
    source="Mohos (2010), Confectionery and Chocolate Engineering, appendix 2: 4.1868 (0.2712 + 0.00103 t)",
    status="read",
    example=(20.0,),
    gives=1.22170824,
)
def crystal_specific_heat(temperature: Num) -> Num:
    """Specific heat of crystal sucrose."""
    return 4.1868 * (0.2712 + 0.00103 * temperature)


@formula(
    result=argument("kJ/kg/K", "specific heat of crystal sucrose", *AMOUNT, symbol="c"),
    temperature=argument("°C", "temperature", *COLD_LIQUOR_TEMPERATURE, symbol="t"),
    equation="c = 1.1269 + 4.524e-3 t + 6.24e-6 t²",
    source="Bubnik, Kadlec, Urban and Bruhns (1995), Sugar Technologists Manual",
    status="from memory",
    example=(60.0,),
    gives=1.420804,
    caveat="Within 2 % of the other published form to 60 °C.",
)
def crystal_specific_heat_bubnik(temperature: Num) -> Num:
    """Specific heat of crystal sucrose, quadratic form."""
    return 1.1269 + temperature * (4.524e-3 + 6.24e-6 * temperature)


@formula(
    result=argument("m²", "surface of one crystal", *AMOUNT, symbol="S"),
    crystal_mass=argument("mg", "mass of one crystal", *CRYSTAL_MASS, symbol="m"),
    equation="S = 4.12 m^(2/3), cm² and g",
    source=KUKHARENKO,
    status="from memory",
    example=(1.0,),
    gives=0.00000412,
    caveat="Between the sphere (3.55) and the cube (4.41) of the same density.",
)
def crystal_surface(crystal_mass: Num) -> Num:
    """Surface of a crystal of sucrose of a given mass."""
    return 4.12e-4 * exp(2.0 / 3.0 * log(1e-3 * crystal_mass))


@formula(
    result=argument("m²/kg", "surface of crystal per mass", *AMOUNT, symbol="S/m"),
    size=_size(),
    shape=_shape(),
    equation="S/m = 41.2e-3 (k_v ρ L³)^(−1/3), SI",
    source=KUKHARENKO,
    status="from memory",
    example=(0.6, 0.69),
    gives=6.66073087,
    caveat="Crystals of one size; a spread of sizes has less surface per mass than its mean size suggests.",
)
def specific_crystal_surface(size: Num, shape: Num) -> Num:
    """Surface per kilogram of crystals of one size."""
    return 0.0412 / exp(log(shape * DENSITY) / 3.0) / (1e-3 * size)


@formula(
    result=argument("mg", "mass of one crystal", *AMOUNT, symbol="m"),
    size=_size(),
    shape=_shape(),
    equation="m = k_v ρ L³",
    source="definition of the shape factor; density of sucrose crystal 1587.9 kg/m³ (from memory)",
    status="derived",
    example=(1.0, 0.693),
    gives=1.1004147,
    caveat="A published seeding note takes 1.1 d³ (mg, mm), that is k_v 0.693 (read).",
)
def crystal_mass(size: Num, shape: Num) -> Num:
    """Mass of one crystal of a sieve size."""
    return 1e-3 * DENSITY * shape * size * size * size


@formula(
    result=argument("mm", "sieve size of one crystal", *AMOUNT, symbol="L"),
    crystal_mass=argument("mg", "mass of one crystal", *CRYSTAL_MASS, symbol="m"),
    shape=_shape(),
    equation="L = (m / (k_v ρ))^(1/3)",
    source="inverse of the crystal mass",
    status="derived",
    example=(1.1, 0.693),
    gives=0.999874365,
)
def crystal_size(crystal_mass: Num, shape: Num) -> Num:
    """Sieve size of one crystal of a mass."""
    return exp(log(1e3 * crystal_mass / (DENSITY * shape)) / 3.0)


@formula(
    result=argument("1/kg", "number of crystals per mass", *AMOUNT, symbol="N"),
    size=_size("mean size of the crystals by number"),
    variation=argument("%", "coefficient of variation by number", 0.0, 60.0, symbol="CV"),
    shape=_shape(),
    equation="N = 1 / (k_v ρ L³ (1 + 3 (CV/100)²))",
    source="third moment of a symmetric spread of sizes",
    status="derived",
    example=(0.6, 28.0, 0.69),
    gives=3420871.23,
    caveat="The mean aperture of a sieve analysis is a mean by mass, larger than that by number.",
)
def crystal_number(size: Num, variation: Num, shape: Num) -> Num:
    """Number of crystals in a kilogram."""
    spread = 1.0 + 3e-4 * variation * variation
    return 1e9 / (DENSITY * shape * size * size * size * spread)


@formula(
    result=argument("µm/min", "growth of the size", symbol="G"),
    mass_rate=argument("g/m²/min", "mass laid down per surface", -20.0, 50.0, symbol="R"),
    equation="G = 2 R / ρ",
    source="two opposite faces; density of sucrose crystal 1587.9 kg/m³ (from memory)",
    status="derived",
    example=(3.0,),
    gives=3.77857548,
)
def linear_growth(mass_rate: Num) -> Num:
    """Growth of the crystal size from the mass laid down on its surface."""
    return 2e3 * mass_rate / DENSITY


@formula(
    result=argument("µm/min", "growth of the size", symbol="G"),
    supersaturation=argument("1", "supersaturation", *SUPERSATURATION, symbol="y"),
    temperature=argument("°C", "temperature", *PAN_TEMPERATURE, symbol="t"),
    non_sucrose_to_water=argument("kg/kg", "non-sucrose per water", *NON_SUCROSE_TO_WATER, symbol="x"),
    equation="G = 50 exp(−60000/R (1/T − 1/338.15)) (y − 1) exp(−1.07 x)",
    source="form of Wright and White (1974); constants chosen here to meet 5 µm/min in a refinery strike and "
    "0.4 µm/min in a C strike at 65 °C",
    status="own fit",
    example=(1.10, 65.0, 0.0),
    gives=5.0,
    caveat="Order of magnitude only: the constants are not a fit to measurements, and A and B strikes come out about a "
    "tenth to a third below their usual figures. Calibrate to the plant. Negative where crystal dissolves.",
)
def crystal_growth_rate(supersaturation: Num, temperature: Num, non_sucrose_to_water: Num) -> Num:
    """How fast the crystal size grows in a liquor; order of magnitude only."""
    warmth = 60000.0 / GAS_CONSTANT * (1.0 / (temperature + 273.15) - 1.0 / 338.15)
    return 50.0 * (supersaturation - 1.0) * exp(-warmth - 1.07 * non_sucrose_to_water)


@formula(
    result=argument("%", "relative humidity in balance with the film", *SHARE, symbol="ERH"),
    non_sucrose_to_water=argument("kg/kg", "non-sucrose per water of the film", *NON_SUCROSE_TO_WATER, symbol="x"),
    temperature=argument("°C", "temperature", *AMBIENT_TEMPERATURE, symbol="t"),
    reducing_share=argument("%", "reducing sugars in the non-sucrose of the film", *SHARE, symbol="r"),
    equation="ERH = 100 a_w(1, q_s(t, x), x r, x (1 − r))",
    source="film model: a crystal under a saturated film; water activity after Norrish (1966), solubility of "
    "Vavrinecz with the cane coefficient of Rózsa (2000)",
    status="from memory",
    example=(0.0, 25.0, 35.0),
    gives=84.7757568,
    caveat="Raw sugar of more than 1 mm took up water above 79.5 % and of less than 0.425 mm above 73.2 % at 30 °C "
    "(Chitprasert and others, 2006, read). Fines and ash hold more water than this model.",
)
def film_equilibrium_humidity(non_sucrose_to_water: Num, temperature: Num, reducing_share: Num) -> Num:
    """Relative humidity of air above which a sugar with this film takes up water."""
    sucrose = saturated_sucrose_to_water(temperature, non_sucrose_to_water)
    reducing = non_sucrose_to_water * reducing_share / 100.0
    return 100.0 * liquor_activity(1.0, sucrose, reducing, non_sucrose_to_water - reducing)


@formula(
    result=argument("%", "moisture of the sugar", *SHARE, symbol="M"),
    non_sucrose=argument("%", "non-sucrose of the sugar", 0.0, 5.0, symbol="N"),
    non_sucrose_to_water=argument("kg/kg", "non-sucrose per water in it", 0.2, NON_SUCROSE_TO_WATER[1], symbol="x"),
    equation="M = N / x",
    source="all non-sucrose of the sugar lies in its film",
    status="derived",
    example=(0.3, 1.5),
    gives=0.2,
    caveat="Non-sucrose inside the crystal holds no water: count only what affination takes off.",
)
def film_moisture(non_sucrose: Num, non_sucrose_to_water: Num) -> Num:
    """Moisture of a sugar whose film has come to a non-sucrose per water."""
    return non_sucrose / non_sucrose_to_water


@formula(
    result=argument("%", "moisture of the sugar in balance with the air", *SHARE, symbol="M"),
    relative_humidity=argument("%", "relative humidity", 0.0, 80.0, symbol="φ"),
    slope=argument("%", "constant a of the sugar", *SORPTION, symbol="a"),
    least=argument("%", "constant b of the sugar", *SORPTION, symbol="b"),
    equation="M = a φ / (100 − φ) + b",
    source="form chosen here; a and b from the sugar's own sorption",
    status="own fit",
    example=(60.0, 0.008, 0.010),
    gives=0.022,
    caveat="Below the humidity at which the crystal itself dissolves, about 80 %.",
)
def sorption_moisture(relative_humidity: Num, slope: Num, least: Num) -> Num:
    """Moisture of a free-flowing sugar in balance with air."""
    return slope * relative_humidity / (100.0 - relative_humidity) + least
