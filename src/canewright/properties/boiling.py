"""How much hotter than water a liquor boils, from its composition and from its depth.

The default is the water activity of the liquor (sound for dilute juice, and purity enters by itself); a handbook
formula and a textbook formula stand beside it for comparison. Boiling liquor scalds: guards, lagging and clothing
follow site procedure and local rules.
"""

from __future__ import annotations

from canewright.properties import if97
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
    return argument("t/h", says, 0.0, 5000.0)


def _activity(water: Num, sucrose: Num, reducing_sugars: Num, non_sugars: Num) -> Num:
    moles = (water + TRACE) / WATER
    sugar = sucrose / SUCROSE
    reducing = reducing_sugars / REDUCING_SUGARS
    total = moles + sugar + reducing + non_sugars / NON_SUGARS
    pull = (SUCROSE_ROOT * sugar + REDUCING_ROOT * reducing) / total
    return moles / total * exp(-pull * pull)


def _boils_at(kilopascal: Num) -> Num:
    return if97.boiling_temperature(kilopascal * MEGA) - KELVIN


@formula(
    result=argument("1", "water activity", symbol="a_w"),
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
    return _activity(water, sucrose, reducing_sugars, non_sugars)


@formula(
    result=argument("°C", "temperature at which the liquor boils", symbol="t_b"),
    water=_flow("water"),
    sucrose=_flow("dissolved sucrose"),
    reducing_sugars=_flow("reducing sugars"),
    non_sugars=_flow("ash and other non-sucrose"),
    pressure=argument("kPa", "absolute pressure", 2.0, 1000.0, symbol="p", kind="absolute"),
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
    return _boils_at(pressure / _activity(water, sucrose, reducing_sugars, non_sugars))


@formula(
    result=argument("K", "boiling point elevation", symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", 0.0, 95.0, symbol="x", kind="true"),
    temperature=argument("°C", "boiling temperature of water at the pressure", 5.0, 150.0, symbol="t"),
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
    result=argument("K", "boiling point elevation", symbol="Δt"),
    dry_substance=argument("% m/m", "dry substance", 0.0, 85.0, symbol="x", kind="true"),
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
    result=argument("K", "rise of the boiling temperature at mid-depth", symbol="Δt_h"),
    pressure=argument("kPa", "absolute pressure above the liquid", 2.0, 1000.0, symbol="p", kind="absolute"),
    density=argument("kg/m³", "density of the boiling liquid", 0.0, 1600.0, symbol="ρ"),
    height=argument("m", "depth of the boiling liquid", 0.0, 6.0, symbol="H"),
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
    return _boils_at(pressure + 0.5e-3 * GRAVITY * density * height) - _boils_at(pressure)
