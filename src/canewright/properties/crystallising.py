"""What goes on in a boiling pan: how fast crystals grow, form anew and stick together, and how heat enters.

Every law here holds constants of the plant's own: fit them to logged strikes. Vacuum pans are vessels that hold hot
massecuite and vapour: local codes, permits and licensed practice govern.
"""

from __future__ import annotations

from canewright.properties.crystal import GAS_CONSTANT
from canewright.properties.ranges import (
    AMOUNT,
    HEAT_COEFFICIENT,
    NON_SUCROSE_TO_WATER,
    PART,
    SUPERSATURATION,
)
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log, smooth_positive, sqrt, tanh

SUPERSATURATED = argument("1", "supersaturation", *SUPERSATURATION, symbol="y")
PAN_TEMPERATURE = argument("°C", "temperature", 40.0, 95.0, symbol="t")
IMPURITY = argument("kg/kg", "non-sucrose per water", *NON_SUCROSE_TO_WATER, symbol="x")
ACTIVATION = argument("kJ/mol", "activation energy", 20.0, 90.0, symbol="E")
HINDRANCE = argument("1", "hindrance by non-sucrose", 0.0, 3.0, symbol="β")
REFERENCE = 338.15
"""K, 65 °C: where the rates of the growth laws are given."""
NEAR_SATURATION = 1e-4
"""Distance from saturation within which the powers are rounded off, so that growth passes smoothly into dissolving."""


def _rate(says: str) -> Argument:
    return argument("µm/min", says, 0.0, 2000.0, symbol="k")


def _warmth(temperature: Num, activation: Num) -> Num:
    return -1e3 * activation / GAS_CONSTANT * (1.0 / (temperature + 273.15) - 1.0 / REFERENCE)


def _distance(excess: Num) -> Num:
    return sqrt(excess * excess + NEAR_SATURATION * NEAR_SATURATION)


@formula(
    result=argument("µm/min", "growth of the size", symbol="G"),
    supersaturation=SUPERSATURATED,
    temperature=PAN_TEMPERATURE,
    non_sucrose_to_water=IMPURITY,
    rate=_rate("growth per unit of supersaturation above 1, at 65 °C in a pure liquor"),
    activation=ACTIVATION,
    order=argument("1", "order in the supersaturation above 1", 1.0, 2.5, symbol="g"),
    hindrance=HINDRANCE,
    equation="G = k exp(−E/R (1/T − 1/338.15)) σ s^(g − 1) exp(−β x), σ = y − 1, s = √(σ² + 1e-8)",
    source="power law in the supersaturation with an exponential of the impurities, form of Wright and White (1974)",
    status="from memory",
    example=(1.10, 65.0, 0.0, 50.0, 60.0, 1.0, 1.07),
    gives=5.0,
    caveat="Constants of the plant's own. The size does not enter (McCabe). Negative where crystal dissolves. Within "
    "1e-4 of saturation the power is rounded off.",
)
def crystal_growth_power_law(
    supersaturation: Num,
    temperature: Num,
    non_sucrose_to_water: Num,
    rate: Num,
    activation: Num,
    order: Num,
    hindrance: Num,
) -> Num:
    """How fast the crystal size grows, by a power of the supersaturation above 1."""
    excess = supersaturation - 1.0
    bent = exp((order - 1.0) * log(_distance(excess)))
    return rate * excess * bent * exp(_warmth(temperature, activation) - hindrance * non_sucrose_to_water)


@formula(
    result=argument("µm/min", "growth of the size", symbol="G"),
    supersaturation=SUPERSATURATED,
    temperature=PAN_TEMPERATURE,
    non_sucrose_to_water=IMPURITY,
    rate=_rate("growth per unit of supersaturation above 1 far above the turn, at 65 °C in a pure liquor"),
    activation=ACTIVATION,
    turn=argument("1", "excess at which the law turns from square to straight", 0.001, 1.0, symbol="σ₁"),
    hindrance=HINDRANCE,
    equation="G = k exp(−E/R (1/T − 1/338.15)) σ s/σ₁ tanh(σ₁/s) exp(−β x), σ = y − 1, s = √(σ² + 1e-8)",
    source="Burton, Cabrera and Frank (1951), Phil. Trans. R. Soc. A 243, 299: growth at screw dislocations; "
    "temperature and impurities as in the power law",
    status="from memory",
    example=(1.10, 65.0, 0.0, 50.0, 60.0, 0.05, 1.07),
    gives=4.62117192,
    caveat="Constants of the plant's own: no published set for cane liquors was read. Square in the excess near "
    "saturation, straight far above it.",
)
def crystal_growth_spiral_law(
    supersaturation: Num,
    temperature: Num,
    non_sucrose_to_water: Num,
    rate: Num,
    activation: Num,
    turn: Num,
    hindrance: Num,
) -> Num:
    """How fast the crystal size grows, by the law of growth spirals."""
    excess = supersaturation - 1.0
    away = _distance(excess)
    bent = away / turn * tanh(turn / away)
    return rate * excess * bent * exp(_warmth(temperature, activation) - hindrance * non_sucrose_to_water)


