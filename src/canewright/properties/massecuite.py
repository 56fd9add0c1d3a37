"""Massecuite, magma and impure liquors: density, viscosity and flow.

Hot massecuite and liquor scald; follow site procedure and local rules.
"""

from __future__ import annotations

from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_MOTHER_LIQUOR,
    COLD_LIQUOR_TEMPERATURE,
    LIQUOR_DENSITY,
    LIQUOR_TEMPERATURE,
    PAN_TEMPERATURE,
    PART,
    PURITY_OF_STOCK,
    SHARE,
    SUGAR_SOLUTION,
    VISCOSITY_TEMPERATURE,
    WATER_VISCOSITY_TEMPERATURE,
)
from canewright.properties.sucrose import LN10, crystal_density, density_law, viscosity
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log

ROUILLARD = "Rouillard and Koenig (1980), Proc. S. Afr. Sug. Technol. Ass. 54, front page"
IAPWS_SHORT = "Pátek, Hrubý, Klomfar, Součková and Harvey (2009), J. Phys. Chem. Ref. Data 38, 21, table for 0.1 MPa"
WATER_VISCOSITY = ((280.68, 1.9), (511.45, 7.7), (61.131, 19.6), (0.45903, 40.0))


def _dry(low: float, high: float) -> Argument:
    return argument("% m/m", "dry substance", low, high, symbol="w", kind="true")


def _temperature(low: float, high: float) -> Argument:
    return argument("°C", "temperature", low, high, symbol="t")


def _viscosity(says: str, low: float, high: float, symbol: str = "η") -> Argument:
    return argument("Pa·s", says, low, high, symbol=symbol)


CONSISTENCY = _viscosity("consistency, the apparent viscosity at 1/s", 0.0, 5000.0, "K")
FLOW_INDEX = argument("1", "flow index", 0.4, 1.0, symbol="n")


def water_viscosity_law(t: Num) -> Num:
    """Viscosity of water, Pa·s, from °C, without a check of range."""
    kelvin = log((t + 273.15) / 300.0)
    return 1e-6 * sum(a * exp(-b * kelvin) for a, b in WATER_VISCOSITY)


@formula(
    result=argument("kg/m³", "density of massecuite, magma or slurry", *AMOUNT, symbol="ρ_m"),
    crystal=argument("%", "crystal or solids by mass", *SHARE, symbol="X"),
    crystal_density=argument("kg/m³", "density of the crystal or solids", 900.0, 2700.0, symbol="ρ_c"),
    liquor_density=argument("kg/m³", "density of the liquor", *LIQUOR_DENSITY, symbol="ρ_l"),
    equation="1/ρ_m = X/ρ_c + (1 − X)/ρ_l",
    source="volumes of crystal and liquor add",
    status="derived",
    example=(50.0, 1587.9, 1450.0),
    gives=1515.82014,
    caveat="Without air: massecuite as dropped holds a few per cent of it by volume. Solids: fibre about 1530, soil "
    "2500 to 2650 kg/m³ (from memory).",
)
def massecuite_density(crystal: Num, crystal_density: Num, liquor_density: Num) -> Num:
    """Density of a massecuite, magma, mud or juice with solids from that of its parts."""
    share = crystal / 100.0
    return 1.0 / (share / crystal_density + (1.0 - share) / liquor_density)


@formula(
    result=argument("1", "volume of crystal per volume of massecuite", *PART, symbol="φ"),
    crystal=argument("%", "crystal by mass", *SHARE, symbol="X"),
    crystal_density=argument("kg/m³", "density of the crystal", 1500.0, 1650.0, symbol="ρ_c"),
    liquor_density=argument("kg/m³", "density of the mother liquor", *LIQUOR_DENSITY, symbol="ρ_l"),
    equation="φ = X ρ_m / ρ_c",
    source="volumes of crystal and liquor add",
    status="derived",
    example=(50.0, 1587.9, 1450.0),
    gives=0.4773034,
)
def crystal_volume_share(crystal: Num, crystal_density: Num, liquor_density: Num) -> Num:
    """Share of the volume of a massecuite that is crystal."""
    solid = crystal / crystal_density
    return solid / (solid + (100.0 - crystal) / liquor_density)


