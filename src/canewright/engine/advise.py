"""Advise: chosen settings free between limits, the best value subject to every equation and every limit.

Shadow prices are the multipliers of the same optimum. Moves stay within a stated distance of today's settings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np

from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.solve import QUIET, RESIDUAL, NotSolved, polished

NEAR = 1e-4
"""First barrier from today's state: it is solved and mostly within the limits, so a high barrier only leads away."""

BINDING = 1e-6
"""Multiplier, scaled by the sizes of limit and money, above which a limit counts as binding."""


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


@dataclass(frozen=True)
class Advice:
    """The best state found, what moved, what it gains, and what binds."""

    model: Model
    start: Vector
    scaled: Vector
    worth_now: float
    worth_then: float
    changes: dict[str, tuple[float, float]]
    shadow_prices: dict[str, float]
    binding: tuple[str, ...]
    iterations: int

    @property
    def gain(self) -> float:
        """Money gained per unit of the objective's time."""
        return self.worth_then - self.worth_now

    @property
    def values(self) -> dict[str, float]:
        """Every variable of the advised state by name."""
        return self.model.named(self.scaled)


def advise(
    model: Model,
    worth: Expressions,
    limited: Expressions,
    limits: Sequence[Limit],
    moves: Sequence[Move],
    start: Vector,
) -> Advice:
    """Maximise ``worth`` (one expression) by the moves, holding every other setting at its value in ``start``.

    A shadow price is the money gained for each unit by which a limit is relaxed. Raises NotSolved naming the limits in
    conflict when no state meets them all, and when the best value has no end or was not reached.
    """
    if limited.size != len(limits):
        raise ValueError(f"{limited.size} limited expressions but {len(limits)} limits")
    n = model.n
    low, high = model.scaled_limits()
    low[n:] = high[n:] = start[n:]
    for move in moves:
        i = model.index[move.name]
        low[i], high[i] = move.low / model.nominal[i], move.high / model.nominal[i]
    size = _sizes(limited, start)
    lower = np.array([(m.low + m.margin) if np.isfinite(m.low) else -np.inf for m in limits]) / size
    upper = np.array([(m.high - m.margin) if np.isfinite(m.high) else np.inf for m in limits]) / size
    money = max(abs(float(worth.at(start)[0])), 1.0)
    graph = ca.vertcat(model.residual_graph, limited.graph / ca.DM(size)) if limits else model.residual_graph
    problem = {"x": model.symbols, "f": -worth.graph[0] / money, "g": graph}
    solver = _solver(problem, NEAR)
    zero = np.zeros(len(model.laws))
    bounds = {"lbg": np.concatenate([zero, lower]), "ubg": np.concatenate([zero, upper])}
    found = solver(x0=start, lbx=low, ubx=high, **bounds)
    scaled = polished(model, np.asarray(found["x"]).ravel())
    if not _meets(model, limited, limits, scaled):
        raise _conflict(model, limited, limits, start, (low, high), size)
    stats = solver.stats()
    if not stats["success"]:
        raise NotSolved(
            f"no best state was reached ({stats['return_status']}); give every move two finite limits", [], []
        )
    multipliers = np.asarray(found["lam_g"]).ravel()[len(model.laws) :] * money / size
    bound_multipliers = np.asarray(found["lam_x"]).ravel() * money / model.nominal
    shadow = {m.sentence: float(p) for m, p in zip(limits, multipliers, strict=True)}
    shadow |= {f"limit of {m.name}": float(bound_multipliers[model.index[m.name]]) for m in moves}
    return Advice(
        model, start, scaled, float(worth.at(start)[0]), float(worth.at(scaled)[0]),
        {m.name: _both(model, m.name, start, scaled) for m in moves}, shadow,
        tuple(_binding(found, model, limits, moves)), int(stats["iter_count"]),
    )  # fmt: skip


def _both(model: Model, name: str, start: Vector, scaled: Vector) -> tuple[float, float]:
    i = model.index[name]
    return float(start[i] * model.nominal[i]), float(scaled[i] * model.nominal[i])


