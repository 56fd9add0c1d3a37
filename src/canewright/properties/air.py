"""Moist air for dryers, coolers, silos and stores, per kilogram of dry air.

Saturation is that of liquid water (IAPWS-IF97), so nothing here holds below 0 °C. Sugar dust in air is explosible:
dryers, conveyors and stores follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.properties import if97
from canewright.properties.ranges import AIR_PRESSURE, ALTITUDE, AMBIENT_TEMPERATURE, AMOUNT, SHARE
from canewright.properties.steam import KELVIN, MEGA
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log

MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air."""
SOURCE = "ASHRAE Handbook Fundamentals (2017), chapter 1, ideal mixture of dry air and vapour"


def _air_pressure() -> Argument:
    return argument("kPa", "absolute air pressure", *AIR_PRESSURE, symbol="p", kind="absolute")


DRY_BULB = argument("°C", "dry-bulb temperature", 0.0, 150.0, symbol="t")
NEAR_SATURATION = argument("°C", "dry-bulb temperature", 0.0, 90.0, symbol="t")
"""To where the vapour of saturated air reaches the least pressure of air."""


def _ratio(low: float = 0.0) -> Argument:
    return argument("kg/kg", "humidity ratio, water per dry air", low, 1.0, symbol="W")


def _saturation(t: Num) -> Num:
    return if97.boiling_pressure(t + KELVIN) * 1e3


def _vapour_pressure(humidity: Num, pressure: Num) -> Num:
    return humidity * pressure / (MASS_RATIO + humidity)


@formula(
    result=argument("kg/kg", "humidity ratio, water per dry air", *AMOUNT, symbol="W"),
    # of the hottest saturated air, below the least pressure of air, where the quotient has its pole
    vapour_pressure=argument("kPa", "partial pressure of water vapour", 0.0, 70.3, symbol="p_v", kind="absolute"),
    pressure=_air_pressure(),
    equation="W = 0.621945 p_v / (p − p_v)",
    source=SOURCE,
    status="read",
    example=(3.1697, 95.461),
    gives=0.0213603998,
)
def humidity_ratio(vapour_pressure: Num, pressure: Num) -> Num:
    """Mass of water per mass of dry air from the partial pressure of the vapour."""
    return MASS_RATIO * vapour_pressure / (pressure - vapour_pressure)


@formula(
    result=argument("kJ/kg", "enthalpy per kilogram of dry air", symbol="h"),
    temperature=DRY_BULB,
    humidity=_ratio(),
    equation="h = 1.006 t + W (2501 + 1.86 t)",
    source=SOURCE,
    status="read",
    example=(30.0, 0.02),
    gives=81.316,
)
def moist_air_enthalpy(temperature: Num, humidity: Num) -> Num:
    """Enthalpy of moist air per kilogram of dry air; zero for dry air and liquid water at 0 °C."""
    return 1.006 * temperature + humidity * (2501.0 + 1.86 * temperature)


@formula(
    result=argument("%", "relative humidity", *SHARE, symbol="φ"),
    temperature=DRY_BULB,
    humidity=_ratio(),
    pressure=_air_pressure(),
    equation="φ = 100 W p / ((0.621945 + W) p_s(t))",
    source=SOURCE + "; saturation from IAPWS R7-97(2012)",
    status="derived",
    example=(30.0, 0.01742, 101.325),
    gives=65.0,
)
def relative_humidity(temperature: Num, humidity: Num, pressure: Num) -> Num:
    """Vapour pressure in air over that of water at the same temperature, %."""
    return 100.0 * _vapour_pressure(humidity, pressure) / _saturation(temperature)


