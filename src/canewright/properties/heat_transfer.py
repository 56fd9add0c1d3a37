"""Heat transfer: film and overall coefficients, fouling, and the mean temperature difference.

Heating surfaces are cleaned with hot caustic and acid by site procedure; local codes and licensed practice govern.
"""

from __future__ import annotations

from canewright.properties.massecuite import water_viscosity_law
from canewright.properties.ranges import (
    AMOUNT,
    DECLINE,
    DIFFERENCE_PRESENT,
    EVAPORATED,
    EVAPORATOR_TEMPERATURE,
    FILM_COEFFICIENT,
    HEAT_COEFFICIENT,
    HOURS,
    LATENT_HEAT,
    LIQUOR_DENSITY,
    LIQUOR_HEAT,
    LIQUOR_VISCOSITY,
    SURFACE,
    TEMPERATURE_DIFFERENCE,
)
from canewright.properties.sucrose import density_law
from canewright.properties.thermal import liquor_conductivity
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log, sqrt

TURBULENT = "For turbulent flow in tubes, Reynolds number above 10 000."
NODES = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)
"""Places and weights of Gauss's eight-point rule on -1 to 1, the positive half."""


def _difference(says: str, symbol: str) -> Argument:
    return argument("K", says, *DIFFERENCE_PRESENT, symbol=symbol)


def _coefficient(says: str, low: float, high: float, symbol: str = "U") -> Argument:
    return argument("kW/m²/K", says, low, high, symbol=symbol)


VELOCITY = argument("m/s", "velocity in the tube", 0.1, 5.0, symbol="v")
DIAMETER = argument("m", "inner diameter of the tube", 0.01, 0.2, symbol="d")
DENSITY = argument("kg/m³", "density", *LIQUOR_DENSITY, symbol="ρ")
VISCOSITY = argument("Pa·s", "viscosity", *LIQUOR_VISCOSITY, symbol="η")
SPECIFIC_HEAT = argument("kJ/kg/K", "specific heat", *LIQUOR_HEAT, symbol="c")
CLEAN = _coefficient("coefficient of the clean surface", *HEAT_COEFFICIENT, "U₀")
SINCE_CLEANING = argument("h", "hours since cleaning", *HOURS, symbol="τ")
# of the coldest and thickest liquor in evaporators to that of water at its hottest
CONDUCTIVITY = argument("W/m/K", "thermal conductivity", 0.32, 0.705, symbol="λ")


@formula(
    result=argument("K", "logarithmic mean temperature difference", *AMOUNT, symbol="Δt_m"),
    difference_in=_difference("difference at one end", "Δt₁"),
    difference_out=_difference("difference at the other end", "Δt₂"),
    equation="Δt_m = (Δt₁ − Δt₂) / ln(Δt₁/Δt₂) = ∫ Δt₁^s Δt₂^(1−s) ds, s from 0 to 1",
    source="heat exchange at constant coefficient",
    status="derived",
    example=(60.0, 15.0),
    gives=32.4606384,
    caveat="The integral is worked by an eight-point rule, exact to ten digits, and holds for equal ends too.",
)
def log_mean_difference(difference_in: Num, difference_out: Num) -> Num:
    """Mean temperature difference of a heater."""
    middle = sqrt(difference_in * difference_out)
    half = 0.5 * log(difference_in / difference_out)
    pairs = (weight * (exp(place * half) + exp(-place * half)) for place, weight in NODES)
    return 0.5 * middle * sum(pairs)


@formula(
    result=argument("1", "Reynolds number", *AMOUNT, symbol="Re"),
    velocity=VELOCITY,
    diameter=DIAMETER,
    density=DENSITY,
    viscosity=VISCOSITY,
    equation="Re = v d ρ / η",
    source="definition",
    status="derived",
    example=(1.9, 0.0381, 1042.38, 0.00070754),
    gives=106648.229,
)
def reynolds_number(velocity: Num, diameter: Num, density: Num, viscosity: Num) -> Num:
    """Reynolds number of the flow in a tube."""
    return velocity * diameter * density / viscosity


