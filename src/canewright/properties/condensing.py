"""Vacuum by condensing: the gas that a pump draws, the water that stands in a tail pipe, water lost by cooling."""

from __future__ import annotations

from canewright.properties import if97
from canewright.properties.ranges import (
    AIR_PRESSURE,
    AMBIENT_TEMPERATURE,
    AMOUNT,
    COLD_LIQUOR_TEMPERATURE,
    VACUUM,
    VOLUME,
)
from canewright.properties.steam import KELVIN, latent_heat
from canewright.properties.sucrose import density_law
from canewright.quantity import Num, argument, formula

GAS_CONSTANT_OF_AIR = 0.287042
"""kJ/kg/K: 8.314462618 J/mol/K over 28.9660 g/mol."""
GRAVITY = 9.80665


@formula(
    result=argument("kg/h", "dry gas drawn", *AMOUNT, symbol="m"),
    volume=argument("m³/h", "volume drawn at the suction", *VOLUME, symbol="V"),
    temperature=argument("°C", "temperature of the gas at the suction", *COLD_LIQUOR_TEMPERATURE, symbol="t"),
    pressure=argument("kPa", "absolute pressure of the condenser", *VACUUM, symbol="p", kind="absolute"),
    equation="m = V (p − p_s(t)) / (R T), R = 0.287042 kJ/kg/K",
    source="Dalton's law: gas saturated with water vapour, an ideal gas; pressure of vapour from IAPWS R7-97(2012)",
    status="derived",
    example=(1000.0, 35.0, 15.0),
    gives=105.948771,
    caveat="Nothing is drawn where the gas is as warm as water boils at the pressure.",
)
def gas_drawn(volume: Num, temperature: Num, pressure: Num) -> Num:
    """Gas that a vacuum pump takes from a condenser, in a volume that water vapour fills too."""
    kelvin = temperature + KELVIN
    gas_pressure = pressure - 1e3 * if97.boiling_pressure(kelvin)
    return volume * gas_pressure / (GAS_CONSTANT_OF_AIR * kelvin)


@formula(
    result=argument("m", "height at which water stands in the tail pipe", *AMOUNT, symbol="H"),
    pressure=argument("kPa", "absolute pressure of the condenser", *VACUUM, symbol="p", kind="absolute"),
    temperature=argument("°C", "temperature of the water", *COLD_LIQUOR_TEMPERATURE, symbol="t"),
    atmosphere=argument("kPa", "pressure of the atmosphere", *AIR_PRESSURE, symbol="p_a", kind="absolute"),
    equation="H = (p_a − p) / (ρ g)",
    source="hydrostatics; 10.34 m at perfect vacuum read in lecture notes on condensers of sugar mills",
    status="derived",
    example=(15.0, 45.0, 101.325),
    gives=8.88974523,
    caveat="Flow needs about half a metre more, and the seal its own height.",
)
def tail_pipe_column(pressure: Num, temperature: Num, atmosphere: Num) -> Num:
    """Water that the vacuum lifts in a barometric leg."""
    return 1e3 * (atmosphere - pressure) / (GRAVITY * density_law(0.0, temperature))


@formula(
    result=argument("t/h", "water evaporated", *AMOUNT, symbol="E"),
    duty=argument("MJ/h", "heat taken from the water", 0.0, 1e7, symbol="Q"),
    latent_share=argument("%", "share of the heat that leaves by evaporation", 0.0, 120.0, symbol="φ"),
    temperature=argument("°C", "temperature of the cooled water", *AMBIENT_TEMPERATURE, symbol="t"),
    equation="E = φ Q / (100 r(t))",
    source="heat balance; the rule of 0.00085 of the circulation for each °F (read second hand) is a share of 89 %",
    status="derived",
    example=(50000.0, 85.0, 30.0),
    gives=17.4908739,
    caveat="The share is 75 to 100 %: less in cool, damp air (common practice, no source).",
)
def evaporated_by_cooling(duty: Num, latent_share: Num, temperature: Num) -> Num:
    """Water that evaporates in a cooling tower or spray pond."""
    return latent_share / 100.0 * duty / latent_heat(temperature)
