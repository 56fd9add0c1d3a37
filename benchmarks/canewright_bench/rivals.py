"""The rivals: what a competent person would write with SciPy or plain IPOPT for the same residuals."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any

import casadi as ca
import numpy as np
from scipy import optimize
from scipy.sparse.linalg import splu

from canewright.engine import Limit, Measured, Model, Move
from canewright.engine.model import Expressions, Vector
from canewright.engine.solve import RESIDUAL, STEP

SPLU = "sparse Newton: exact Jacobian, SciPy splu"


def sparse_newton(model: Model, start: Vector, most: int = 60) -> Vector:
    """Full Newton steps with the exact sparse Jacobian; stops as ours does: residual 1e-10, last step 1e-9."""
    u, n = start.copy(), model.n
    for _ in range(most):
        residual, jacobian = model.jacobian_at(u)
        step = splu(jacobian[:, :n].tocsc()).solve(residual)
        u[:n] -= step
        small = np.max(np.abs(step) / np.maximum(1.0, np.abs(u[:n]))) <= STEP
        if small and np.max(np.abs(model.jacobian_at(u)[0])) <= RESIDUAL:
            return u
    raise ArithmeticError(f"not settled after {most} steps")


def unsolved(model: Model, u: Vector) -> str:
    """What is wrong with a state that claims to be solved; empty where nothing is."""
    worst = float(np.max(np.abs(model.jacobian_at(u)[0])))
    return "" if worst <= RESIDUAL else f"largest scaled residual {worst:.1g}"


def general_root(model: Model, start: Vector, method: str, patience: float) -> Vector:
    """SciPy's general root finder; ``hybr`` gets the exact Jacobian (dense), ``krylov`` needs none."""
    n, until = model.n, time.perf_counter() + patience

    def residual(x: Vector) -> Vector:
        if time.perf_counter() > until:
            raise TimeoutError(f"not settled within {patience:g} s")
        return np.asarray(model.residual(np.concatenate([x, start[n:]]))).ravel()

    def jacobian(x: Vector) -> Vector:
        return np.asarray(model.jacobian_at(np.concatenate([x, start[n:]]))[1][:, :n].toarray())

    exact = jacobian if method == "hybr" else None
    options = {"xtol": 1e-13} if method == "hybr" else {"fatol": RESIDUAL, "maxiter": 500}
    with np.errstate(all="ignore"):
        found = optimize.root(residual, start[:n], jac=exact, method=method, options=options)
    return np.concatenate([found.x, start[n:]])


def plain_ipopt(model: Model) -> Callable[[Vector], Vector]:
    """IPOPT with its defaults on the square problem within the variables' bounds; made beforehand, not timed."""
    n = model.n
    options: dict[str, Any] = {"ipopt.print_level": 0, "ipopt.sb": "yes", "print_time": False, "ipopt.tol": 1e-10}
    problem = {"x": model.symbols[:n], "p": model.symbols[n:], "f": 0, "g": model.residual_graph}
    solver = ca.nlpsol("rival", "ipopt", problem, options)
    low, high = model.scaled_limits()

    def solve(start: Vector) -> Vector:
        found = solver(x0=start[:n], p=start[n:], lbx=low[:n], ubx=high[:n], lbg=0, ubg=0)
        return np.concatenate([np.asarray(found["x"]).ravel(), start[n:]])

    return solve


def gauss_newton(
    model: Model, read: Expressions, measured: Sequence[Measured], priors: dict[str, tuple[float, float]], start: Vector
) -> tuple[float, Vector]:
    """Reconciliation as textbooks give it, full steps and dense least squares: sum of squares, uncertainties."""
    n, columns = model.n, [model.index[name] for name in priors]
    value, sd = np.array([m.value for m in measured]), np.array([m.uncertainty for m in measured])
    prior, spread = (np.array(part) for part in zip(*priors.values(), strict=True))
    size = model.nominal[columns]
    u = sparse_newton(model, start)
    for _ in range(40):
        estimate, slope = read.jacobian_at(u)
        jacobian = model.jacobian_at(u)[1]
        answer = np.zeros((len(model.names), len(columns)))
        answer[:n] = -splu(jacobian[:, :n].tocsc()).solve(jacobian[:, columns].toarray())
        answer[columns, range(len(columns))] = 1.0
        rows = np.vstack([slope @ answer / sd[:, None], np.diag(size / spread)])
        gap = np.concatenate([(value - estimate) / sd, (prior - u[columns] * size) / spread])
        change = np.linalg.lstsq(rows, gap, rcond=None)[0]
        u[columns] += change
        u = sparse_newton(model, u)
        if np.max(np.abs(change)) < 1e-7:
            break
    covariance = np.linalg.inv(rows.T @ rows)
    misfit = np.concatenate([(value - read.at(u)) / sd, (prior - u[columns] * size) / spread])
    return float(misfit @ misfit), np.sqrt(np.sum((answer @ covariance) * answer, axis=1))


def reduced_advice(
    model: Model,
    worth: Expressions,
    limited: Expressions,
    limits: Sequence[Limit],
    moves: Sequence[Move],
    start: Vector,
) -> float:
    """The best worth by SciPy SLSQP in the moves alone, each point a plant solved by sparse Newton."""
    space = _Reduced(model, [m.name for m in moves], start)
    low = np.array([m.low + m.margin for m in limits])
    high = np.array([m.high - m.margin for m in limits])
    size = np.maximum(np.abs(limited.at(start)), 1e-3) if limits else np.ones(0)
    bounded = [(low, 1.0, np.isfinite(low)), (high, -1.0, np.isfinite(high))]
    money = max(abs(float(worth.at(start)[0])), 1.0)
    constraints = [
        {
            "type": "ineq",
            "fun": lambda z, b=b, s=s, k=k: s * ((space.value(limited, z) - b) / size)[k],
            "jac": lambda z, s=s, k=k: s * (space.slope(limited, z) / size[:, None])[k],
        }
        for b, s, k in bounded
        if k.any()
    ]
    found = optimize.minimize(
        lambda z: -space.value(worth, z)[0] / money,
        space.first,
        jac=lambda z: -space.slope(worth, z)[0] / money,
        bounds=[
            (m.low / model.nominal[i], m.high / model.nominal[i]) for m, i in zip(moves, space.columns, strict=True)
        ],
        constraints=constraints,
        method="SLSQP",
        options={"ftol": 1e-10, "maxiter": 100},
    )
    if not found.success:
        raise ArithmeticError(str(found.message))
    return float(-found.fun * money)


class _Reduced:
    """Quantities of the plant as functions of some settings alone; the last point is remembered."""

    def __init__(self, model: Model, names: Sequence[str], start: Vector) -> None:
        self.model, self.columns = model, [model.index[name] for name in names]
        self.state, self.first = start.copy(), start[self.columns].copy()

    def _at(self, z: Vector) -> Vector:
        if not np.array_equal(self.state[self.columns], z):
            moved = self.state.copy()
            moved[self.columns] = z
            self.state = sparse_newton(self.model, moved)
        return self.state

    def value(self, expressions: Expressions, z: Vector) -> Vector:
        return expressions.at(self._at(z))

    def slope(self, expressions: Expressions, z: Vector) -> Any:
        u, n = self._at(z), self.model.n
        _, jacobian = self.model.jacobian_at(u)
        _, slope = expressions.jacobian_at(u)
        weight = splu(jacobian[:, :n].tocsc()).solve(slope[:, :n].T.toarray(), trans="T")
        return slope[:, self.columns].toarray() - (jacobian[:, self.columns].T @ weight).T
