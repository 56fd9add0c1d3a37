"""How a formula's answer changes over the range of one input, the others as given."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from canewright.accounts.working import CannotWork, Worked
from canewright.quantity import Argument, Formula, OutOfRange

Array = NDArray[np.float64]
POINTS = 81
WIDE = 20.0
"""A range this many times as long as the value is far from zero shows nothing: twice the value is shown instead."""


@dataclass(frozen=True)
class Curve:
    """Values of one input and the formula's answers in its own unit; not a number where it has none."""

    over: str
    declared: Argument
    x: Array
    y: Array
    at_x: float
    at_y: float
    whole: bool

    @property
    def has_values(self) -> bool:
        """Whether there are at least two answers to join."""
        return int(np.isfinite(self.y).sum()) > 1

    def rows(self, count: int = 11) -> list[tuple[float, float | None]]:
        """Evenly spread points of the curve, for reading instead of looking; None where there is no answer."""
        places = np.linspace(0, len(self.x) - 1, count).round().astype(int)
        return [(float(self.x[i]), float(self.y[i]) if np.isfinite(self.y[i]) else None) for i in places]


def curve(worked: Worked, over: str) -> Curve:
    """The answer over the range of input ``over``, the first of several values standing for the others.

    Raises CannotWork for a name that is no input.
    """
    place = next((i for i, t in enumerate(worked.inputs) if t.name == over), None)
    if place is None:
        known = ", ".join(t.name for t in worked.inputs)
        raise CannotWork(f"{worked.formula.name}: '{over[:80]}' is none of its inputs; accepted: {known}")
    taken = worked.inputs[place]
    values = [float(t.values[0]) for t in worked.inputs]
    low, high, whole = _span(taken.declared, values[place])
    x = np.linspace(low, high, POINTS)
    y = _answers(worked.formula, values, place, x)
    at = float(_answers(worked.formula, values, place, np.array(values[place : place + 1]))[0])
    return Curve(over, taken.declared, x, y, values[place], at, whole)


def _span(declared: Argument, value: float) -> tuple[float, float, bool]:
    """The range to show, and whether it is all of the formula's own."""
    size = abs(value) or 1.0
    if declared.high - declared.low <= WIDE * size:
        return declared.low, declared.high, True
    low = max(declared.low, min(0.0, 2.0 * value))
    high = min(declared.high, max(2.0 * size if value >= 0 else 0.0, low + size))
    return low, high, False


def _answers(formula: Formula, values: list[float], place: int, x: Array) -> Array:
    """All at once; one by one where some of them lead out of a range on the way."""
    try:
        with np.errstate(all="ignore"):
            together = np.asarray(formula(*values[:place], x, *values[place + 1 :]), dtype=float)
        return np.array(np.broadcast_to(together, x.shape))
    except (OutOfRange, ArithmeticError, ValueError):
        return np.array([_answer(formula, [*values[:place], float(each), *values[place + 1 :]]) for each in x])


def _answer(formula: Formula, values: list[float]) -> float:
    try:
        with np.errstate(all="ignore"):
            return float(formula(*values))
    except (OutOfRange, ArithmeticError, ValueError):
        return float("nan")
