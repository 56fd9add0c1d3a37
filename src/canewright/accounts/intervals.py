"""The interval that people see: 95 %, two-sided, everywhere the same."""

from __future__ import annotations

import math

TIMES = 1.96
"""Half-width of an interval that is shown, in standard uncertainties (95 %, normal)."""


def decimals(half_width: float) -> int:
    """Decimals that show two digits of an interval's half-width, at most six."""
    if not math.isfinite(half_width) or half_width <= 0:
        return 2
    return min(max(0, 1 - math.floor(math.log10(half_width))), 6)


def significant(value: float | None, uncertainty: float | None) -> bool | None:
    """Whether the interval shown leaves zero out; None where there is no interval."""
    return None if value is None or uncertainty is None else abs(value) > TIMES * uncertainty
