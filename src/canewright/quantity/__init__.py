"""What a number means: unit, symbol, plausible range, source; formulas and figures built on it."""

from canewright.quantity.figure import Figure, Source
from canewright.quantity.formula import (
    CATALOGUE,
    Argument,
    Formula,
    OutOfRange,
    RangeBreach,
    answering,
    argument,
    formula,
    noting_breaches,
)
from canewright.quantity.maths import Num
from canewright.quantity.readings import Dimensional, UnitMismatch, Word
from canewright.quantity.units import Constant, Unit, UnknownUnit, constant, convert, unit

__all__ = [
    "CATALOGUE",
    "Argument",
    "Constant",
    "Dimensional",
    "Figure",
    "Formula",
    "Num",
    "OutOfRange",
    "RangeBreach",
    "Source",
    "Unit",
    "UnitMismatch",
    "UnknownUnit",
    "Word",
    "answering",
    "argument",
    "constant",
    "convert",
    "formula",
    "noting_breaches",
    "unit",
]
