"""Rates: inversion of sucrose in hot liquors, and heat transfer in evaporator vessels.

Heating surfaces are cleaned with hot caustic and acid by site procedure; local codes and licensed practice govern.
"""

from __future__ import annotations

from canewright.properties.steam import latent_heat
from canewright.properties.sucrose import LN10, density_law
from canewright.quantity import Num, argument, formula
from canewright.quantity.maths import exp, log


@formula(
    result=argument("1/h", "fraction of the sucrose inverted per hour", symbol="k"),
    temperature=argument("°C", "temperature of the liquor", 20.0, 130.0, symbol="t"),
    ph=argument("1", "pH at the temperature of the liquor", 3.0, 9.0, symbol="pH", kind="hot"),
    dry_substance=argument("% m/m", "dry substance", 0.0, 80.0, symbol="B", kind="true"),
    purity=argument("%", "purity", 0.0, 100.0, symbol="P", kind="true"),
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
    result=argument("kW/m²/K", "heat transfer coefficient", symbol="U"),
    dry_substance=argument("% m/m", "dry substance of the liquor leaving", 0.0, 80.0, symbol="B"),
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
    result=argument("kW/m²/K", "heat transfer coefficient", symbol="U"),
    dry_substance=argument("% m/m", "dry substance of the liquor", 5.0, 80.0, symbol="B"),
    temperature=argument("°C", "temperature of the boiling liquor", 40.0, 130.0, symbol="t"),
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
