"""Digits as the uncertainty warrants them: two significant digits of the half-width decide the decimals."""

from __future__ import annotations

import math

from canewright.intervals import TIMES

FEW = 2
"""Decimals where nothing else decides them."""
MORE = 2
"""Decimals beyond the most that are given so that a half-width does not show as zero; a smaller one is zero."""


def warranted(half_width: float) -> int | None:
    """Decimals at which a half-width shows two significant digits, negative for tens; None where it is no size."""
    if not (math.isfinite(half_width) and half_width > 0):
        return None
    return 1 - int(f"{half_width:.1e}".partition("e")[2])


def rounded(number: float, decimals: int, separator: str = "") -> str:
    """A number with these decimals (negative: rounded to tens, hundreds ...), never a minus in front of zero."""
    return f"{round(number, decimals) + 0.0:{separator}.{max(decimals, 0)}f}"


def value_text(value: float | None, uncertainty: float | None, most: int | None = None, separator: str = "") -> str:
    """A value with its 95 % half-width, or why there is none.

    ``uncertainty`` is one standard uncertainty; ``most`` are the decimals at most, two more where the
    half-width would show as zero.
    """
    if value is None:
        return "no value"
    if uncertainty is None:
        shown = f"{value:{separator}.6g}" if most is None else rounded(value, most, separator)
        return f"{shown}, no estimate of uncertainty"
    half = TIMES * uncertainty
    decimals = _decimals(half, most)
    return f"{rounded(value, decimals, separator)} ± {rounded(half, decimals, separator)}"


def _decimals(half: float, most: int | None) -> int:
    fine = warranted(half)
    if fine is None:
        return FEW if most is None else most
    if most is None or fine <= most:
        return fine
    return fine if round(half, most) == 0 and fine <= most + MORE else most


def share_text(probability: float) -> str:
    """A probability in per cent; what is nearly sure is not told as sure."""
    per_cent = 100.0 * probability
    if per_cent > 99.9:
        return "more than 99.9 %"
    return "less than 0.1 %" if per_cent < 0.1 else f"{per_cent:.1f} %"
