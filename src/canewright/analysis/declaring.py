"""Short ways of declaring the arguments that laboratory and control formulas share."""

from __future__ import annotations

from canewright.properties.ranges import SUGAR_SOLUTION
from canewright.quantity.formula import Argument, argument

REFRACTOMETER = "refractometer"
SPINDLE = "spindle"
APPARENT = "apparent"
TRUE = "true"
TRUE_SOLIDS = "true"


def percent(says: str, low: float, high: float, symbol: str = "", kind: str = "") -> Argument:
    """An argument or result in g per 100 g."""
    return argument("%", says, low, high, symbol=symbol, kind=kind)


def plain(says: str, low: float, high: float, symbol: str = "") -> Argument:
    """An argument or result without a unit."""
    return argument("1", says, low, high, symbol=symbol)


def tonnes(says: str, low: float, high: float, symbol: str = "") -> Argument:
    """A mass in t over the period of the account."""
    return argument("t", says, low, high, symbol=symbol)


def brix(
    says: str = "brix of the solution",
    low: float = SUGAR_SOLUTION[0],
    high: float = SUGAR_SOLUTION[1],
    kind: str = REFRACTOMETER,
) -> Argument:
    """A brix of a stated kind."""
    return percent(says, low, high, "B", kind)


def purity(says: str, low: float, high: float, symbol: str = "Q", kind: str = APPARENT) -> Argument:
    """A purity of a stated kind."""
    return percent(says, low, high, symbol, kind)


def sugar_degrees(says: str, low: float, high: float, symbol: str = "R") -> Argument:
    """A reading on the international sugar scale."""
    return argument("°Z", says, low, high, symbol=symbol)


def degrees_celsius(says: str, low: float, high: float, symbol: str = "t") -> Argument:
    """A temperature."""
    return argument("°C", says, low, high, symbol=symbol)
