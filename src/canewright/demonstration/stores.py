"""The stores of the invented season: the raw store with its clean-outs, rakes and shipments, and the silo."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from canewright.accounts.formats import METERS, STOCKS
from canewright.demonstration.faults import CLEAN_OUTS, SEASON_DAYS, Variant
from canewright.demonstration.instruments import Instruments, Row, Rows
from canewright.demonstration.noise import SURVEY

FIRST_RAKE, RAKE, RAKE_SPREAD = 61, 1500.0, 25.0
RAKE_EVERY = 10
"""Days from rake to rake in season; most of the year's rakes come out of season."""
TWICE_ENTERED = 77
SURVEY_EVERY = 7
SILO_SURVEY = (0.8, 0.5, 10.0)
SILO_USUAL = 1450.0
OPENING = 3000.0
HIGHEST = 6000.0
"""What the raw store holds midway between clean-outs, t."""
GROWS = 200.0
"""Tonnes a day by which it grows after the last clean-out, as far as sugar comes."""
TANKS = 5230.0


@dataclass
class Stores:
    """The piles as they truly are, and what is written down of them."""

    instruments: Instruments
    variant: Variant
    chance: np.random.Generator
    raw: float = OPENING
    silo: float = SILO_USUAL
    rake: int = FIRST_RAKE
    again: Row | None = None
    twice: float = 0.0

    def rows(self, day: int, made: float, melted: float, refined: float) -> Rows:
        """What moved, and the stocks that are taken on the day."""
        moved: list[Row] = []
        came = self._rakes(day, moved)
        self.raw += made + came - melted
        self._ship(day, moved)
        leaves = max(refined + 0.3 * (self.silo - SILO_USUAL) + float(self.chance.normal(0, 40)), 0.0)
        leaves = min(leaves, self.silo + refined)
        row, _ = self.instruments.moved_row(day, "refined sugar shipped", leaves, 24.0)
        moved.append(row)
        self.silo += refined - leaves
        stocks = [self.instruments.stock_row(day, "final molasses tanks", TANKS)]
        if day % SURVEY_EVERY == 0:
            stocks.append(self.instruments.survey_row(day, "refined sugar silo", self.silo, SILO_SURVEY))
        if day % SURVEY_EVERY == 0 or day in CLEAN_OUTS:
            stocks.append(self.instruments.survey_row(day, "raw sugar store", self.raw, SURVEY))
        return {METERS.name: moved, STOCKS.name: stocks}

    def _rakes(self, day: int, moved: list[Row]) -> float:
        """A rake every tenth day, numbered on through the year; one is entered on the next day as well."""
        if self.again is not None:
            moved.append({**self.again, "time": self.instruments.clock(day, 10.0)})
            self.again = None
        if day % RAKE_EVERY != 3:
            return 0.0
        weight = float(self.chance.normal(RAKE, RAKE_SPREAD))
        row, _ = self.instruments.moved_row(day, "rakes received", weight, 16.0)
        moved.append(row)
        if self.rake == TWICE_ENTERED and self.variant.fault("J"):
            self.again, self.twice = row, weight
        self.rake += 1
        return weight

    def _ship(self, day: int, moved: list[Row]) -> None:
        """Raw sugar sold direct, so much that the pile grows midway and is gone at a clean-out."""
        last = max((d for d in (0, *CLEAN_OUTS) if d < day), default=0)
        following = next((d for d in CLEAN_OUTS if d >= day), SEASON_DAYS)
        wanted = HIGHEST * 4.0 * (day - last) * (following - day) / (following - last) ** 2
        if last == 0:
            wanted += OPENING * (1.0 - day / following)
        if following == SEASON_DAYS:
            wanted = GROWS * (day - last)
        goes = max(self.raw - wanted, 0.0) if day in CLEAN_OUTS else max(0.0, min(self.raw - wanted, 2500.0))
        if goes > 0:
            row, _ = self.instruments.moved_row(day, "raw sugar shipped", goes, 20.0)
            moved.append(row)
            self.raw -= goes

    def true_stocks(self) -> Mapping[str, float]:
        """What the stores truly hold."""
        return {"raw sugar store": self.raw, "refined sugar silo": self.silo}
