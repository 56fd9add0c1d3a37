"""Two of the readings of an equation: on dimensions (are the units right?) and on words (how is it printed?).

The same Python arithmetic that builds the model is run on these objects instead of numbers or symbols.
"""

from __future__ import annotations

from typing import Any

from canewright.quantity.units import Constant, Unit, unit

ONE = unit("1")
KELVIN = unit("K")


class UnitMismatch(ValueError):
    """An equation or formula was given quantities whose units do not fit."""


class Dimensional:
    """A quantity of which only unit and kind are known; arithmetic checks units and gives the unit of the result.

    The kind (apparent or true purity, say) is known straight from a formula's result and lost in arithmetic.
    """

    __slots__ = ("kind", "unit")

    def __init__(self, of: Unit | str, kind: str = "") -> None:
        """A quantity in this unit."""
        self.unit = unit(of) if isinstance(of, str) else of
        self.kind = kind

    def _paired(self, other: Any, act: str) -> Unit:
        theirs = _unit_of(other)
        if theirs is None:  # a bare zero fits anything
            return self.unit
        mine = self.unit
        if not mine.same_measure(theirs):
            raise UnitMismatch(f"cannot {act} {mine.symbol} and {theirs.symbol}")
        return theirs

    def __add__(self, other: Any) -> Dimensional:
        """Sum of like quantities; a temperature point plus a difference is a point."""
        theirs = self._paired(other, "add")
        if self.unit.is_point and theirs.is_point and other is not self:
            raise UnitMismatch("cannot add two temperatures; one must be a difference in K")
        return Dimensional(self.unit if self.unit.is_point else theirs)

    __radd__ = __add__

    def __sub__(self, other: Any) -> Dimensional:
        """Difference of like quantities; two temperature points give a difference in K."""
        theirs = self._paired(other, "subtract")
        if self.unit.is_point and theirs.is_point:
            return Dimensional(KELVIN)
        if theirs.is_point:
            raise UnitMismatch("cannot take a temperature from a temperature difference")
        return Dimensional(self.unit)

    def __rsub__(self, other: Any) -> Dimensional:
        """A constant less this quantity."""
        return Dimensional(_unit_of(other) or self.unit) - self

    def __mul__(self, other: Any) -> Dimensional:
        """Product; a temperature point cannot be multiplied, its difference from something can."""
        theirs = _unit_of(other) or ONE
        self._refuse_point(self.unit, theirs)
        return Dimensional(self.unit.times(theirs))

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Dimensional:
        """Quotient."""
        theirs = _unit_of(other) or ONE
        self._refuse_point(self.unit, theirs)
        return Dimensional(self.unit.times(theirs, -1))

    def __rtruediv__(self, other: Any) -> Dimensional:
        """A number divided by this quantity."""
        return Dimensional((_unit_of(other) or ONE).times(self.unit, -1))

    def __pow__(self, power: float) -> Dimensional:
        """A power with a plain number as exponent."""
        self._refuse_point(self.unit, ONE)
        return Dimensional(self.unit.raised(float(power)))

    def __neg__(self) -> Dimensional:
        """The negative."""
        return self

    def _pure(self, act: str) -> Dimensional:
        if not self.unit.same_measure(ONE):
            raise UnitMismatch(f"{act} needs a plain number, not {self.unit.symbol}")
        return Dimensional(ONE)

    def exp(self) -> Dimensional:
        """Exponential of a plain number."""
        return self._pure("exp")

    def log(self) -> Dimensional:
        """Logarithm of a plain number."""
        return self._pure("log")

    def log10(self) -> Dimensional:
        """Decimal logarithm of a plain number."""
        return self._pure("log10")

    def tanh(self) -> Dimensional:
        """Hyperbolic tangent of a plain number."""
        return self._pure("tanh")

    def sqrt(self) -> Dimensional:
        """Square root."""
        return Dimensional(self.unit.raised(0.5))

    @staticmethod
    def _refuse_point(*units: Unit) -> None:
        for one in units:
            if one.is_point:
                raise UnitMismatch(f"a temperature in {one.symbol} cannot be multiplied; use a difference or a formula")

    def __repr__(self) -> str:
        """The unit in brackets."""
        return f"[{self.unit.symbol}]"