@formula(
    result=_viscosity("viscosity of the massecuite", *AMOUNT, "η_m"),
    liquor_viscosity=_viscosity("viscosity of the mother liquor", 0.0, 1000.0, "η_l"),
    crystal_volume=argument("1", "volume of crystal per volume of massecuite", 0.0, 0.55, symbol="φ"),
    # above every share of crystal taken, where the quotient has its pole, up to the densest packing of balls
    densest=argument("1", "volume share at which the grain jams", 0.58, 0.74, symbol="φ_m"),
    equation="η_m = η_l (1 − φ/φ_m)^−2",
    source="Maron and Pierce; form for grain of any shape in Mueller, Llewellin and Mader (2011), "
    "Geophys. Res. Lett. 38, L13316",
    status="read",
    example=(10.0, 0.40, 0.65),
    gives=67.6,
    caveat="Fit the densest share to the plant; 0.60 to 0.68 is usual for sugar grain (from memory).",
)
def massecuite_viscosity(liquor_viscosity: Num, crystal_volume: Num, densest: Num) -> Num:
    """Viscosity of a massecuite from that of its mother liquor."""
    room = 1.0 - crystal_volume / densest
    return liquor_viscosity / (room * room)


@formula(
    result=_viscosity("viscosity of water", *AMOUNT),
    temperature=_temperature(*WATER_VISCOSITY_TEMPERATURE),
    equation="10⁶ η = 280.68 τ^−1.9 + 511.45 τ^−7.7 + 61.131 τ^−19.6 + 0.45903 τ^−40, τ = T/300",
    source=IAPWS_SHORT,
    status="from memory",
    example=(20.0,),
    gives=0.00100156726,
    caveat="Agrees with IAPWS tables to four digits from 0 to 100 °C.",
)
def water_viscosity(temperature: Num) -> Num:
    """Viscosity of water at atmospheric pressure."""
    return water_viscosity_law(temperature)


@formula(
    result=_viscosity("viscosity", *AMOUNT),
    dry_substance=_dry(*SUGAR_SOLUTION),
    temperature=_temperature(*WATER_VISCOSITY_TEMPERATURE),
    equation="η = η_G(w, t) [η_water(t) / η_G(0, t)]^exp(−60 N), N = w/(19 − 18 w)",
    source="Genotelle (1978) drawn to the viscosity of water in dilute juice; the 60 chosen here on published tables",
    status="own fit",
    example=(15.0, 100.0),
    gives=0.000422064629,
    caveat="Exact for water, within 1 % of Genotelle above 40 %; within 7 % of tables of 1919 and 2021 from 0 to 74 %.",
)
def viscosity_with_water_limit(dry_substance: Num, temperature: Num) -> Num:
    """Viscosity of a pure sucrose solution that is that of water when there is no sucrose."""
    w = dry_substance / 100.0
    share = exp(-60.0 * w / (19.0 - 18.0 * w))
    excess = log(water_viscosity_law(temperature) / viscosity(0.0 * temperature, temperature))
    return viscosity(dry_substance, temperature) * exp(share * excess)


@formula(
    result=_viscosity("viscosity of the liquor", *AMOUNT),
    dry_substance=_dry(*SUGAR_SOLUTION),
    purity=argument("%", "purity", *PURITY_OF_STOCK, symbol="P", kind="true"),
    temperature=_temperature(*VISCOSITY_TEMPERATURE),
    decades=argument("1", "powers of ten from pure sucrose to no sucrose", -1.0, 4.0, symbol="a₀"),
    equation="log10 η = log10 η_sucrose(w, t) + a₀ (1 − P/100)",
    source="form chosen here; a₀ from one measured viscosity of the plant's own molasses",
    status="own fit",
    example=(80.0, 40.0, 50.0, 1.6),
    gives=8.11819169,
    caveat="a₀ 0 above 80 purity; final molasses of 80 % dry substance at 50 °C is about 5 to 20 Pa·s (from memory), "
    "which asks for 1.2 to 2.2. Never use uncalibrated for low-grade stations.",
)
def impure_viscosity(dry_substance: Num, purity: Num, temperature: Num, decades: Num) -> Num:
    """Viscosity of an impure liquor or molasses, from pure sucrose and one plant constant."""
    return viscosity(dry_substance, temperature) * exp(LN10 * decades * (1.0 - purity / 100.0))


@formula(
    result=_viscosity("viscosity of molasses", *AMOUNT),
    dry_substance=_dry(*BRIX_OF_MOTHER_LIQUOR),
    factor=_viscosity("constant A of the molasses", 0.0, 1.0, "A"),
    exponent=argument("1", "constant B of the molasses", 1.0, 10.0, symbol="n"),
    equation="η = A (DS/(100 − DS))^n",
    source="Kolarov and Garcell, quoted in " + ROUILLARD,
    status="read",
    example=(80.0, 0.01, 5.0),
    gives=10.24,
    caveat="The form was read, no constants: fit both to measurements at one temperature.",
)
def molasses_viscosity_by_solids(dry_substance: Num, factor: Num, exponent: Num) -> Num:
    """Viscosity of one molasses at one temperature against its dry substance."""
    return factor * exp(exponent * log(dry_substance / (100.0 - dry_substance)))


