"""A reconciliation drawn again and again: whether its straight-line uncertainties hold where equations bend.

The reconciled state is taken as true. Readings and priors are drawn around it as surely as they are, and each draw is
reconciled anew by the full equations. The scatter of what comes out is what the covariance foretells, but for curvature
(the check of the Guide to the expression of uncertainty by its Supplement 1, JCGM 101:2008, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from canewright.engine.model import Expressions
from canewright.engine.reconcile import Measured, Reconciliation, reconcile
from canewright.engine.solve import NotSolved
from canewright.engine.spread import Matrix, Vector

BOTH_TAILS = (2.5, 97.5)
"""Percentiles between which 95 % lie."""
LEAST_DRAWS = 20


@dataclass(frozen=True)
class Drawn:
    """Quantities by straight lines and by drawing: value, standard uncertainty, every draw, draws without a state."""

    value: Vector
    foretold: Vector
    draws: Matrix
    unsolved: int

    @cached_property
    def scatter(self) -> Vector:
        """Standard deviation of the draws."""
        return np.asarray(np.std(self.draws, axis=0, ddof=1))

    @property
    def ratio(self) -> Vector:
        """Scatter of the draws over the uncertainty foretold; not a number for what does not vary."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(np.where(self.foretold > 0, self.scatter / self.foretold, np.nan))

    @property
    def shift(self) -> Vector:
        """How far the mean of the draws lies from the value, in uncertainties."""
        with np.errstate(invalid="ignore", divide="ignore"):
            away = self.draws.mean(axis=0) - self.value
            return np.asarray(np.where(self.foretold > 0, away / self.foretold, np.nan))

    @property
    def interval(self) -> tuple[Vector, Vector]:
        """Between which 95 % of the draws lie."""
        low, high = np.percentile(self.draws, BOTH_TAILS, axis=0)
        return np.asarray(low), np.asarray(high)

    @property
    def chance_of_ratio(self) -> float:
        """Standard uncertainty of the ratio with so many draws, for a normal scatter."""
        return float((2.0 * (len(self.draws) - 1)) ** -0.5)


def drawn_again(
    result: Reconciliation,
    expressions: Expressions,
    chance: np.random.Generator,
    count: int,
    say: Callable[[int], None] = lambda _: None,
) -> Drawn:
    """Reconcile so many draws of readings and priors; ``say`` is told how many are done.

    A setting without a prior is not drawn. Raises ValueError for fewer draws than tell anything, and NotSolved where
    more than half of them have no state.
    """
    if count < LEAST_DRAWS:
        raise ValueError(f"{count} draws tell nothing of a scatter; give at least {LEAST_DRAWS}")
    value, foretold = result.uncertainty(expressions)
    here = result.values
    found: list[Vector] = []
    unsolved = 0
    for number in range(1, count + 1):
        measured = [
            Measured(m.name, float(e + m.uncertainty * chance.standard_normal()), m.uncertainty)
            for m, e in zip(result.measured, result.estimates, strict=True)
        ]
        priors = {
            n: (here[n] + (float(sd * chance.standard_normal()) if np.isfinite(sd) else 0.0), float(sd))
            for n, sd in zip(result.free, result.prior_uncertainty, strict=True)
        }
        try:
            again = reconcile(result.model, result.expressions, measured, priors, result.scaled)
            found.append(expressions.at(again.scaled))
        except NotSolved as lack:
            unsolved, last = unsolved + 1, lack
            if 2 * unsolved > count:
                raise NotSolved(f"more than half of the draws have no state: {last}", [], []) from lack
        say(number)
    return Drawn(value, foretold, np.array(found), unsolved)
