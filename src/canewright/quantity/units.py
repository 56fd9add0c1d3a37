"""Units of the trade: their dimensions, their factors to base units, and exact conversion.

Temperatures in °C or °F are points on a scale; kelvin is used for differences and for absolute temperature.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

BASES = ("mass", "length", "time", "temperature", "colour", "money", "rotation", "amount", "current")
"""Base dimensions. Colour (ICUMSA units) and rotation (°Z) are kept apart so that they never cancel by accident."""

Exponents = tuple[Fraction, ...]
NONE: Exponents = (Fraction(0),) * len(BASES)


class UnknownUnit(ValueError):
    """A unit symbol that the table does not hold."""


@dataclass(frozen=True)
class Unit:
    """A unit: its exponents of the base dimensions, its factor to base units, and whether it is a point on a scale."""

    symbol: str
    exponents: Exponents
    factor: float
    zero: float | None = None  # offset of the scale's zero in kelvin; None for ratio units

    @property
    def is_point(self) -> bool:
        """Whether values are points on a scale with an arbitrary zero (°C, °F)."""
        return self.zero is not None

    def same_measure(self, other: Unit) -> bool:
        """Whether two units have the same dimensions and the same size, so that values may be added."""
        return self.exponents == other.exponents and abs(self.factor / other.factor - 1) < 1e-9

    def times(self, other: Unit, power: int = 1) -> Unit:
        """The unit of a product (power 1) or a quotient (power -1)."""
        exponents = tuple(a + power * b for a, b in zip(self.exponents, other.exponents, strict=True))
        mark = "·" if power == 1 else "/"
        symbol = f"{self.symbol}{mark}{other.symbol}" if other.symbol != "1" else self.symbol
        return Unit(symbol, exponents, self.factor * other.factor**power)

    def raised(self, power: float) -> Unit:
        """The unit of a power."""
        exponent = Fraction(power).limit_denominator(1000)
        return Unit(f"({self.symbol})^{power:g}", tuple(e * exponent for e in self.exponents), self.factor**power)


def _base(**powers: int) -> Exponents:
    return tuple(Fraction(powers.get(name, 0)) for name in BASES)


def _named(symbol: str, factor: float, zero: float | None = None, **powers: int) -> Unit:
    return Unit(symbol, _base(**powers), factor, zero)


_ENERGY = {"mass": 1, "length": 2, "time": -2}
_POWER = {"mass": 1, "length": 2, "time": -3}
_PRESSURE = {"mass": 1, "length": -1, "time": -2}

_TABLE: dict[str, Unit] = {
    u.symbol: u
    for u in (
        _named("1", 1.0),
        _named("%", 0.01),
        _named("mg/kg", 1e-6),
        _named("kg", 1.0, mass=1),
        _named("g", 1e-3, mass=1),
        _named("mg", 1e-6, mass=1),
        _named("t", 1e3, mass=1),
        _named("lb", 0.45359237, mass=1),
        _named("short ton", 2000 * 0.45359237, mass=1),
        _named("long ton", 2240 * 0.45359237, mass=1),
        _named("m", 1.0, length=1),
        _named("km", 1e3, length=1),
        _named("mm", 1e-3, length=1),
        _named("cm", 1e-2, length=1),
        _named("µm", 1e-6, length=1),
        _named("nm", 1e-9, length=1),
        _named("ft", 0.3048, length=1),
        _named("in", 0.0254, length=1),
        _named("ha", 1e4, length=2),
        _named("L", 1e-3, length=3),
        _named("mL", 1e-6, length=3),
        _named("US gal", 3.785411784e-3, length=3),
        _named("imp gal", 4.54609e-3, length=3),
        _named("s", 1.0, time=1),
        _named("min", 60.0, time=1),
        _named("h", 3600.0, time=1),
        _named("d", 86400.0, time=1),
        _named("K", 1.0, temperature=1),
        _named("°C", 1.0, 273.15, temperature=1),
        _named("°F", 5 / 9, 459.67 * 5 / 9, temperature=1),
        _named("J", 1.0, **_ENERGY),
        _named("kJ", 1e3, **_ENERGY),
        _named("MJ", 1e6, **_ENERGY),
        _named("GJ", 1e9, **_ENERGY),
        _named("kcal", 4186.8, **_ENERGY),
        _named("Btu", 1055.05585262, **_ENERGY),
        _named("kWh", 3.6e6, **_ENERGY),
        _named("W", 1.0, **_POWER),
        _named("kW", 1e3, **_POWER),
        _named("MW", 1e6, **_POWER),
        _named("mPa", 1e-3, **_PRESSURE),
        _named("Pa", 1.0, **_PRESSURE),
        _named("kPa", 1e3, **_PRESSURE),
        _named("MPa", 1e6, **_PRESSURE),
        _named("mbar", 1e2, **_PRESSURE),
        _named("bar", 1e5, **_PRESSURE),
        _named("atm", 101325.0, **_PRESSURE),
        _named("psi", 0.45359237 * 9.80665 / 0.0254**2, **_PRESSURE),
        _named("mmHg", 133.322387415, **_PRESSURE),
        _named("kgf", 9.80665, mass=1, length=1, time=-2),
        _named("kN", 1e3, mass=1, length=1, time=-2),
        _named("µS", 1e-6, mass=-1, length=-2, time=3, current=2),
        _named("mS", 1e-3, mass=-1, length=-2, time=3, current=2),
        _named("IU", 1.0, colour=1),
        _named("$", 1.0, money=1),
        _named("°Z", 1.0, rotation=1),
        _named("mol", 1.0, amount=1),
    )
}
UNITS = tuple(_TABLE)
"""Every unit that has a symbol of its own; others are products and quotients of these."""
_SUPERSCRIPT = {"²": 2, "³": 3}
_MASS_FRACTIONS = {"% m/m": "%", "% v/v": "%"}


@lru_cache(maxsize=512)
def unit(symbol: str) -> Unit:
    """Read a unit symbol such as ``t/h``, ``kJ/kg``, ``kW/m²/K`` or ``IU·t/h``.

    Raises UnknownUnit for a symbol that is not in the table.
    """
    plain = _MASS_FRACTIONS.get(symbol, symbol)
    if plain in _TABLE:
        known = _TABLE[plain]
        return Unit(symbol, known.exponents, known.factor, known.zero)
    result = _TABLE["1"]
    for mark, word in re.findall(r"(^|[·/])([^·/]+)", plain):
        power = -1 if mark == "/" else 1
        result = result.times(_atom(word, symbol), power)
    return Unit(symbol, result.exponents, result.factor)


def _atom(word: str, whole: str) -> Unit:
    power = _SUPERSCRIPT.get(word[-1], 1)
    name = word[:-1] if power != 1 else word
    if name not in _TABLE:
        raise UnknownUnit(f"unit '{whole}': '{name}' is not known; known units are {', '.join(sorted(_TABLE))}")
    known = _TABLE[name]
    return Unit(word, known.exponents, known.factor).raised(power) if power != 1 else known


def convert(value: float, given: str, wanted: str) -> float:
    """The value in another unit of the same dimensions; points on a temperature scale keep their zero.

    Raises ValueError when the dimensions differ.
    """
    source, target = unit(given), unit(wanted)
    if source.exponents != target.exponents:
        raise ValueError(f"cannot convert {given} to {wanted}: they measure different things")
    base = value * source.factor + (source.zero or 0.0)
    return (base - (target.zero or 0.0)) / target.factor


class Constant(float):
    """A number with a unit, for use inside equations; a plain float wherever units are not being read."""

    unit: Unit

    def __new__(cls, value: float, symbol: str) -> Constant:
        """Make a constant of this value and unit."""
        made = super().__new__(cls, value)
        made.unit = unit(symbol)
        return made

    def __neg__(self) -> Constant:
        """The negative, with its unit."""
        return Constant(-float(self), self.unit.symbol)


def constant(value: float, symbol: str) -> Constant:
    """A number with its unit, so that equations that use it can be checked for units."""
    return Constant(value, symbol)