@formula(
    result=_viscosity("viscosity of molasses", *AMOUNT),
    temperature=argument("°C", "temperature", *PAN_TEMPERATURE, symbol="t"),
    intercept=argument("1", "constant A of the molasses", -20.0, 10.0, symbol="A"),
    slope=argument("K", "constant B of the molasses", -1e5, 5e4, symbol="B"),
    equation="log10 η = A + B t / (t + 273.15)²",
    source="Pidoux, quoted in " + ROUILLARD,
    status="read",
    example=(50.0, 3.5, -5000.0),
    gives=12.7631662,
    caveat="The form was read, no constants: fit both to measurements at one dry substance.",
)
def molasses_viscosity_by_temperature(temperature: Num, intercept: Num, slope: Num) -> Num:
    """Viscosity of one molasses at one dry substance against temperature."""
    kelvin = temperature + 273.15
    return exp(LN10 * (intercept + slope * temperature / (kelvin * kelvin)))


@formula(
    result=_viscosity("apparent viscosity", *AMOUNT),
    consistency=CONSISTENCY,
    flow_index=FLOW_INDEX,
    shear_rate=argument("1/s", "shear rate", 0.01, 1000.0, symbol="γ"),
    equation="η = K γ^(n − 1)",
    source="power law of Ostwald and de Waele",
    status="derived",
    example=(500.0, 0.85, 10.0),
    gives=353.972892,
    caveat="A consistency says nothing without its shear rate (Durgueil, 1987, read). 10 to 1000 Pa·s and 0.8 to 0.9 "
    "for A to C massecuite (from memory).",
)
def apparent_viscosity(consistency: Num, flow_index: Num, shear_rate: Num) -> Num:
    """Apparent viscosity of massecuite or molasses at a shear rate."""
    return consistency * exp((flow_index - 1.0) * log(shear_rate))


@formula(
    result=argument("Pa/m", "pressure drop per length of pipe", *AMOUNT, symbol="dp/L"),
    consistency=CONSISTENCY,
    flow_index=FLOW_INDEX,
    velocity=argument("m/s", "mean velocity", 0.001, 2.0, symbol="V"),
    diameter=argument("m", "inner diameter of the pipe", 0.05, 1.5, symbol="D"),
    equation="dp/L = 4 K/D [8 V/D · (3 n + 1)/(4 n)]^n",
    source="Metzner and Reed (1955), laminar flow of a power-law fluid",
    status="derived",
    example=(500.0, 0.85, 0.1, 0.3),
    gives=15919.1247,
    caveat="Laminar flow; 32 η V/D² where the flow index is 1.",
)
def massecuite_pressure_drop(consistency: Num, flow_index: Num, velocity: Num, diameter: Num) -> Num:
    """Pressure drop of massecuite, magma or molasses in a straight pipe."""
    wall = 8.0 * velocity / diameter * (3.0 * flow_index + 1.0) / (4.0 * flow_index)
    return 4.0 * consistency / diameter * exp(flow_index * log(wall))


@formula(
    result=argument("kg/m³", "density of the impure liquor", *AMOUNT, symbol="ρ"),
    dry_substance=_dry(*SUGAR_SOLUTION),
    purity=argument("%", "purity", *PURITY_OF_STOCK, symbol="P", kind="true"),
    temperature=_temperature(*LIQUOR_TEMPERATURE),
    rise=argument("kg/m³", "rise of density per % of non-sucrose in the liquor", -1.0, 2.0, symbol="k"),
    equation="ρ = ρ_sucrose(w, t) + k w (100 − P)/100",
    source="form chosen here; k from the plant's own molasses, 0 where none was measured",
    status="own fit",
    example=(80.0, 35.0, 20.0, 0.4),
    gives=1433.00011,
    caveat="Final molasses is 1 to 2 % denser than sucrose of its dry substance (from memory): k about 0.3 to 0.5.",
)
def impure_density(dry_substance: Num, purity: Num, temperature: Num, rise: Num) -> Num:
    """Density of an impure liquor or molasses, from pure sucrose and one plant constant."""
    other = dry_substance * (100.0 - purity) / 100.0
    return density_law(dry_substance / 100.0, temperature) + rise * other


@formula(
    result=argument("kg/m³", "density of crystal sucrose", *AMOUNT, symbol="ρ_c"),
    temperature=_temperature(*COLD_LIQUOR_TEMPERATURE),
    equation="ρ_c = 1587.9 / [1 + 1.1e-4 (t − 20)]",
    source="handbook density at 15 to 20 °C and volume expansion of the crystal",
    status="from memory",
    example=(60.0,),
    gives=1580.94385,
)
def crystal_density_at(temperature: Num) -> Num:
    """Density of crystal sucrose at a temperature."""
    return float(crystal_density) / (1.0 + 1.1e-4 * (temperature - 20.0))
