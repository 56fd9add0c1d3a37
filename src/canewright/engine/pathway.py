"""From a solved state to other settings in steps that shorten where they must, and what stands in the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import splu

from canewright.engine.model import Model, Variable, Vector
from canewright.engine.near import newton

FIRST_STEP = 0.25
SHORTEST_STEP = 1.0 / 256.0
LEAK = 1e-4
"""A variable nearer to its limit than this (scaled) rests on it, like the closed one of two valves."""


MOST_TOLD = 6
"""Settings that are told one by one with the value they can have; of more only the share of the way is told."""
WRITTEN_OUT = 1e9
"""Size below which a number is written without a power of ten."""


def amount(value: float, symbol: str) -> str:
    """A value with its unit as people write it: four digits, no power of ten up to a thousand million, no unit 1."""
    digits = f"{value:.4g}"
    if "e+" in digits and abs(value) < WRITTEN_OUT:
        digits = f"{float(digits):,.0f}"
    return digits if symbol in {"1", ""} else f"{digits} {symbol}"


@dataclass(frozen=True)
class Pathway:
    """How far the settings could be moved: the last state solved, the share of the way, and the limits ahead.

    ``moved`` holds the settings that were to change: each with its value at the last state and the one wanted.
    """

    scaled: Vector
    share: float
    ahead: tuple[tuple[Variable, float, float], ...] = ()
    moved: tuple[tuple[Variable, float, float], ...] = ()

    @property
    def whole(self) -> bool:
        """Whether the wanted settings were reached."""
        return self.share >= 1.0

    def __str__(self) -> str:
        """One sentence on how far it went and which limits were being approached."""
        said = f"from the last solved state the settings can be moved {100 * self.share:.0f} % of the way"
        if 0 < len(self.moved) <= MOST_TOLD:
            said += " (" + ", ".join(f"{v.name} to {amount(x, v.unit)}" for v, x, _ in self.moved) + ")"
        limits = [
            f"{v.name} is {amount(x, v.unit)} there and heads for its limit of {amount(limit, v.unit)}"
            for v, x, limit in self.ahead
        ]
        return "; ".join([said, *limits])


def follow(model: Model, solved: Vector, wanted: Vector, accept: Callable[[Vector], bool]) -> Pathway:
    """Move the settings of a solved state towards those wanted; ``accept`` proves each state on the way."""
    share, step, here = 0.0, FIRST_STEP, solved
    change = wanted[model.n :] - solved[model.n :]
    while share < 1.0 and step >= SHORTEST_STEP:
        ahead = min(1.0, share + step)
        settings = solved[model.n :] + ahead * change
        candidate = newton(model, np.concatenate([here[: model.n], settings]))
        if accept(candidate):
            here, share, step = candidate, ahead, 1.5 * step
        else:
            step /= 2
    if share >= 1.0:
        return Pathway(here, share)
    return Pathway(here, share, _limits_ahead(model, here, change), _moved(model, here, wanted))


def _moved(model: Model, here: Vector, wanted: Vector) -> tuple[tuple[Variable, float, float], ...]:
    return tuple(
        (model.variables[i], float(here[i] * model.nominal[i]), float(wanted[i] * model.nominal[i]))
        for i in range(model.n, len(here))
        if here[i] != wanted[i]
    )


def _limits_ahead(
    model: Model, here: Vector, change: Vector, most: int = 3
) -> tuple[tuple[Variable, float, float], ...]:
    """The variables that reach a limit soonest along the tangent of the path."""
    n = model.n
    _, jacobian = model.jacobian_at(here)
    try:
        tangent = -splu(jacobian[:, :n].tocsc()).solve(jacobian[:, n:] @ change)
    except RuntimeError:  # singular: the path turns back here, and no limit is being approached
        return ()
    low, high = model.low[:n] / model.nominal[:n], model.high[:n] / model.nominal[:n]
    limit = np.where(tangent > 0, high, low)
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = np.where(tangent != 0, (limit - here[:n]) / tangent, np.inf)
    distance[np.abs(here[:n] - limit) < LEAK] = np.inf
    soonest = np.argsort(np.round(distance, 6), kind="stable")  # what vanishes together is told in the model's order
    order = [int(i) for i in soonest[:most] if 0 <= distance[i] < 1.0]
    return tuple(
        (model.unknowns[i], float(here[i] * model.nominal[i]), float(limit[i] * model.nominal[i])) for i in order
    )