@formula(
    result=argument("1", "Prandtl number", *AMOUNT, symbol="Pr"),
    viscosity=VISCOSITY,
    specific_heat=SPECIFIC_HEAT,
    conductivity=CONDUCTIVITY,
    equation="Pr = 1000 c η / λ",
    source="definition",
    status="derived",
    example=(0.000708, 3.87, 0.59),
    gives=4.644,
)
def prandtl_number(viscosity: Num, specific_heat: Num, conductivity: Num) -> Num:
    """Prandtl number of a liquor."""
    return 1e3 * specific_heat * viscosity / conductivity


@formula(
    result=_coefficient("film coefficient of the liquor", *AMOUNT, "h"),
    velocity=VELOCITY,
    diameter=DIAMETER,
    density=DENSITY,
    viscosity=VISCOSITY,
    specific_heat=SPECIFIC_HEAT,
    conductivity=CONDUCTIVITY,
    equation="Nu = 0.027 Re^0.8 Pr^(1/3), h = Nu λ / d",
    source="Sieder and Tate (1936), Ind. Eng. Chem. 28, 1429, viscosity at the wall left out",
    status="from memory",
    example=(1.9, 0.0381, 1042.38, 0.000708, 3.87, 0.596),
    gives=7.39017655,
    caveat=TURBULENT,
)
def film_coefficient_sieder_tate(
    velocity: Num, diameter: Num, density: Num, viscosity: Num, specific_heat: Num, conductivity: Num
) -> Num:
    """Film coefficient inside the tubes of a juice or liquor heater."""
    reynolds = log(velocity * diameter * density / viscosity)
    prandtl = log(1e3 * specific_heat * viscosity / conductivity)
    return 0.027e-3 * conductivity / diameter * exp(0.8 * reynolds + prandtl / 3.0)


@formula(
    result=_coefficient("film coefficient of the liquor", *AMOUNT, "h"),
    velocity=VELOCITY,
    diameter=DIAMETER,
    density=DENSITY,
    viscosity=VISCOSITY,
    specific_heat=SPECIFIC_HEAT,
    conductivity=CONDUCTIVITY,
    equation="Nu = 0.023 Re^0.8 Pr^0.4, h = Nu λ / d",
    source="Dittus and Boelter (1930), heating",
    status="from memory",
    example=(1.9, 0.0381, 1042.38, 0.000708, 3.87, 0.596),
    gives=6.96923993,
    caveat=TURBULENT,
)
def film_coefficient_dittus_boelter(
    velocity: Num, diameter: Num, density: Num, viscosity: Num, specific_heat: Num, conductivity: Num
) -> Num:
    """Film coefficient inside the tubes of a heater, the other common form."""
    reynolds = log(velocity * diameter * density / viscosity)
    prandtl = log(1e3 * specific_heat * viscosity / conductivity)
    return 0.023e-3 * conductivity / diameter * exp(0.8 * reynolds + 0.4 * prandtl)


@formula(
    result=_coefficient("overall coefficient", *AMOUNT),
    inside=_coefficient("film coefficient of the liquor", *FILM_COEFFICIENT, "h_i"),
    outside=_coefficient("film coefficient of the condensing vapour", *FILM_COEFFICIENT, "h_o"),
    resistance=argument("m²·K/kW", "resistance of the wall and of scale", 0.0, 5.0, symbol="R"),
    equation="1/U = 1/h_i + R + 1/h_o",
    source="resistances in series",
    status="derived",
    example=(7.422, 10.0, 0.3),
    gives=1.87008668,
    caveat="Thin tubes: inner and outer surface taken as equal.",
)
def overall_coefficient(inside: Num, outside: Num, resistance: Num) -> Num:
    """Overall coefficient of a clean or fouled surface."""
    return 1.0 / (1.0 / inside + resistance + 1.0 / outside)


@formula(
    result=_coefficient("coefficient of the fouled surface", *AMOUNT),
    clean=CLEAN,
    rate=argument("m²·K/kW/h", "resistance that scale adds per hour", 0.0, 0.05, symbol="r"),
    hours=SINCE_CLEANING,
    equation="1/U = 1/U₀ + r τ",
    source="scale growing evenly",
    status="derived",
    example=(2.5, 0.001, 300.0),
    gives=1.42857143,
)
def fouled_coefficient(clean: Num, rate: Num, hours: Num) -> Num:
    """Coefficient of a surface whose scale grows evenly with time."""
    return 1.0 / (1.0 / clean + rate * hours)


