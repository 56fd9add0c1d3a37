"""Columns of exact decimals: whole numbers in units of a power of ten, on which published formulas can be worked.

A column answers ``+ - * /`` with columns, decimals and written numbers, so that a declared formula reads it as it reads
floats, only exactly: 0.90 written in a formula is taken as nine tenths, not as the nearest binary fraction. Numbers are
held in 64 bits while they fit and as unlimited whole numbers beyond, so nothing is ever cut short. Only a quotient that
does not end is rounded, half to even at 30 decimals, which no payment prints.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from canewright.cane.rounding import EXACT, Half

QUOTIENT_PLACES = 30
"""Decimals of a quotient that does not end."""
MOST_DIGITS = 15
"""A binary fraction told with more digits was not written by anybody: it is the result of arithmetic on floats."""
FITS = 2**62
"""Below this a sum of two 64-bit numbers cannot run over."""

Units = np.ndarray[Any, Any]
Written = Decimal | int | float


class NotExact(ValueError):
    """A number that cannot be taken as an exact decimal, or a division by nothing."""


class Exact:
    """A column of exact decimals, ``units`` times ten to the power of minus ``places``; one value fits any column."""

    __slots__ = ("places", "units")
    __array_ufunc__ = None  # an array never takes a column apart by itself

    def __init__(self, units: Units, places: int) -> None:
        """A column of whole numbers in units of the last decimal."""
        self.units = units
        self.places = places

    @classmethod
    def of(cls, values: Iterable[Decimal]) -> Exact:
        """A column from decimals. Raises NotExact for what is not finite."""
        found = list(values)
        if not all(v.is_finite() for v in found):
            raise NotExact("a column takes decimal numbers, not infinity or what is no number")
        places = max((max(0, -int(v.as_tuple().exponent)) for v in found), default=0)
        whole = [int(v.scaleb(places, context=EXACT)) for v in found]
        return _narrow(np.array(whole, dtype=object), places)

    @classmethod
    def one(cls, value: Written) -> Exact:
        """A single value, as written. Raises NotExact for a float that nobody wrote."""
        return cls.of([written(value)])

    def __len__(self) -> int:
        """How many values."""
        return len(self.units)

    def __repr__(self) -> str:
        """The first values."""
        shown = ", ".join(str(d) for d in self.take(np.arange(min(len(self), 5))).decimals())
        return f"Exact([{shown}{', ...' if len(self) > 5 else ''}])"

    # --- arithmetic ---------------------------------------------------------------------------------------------------

    def __add__(self, other: Exact | Written) -> Exact:
        """Sum."""
        return _joined(self, other, operator.add)

    __radd__ = __add__

    def __sub__(self, other: Exact | Written) -> Exact:
        """Difference."""
        return _joined(self, other, operator.sub)

    def __rsub__(self, other: Exact | Written) -> Exact:
        """Difference from a number."""
        return -self + other

    def __neg__(self) -> Exact:
        """The column with the other sign."""
        return Exact(-self.units, self.places)

    def __mul__(self, other: Exact | Written) -> Exact:
        """Product."""
        by = _column(other)
        one, two = self.units, by.units
        if _largest(one) * _largest(two) >= FITS:
            one, two = one.astype(object), two.astype(object)
        return Exact(one * two, self.places + by.places)

    __rmul__ = __mul__

    def __truediv__(self, other: Exact | Written) -> Exact:
        """Quotient; exact where it ends. Raises NotExact for a division by nothing."""
        by = _column(other)
        if not np.all(by.units != 0):
            raise NotExact("a division by nothing")
        ends = _reciprocal(by) if len(by) == 1 else None
        return self * ends if ends is not None else self.over(by, QUOTIENT_PLACES)

    def __rtruediv__(self, other: Written) -> Exact:
        """A number by the column."""
        return _column(other) / self

    def over(self, by: Exact, places: int, half: Half = Half.EVEN) -> Exact:
        """Quotient rounded to a number of places."""
        raised = 10 ** max(0, places + by.places - self.places)
        lowered = 10 ** max(0, self.places - places - by.places)
        above, below = self.units.astype(object) * raised, by.units.astype(object) * lowered
        return _narrow(_divided(np.where(below < 0, -above, above), abs(below), half), places)

    # --- choosing and rounding ----------------------------------------------------------------------------------------

    def rounded(self, places: int | None, half: Half = Half.EVEN) -> Exact:
        """To a number of places by the declared rule for a half; None keeps every digit."""
        if places is None or places == self.places:
            return self
        if places > self.places:
            return _shifted(self, places)
        step = 10 ** (self.places - places)
        units = self.units if step < FITS // 2 else self.units.astype(object)
        return _narrow(_divided(units, step, half), places)

    def take(self, chosen: Any) -> Exact:
        """The values at these places, or where a mask is true."""
        return Exact(self.units[chosen], self.places)

    def filled(self, size: int) -> Exact:
        """A single value repeated; a column of that size as it is."""
        return self if len(self) == size else Exact(np.repeat(self.units, size), self.places)

    def where(self, mask: Units, other: Exact | Written) -> Exact:
        """This column where the mask is true, the other elsewhere."""
        one, two = _aligned(self, _column(other))
        return Exact(np.where(mask, one.units, two.units), one.places)

    def below(self, other: Exact | Written) -> Units:
        """Mask of the values less than the other."""
        one, two = _aligned(self, _column(other))
        return np.asarray(one.units < two.units, dtype=bool)

    def at_least(self, low: Exact | Written) -> Exact:
        """The column, with the lower limit in place of what is below it."""
        return self.where(~self.below(low), low)

    def at_most(self, high: Exact | Written) -> Exact:
        """The column, with the upper limit in place of what is above it."""
        return self.where(self.below(high), high)

    # --- out of the column --------------------------------------------------------------------------------------------

    def total(self) -> Decimal:
        """The sum of all values."""
        units = self.units.astype(object) if _largest(self.units) * max(len(self), 1) >= FITS else self.units
        return _decimal(int(units.sum()) if len(self) else 0, self.places)

    def sums(self, groups: Units, count: int) -> Exact:
        """The sum of the values of each group; ``groups`` numbers the group of each value from 0."""
        large = _largest(self.units) * max(len(self), 1) >= FITS
        found = np.zeros(count, dtype=object if large else np.int64)
        np.add.at(found, groups, self.units.astype(object) if large else self.units.astype(np.int64))
        return Exact(found, self.places)

    def decimals(self) -> list[Decimal]:
        """The values as decimals with all their places."""
        return [_decimal(int(u), self.places) for u in self.units.tolist()]

    def texts(self) -> pl.Series:
        """The values as written with all their places, much quicker than through decimals."""
        if self.units.dtype == object:
            return pl.Series([f"{d:f}" for d in self.decimals()], dtype=pl.String)
        digits = pl.Series(np.abs(self.units)).cast(pl.String)
        if self.places:
            filled = digits.str.zfill(self.places + 1).to_frame("n")
            cut = pl.col("n").str.head(-self.places) + "." + pl.col("n").str.tail(self.places)
            digits = filled.select(cut).to_series()
        below = pl.Series(self.units < 0)
        return ("-" + digits).zip_with(below, digits) if below.any() else digits

    def floats(self) -> Units:
        """The nearest floats, for ranges and charts; never for money."""
        return np.asarray(self.units, dtype=float) / 10.0**self.places


def written(value: Written) -> Decimal:
    """A number as it was written. Raises NotExact for a float with more digits than anybody writes."""
    if isinstance(value, float):
        found = Decimal(repr(value))
        if not found.is_finite() or len(found.as_tuple().digits) > MOST_DIGITS:
            raise NotExact(f"{value!r} was not written but worked out in floats; give a decimal")
        return found
    return Decimal(value)


def joined(columns: Sequence[tuple[Units, Exact]], size: int, places: int) -> Exact:
    """One column from parts, each with the places (or mask) where its values stand; nothing elsewhere."""
    found = np.zeros(size, dtype=object)
    for chosen, part in columns:
        found[chosen] = _shifted(part, places).units
    return _narrow(found, places)


def _decimal(units: int, places: int) -> Decimal:
    return Decimal(units).scaleb(-places, context=EXACT)


def _column(value: Exact | Written) -> Exact:
    return value if isinstance(value, Exact) else Exact.one(value)


def _largest(units: Units) -> int:
    return max(int(units.max()), -int(units.min())) if len(units) else 0


def _narrow(units: Units, places: int) -> Exact:
    """Into 64 bits where that holds every value."""
    if units.dtype == object and _largest(units) < FITS:
        units = units.astype(np.int64)
    return Exact(units, places)


def _shifted(column: Exact, places: int) -> Exact:
    """The same values with more places. Raises NotExact for fewer."""
    if places < column.places:
        raise NotExact(f"{column.places} decimals do not fit into {places}")
    step = 10 ** (places - column.places)
    units = column.units if max(_largest(column.units), 1) * step < FITS else column.units.astype(object)
    return Exact(units * step, places) if step > 1 else column


def _aligned(one: Exact, two: Exact) -> tuple[Exact, Exact]:
    places = max(one.places, two.places)
    return _shifted(one, places), _shifted(two, places)


def _joined(one: Exact, other: Exact | Written, act: Callable[[Units, Units], Units]) -> Exact:
    first, second = _aligned(one, _column(other))
    return Exact(act(first.units, second.units), first.places) if _fit(first, second) else _wide(first, second, act)


def _fit(one: Exact, two: Exact) -> bool:
    return _largest(one.units) + _largest(two.units) < FITS


def _wide(one: Exact, two: Exact, act: Callable[[Units, Units], Units]) -> Exact:
    return Exact(act(one.units.astype(object), two.units.astype(object)), one.places)


def _divided(above: Units, below: Any, half: Half) -> Units:
    """Whole quotient of numbers by positive ones, to the nearest, a half by the rule."""
    quotient = above // below
    twice = 2 * (above - quotient * below)
    tie = twice == below
    up = (quotient % 2 == 1) if half is Half.EVEN else (above >= 0)
    return np.asarray(quotient + np.asarray((twice > below) | (tie & up), dtype=bool).astype(np.int64))


def _reciprocal(by: Exact) -> Exact | None:
    """One by this single value, where that ends within the places of a quotient."""
    value = by.decimals()[0]
    found = EXACT.divide(Decimal(1), value)
    return (
        Exact.of([found])
        if EXACT.multiply(found, value) == 1 and len(found.as_tuple().digits) <= QUOTIENT_PLACES
        else None
    )
