"""How much hotter than water a liquor boils, from its composition and from its depth.

The default is the water activity of the liquor (sound for dilute juice, and purity enters by itself); a handbook
formula and a textbook formula stand beside it for comparison. Boiling liquor scalds: guards, lagging and clothing
follow site procedure and local rules.
"""

from __future__ import annotations

from canewright.properties import if97
from canewright.properties.ranges import (
    AMOUNT,
    BOILING_DENSITY,
    BOILING_DEPTH,
    BOILING_PRESSURE,
    EVAPORATING_TEMPERATURE,
    FLOW,
    PART,
    SHARE,
    SUGAR_SOLUTION,
    THICK,
)
from canewright.properties.steam import KELVIN, MEGA
from canewright.quantity import Argument, Num, argument, formula
from canewright.quantity.maths import exp, log

WATER, SUCROSE, REDUCING_SUGARS = 18.01528, 342.296, 180.156
"""Molar masses, g/mol."""
NON_SUGARS = 120.0
"""Effective molar mass of the other non-sucrose, g/mol: an adjustable figure, not a measured one."""
SUCROSE_ROOT, REDUCING_ROOT = 2.5436194683953808, 1.5
"""Square roots of the Norrish constants 6.47 (sucrose) and 2.25 (reducing sugars)."""
TRACE = 1e-9
"""Water added to every liquor, t/h, so that an idle stream has the water activity 1 instead of 0/0."""
GRAVITY = 9.80665

NORRISH = (
    "Norrish (1966), J. Food Technol. 1, 25, form as in Baez et al. (2010), Food Bioprocess Technol. 3, 87-92; "
    "constants and the square-root rule for mixtures from memory; other non-sucrose as an ideal solute of 120 g/mol"
)


def _flow(says: str) -> Argument:
    return argument("t/h", says, *FLOW)


def liquor_activity(water: Num, sucrose: Num, reducing_sugars: Num, non_sugars: Num) -> Num:
    """Water activity of a mixture from the masses of its parts, without a check of range."""
    moles = (water + TRACE) / WATER
    sugar = sucrose / SUCROSE
    reducing = reducing_sugars / REDUCING_SUGARS
    total = moles + sugar + reducing + non_sugars / NON_SUGARS
    pull = (SUCROSE_ROOT * sugar + REDUCING_ROOT * reducing) / total
    return moles / total * exp(-pull * pull)


def boils_at(kilopascal: Num) -> Num:
    """Boiling temperature of water, °C, from kPa, without a check of range."""
    return if97.boiling_temperature(kilopascal * MEGA) - KELVIN


@formula(
    result=argument("1", "water activity", *PART, symbol="a_w"),
    water=_flow("water"),
    sucrose=_flow("dissolved sucrose"),
    reducing_sugars=_flow("reducing sugars"),
    non_sugars=_flow("ash and other non-sucrose"),
    equation="a_w = x_w exp(−(√6.47 x_s + √2.25 x_r)²), mole fractions x",
    source=NORRISH,
    status="from memory",
    example=(32.1, 67.9, 0.0, 0.0),
    gives=0.8433,
    caveat="Checked on freezing points of sucrose to 42 %: within 4 % of ln a_w. Not checked for syrup and massecuite.",
)
def water_activity(water: Num, sucrose: Num, reducing_sugars: Num, non_sugars: Num) -> Num:
    """Vapour pressure of a liquor over that of water; depends on the proportions of the four flows only."""
    return liquor_activity(water, sucrose, reducing_sugars, non_sugars)