def _unit_of(x: Any) -> Unit | None:
    if isinstance(x, Dimensional):
        return x.unit
    if isinstance(x, Constant):
        return x.unit
    if x == 0:
        return None
    return ONE


def check_sides(sentence: str, left: Any, right: Any) -> None:
    """Refuse an equation whose sides differ in unit; both may be zero.

    Raises UnitMismatch naming the sentence and the two units.
    """
    mine, theirs = _unit_of(left), _unit_of(right)
    if mine is None or theirs is None:
        return
    if not mine.same_measure(theirs):
        raise UnitMismatch(f"'{sentence}': {mine.symbol} on the left, {theirs.symbol} on the right")


class Word:
    """A quantity of which only the name is known; arithmetic gives the printed formula."""

    __slots__ = ("binding", "text")

    SUM, PRODUCT, POWER, ATOM = 1, 2, 3, 4

    def __init__(self, text: str, binding: int = ATOM) -> None:
        """A printed term and how tightly it binds."""
        self.text = text
        self.binding = binding

    def _wrapped(self, least: int) -> str:
        return self.text if self.binding >= least else f"({self.text})"

    def __add__(self, other: Any) -> Word:
        """A sum; a bare zero is not printed."""
        return self if _is_zero(other) else Word(f"{self.text} + {_word(other)._wrapped(1)}", self.SUM)

    def __radd__(self, other: Any) -> Word:
        """A sum with a number in front."""
        return self if _is_zero(other) else Word(f"{_word(other).text} + {self._wrapped(1)}", self.SUM)

    def __sub__(self, other: Any) -> Word:
        """A difference."""
        return self if _is_zero(other) else Word(f"{self.text} - {_word(other)._wrapped(2)}", self.SUM)

    def __rsub__(self, other: Any) -> Word:
        """A number less this."""
        return -self if _is_zero(other) else Word(f"{_word(other).text} - {self._wrapped(2)}", self.SUM)

    def __mul__(self, other: Any) -> Word:
        """A product."""
        return Word(f"{self._wrapped(2)} * {_word(other)._wrapped(3)}", self.PRODUCT)

    def __rmul__(self, other: Any) -> Word:
        """A product with a number in front."""
        return Word(f"{_word(other)._wrapped(2)} * {self._wrapped(3)}", self.PRODUCT)

    def __truediv__(self, other: Any) -> Word:
        """A quotient."""
        return Word(f"{self._wrapped(2)} / {_word(other)._wrapped(3)}", self.PRODUCT)

    def __rtruediv__(self, other: Any) -> Word:
        """A number divided by this."""
        return Word(f"{_word(other)._wrapped(2)} / {self._wrapped(3)}", self.PRODUCT)

    def __pow__(self, power: float) -> Word:
        """A power."""
        return Word(f"{self._wrapped(4)} ** {power:g}", self.POWER)

    def __neg__(self) -> Word:
        """The negative."""
        return Word(f"-{self._wrapped(3)}", self.PRODUCT)

    def exp(self) -> Word:
        """Exponential."""
        return Word(f"exp({self.text})")

    def log(self) -> Word:
        """Logarithm."""
        return Word(f"log({self.text})")

    def log10(self) -> Word:
        """Decimal logarithm."""
        return Word(f"log10({self.text})")

    def sqrt(self) -> Word:
        """Square root."""
        return Word(f"sqrt({self.text})")

    def tanh(self) -> Word:
        """Hyperbolic tangent."""
        return Word(f"tanh({self.text})")

    def __repr__(self) -> str:
        """The printed formula."""
        return self.text


def _is_zero(x: Any) -> bool:
    return isinstance(x, (int, float)) and x == 0


def _word(x: Any) -> Word:
    if isinstance(x, Word):
        return x
    text = f"{float(x):.12g}"
    return Word(text, Word.ATOM if float(x) >= 0 else Word.PRODUCT)
