"""Rates: inversion of sucrose in hot liquors, and heat transfer in evaporator vessels.

Heating surfaces are cleaned with hot caustic and acid by site procedure; local codes and licensed practice govern.
"""

from __future__ import annotations

from canewright.properties.ranges import (
    AMOUNT,
    EVAPORATED,
    EVAPORATOR_TEMPERATURE,
    HEATED_TEMPERATURE,
    HOURS,
    MASS,
    PART,
    PH_SCALE,
    SHARE,
)
from canewright.properties.steam import latent_heat
from canewright.properties.sucrose import LN10, density_law
from canewright.quantity import Num, argument, formula
from canewright.quantity.maths import exp, log


@formula(
    result=argument("1/h", "fraction of the sucrose inverted per hour", *AMOUNT, symbol="k"),
    temperature=argument("°C", "temperature of the liquor", *HEATED_TEMPERATURE, symbol="t"),
    ph=argument("1", "pH at the temperature of the liquor", 3.0, 9.0, symbol="pH", kind="hot"),
    dry_substance=argument("% m/m", "dry substance", *EVAPORATED, symbol="B", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    equation="k = 60 · 10^(16.91 − 5670/T − pH) · (ρ − c), ρ density and c sucrose, g/mL",
    source="Vukov (1965), Int. Sugar J. 67, 172; density from ICUMSA SPS-4",
    status="from memory",
    example=(100.0, 7.0, 15.0, 85.0),
    gives=0.000276,
    caveat="The pH is that at the temperature of the liquor, 0.6 to 1.0 lower hot than cooled: the cooled pH gives a "
    "rate 4 to 10 times too low. Alkaline destruction above pH 8 is not in it.",
)
def inversion_rate(temperature: Num, ph: Num, dry_substance: Num, purity: Num) -> Num:
    """First-order rate at which sucrose inverts in a liquor of a pH measured at its own temperature."""
    w = dry_substance / 100.0
    besides_sucrose = 1e-3 * density_law(w, temperature) * (1.0 - w * purity / 100.0)
    decades = 16.91 - 5670.0 / (temperature + 273.15) - ph
    return 60.0 * exp(LN10 * decades + log(besides_sucrose))


@formula(
    result=argument("kW/m²/K", "heat transfer coefficient", *AMOUNT, symbol="U"),
    dry_substance=argument("% m/m", "dry substance of the liquor leaving", *EVAPORATED, symbol="B"),
    temperature=argument("°C", "temperature of the heating vapour", 60.0, 140.0, symbol="t"),
    equation="U = 0.001 (100 − B) (t − 54) r(t) / 3600",
    source="Dessin, evaporation coefficient as given in Hugot, Handbook of Cane Sugar Engineering",
    status="from memory",
    example=(20.0, 115.0),
    gives=3.004,
    caveat="A typical vessel in fair order; replace by the plant's own figure.",
)
def heat_transfer_dessin(dry_substance: Num, temperature: Num) -> Num:
    """Evaporator coefficient from the strength of the liquor leaving and the temperature of the heating vapour."""
    evaporation = 0.001 * (100.0 - dry_substance) * (temperature - 54.0)
    return evaporation * latent_heat(temperature) / 3600.0


@formula(
    result=argument("kW/m²/K", "heat transfer coefficient", *AMOUNT, symbol="U"),
    dry_substance=argument("% m/m", "dry substance of the liquor", 5.0, EVAPORATED[1], symbol="B"),
    temperature=argument("°C", "temperature of the boiling liquor", *EVAPORATOR_TEMPERATURE, symbol="t"),
    equation="U = 0.465 t / B",
    source="Swedish formula, k = 400 t/B kcal/(m²·h·K), as given in Hugot, Handbook of Cane Sugar Engineering",
    status="from memory",
    example=(20.0, 107.0),
    gives=2.488,
    caveat="A typical vessel in fair order; replace by the plant's own figure.",
)
def heat_transfer_swedish(dry_substance: Num, temperature: Num) -> Num:
    """Evaporator coefficient from the strength and the temperature of the boiling liquor."""
    return 0.465 * temperature / dry_substance


@formula(
    result=argument("%", "sucrose inverted", *SHARE, symbol="inverted"),
    rate=argument("1/h", "fraction of the sucrose inverted per hour", *PART, symbol="k"),
    hours=argument("h", "time at temperature", *HOURS, symbol="τ"),
    equation="inverted = 100 (1 − exp(−k τ))",
    source="first-order reaction in a vessel without mixing",
    status="derived",
    example=(0.000276, 1.0),
    gives=0.0275961916,
    caveat="A stirred vessel loses k τ / (1 + k τ), the same while the loss is small.",
)
def sucrose_inverted(rate: Num, hours: Num) -> Num:
    """Share of the sucrose lost by inversion over a time."""
    return 100.0 * (1.0 - exp(-rate * hours))


@formula(
    result=argument("t", "invert sugar formed", *AMOUNT, symbol="I"),
    sucrose_lost=argument("t", "sucrose inverted", *MASS, symbol="S"),
    equation="I = 1.05263 S",
    source="C₁₂H₂₂O₁₁ + H₂O → 2 C₆H₁₂O₆, molar masses 342.296 and 18.01528 g/mol",
    status="derived",
    example=(10.0,),
    gives=10.5263071,
    caveat="Inversion takes up water: dissolved matter grows by 5.3 % of the sucrose lost.",
)
def invert_formed(sucrose_lost: Num) -> Num:
    """Invert sugar that inverted sucrose gives."""
    return sucrose_lost * (342.296 + 18.01528) / 342.296


@formula(
    result=argument("IU/h", "colour formed per hour", *AMOUNT, symbol="k_c"),
    reference_rate=argument("IU/h", "colour formed per hour at 100 °C", 0.0, 1000.0, symbol="k₁₀₀"),
    temperature=argument("°C", "temperature", *EVAPORATOR_TEMPERATURE, symbol="t"),
    activation=argument("kJ/mol", "activation energy", 60.0, 160.0, symbol="E"),
    equation="k_c = k₁₀₀ exp(−E/R (1/T − 1/373.15))",
    source="Arrhenius; activation energy 100 to 130 kJ/mol from memory",
    status="from memory",
    example=(10.0, 107.0, 115.0),
    gives=19.7888266,
    caveat="Calibrate the rate at 100 °C to the plant; it depends on pH and reducing sugars.",
)
def colour_formation_rate(reference_rate: Num, temperature: Num, activation: Num) -> Num:
    """Colour formed per hour in a hot liquor, from the rate at 100 °C."""
    shift = 1.0 / (temperature + 273.15) - 1.0 / 373.15
    return reference_rate * exp(-1e3 * activation / 8.314462618 * shift)


@formula(
    result=argument("1", "pH at the temperature of the liquor", *PH_SCALE, symbol="pH", kind="hot"),
    cooled=argument("1", "pH of the cooled sample", *PH_SCALE, symbol="pH₂₀", kind="cooled"),
    temperature=argument("°C", "temperature of the liquor", *HEATED_TEMPERATURE, symbol="t"),
    fall=argument("1/K", "fall of pH per kelvin", 0.0, 0.03, symbol="f"),
    equation="pH = pH₂₀ − f (t − 20)",
    source="cane juice: 0.01 to 0.02 per K, or 0.6 to 1.0 lower at 100 °C than cooled; from memory",
    status="from memory",
    example=(7.0, 100.0, 0.010),
    gives=6.2,
    caveat="Measure the fall on the plant's own juice; it decides the inversion rate within a factor of 4 to 10.",
)
def ph_at_temperature(cooled: Num, temperature: Num, fall: Num) -> Num:
    """The pH of a hot liquor from the pH of its cooled sample."""
    return cooled - fall * (temperature - 20.0)
