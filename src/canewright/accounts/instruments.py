"""Which reading is worth having for a figure of the day: by its interval, and by the money that is in doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from canewright.accounts.attention import sugar_price
from canewright.accounts.specifications import specifications_for
from canewright.accounts.totals import Totals
from canewright.engine.instruments import Candidate, Worth, best_set, ranked, without, worth_in_money
from canewright.engine.model import Values
from canewright.engine.spread import Vector
from canewright.plant.further_readings import further_readings, surer_readings
from canewright.plant.plant import Plant, Reconciled
from canewright.quantity import Num, noting_breaches


class NoSuchFigure(ValueError):
    """The plant's day sheet has no figure of this name; the message names those it has."""


@dataclass(frozen=True)
class WorthOfReadings:
    """What readings would make of a figure, one by one (the best first) and together, each beside those before it.

    ``missing`` tells what the figure's standard uncertainty would be without each present reading, the one that it
    needs most first; None where nothing else would hold it.
    ``price`` is the money that one unit of the figure is worth a day; None where it is not a loss of sucrose, or sugar
    has no price.
    """

    figure: str
    unit: str
    decimals: int
    value: float
    alone: tuple[Worth, ...]
    together: tuple[Worth, ...]
    missing: tuple[tuple[str, float | None], ...]
    price: float | None

    def money(self, worth: Worth, days: float) -> float | None:
        """The money in the part of the interval that a reading takes away, over so many days."""
        return None if self.price is None else worth_in_money(worth, self.price, days)


def worth_of_readings(plant: Plant, day: Reconciled, figure: str, count: int = 3) -> WorthOfReadings:
    """Rank further readings, and present ones made twice as sure, for a figure of the day sheet.

    Raises NoSuchFigure when the day sheet of this plant does not have it.
    """
    known = {s.name: s for s in specifications_for(plant.description.roles)}
    if figure not in known:
        raise NoSuchFigure(f"no figure is called '{figure}'; the day sheet has: {', '.join(known)}")
    asked = known[figure]

    def wanted(values: Values) -> list[Num]:
        totals = list(asked.totals(Totals(plant.assembly, values)))
        return [asked.combine(*totals), *totals]

    with noting_breaches():
        values, slopes = day.result.gradient(day.expressions(wanted))
    candidates = [*further_readings(plant, day), *surer_readings(day)]
    covariance, slope = day.result.covariance, slopes[0]
    worth = sugar_price(plant.description)
    price = float(values[2]) / 100.0 * worth if asked.loss_of and worth is not None else None
    return WorthOfReadings(
        figure, asked.unit, asked.decimals, float(values[0]), tuple(ranked(covariance, slope, candidates)),
        tuple(best_set(covariance, slope, candidates, count)), tuple(_missing(day, slope)), price,
    )  # fmt: skip


def _missing(day: Reconciled, figure: Vector) -> list[tuple[str, float | None]]:
    """The figure's standard uncertainty without each reading, the most needed first."""
    result = day.result
    _, slopes = result.gradient(result.expressions)
    found = [
        (m.name, without(result.covariance, figure, Candidate(m.name, row, m.uncertainty)))
        for m, row in zip(result.measured, slopes, strict=True)
    ]
    return sorted(found, key=lambda pair: -(np.inf if pair[1] is None else pair[1]))
