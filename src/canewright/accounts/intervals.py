"""The interval that people see: 95 %, two-sided, everywhere the same."""

from __future__ import annotations

TIMES = 1.96
"""Half-width of an interval that is shown, in standard uncertainties (95 %, normal)."""


def significant(value: float | None, uncertainty: float | None) -> bool | None:
    """Whether the interval shown leaves zero out; None where there is no interval."""
    return None if value is None or uncertainty is None else abs(value) > TIMES * uncertainty