@formula(
    result=argument("°C", "temperature at which the liquor boils", symbol="t_b"),
    water=_flow("water"),
    sucrose=_flow("dissolved sucrose"),
    reducing_sugars=_flow("reducing sugars"),
    non_sugars=_flow("ash and other non-sucrose"),
    pressure=argument("kPa", "absolute pressure", *BOILING_PRESSURE, symbol="p", kind="absolute"),
    equation="t_b = t_s(p / a_w)",
    source=NORRISH + "; IAPWS R7-97(2012), equation 31",
    status="from memory",
    example=(35.0, 65.0, 0.0, 0.0, 101.41798),
    gives=104.10,
    caveat="Between 60 and 80 % dry substance the published formulas part by about 12 % of the elevation. Not for "
    "liquors with less than 5 % water, where the vapour pressure leaves the range of the steam equations.",
)
def boiling_temperature(water: Num, sucrose: Num, reducing_sugars: Num, non_sugars: Num, pressure: Num) -> Num:
    """Temperature at which a liquor boils at its surface under an absolute pressure."""
    return boils_at(pressure / liquor_activity(water, sucrose, reducing_sugars, non_sugars))


@formula(
    result=argument("K", "boiling point elevation", *AMOUNT, symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", *THICK, symbol="x", kind="true"),
    temperature=argument("°C", "boiling temperature of water at the pressure", *EVAPORATING_TEMPERATURE, symbol="t"),
    equation="Δt = 6.064e-5 (273 + t)² x² / (374.3 − t)^0.38 · (5.84e-7 (x − 40)² + 7.2e-4)",
    source="quoted with Peacock (1995), Proc. S. Afr. Sug. Technol. Ass. 69; the attribution is not verified",
    status="from memory",
    example=(65.0, 60.0),
    gives=3.467,
    caveat="Looks like a syrup of purity 80 to 85; too low below 20 % dry substance.",
)
def boiling_point_elevation_handbook(dry_substance: Num, temperature: Num) -> Num:
    """Boiling point elevation of cane juice and syrup, handbook form."""
    absolute = 273.0 + temperature
    below_critical = exp(0.38 * log(374.3 - temperature))
    off = dry_substance - 40.0
    squares = absolute * absolute * dry_substance * dry_substance
    return 6.064e-5 * squares / below_critical * (5.84e-7 * off * off + 7.2e-4)


@formula(
    result=argument("K", "boiling point elevation", *AMOUNT, symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", *SUGAR_SOLUTION, symbol="x", kind="true"),
    equation="Δt = 1.78 w + 6.22 w², w = x/100",
    source="Geankoplis, Transport Processes and Unit Operations, example 8.5-1 (sugar evaporator)",
    status="read",
    example=(65.0,),
    gives=3.785,
    caveat="A textbook's form without pressure or purity; for reproducing textbook cases.",
)
def boiling_point_elevation_textbook(dry_substance: Num) -> Num:
    """Boiling point elevation of a sugar solution, textbook form."""
    w = dry_substance / 100.0
    return (1.78 + 6.22 * w) * w


@formula(
    result=argument("K", "rise of the boiling temperature at mid-depth", *AMOUNT, symbol="Δt_h"),
    pressure=argument("kPa", "absolute pressure above the liquid", *BOILING_PRESSURE, symbol="p", kind="absolute"),
    density=argument("kg/m³", "density of the boiling liquid", *BOILING_DENSITY, symbol="ρ"),
    height=argument("m", "depth of the boiling liquid", *BOILING_DEPTH, symbol="H"),
    equation="Δt_h = t_s(p + ρ g H/2) − t_s(p)",
    source="hydrostatics and IAPWS R7-97(2012), equation 31",
    status="derived",
    example=(20.0, 1300.0, 1.0),
    gives=6.11,
    caveat="Use the effective depth: froth fills the tubes of a boiling vessel, about a third of the tube height "
    "(common practice, no source).",
)
def hydrostatic_boiling_rise(pressure: Num, density: Num, height: Num) -> Num:
    """How much hotter water boils at half the depth of a liquid than at its surface."""
    return boils_at(pressure + 0.5e-3 * GRAVITY * density * height) - boils_at(pressure)


@formula(
    result=argument("1", "water activity", *PART, symbol="a_w"),
    dry_substance=argument("% m/m", "dry substance", *THICK, symbol="x", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    reducing_share=argument("%", "reducing sugars in the non-sucrose", *SHARE, symbol="r"),
    equation="a_w = x_w exp(−(√6.47 x_s + √2.25 x_r)²), mole fractions x from dry substance and purity",
    source=NORRISH,
    status="from memory",
    example=(65.0, 85.0, 35.0),
    gives=0.857236774,
    caveat="A third of the non-sucrose of cane juice is reducing sugars (common practice, no source).",
)
def water_activity_of_liquor(dry_substance: Num, purity: Num, reducing_share: Num) -> Num:
    """Water activity of a liquor, pure or impure, from its dry substance and purity."""
    sucrose = dry_substance * purity / 100.0
    reducing = (dry_substance - sucrose) * reducing_share / 100.0
    return liquor_activity(100.0 - dry_substance, sucrose, reducing, dry_substance - sucrose - reducing)


@formula(
    result=argument("K", "boiling point elevation", *AMOUNT, symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", *THICK, symbol="x", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    temperature=argument("°C", "boiling temperature of water at the pressure", *EVAPORATING_TEMPERATURE, symbol="t"),
    equation="Δt = t_s(p_s(t) / a_w) − t, reducing sugars 35 % of the non-sucrose",
    source=NORRISH + "; IAPWS R7-97(2012), equations 30 and 31",
    status="from memory",
    example=(65.0, 100.0, 60.0),
    gives=3.15713114,
    caveat="The default. Between 60 and 80 % dry substance the published formulas part by about 12 %.",
)
def boiling_point_elevation_norrish(dry_substance: Num, purity: Num, temperature: Num) -> Num:
    """Boiling point elevation of a liquor from its water activity."""
    sucrose = dry_substance * purity / 100.0
    other = dry_substance - sucrose
    activity = liquor_activity(100.0 - dry_substance, sucrose, 0.35 * other, 0.65 * other)
    return boils_at(if97.boiling_pressure(temperature + KELVIN) * 1e3 / activity) - temperature


@formula(
    result=argument("K", "boiling point elevation", *AMOUNT, symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", *SUGAR_SOLUTION, symbol="B", kind="true"),
    equation="Δt = 2 B / (100 − B)",
    source="Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986, short form for juice in evaporators",
    status="from memory",
    example=(65.0,),
    gives=3.71428571,
    caveat="Neither pressure nor purity enters; near atmospheric pressure it lies below the other forms at 65 %.",
)
def boiling_point_elevation_hugot(dry_substance: Num) -> Num:
    """Boiling point elevation of juice and syrup, Hugot's short form."""
    return 2.0 * dry_substance / (100.0 - dry_substance)


@formula(
    result=argument("°C", "temperature at which the liquor boils at half its depth", symbol="t_m"),
    dry_substance=argument("% m/m", "dry substance of the liquor", *THICK, symbol="x", kind="true"),
    purity=argument("%", "purity", *SHARE, symbol="P", kind="true"),
    pressure=argument("kPa", "absolute pressure above the liquid", *BOILING_PRESSURE, symbol="p", kind="absolute"),
    density=argument("kg/m³", "density of the boiling liquid or massecuite", *BOILING_DENSITY, symbol="ρ"),
    height=argument("m", "depth of the boiling liquid", *BOILING_DEPTH, symbol="H"),
    equation="t_m = t_s((p + ρ g H/2) / a_w(x, P))",
    source=NORRISH + "; hydrostatics; IAPWS R7-97(2012), equation 31",
    status="from memory",
    example=(65.0, 100.0, 20.0, 1300.0, 1.0),
    gives=69.4577028,
    caveat="Use the effective depth: froth fills the tubes of a boiling vessel, about a third of the tube height "
    "(common practice, no source). Reducing sugars are taken as 35 % of the non-sucrose.",
)
def boiling_temperature_at_depth(dry_substance: Num, purity: Num, pressure: Num, density: Num, height: Num) -> Num:
    """Temperature of a boiling liquor at half its depth: elevation by what is dissolved and by its own head."""
    sucrose = dry_substance * purity / 100.0
    other = dry_substance - sucrose
    activity = liquor_activity(100.0 - dry_substance, sucrose, 0.35 * other, 0.65 * other)
    return boils_at((pressure + 0.5e-3 * GRAVITY * density * height) / activity)
