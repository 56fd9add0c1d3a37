"""Mathematics that reads floats, numpy arrays and symbols alike.

Symbols of any kind take part by having methods named like the functions (``exp``, ``log``, ...); nothing here knows
which kind they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np

Num: TypeAlias = Any
"""A float, a numpy array, a symbol, or one of the other readings of an equation."""


def _dispatch(name: str, scalar: Callable[[float], float]) -> Callable[[Num], Num]:
    array: Callable[[Num], Num] = getattr(np, name)

    def function(x: Num) -> Num:
        if isinstance(x, (float, int)):
            return scalar(x)
        if isinstance(x, np.ndarray):
            return array(x)
        method = getattr(x, name, None)
        return method() if method is not None else array(x)

    function.__name__ = name
    function.__doc__ = f"{name} of a float, an array or a symbol."
    return function


exp = _dispatch("exp", math.exp)
log = _dispatch("log", math.log)
log10 = _dispatch("log10", math.log10)
sqrt = _dispatch("sqrt", math.sqrt)
tanh = _dispatch("tanh", math.tanh)


def power(base: Num, exponent: Num) -> Num:
    """``base ** exponent`` for a positive base, smooth in both."""
    return exp(exponent * log(base))


def smooth_positive(x: Num, width: float) -> Num:
    """A smooth stand-in for max(x, 0), off by width/2 at x = 0 and by width²/4x far from it."""
    return 0.5 * (x + sqrt(x * x + width * width))


def horner(x: Num, coefficients: tuple[float, ...]) -> Num:
    """The polynomial c0 + c1·x + c2·x² + ... by Horner's rule."""
    result: Num = coefficients[-1]
    for c in reversed(coefficients[:-1]):
        result = result * x + c
    return result