def _binding(found: Mapping[str, Any], model: Model, limits: Sequence[Limit], moves: Sequence[Move]) -> Iterator[str]:
    """The limits whose multiplier, by the size of limit and money alike, is more than the solver's noise."""
    of_limits = np.asarray(found["lam_g"]).ravel()[len(model.laws) :]
    of_variables = np.asarray(found["lam_x"]).ravel()
    yield from (m.sentence for m, p in zip(limits, of_limits, strict=True) if abs(p) > BINDING)
    yield from (f"limit of {m.name}" for m in moves if abs(of_variables[model.index[m.name]]) > BINDING)


def _sizes(limited: Expressions, start: Vector) -> Vector:
    if not limited.size:
        return np.ones(0)
    value = np.abs(limited.at(start))
    return np.maximum(np.where(np.isfinite(value), value, 1.0), 1e-3)


def _solver(problem: Mapping[str, ca.SX], barrier: float = 0.1) -> ca.Function:
    options = {
        **QUIET,
        "ipopt.tol": 1e-9,
        "ipopt.constr_viol_tol": 1e-11,
        "ipopt.max_iter": 300,
        "ipopt.mu_init": barrier,
        "ipopt.bound_relax_factor": 0.0,
        "ipopt.fixed_variable_treatment": "make_parameter",
    }
    return ca.nlpsol("advise", "ipopt", problem, options)


def _meets(model: Model, limited: Expressions, limits: Sequence[Limit], scaled: Vector) -> bool:
    """Whether a state satisfies every equation, every limit and every unknown's range."""
    residual = np.asarray(model.residual(scaled)).ravel()
    outside = [v for v, _ in model.outside(scaled, 1e-7) if model.index[v.name] < model.n]
    if outside or not np.max(np.abs(residual), initial=0.0) <= RESIDUAL:
        return False
    values = limited.at(scaled) if limits else np.zeros(0)
    for limit, value in zip(limits, values, strict=True):
        slack = 1e-6 * max(abs(value), 1.0)
        if not limit.low + limit.margin - slack <= value <= limit.high - limit.margin + slack:
            return False
    return True


def _conflict(
    model: Model,
    limited: Expressions,
    limits: Sequence[Limit],
    start: Vector,
    bounds: tuple[Vector, Vector],
    size: Vector,
) -> NotSolved:
    """Say which limits cannot be met together: those still broken where the sum of all breaches is least."""
    breach = ca.SX.sym("s", len(limits))
    value = limited.graph / ca.DM(size)
    lower = np.array([m.low + m.margin for m in limits]) / size
    upper = np.array([m.high - m.margin for m in limits]) / size
    problem = {
        "x": ca.vertcat(model.symbols, breach),
        "f": ca.sum1(ca.vertcat(breach, ca.SX(0.0))),
        "g": ca.vertcat(model.residual_graph, value + breach, value - breach),
    }
    zero, none = np.zeros(len(model.laws)), np.full(len(limits), np.inf)
    found = _solver(problem)(
        x0=np.concatenate([start, np.ones(len(limits))]),
        lbx=np.concatenate([bounds[0], np.zeros(len(limits))]),
        ubx=np.concatenate([bounds[1], none]),
        lbg=np.concatenate([zero, lower, -none]),
        ubg=np.concatenate([zero, none, upper]),
    )
    scaled = np.asarray(found["x"]).ravel()
    state, broken = scaled[: len(start)], scaled[len(start) :]
    residual = np.asarray(model.residual(state)).ravel()
    worst = [(model.laws[int(i)], float(residual[i])) for i in np.argsort(-np.abs(residual))[:3]]
    if not np.max(np.abs(residual), initial=0.0) <= 1e-6:
        said = "; ".join(str(law) for law, _ in worst)
        return NotSolved(f"no state within the moves satisfies the equations; furthest apart: {said}", worst, [])
    named = [
        f"{m.sentence} (would be {v:.4g}, allowed {m.low + m.margin:g} to {m.high - m.margin:g})"
        for m, v, s in zip(limits, limited.at(state), broken, strict=True)
        if s > 1e-6
    ]
    why = "; ".join(named) or "the limits meet in a single point"
    return NotSolved(f"no state within all limits was found; in conflict: {why}", worst, [])
