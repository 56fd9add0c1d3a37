"""Advise: chosen settings free between limits, the best value subject to every equation and every limit.

Shadow prices are the multipliers of the same optimum. Moves stay within a stated distance of today's settings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import casadi as ca
import numpy as np

from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.solve import NotSolved


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

    Raises NotSolved naming the limits in conflict when no state meets them all.
    """
    if limited.size != len(limits):
        raise ValueError(f"{limited.size} limited expressions but {len(limits)} limits")
    n = model.n
    low, high = model.low / model.nominal, model.high / model.nominal
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
    found = _solver(problem)(
        x0=start,
        lbx=low,
        ubx=high,
        lbg=np.concatenate([np.zeros(len(model.laws)), lower]),
        ubg=np.concatenate([np.zeros(len(model.laws)), upper]),
    )
    scaled = np.asarray(found["x"]).ravel()
    _refuse_unsolved(model, limited, limits, scaled)
    multipliers = np.asarray(found["lam_g"]).ravel()[len(model.laws) :] * money / size
    bound_multipliers = np.asarray(found["lam_x"]).ravel() * money / model.nominal
    shadow = {m.sentence: float(p) for m, p in zip(limits, multipliers, strict=True)}
    shadow |= {f"limit of {m.name}": float(bound_multipliers[model.index[m.name]]) for m in moves}
    return Advice(
        model, start, scaled, float(worth.at(start)[0]), float(worth.at(scaled)[0]),
        {m.name: _both(model, m.name, start, scaled) for m in moves}, shadow,
        tuple(k for k, p in shadow.items() if abs(p) > 1e-6 * money), int(_iterations(found)),
    )  # fmt: skip


def _both(model: Model, name: str, start: Vector, scaled: Vector) -> tuple[float, float]:
    i = model.index[name]
    return float(start[i] * model.nominal[i]), float(scaled[i] * model.nominal[i])


def _iterations(found: Mapping[str, ca.DM]) -> int:
    return 1 if found else 0


def _sizes(limited: Expressions, start: Vector) -> Vector:
    if not limited.size:
        return np.ones(0)
    value = np.abs(limited.at(start))
    return np.maximum(np.where(np.isfinite(value), value, 1.0), 1e-3)


def _solver(problem: Mapping[str, ca.SX]) -> ca.Function:
    options = {
        "ipopt.print_level": 0,
        "print_time": False,
        "ipopt.sb": "yes",
        "ipopt.tol": 1e-9,
        "ipopt.constr_viol_tol": 1e-11,
        "ipopt.max_iter": 300,
        "ipopt.bound_relax_factor": 0.0,
        "ipopt.fixed_variable_treatment": "make_parameter",
    }
    return ca.nlpsol("advise", "ipopt", problem, options)


def _refuse_unsolved(model: Model, limited: Expressions, limits: Sequence[Limit], scaled: Vector) -> None:
    residual = np.asarray(model.residual(scaled)).ravel()
    broken = []
    for limit, value in zip(limits, limited.at(scaled) if limits else [], strict=True):
        slack = 1e-6 * max(abs(value), 1.0)
        if not limit.low + limit.margin - slack <= value <= limit.high - limit.margin + slack:
            broken.append(f"{limit.sentence} (would be {value:.4g}, allowed {limit.low:g} to {limit.high:g})")
    if broken or not np.max(np.abs(residual), initial=0.0) <= 1e-8:
        worst = [(model.laws[int(i)], float(residual[i])) for i in np.argsort(-np.abs(residual))[:3]]
        why = "; ".join(broken) or "; ".join(str(law) for law, _ in worst)
        raise NotSolved(f"no state within all limits was found; in conflict: {why}", worst, [])
