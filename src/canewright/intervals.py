"""The interval that people see: 95 %, two-sided, everywhere the same."""

from __future__ import annotations

import math

TIMES = 1.96
"""Half-width of an interval that is shown, in standard uncertainties (95 %, normal)."""

SEEN = 3.29
"""Standard uncertainties of a loss that is told from nothing on nineteen days of twenty, where a day without one alarms
once in twenty: twice the one-sided 95 % point (Currie, Anal. Chem. 40 (1968) 586, from memory)."""


def decimals(half_width: float) -> int:
    """Decimals that show two digits of an interval's half-width, at most six."""
    if not math.isfinite(half_width) or half_width <= 0:
        return 2
    return min(max(0, 1 - math.floor(math.log10(half_width))), 6)


def significant(value: float | None, uncertainty: float | None) -> bool | None:
    """Whether the interval shown leaves zero out; None where there is no interval."""
    return None if value is None or uncertainty is None else abs(value) > TIMES * uncertainty


def least_seen(uncertainty: float | None) -> float | None:
    """The smallest loss that would reliably be seen; None where there is no uncertainty."""
    return None if uncertainty is None else SEEN * uncertainty
