"""A sample analysed again: when two results agree, what is paid on, and the trail of a dispute.

Retained juice keeps only for a time, cold or with a preservative; preservatives can harm people: follow their data
sheets. An independent auditor of cane analysis is a published practice (Burdekin growers' report of 2013, read).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import median

COVERAGE = 1.96
CCS_REPEATABILITY_SD = 0.126
"""Standard deviation of CCS by repeated analysis of one juice: 0.1215 from pol and 0.0332 from brix (derived)."""
KEEPS_HOURS = 48.0
"""Hours for which retained, frozen juice is read again (ours; the site's rule outranks it)."""


def critical_difference(sd: float = CCS_REPEATABILITY_SD) -> float:
    """How far two results of one sample may differ by chance, 19 times in 20: 1.96 √2 s. Source: ISO 5725-6."""
    return COVERAGE * sqrt(2.0) * sd


@dataclass(frozen=True)
class Decision:
    """What a sample's determinations come to: the value, or None while another determination is needed; in words."""

    value: float | None
    says: str

    @property
    def settled(self) -> bool:
        """Whether nothing more is needed."""
        return self.value is not None


def decide(results: Sequence[float], sd: float = CCS_REPEATABILITY_SD) -> Decision:
    """The rule of repeated determinations: two that agree give their mean, else a third and the median of three.

    ``results`` in order of determination, in units of CCS. Raises ValueError without any, or with more than three.
    """
    if not 1 <= len(results) <= 3:
        raise ValueError(f"found {len(results)} determinations; accepted: 1 to 3 of one sample")
    allowed = critical_difference(sd)
    if len(results) == 1:
        return Decision(results[0], "one determination")
    apart = abs(results[0] - results[1])
    if apart <= allowed:
        mean = sum(results[:2]) / 2.0
        return Decision(mean, f"mean of two determinations {apart:.2f} apart (allowed {allowed:.2f})")
    if len(results) == 2:
        return Decision(None, f"two determinations are {apart:.2f} apart, allowed {allowed:.2f}: make a third")
    return Decision(median(results), f"median of three determinations (the first two were {apart:.2f} apart)")


@dataclass(frozen=True)
class Event:
    """One event of a sample's trail: when, who, what in words."""

    at: dt.datetime
    by: str
    says: str


def trail(events: Sequence[Event]) -> list[str]:
    """A sample's trail in sentences, oldest first."""
    return [f"{each.at:%Y-%m-%d %H:%M} {each.by}: {each.says}" for each in sorted(events, key=lambda e: e.at)]


def may_be_read_again(sampled: dt.datetime, now: dt.datetime, keeps_hours: float = KEEPS_HOURS) -> bool:
    """Whether the retained juice of a sample has not outlasted its keeping time."""
    return dt.timedelta(0) <= now - sampled <= dt.timedelta(hours=keeps_hours)
