"""Calorific value of bagasse from its moisture, ash and brix.

For boiler balances only: design, operation and safety of boilers follow local codes and licensed practice.
"""

from __future__ import annotations

from canewright.quantity import Argument, Num, argument, formula

SOURCE = (
    "South African Sugar Technologists' Association, Laboratory Manual, method 2.3, after Don, Mellet, Ravno and "
    "Bodger (1977), Proc. S. Afr. Sug. Technol. Ass.; coefficients quoted at second hand"
)


def _part(says: str, high: float, symbol: str) -> Argument:
    return argument("% m/m", says, 0.0, high, symbol=symbol)


@formula(
    result=argument("kJ/kg", "gross calorific value of wet bagasse", symbol="GCV"),
    moisture=_part("moisture", 65.0, "W"),
    ash=_part("ash", 20.0, "A"),
    brix=_part("brix", 15.0, "B"),
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
    result=argument("kJ/kg", "net calorific value of wet bagasse", symbol="NCV"),
    moisture=_part("moisture", 65.0, "W"),
    ash=_part("ash", 20.0, "A"),
    brix=_part("brix", 15.0, "B"),
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
