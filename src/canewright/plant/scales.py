"""Nominal sizes by which equations are divided, from the unit of their two sides."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from canewright.plant.station import Equations, Station
from canewright.quantity import Dimensional, unit
from canewright.quantity.readings import check_sides
from canewright.quantity.units import Unit

_SIZES = (
    ("t/h", 1.0),
    ("t", 1.0),
    ("MJ/h", 1000.0),
    ("MJ/h/K", 100.0),
    ("IU·t/h", 1000.0),
    ("K", 1.0),
    ("kPa", 1.0),
    ("kJ/kg", 1.0),
    ("IU", 10.0),
    ("1", 0.01),
    ("t·t/h/h", 1000.0),
)
"""For a measure, the size at which one unit of residual matters."""
_READ = (
    "t/h", "kg/h", "t", "kg", "MJ/h", "MJ", "kW", "kJ/kg", "K", "kPa", "%", "1", "IU", "m³/h", "h", "d", "IU·t/h",
)  # fmt: skip
"""Units in which people read a gap between the two sides of an equation."""


def nominal_size(measure: Unit) -> float:
    """The nominal size of an equation whose sides have this unit, in that unit."""
    for symbol, size in _SIZES:
        base = unit(symbol)
        if base.exponents == measure.exponents:
            return size * base.factor / measure.factor
    return 1.0


def readable(measure: Unit) -> str:
    """A short symbol of exactly this measure, such as t/h or %·t/h; its own symbol where there is none."""
    if measure.symbol in _READ or measure.is_point:
        return measure.symbol
    short = (*_READ, *(f"%·{symbol}" for symbol in _READ))
    return next((symbol for symbol in short if unit(symbol).same_measure(measure)), measure.symbol)


def laws_of(station: Station, dimension: Callable[[str], Any]) -> list[tuple[str, str, float]]:
    """Sentence, unit and nominal size of each equation of a station, checking the units of both sides.

    Raises UnitMismatch for an equation whose sides differ in unit.
    """
    return list(_sized(station.bound(dimension).equations()))


def _sized(equations: Equations) -> Iterable[tuple[str, str, float]]:
    for sentence, left, right in equations:
        check_sides(sentence, left, right)
        side = left if isinstance(left, Dimensional) else right
        measure = side.unit if isinstance(side, Dimensional) else unit("1")
        yield sentence, readable(measure), nominal_size(measure)