@formula(
    result=argument("1/min", "crystals formed, 10⁹ of them", *AMOUNT, symbol="B"),
    supersaturation=SUPERSATURATED,
    crystal=argument("t", "crystal present", 0.0, 500.0, symbol="m"),
    limit=argument("1", "supersaturation from which grain forms beside crystal", 1.0, 1.6, symbol="y_c"),
    rate=argument("1/t/min", "crystals formed 0.1 above the limit, 10⁹ of them", 0.0, 1e4, symbol="k"),
    order=argument("1", "order in the excess above the limit", 1.0, 6.0, symbol="n"),
    equation="B = k m (5 (d + √(d² + 1e-6)))^n, d = y − y_c",
    source="power law of secondary nucleation; form chosen here",
    status="own fit",
    example=(1.30, 10.0, 1.20, 5.0, 2.0),
    gives=50.002500,
    caveat="The limit is 1.2 to 1.3 at high purity, higher in low-grade liquors (from memory); rate and order of the "
    "plant's own. The limit is rounded over 0.001 of supersaturation.",
)
def false_grain_rate(supersaturation: Num, crystal: Num, limit: Num, rate: Num, order: Num) -> Num:
    """How many crystals form anew in a minute beside those there are."""
    above = smooth_positive(supersaturation - limit, 1e-3)
    return rate * crystal * exp(order * log(10.0 * above))


@formula(
    result=argument("1/min", "share of the crystals that vanishes by merging", *AMOUNT, symbol="a"),
    growth=argument("µm/min", "growth of the size", -50.0, 100.0, symbol="G"),
    crystals=argument("1/m³", "crystals in the massecuite, 10⁹ of them", 0.0, 1e6, symbol="n"),
    readiness=argument("m³/mm", "volume swept for merging by 10⁹ crystals per size grown", 0.0, 10.0, symbol="b"),
    equation="a = 0.00025 b n (G + √(G² + 1e-6))",
    source="Smoluchowski (1916), pairs that meet; that they hold together while they grow is chosen here",
    status="own fit",
    example=(5.0, 3.0, 0.02),
    gives=1.5e-4,
    caveat="The plant's own from a count of conglomerates. Nothing merges where crystal dissolves.",
)
def merging_rate(growth: Num, crystals: Num, readiness: Num) -> Num:
    """How fast the number of crystals falls because two become one."""
    return 5e-4 * readiness * crystals * smooth_positive(growth, 1e-3)


@formula(
    result=argument("kW/m²/K", "heat transfer coefficient of the calandria", *AMOUNT, symbol="U"),
    clean=argument(
        "kW/m²/K", "coefficient with liquor of 0.1 Pa·s at the graining level", *HEAT_COEFFICIENT, symbol="U₀"
    ),
    viscosity=argument("Pa·s", "viscosity of the massecuite", 1e-4, 1e6, symbol="η"),
    exponent=argument("1", "exponent of the viscosity", 0.0, 1.0, symbol="n"),
    level=argument("1", "filled above the graining level, of what the pan takes above it", -1.0, 1.5, symbol="z"),
    slope=argument("1", "share lost at full level", *PART, symbol="s"),
    equation="U = U₀ (0.1/η)ⁿ (1 − s z)",
    source="natural circulation slows with viscosity and height; form chosen here",
    status="own fit",
    example=(1.0, 2.0, 0.3, 0.5, 0.2),
    gives=0.366381478,
    caveat="Fit the three constants to logged strikes: published coefficients of pans part by a factor of two.",
)
def pan_heat_transfer(clean: Num, viscosity: Num, exponent: Num, level: Num, slope: Num) -> Num:
    """Coefficient of a batch pan as the massecuite thickens and rises."""
    return clean * exp(-exponent * log(10.0 * viscosity)) * (1.0 - slope * level)