@formula(
    result=argument("kg/kg", "humidity ratio, water per dry air", *AMOUNT, symbol="W"),
    temperature=NEAR_SATURATION,
    relative_humidity=argument("%", "relative humidity", *SHARE, symbol="φ"),
    pressure=_air_pressure(),
    equation="W = 0.621945 p_v / (p − p_v), p_v = φ p_s(t) / 100",
    source=SOURCE + "; saturation from IAPWS R7-97(2012)",
    status="derived",
    example=(40.0, 50.0, 101.325),
    gives=0.02352,
)
def humidity_at(temperature: Num, relative_humidity: Num, pressure: Num) -> Num:
    """Mass of water per mass of dry air from temperature and relative humidity."""
    vapour = 0.01 * relative_humidity * _saturation(temperature)
    return MASS_RATIO * vapour / (pressure - vapour)


@formula(
    result=argument("°C", "dew point", symbol="t_d"),
    humidity=_ratio(0.0052),
    pressure=_air_pressure(),
    equation="t_d = t_s(W p / (0.621945 + W))",
    source=SOURCE + "; saturation from IAPWS R7-97(2012), equation 31",
    status="derived",
    example=(0.0213603998, 95.461),
    gives=25.0,
    caveat="Above 0.0052 kg/kg only, that is for dew points above freezing.",
)
def dew_point(humidity: Num, pressure: Num) -> Num:
    """Temperature at which cooled air begins to shed water."""
    return if97.boiling_temperature(_vapour_pressure(humidity, pressure) * MEGA) - KELVIN


@formula(
    result=argument("m³/kg", "volume of moist air per kilogram of dry air", *AMOUNT, symbol="v"),
    temperature=DRY_BULB,
    humidity=_ratio(),
    pressure=_air_pressure(),
    equation="v = 0.287042 (t + 273.15)(1 + 1.607858 W) / p",
    source=SOURCE,
    status="from memory",
    example=(30.0, 0.02, 95.461),
    gives=0.940855374,
)
def moist_air_volume(temperature: Num, humidity: Num, pressure: Num) -> Num:
    """Volume of moist air per kilogram of dry air."""
    return 0.287042 * (temperature + KELVIN) * (1.0 + 1.607858 * humidity) / pressure


@formula(
    result=argument("kPa", "standard pressure of the atmosphere", *AMOUNT, symbol="p"),
    altitude=argument("m", "height above the sea", *ALTITUDE, symbol="z"),
    equation="p = 101.325 (1 − 2.25577e-5 z)^5.2559",
    source=SOURCE,
    status="from memory",
    example=(500.0,),
    gives=95.4608124,
)
def standard_pressure(altitude: Num) -> Num:
    """Standard pressure of the atmosphere at a height."""
    return 101.325 * exp(5.2559 * log(1.0 - 2.25577e-5 * altitude))


@formula(
    result=argument("kg/kg", "humidity ratio, water per dry air", *AMOUNT, symbol="W"),
    temperature=NEAR_SATURATION,
    wet_bulb=argument("°C", "wet-bulb temperature", *AMBIENT_TEMPERATURE, symbol="t_w"),
    pressure=_air_pressure(),
    equation="W = [(2501 − 2.326 t_w) W_s(t_w) − 1.006 (t − t_w)] / (2501 + 1.86 t − 4.186 t_w)",
    source=SOURCE + ", wet bulb above freezing; saturation from IAPWS R7-97(2012)",
    status="from memory",
    example=(40.0, 30.305, 101.325),
    gives=0.0235210082,
    caveat="A negative result means that the two temperatures cannot belong to one air.",
)
def humidity_of_wet_bulb(temperature: Num, wet_bulb: Num, pressure: Num) -> Num:
    """Mass of water per mass of dry air from dry-bulb and wet-bulb temperatures."""
    vapour = _saturation(wet_bulb)
    saturated = MASS_RATIO * vapour / (pressure - vapour)
    heat = (2501.0 - 2.326 * wet_bulb) * saturated - 1.006 * (temperature - wet_bulb)
    return heat / (2501.0 + 1.86 * temperature - 4.186 * wet_bulb)
