"""Newton near a solved state: few evaluations, and a proof that costs none of its own.

Near a solved state the factors of one step serve the next: a step with old factors costs a third of a whole one. So the
first step from a solved state uses that state's factors, and the last ones those of the step before; in between, where
the state moves most, each step has its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from canewright.engine.evaluation import evaluated
from canewright.engine.model import Model, Vector
from canewright.engine.stepping import Anchor, Steps

RESIDUAL = 1e-10
"""Largest scaled residual of a state that is called solved."""
STEP = 1e-9
"""Largest step, relative to value or nominal size, that Newton would still take from a state that is called solved."""
NEAR_STEPS = 16
"""Steps that Newton may take near a solved state before another way is tried."""
CLOSE = 1e-3
"""Last step below which the factors left by it serve again."""
SLOW = 0.05
"""Share of the last step above which a step with old factors is too long, and new ones are made."""
SINGULAR = 0.3
"""Share of the last step that a whole one stays below near a solution; it is half at a double root, not determined."""
GROWTH = 1e4
"""Size of factors, relative to where the order was chosen, above which pivots are too poor to trust the step."""


@dataclass(frozen=True)
class Settled:
    """A state with its largest scaled residual and the step that Newton would still take from it."""

    scaled: Vector
    residual: float
    step: float


def anchored(model: Model, solved: Vector) -> Anchor | None:
    """The anchor at a solved state, kept by the model for as long as it is asked for the same one.

    None where the state does not satisfy the equations or they are singular there.
    """
    kept = model.kept
    if kept is None or not np.array_equal(kept.scaled, solved):
        kept = model.kept = _anchor(model, solved)
    return kept


def _anchor(model: Model, solved: Vector) -> Anchor | None:
    if not np.all(np.isfinite(solved)) or not _highest(evaluated(model.residual, solved)[0]) <= RESIDUAL:
        return None
    steps = model.step(solved)
    if steps is None:
        return None
    factors = steps.whole(solved)[2]
    return Anchor(steps, solved.copy(), factors) if np.all(np.isfinite(factors)) else None


def settle(model: Model, steps: Steps, start: Vector, factors: Vector | None = None) -> Settled | None:
    """Newton from a start; ``factors`` where those of a solved state nearby are at hand for the first step.

    The state that comes back has been evaluated as it is: residuals at most RESIDUAL, the step from it at most STEP,
    and as much shorter than that as the step to it was longer: a balance of a trickle beside large flows closes only
    then. None where Newton does not get there in a few steps.
    """
    u, n, last = start.copy(), model.n, np.inf
    for _ in range(NEAR_STEPS):
        if factors is None:
            residual, change, factors = steps.whole(u)
            if not _highest(factors) <= GROWTH * steps.usual:
                return None
        else:
            residual, change = steps.again(u, factors)
        far = largest(change, u[:n])
        if not np.isfinite(far):
            return None
        if far <= STEP and far * last <= STEP * STEP and _highest(residual) <= RESIDUAL:
            return Settled(u, _highest(residual), far)
        if STEP < far <= CLOSE and far > SINGULAR * last:
            return None
        u[:n] -= change
        factors = factors if far <= CLOSE and far <= SLOW * last else None
        last = far
    return None


def settled(model: Model, start: Vector) -> Settled | None:
    """As ``settle``, where a state of the model has been solved before; None otherwise."""
    return None if model.step_known is None else settle(model, model.step_known, start)


def newton(model: Model, start: Vector) -> Vector:
    """Newton from a full scaled start with its settings held; the answer is not proved."""
    near = settled(model, start)
    return near.scaled if near is not None else newton_from_afar(model, start)


def newton_from_afar(model: Model, start: Vector) -> Vector:
    """As ``newton``, with nothing kept from states solved before: the same start gives the same answer to the digit."""
    root = model.newton(start[: model.n], start[model.n :])
    return np.concatenate([np.asarray(root).ravel(), start[model.n :]])


def _highest(values: Vector) -> float:
    return float(np.abs(values).max(initial=0.0))


def largest(change: Vector, state: Vector) -> float:
    """Largest change relative to the nominal size or the value, whichever is more."""
    with np.errstate(invalid="ignore"):  # infinite by infinite: not a number, which is never small enough
        return float((np.abs(change) / np.maximum(1.0, np.abs(state))).max(initial=0.0))
