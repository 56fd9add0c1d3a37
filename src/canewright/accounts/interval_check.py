"""Whether the intervals of a day's figures hold where equations bend: each against many drawn days."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from canewright.accounts.reckoning import Sheet
from canewright.engine.drawing import drawn_again
from canewright.intervals import TIMES
from canewright.plant.plant import Plant, Reconciled
from canewright.quantity import noting_breaches

OFF = 0.1
"""Part by which a scatter may differ from the uncertainty foretold before an interval is said not to hold."""
SURELY = 3.0
"""Standard uncertainties of the ratio itself by which it must differ as well."""


@dataclass(frozen=True)
class CheckedInterval:
    """A figure with its half-width by straight lines and the interval between which 95 % of drawn days lie."""

    name: str
    unit: str
    decimals: int
    value: float
    half: float
    low: float
    high: float
    ratio: float
    shift: float
    holds: bool


@dataclass(frozen=True)
class IntervalCheck:
    """Every figure of the sheet that varies, draws made, and those without a state."""

    figures: tuple[CheckedInterval, ...]
    draws: int
    unsolved: int
    chance: float

    @property
    def sentence(self) -> str:
        """What the check says, in one sentence."""
        off = [f.name for f in self.figures if not f.holds]
        ratios = [f.ratio for f in self.figures]
        span = f"{min(ratios):.2f} to {max(ratios):.2f}" if ratios else "none"
        said = (
            "every interval holds"
            if not off
            else f"{len(off)} of {len(self.figures)} intervals do not hold: {', '.join(off)}"
        )
        return (
            f"{said}; scatter of {self.draws} drawn days over the uncertainty published: {span}, each ± "
            f"{TIMES * self.chance:.2f} by chance"
        )


def check_intervals(
    plant: Plant, day: Reconciled, draws: int, seed: int, say: Callable[[int], None] = lambda _: None
) -> IntervalCheck:
    """Draw the day anew so many times.

    Raises ValueError for too few draws, NotSolved where most have no state.
    """
    sheet = Sheet.of(plant)
    with noting_breaches():
        found = drawn_again(day.result, sheet.expressions, np.random.default_rng(seed), draws, say)
    low, high = found.interval
    rows = []
    for s, span in zip(sheet.specifications, sheet.spans, strict=True):
        i = span.start - 1
        ratio = float(found.ratio[i])
        if not (np.isfinite(ratio) and np.isfinite(found.value[i])):
            continue
        holds = abs(ratio - 1.0) <= max(OFF, SURELY * found.chance_of_ratio)
        rows.append(
            CheckedInterval(
                s.name, s.unit, s.decimals, float(found.value[i]), TIMES * float(found.foretold[i]), float(low[i]),
                float(high[i]), ratio, float(found.shift[i]), holds,
            )
        )  # fmt: skip
    return IntervalCheck(tuple(rows), len(found.draws), found.unsolved, found.chance_of_ratio)