@formula(
    result=_coefficient("coefficient of the fouled surface", *AMOUNT),
    clean=CLEAN,
    rate=argument("1/h", "constant of the decline", *DECLINE, symbol="b"),
    hours=SINCE_CLEANING,
    equation="U = U₀ / √(1 + b τ)",
    source="decline of evaporators with time, common form in process engineering",
    status="from memory",
    example=(2.5, 0.002, 300.0),
    gives=1.97642354,
)
def fouled_coefficient_by_root(clean: Num, rate: Num, hours: Num) -> Num:
    """Coefficient of a surface whose decline slackens with time."""
    return clean / sqrt(1.0 + rate * hours)


@formula(
    result=argument("kW", "heat exchanged", *AMOUNT, symbol="Q"),
    coefficient=_coefficient("overall coefficient", 0.0, HEAT_COEFFICIENT[1]),
    surface=argument("m²", "heating surface", *SURFACE, symbol="A"),
    difference=argument("K", "mean temperature difference", *TEMPERATURE_DIFFERENCE, symbol="Δt_m"),
    equation="Q = U A Δt_m",
    source="definition of the overall coefficient",
    status="derived",
    example=(0.9, 200.0, 30.0),
    gives=5400.0,
)
def heat_exchanged(coefficient: Num, surface: Num, difference: Num) -> Num:
    """Heat that passes a heating surface."""
    return coefficient * surface * difference


@formula(
    result=_coefficient("film coefficient of the condensing vapour", *AMOUNT, "h"),
    temperature=argument("°C", "temperature of the condensate film", *EVAPORATOR_TEMPERATURE, symbol="t"),
    height=argument("m", "height of the tubes", 0.5, 10.0, symbol="L"),
    difference=argument("K", "vapour to wall", *DIFFERENCE_PRESENT, symbol="Δt"),
    latent=argument("kJ/kg", "latent heat of the vapour", *LATENT_HEAT, symbol="r"),
    equation="h = 0.943 [ρ² g r λ³ / (η L Δt)]^(1/4), ρ, λ and η of water at t",
    source="Nusselt (1916), laminar film on a vertical wall",
    status="from memory",
    example=(100.0, 3.0, 5.0, 2256.5),
    gives=5.9293734,
    caveat="Without incondensable gas and without ripples, which raise it by about a fifth; gas lowers it far more.",
)
def condensing_coefficient(temperature: Num, height: Num, difference: Num, latent: Num) -> Num:
    """Film coefficient of steam or vapour condensing on upright tubes."""
    density = density_law(0.0, temperature)
    conductivity = liquor_conductivity(0.0 * temperature, temperature)
    viscosity = water_viscosity_law(temperature)
    drive = log(density * density * 9.80665e3 * latent * conductivity * conductivity * conductivity)
    return 0.943e-3 * exp(0.25 * (drive - log(viscosity * height * difference)))


@formula(
    result=_coefficient("heat transfer coefficient", *AMOUNT),
    base=_coefficient("coefficient of water at the reference viscosity", *HEAT_COEFFICIENT, "U₀"),
    dry_substance=argument("% m/m", "dry substance of the liquor", *EVAPORATED, symbol="B", kind="true"),
    most=argument("% m/m", "dry substance at which it would vanish", 85.0, 120.0, symbol="B_max", kind="true"),
    exponent=argument("1", "exponent", 0.2, 3.0, symbol="n"),
    equation="U = U₀ (1 − B/B_max)^n",
    source="form chosen here; U₀, B_max and n from the plant's own vessels",
    status="own fit",
    example=(3.5, 50.0, 100.0, 1.0),
    gives=1.75,
    caveat="Dessin's formula has n = 1 and B_max = 100 at one heating temperature.",
)
def heat_transfer_fitted(base: Num, dry_substance: Num, most: Num, exponent: Num) -> Num:
    """Evaporator coefficient against strength with the plant's own constants."""
    return base * exp(exponent * log(1.0 - dry_substance / most))
