"""What advice may move and must keep to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.near import RESIDUAL


@dataclass(frozen=True)
class Move:
    """A setting that may be moved, between these values (in its own unit)."""

    name: str
    low: float
    high: float


@dataclass(frozen=True)
class Limit:
    """A limit on an expression: the sentence it is, its lowest and highest value, and a margin kept to it.

    The margin (in the expression's unit) is what today's uncertainty asks for at the stated probability.
    """

    sentence: str
    low: float = -np.inf
    high: float = np.inf
    margin: float = 0.0

    @property
    def least(self) -> float:
        """Lowest value allowed, the margin kept."""
        return self.low + self.margin

    @property
    def most(self) -> float:
        """Highest value allowed, the margin kept."""
        return self.high - self.margin


def sizes_of(limited: Expressions, start: Vector) -> Vector:
    """Sizes by which limited quantities are divided: their values at the start, never next to nothing."""
    if not limited.size:
        return np.ones(0)
    value = np.abs(limited.at(start))
    return np.maximum(np.where(np.isfinite(value), value, 1.0), 1e-3)


def meets(model: Model, limited: Expressions, limits: Sequence[Limit], scaled: Vector) -> bool:
    """Whether a state satisfies every equation, every limit and every unknown's range."""
    residual = np.asarray(model.residual(scaled)).ravel()
    outside = [v for v, _ in model.outside(scaled, 1e-7) if model.index[v.name] < model.n]
    if outside or not np.max(np.abs(residual), initial=0.0) <= RESIDUAL:
        return False
    values = limited.at(scaled) if limits else np.zeros(0)
    for limit, value in zip(limits, values, strict=True):
        slack = 1e-6 * max(abs(value), 1.0)
        if not limit.least - slack <= value <= limit.most + slack:
            return False
    return True
