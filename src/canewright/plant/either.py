"""Either one flow or the other, and what is over: corners said smoothly."""

from __future__ import annotations

from canewright.plant.station import Equations
from canewright.quantity import Num
from canewright.quantity.maths import sqrt


def either(sentence: str, first: Num, second: Num, width_squared: Num) -> Equations:
    """Of two unknowns of one unit, none negative, one is nothing: their product is a quarter of ``width_squared``.

    Said as ``first + second = sqrt((first - second)² + width²)``, whose only branch has both positive, so that a
    solver cannot land on two negatives. Where both would be nothing each is half the width; far from there the idle
    one is a quarter of the squared width divided by the other. The square is asked for, with its unit, because a
    constant keeps its unit only as it stands. Source: smoothed complementarity (common practice, no source).
    """
    apart = first - second
    yield sentence, first + second, sqrt(apart * apart + width_squared)


def surplus(value: Num, width_squared: Num) -> Num:
    """``value`` where it is positive and nothing where it is not: ``(value + sqrt(value² + width²)) / 2``.

    Always positive; at the corner half the width, far from it off by a quarter of the squared width on the value.
    """
    return (value + sqrt(value * value + width_squared)) / 2.0


ROUNDED = 1e-6
"""How much of the product of two quantities rounds the corner where they are equal."""


def lesser(first: Num, second: Num) -> Num:
    """The smaller of two quantities of one unit, neither negative and not both nothing.

    ``(a + b - sqrt((a - b)² + 4 e a b)) / 2``: nothing when one of them is nothing, exactly, and elsewhere below the
    smaller by e times the larger on their difference. Source: smoothed minimum (common practice, no source).
    """
    apart = first - second
    return (first + second - sqrt(apart * apart + 4.0 * ROUNDED * first * second)) / 2.0
