"""Calorific value of bagasse from its moisture, ash and brix.

For boiler balances only: design, operation and safety of boilers follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, SHARE
from canewright.quantity import Argument, Num, argument, formula

SOURCE = (
    "South African Sugar Technologists' Association, Laboratory Manual, method 2.3, after Don, Mellet, Ravno and "
    "Bodger (1977), Proc. S. Afr. Sug. Technol. Ass.; coefficients quoted at second hand"
)


def _part(says: str, high: float, symbol: str) -> Argument:
    return argument("% m/m", says, 0.0, high, symbol=symbol)


MOISTURE = _part("moisture", 65.0, "W")
ASH = _part("ash", 20.0, "A")
BRIX = _part("brix", 15.0, "B")


@formula(
    result=argument("kJ/kg", "gross calorific value of wet bagasse", *AMOUNT, symbol="GCV"),
    moisture=MOISTURE,
    ash=ASH,
    brix=BRIX,
    equation="GCV = 19605 − 196.05 W − 196.05 A − 31.14 B",
    source=SOURCE,
    status="from memory",
    example=(50.0, 2.0, 2.0),
    gives=9348.12,
)
def gross_calorific_value(moisture: Num, ash: Num, brix: Num) -> Num:
    """Heat of combustion of bagasse as fired with all water condensed."""
    return 19605.0 - 196.05 * moisture - 196.05 * ash - 31.14 * brix


@formula(
    result=argument("kJ/kg", "net calorific value of wet bagasse", *AMOUNT, symbol="NCV"),
    moisture=MOISTURE,
    ash=ASH,
    brix=BRIX,
    equation="NCV = 18260 − 207.63 W − 182.60 A − 31.14 B",
    source=SOURCE,
    status="from memory",
    example=(50.0, 2.0, 2.0),
    gives=7451.02,
    caveat="The ash coefficient 182.60 follows from the gross formula; its hydrogen basis (5.97 %) is 0.2 % of the "
    "dry value away from the 5.91 % of the 1977 paper.",
)
def net_calorific_value(moisture: Num, ash: Num, brix: Num) -> Num:
    """Heat of combustion of bagasse as fired with all water leaving as vapour."""
    return 18260.0 - 207.63 * moisture - 182.60 * ash - 31.14 * brix


@formula(
    result=argument("kJ/kg", "calorific value of wet bagasse", *AMOUNT, symbol="CV"),
    fibre=argument("% m/m", "fibre", *SHARE, symbol="F"),
    sucrose=_part("sucrose", BRIX.high, "S"),
    reducing_sugars=_part("reducing sugars", 5.0, "G"),
    moisture=MOISTURE,
    equation="CV = 2.326 (8550 F + 7119 S + 6750 G − 972 W) / 100",
    source="Steam, its generation and use (public-domain boiler handbook), equation 22, in Btu/lb",
    status="read",
    example=(40.0, 6.0, 0.0, 51.0),
    gives=7795.40292,
    caveat="A century old, without ash: for checking the newer formulas only.",
)
def calorific_value_by_parts(fibre: Num, sucrose: Num, reducing_sugars: Num, moisture: Num) -> Num:
    """Calorific value of bagasse from its fibre, sugars and moisture, the old boiler-maker's form."""
    return 0.02326 * (8550.0 * fibre + 7119.0 * sucrose + 6750.0 * reducing_sugars - 972.0 * moisture)
