"""Water and steam in trade units: saturation, enthalpy, specific volume, entropy.

All of it is IAPWS-IF97 (see ``if97``). The phase is the caller's choice: ``water_...`` is liquid, ``steam_...`` is
vapour; nothing here switches phase. These figures serve balances, never the sizing or the safety of a boiler or a
pressure vessel, for which the local pressure code and licensed practice govern.
"""

from __future__ import annotations

from canewright.properties import if97
from canewright.properties.ranges import AMOUNT
from canewright.quantity import Argument, Num, argument, formula

KELVIN = 273.15
MEGA = 1e-3  # kPa to MPa
SOURCE = "IAPWS R7-97(2012), Industrial Formulation 1997 for the Thermodynamic Properties of Water and Steam"
CAVEAT = "For balances only; boiler and vessel safety follow the local pressure code and licensed practice."


def _boiling() -> Argument:
    # equations 7 and 15 hold to 623.15 K
    return argument("°C", "temperature at which water boils", 0.0, 350.0, symbol="t")


def _water(says: str = "temperature of the water") -> Argument:
    return argument("°C", says, 0.0, 350.0, symbol="t")


def _water_pressure() -> Argument:
    return argument("kPa", "absolute pressure", 0.611213, 100000.0, symbol="p", kind="absolute")


def _steam() -> Argument:
    return argument("°C", "temperature of the steam", 5.0, 600.0, symbol="t")


def _steam_pressure() -> Argument:
    return argument("kPa", "absolute pressure", 0.5, 10000.0, symbol="p", kind="absolute")


ONLY_LIQUID = "Liquid only: the pressure must be at or above saturation. " + CAVEAT
ONLY_VAPOUR = "Vapour only: the temperature must be at or above saturation. " + CAVEAT


@formula(
    result=argument("kPa", "pressure at which water boils", *AMOUNT, symbol="p_s", kind="absolute"),
    temperature=argument("°C", "temperature at which water boils", 0.0, 373.946, symbol="t"),
    equation="p_s = (2C / (−B + √(B² − 4AC)))⁴, A, B, C quadratic in ϑ = T + n₉/(T − n₁₀)",
    source=SOURCE + ", equation 30 and table 34",
    status="read",
    example=(226.85,),
    gives=2638.89776,
    caveat=CAVEAT,
)
def saturation_pressure(temperature: Num) -> Num:
    """Absolute pressure at which pure water boils at a temperature."""
    return if97.boiling_pressure(temperature + KELVIN) * 1e3


@formula(
    result=argument("°C", "temperature at which water boils", symbol="t_s"),
    pressure=argument("kPa", "absolute pressure", 0.611213, 22064.0, symbol="p", kind="absolute"),
    equation="t_s = ½(n₁₀ + D − √((n₁₀ + D)² − 4(n₉ + n₁₀ D))) − 273.15",
    source=SOURCE + ", equation 31 and table 34",
    status="read",
    example=(1000.0,),
    gives=179.885632,
    caveat=CAVEAT,
)
def saturation_temperature(pressure: Num) -> Num:
    """Temperature at which pure water boils at an absolute pressure; the exact inverse of ``saturation_pressure``."""
    return if97.boiling_temperature(pressure * MEGA) - KELVIN


@formula(
    result=argument("kJ/kg", "enthalpy of liquid water", symbol="h"),
    temperature=_water(),
    pressure=_water_pressure(),
    equation="h = R T τ γ_τ(π, τ), region 1",
    source=SOURCE + ", equation 7 and table 2",
    status="read",
    example=(26.85, 3000.0),
    gives=115.331273,
    caveat=ONLY_LIQUID,
)
def water_enthalpy(temperature: Num, pressure: Num) -> Num:
    """Enthalpy of liquid water; zero near the triple point."""
    return if97.liquid_enthalpy(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("m³/kg", "specific volume of liquid water", *AMOUNT, symbol="v"),
    temperature=_water(),
    pressure=_water_pressure(),
    equation="v = R T π γ_π(π, τ) / p, region 1",
    source=SOURCE + ", equation 7 and table 2",
    status="read",
    example=(26.85, 3000.0),
    gives=0.00100215168,
    caveat=ONLY_LIQUID,
)
def water_volume(temperature: Num, pressure: Num) -> Num:
    """Specific volume of liquid water."""
    return if97.liquid_volume(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("kJ/kg/K", "entropy of liquid water", symbol="s"),
    temperature=_water(),
    pressure=_water_pressure(),
    equation="s = R (τ γ_τ − γ), region 1",
    source=SOURCE + ", equation 7 and table 2",
    status="read",
    example=(26.85, 3000.0),
    gives=0.392294792,
    caveat=ONLY_LIQUID,
)
def water_entropy(temperature: Num, pressure: Num) -> Num:
    """Entropy of liquid water; zero near the triple point."""
    return if97.liquid_entropy(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("kJ/kg", "enthalpy of steam", symbol="h"),
    temperature=_steam(),
    pressure=_steam_pressure(),
    equation="h = R T τ (γ°_τ + γʳ_τ), region 2",
    source=SOURCE + ", equations 15 to 17, tables 10 and 11",
    status="read",
    example=(426.85, 3.5),
    gives=3335.68375,
    caveat=ONLY_VAPOUR,
)
def steam_enthalpy(temperature: Num, pressure: Num) -> Num:
    """Enthalpy of saturated or superheated steam."""
    return if97.vapour_enthalpy(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("m³/kg", "specific volume of steam", *AMOUNT, symbol="v"),
    temperature=_steam(),
    pressure=_steam_pressure(),
    equation="v = R T π (γ°_π + γʳ_π) / p, region 2",
    source=SOURCE + ", equations 15 to 17, tables 10 and 11",
    status="read",
    example=(426.85, 3.5),
    gives=92.3015898,
    caveat=ONLY_VAPOUR,
)
def steam_volume(temperature: Num, pressure: Num) -> Num:
    """Specific volume of saturated or superheated steam."""
    return if97.vapour_volume(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("kJ/kg/K", "entropy of steam", *AMOUNT, symbol="s"),
    temperature=_steam(),
    pressure=_steam_pressure(),
    equation="s = R (τ (γ°_τ + γʳ_τ) − (γ° + γʳ)), region 2",
    source=SOURCE + ", equations 15 to 17, tables 10 and 11",
    status="read",
    example=(426.85, 3.5),
    gives=10.1749996,
    caveat=ONLY_VAPOUR,
)
def steam_entropy(temperature: Num, pressure: Num) -> Num:
    """Entropy of saturated or superheated steam, for the expansion line of a turbine."""
    return if97.vapour_entropy(temperature + KELVIN, pressure * MEGA)


@formula(
    result=argument("kJ/kg", "enthalpy of boiling water", symbol="h′"),
    temperature=_boiling(),
    equation="h′ = h₁(t, p_s(t))",
    source=SOURCE + ", equations 7 and 30",
    status="read",
    example=(100.0,),
    gives=419.10,
    caveat=CAVEAT,
)
def saturated_water_enthalpy(temperature: Num) -> Num:
    """Enthalpy of water at its boiling point: condensate."""
    kelvin = temperature + KELVIN
    return if97.liquid_enthalpy(kelvin, if97.boiling_pressure(kelvin))


@formula(
    result=argument("kJ/kg", "enthalpy of saturated steam", symbol="h″"),
    temperature=_boiling(),
    equation="h″ = h₂(t, p_s(t))",
    source=SOURCE + ", equations 15 and 30",
    status="read",
    example=(100.0,),
    gives=2675.57,
    caveat=CAVEAT,
)
def saturated_steam_enthalpy(temperature: Num) -> Num:
    """Enthalpy of dry saturated steam: vapour from an effect or exhaust without superheat."""
    kelvin = temperature + KELVIN
    return if97.vapour_enthalpy(kelvin, if97.boiling_pressure(kelvin))


@formula(
    result=argument("kJ/kg", "latent heat of evaporation", *AMOUNT, symbol="r"),
    temperature=_boiling(),
    equation="r = h″(t) − h′(t)",
    source=SOURCE + ", equations 7, 15 and 30",
    status="read",
    example=(100.0,),
    gives=2256.47,
    caveat=CAVEAT,
)
def latent_heat(temperature: Num) -> Num:
    """Heat that turns boiling water into dry saturated steam at one temperature."""
    kelvin = temperature + KELVIN
    pressure = if97.boiling_pressure(kelvin)
    return if97.vapour_enthalpy(kelvin, pressure) - if97.liquid_enthalpy(kelvin, pressure)
