"""Reconcile: the most likely state given readings with their uncertainties, subject to every equation.

Weighted least squares in the released settings (each with a prior), Gauss-Newton with exact derivatives, the full
covariance from the same factors. Theory: Crowe, Garcia Campos & Hrymak, AIChE J. 29 (1983) 881; Mah, Chemical Process
Structures and Information Flows (1990); Narasimhan & Jordache, Data Reconciliation and Gross Error Detection (2000)
(from memory); checked numerically in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import casadi as ca
import numpy as np
from scipy import sparse
from scipy.stats import chi2, norm

from canewright.engine.evaluation import evaluated
from canewright.engine.factors import Factors
from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.near import newton_from_afar, settled
from canewright.engine.response import bend_along, response
from canewright.engine.sensitivity import slope_along, state_slope
from canewright.engine.solve import QUIET, RESIDUAL, NotSolved, polished
from canewright.engine.spread import DETERMINED, Anchored, Curved, Matrix, Spread, Together, best_change

SMALL = 1e-7
"""Largest last step of a released setting (scaled). The step after it would be smaller by the same factor again."""
SHRINKING = 0.5
"""A Gauss-Newton step longer than this part of the one before shows that curvature matters."""
NEAR = 0.1
"""Step of the released settings (scaled) below which the curvature of a step before serves the next."""
ACTIVE = 1e-5
"""Multiplier (half the sum of squares by a variable's nominal size) above which a bound holds a variable back."""


@dataclass(frozen=True)
class Measured:
    """One reading: a name, the value read and its standard uncertainty, in the unit of the measured expression."""

    name: str
    value: float
    uncertainty: float


class NotDetermined(ValueError):
    """Something was asked of a direction in which neither readings nor priors say anything."""


@dataclass(frozen=True)
class Suspicion:
    """A reading under suspicion: its test value, the bias it would have, and what all the rest implies it should be."""

    name: str
    test: float
    bias: float
    bias_uncertainty: float
    implied: float
    level: float

    @property
    def flagged(self) -> bool:
        """Whether the test exceeds the level that keeps the overall rate of false alarms at 5 %."""
        return self.test > self.level


@dataclass(frozen=True)
class Reconciliation:
    """The reconciled state with its covariance in the released settings, and the tests on it."""

    model: Model
    expressions: Expressions
    measured: tuple[Measured, ...]
    free: tuple[str, ...]
    prior: Vector
    prior_uncertainty: Vector
    scaled: Vector
    rows: Matrix  # weighted measurement and prior rows, by released settings
    estimates: Vector  # value of each measured expression
    iterations: int
    at_bound: tuple[str, ...] = ()

    @property
    def values(self) -> dict[str, float]:
        """Every variable by name in its own unit."""
        return self.model.named(self.scaled)

    @cached_property
    def _along(self) -> Matrix:
        """Derivative of every variable to the released settings (scaled) as if nothing were at a bound."""
        return state_slope(self.model, self.scaled, [self.model.index[n] for n in self.free])

    @cached_property
    def kept(self) -> Matrix:
        """The projection of the released settings onto the directions that variables at a bound leave."""
        return _directions_left(self._along[[self.model.index[n] for n in self.at_bound]])

    @cached_property
    def sensitivity(self) -> Matrix:
        """Derivative of every variable (scaled) to the released settings (scaled), along the equations."""
        if not self.at_bound:
            return self._along
        size = np.max(np.abs(self._along), axis=1, keepdims=True)
        left = self._along @ self.kept
        left[np.abs(left) < 1e-12 * size] = 0.0
        return left

    @cached_property
    def _spread(self) -> Spread:
        count = len(self.measured)
        if self.at_bound or not np.all(np.isfinite(self.prior_uncertainty)):
            return Together(self.rows)
        return Anchored(self.rows[:count], np.diagonal(self.rows[count:]))

    @cached_property
    def covariance(self) -> Matrix:
        """Covariance of the released settings (scaled) over the determined directions."""
        root = self._spread.rooted(np.eye(len(self.free)))
        return np.asarray(root @ root.T)

    @cached_property
    def influence(self) -> Matrix:
        """The same as ``response`` with the equations taken as straight lines: what the covariance rests on."""
        return self._spread.influence

    @cached_property
    def response(self) -> Matrix:
        """Exact derivative of each released setting (scaled) to each weighted reading and prior."""
        return response(self)

    @property
    def objective(self) -> float:
        """Sum of squared weighted adjustments of readings and priors."""
        return float(np.sum(self.adjustments**2) + np.sum(self.prior_adjustments**2))

    @cached_property
    def adjustments(self) -> Vector:
        """(read value - reconciled value) / uncertainty of each reading."""
        read = np.array([m.value for m in self.measured])
        sd = np.array([m.uncertainty for m in self.measured])
        return np.asarray((read - self.estimates) / sd)

    @cached_property
    def prior_adjustments(self) -> Vector:
        """(prior - estimate) / prior uncertainty of each released setting that has one."""
        index = [self.model.index[n] for n in self.free]
        estimate = self.scaled[index] * self.model.nominal[index]
        held = np.isfinite(self.prior_uncertainty)
        return np.asarray((self.prior[held] - estimate[held]) / self.prior_uncertainty[held])

    @property
    def freedom(self) -> int:
        """Degrees of freedom of the global test: readings and priors less what they determine."""
        return int(self.rows.shape[0]) - self._spread.determined

    @property
    def global_level(self) -> float:
        """95 % point of chi-square for these degrees of freedom."""
        return float(chi2.ppf(0.95, self.freedom)) if self.freedom > 0 else 0.0

    @property
    def global_passes(self) -> bool:
        """Whether all readings together agree with the equations."""
        return self.freedom == 0 or self.objective <= self.global_level

    @cached_property
    def redundancy(self) -> dict[str, float]:
        """Share of each reading that the rest also knows: 0 = only this meter, near 1 = well checked."""
        own = self._spread.known_by_itself[: len(self.measured)]
        return {m.name: float(max(0.0, 1.0 - h)) for m, h in zip(self.measured, own, strict=True)}

    def redundancy_with(self, widening: float) -> dict[str, float]:
        """Redundancy of each reading if every prior were this many times wider: what the readings check themselves."""
        rows = self.rows.copy()
        rows[len(self.measured) :] /= widening
        own = Together(rows).known_by_itself[: len(self.measured)]
        return {m.name: float(max(0.0, 1.0 - h)) for m, h in zip(self.measured, own, strict=True)}

    @cached_property
    def suspicions(self) -> list[Suspicion]:
        """All checkable readings, most suspect first (individual tests, level by Sidak)."""
        checkable = [(i, m) for i, m in enumerate(self.measured) if self.redundancy[m.name] > 1e-6]
        level = float(norm.ppf(0.5 + 0.5 * (1 - 0.05) ** (1 / max(len(checkable), 1))))
        found = []
        for i, m in checkable:
            r = self.redundancy[m.name]
            bias = self.adjustments[i] * m.uncertainty / r
            test = abs(self.adjustments[i]) / np.sqrt(r)
            found.append(Suspicion(m.name, float(test), bias, m.uncertainty / np.sqrt(r), m.value - bias, level))
        return sorted(found, key=lambda s: -s.test)

    def gradient(self, expressions: Expressions) -> tuple[Vector, Matrix]:
        """Values of expressions and their derivatives to the released settings (scaled), along the equations."""
        value, jacobian = expressions.jacobian_at(self.scaled)
        return value, np.asarray(jacobian @ self.sensitivity)

    def uncertainty(self, expressions: Expressions) -> tuple[Vector, Vector]:
        """Values and standard uncertainties; NaN where an undetermined direction takes part."""
        value, slope = self.gradient(expressions)
        return value, self.deviations(slope)

    def deviations(self, slope: Matrix) -> Vector:
        """Standard uncertainties of quantities with these derivatives; NaN where nothing determines them."""
        sd = np.linalg.norm(self._spread.rooted(slope), axis=1)
        if self._spread.determined == len(self.free):
            return np.asarray(sd)
        size = np.maximum(np.linalg.norm(slope, axis=1), 1e-300)
        return np.where(np.linalg.norm(self._spread.left_open(slope), axis=1) > 1e-6 * size, np.nan, sd)

    @cached_property
    def variable_uncertainty(self) -> dict[str, float]:
        """Standard uncertainty of every variable of the model, in its own unit."""
        sd = self.deviations(self.sensitivity)
        return dict(zip(self.model.names, (sd * self.model.nominal).tolist(), strict=True))

    def shares(self, expressions: Expressions, which: int = 0) -> list[tuple[str, float, float]]:
        """What an estimate rests on: (reading or prior, derivative, share of its variance); shares sum to one."""
        _, slope = self.gradient(expressions)
        weights = slope[which] @ self.influence
        answers = slope[which] @ self.response
        total = float(np.sum(weights**2)) or 1.0
        names = [m.name for m in self.measured]
        sds = [m.uncertainty for m in self.measured]
        for name, sd in zip(self.free, self.prior_uncertainty, strict=True):
            if np.isfinite(sd):
                names.append(f"prior: {name}")
                sds.append(float(sd))
        return [
            (n, float(a / s), float(w * w / total)) for n, a, w, s in zip(names, answers, weights, sds, strict=True)
        ]


class _Work:
    """One reconciliation in progress: the linear algebra of a Gauss-Newton step along the equations."""

    def __init__(
        self,
        model: Model,
        expressions: Expressions,
        measured: Sequence[Measured],
        priors: Mapping[str, tuple[float, float]],
    ) -> None:
        self.model, self.expressions, self.measured = model, expressions, tuple(measured)
        self.free = tuple(priors)
        self.columns = np.array([model.index[n] for n in self.free], dtype=int)
        self.prior = np.array([priors[n][0] for n in self.free])
        self.prior_sd = np.array([priors[n][1] for n in self.free])
        self.read = np.array([m.value for m in measured])
        self.sd = np.array([m.uncertainty for m in measured])
        self.held = np.isfinite(self.prior_sd)
        self._curved: Curved | None = None
        self._tangent: tuple[Factors, Any] | None = None

    def change(self, u: Vector, *, again: bool = False) -> Vector:
        """The Gauss-Newton step of the released settings (scaled) from a solved state.

        Adjoint: one back-solve for each reading, however many settings are released. ``again``: with the curvature of
        the step before and the slope of now, which needs one back-solve in all.
        """
        estimate, slope = self.expressions.jacobian_at(u)
        factor, jacobian = self._tangent = self._factor(u)
        if again and self._curved is not None:
            pull = sparse.csr_matrix((self.read - estimate) / self.sd**2)
            downhill = slope_along(self.model, (pull @ slope).tocsc(), self.columns, factor, jacobian)[0]
            return self._curved.change(downhill + self.weights * self.prior_gap(u))
        top = slope_along(self.model, slope, self.columns, factor, jacobian) / self.sd[:, None]
        gap, prior_gap = (self.read - estimate) / self.sd, self.prior_gap(u)
        if np.all(self.held):
            self._curved = Curved(top, self.weights)
            return best_change(top, self.weights, gap, prior_gap)
        found = np.linalg.lstsq(self._rows(top), np.concatenate([gap, prior_gap[self.held]]), rcond=DETERMINED)
        return np.asarray(found[0], dtype=float)

    def bent_change(self, u: Vector) -> Vector | None:
        """Newton's step of the released settings, how the equations bend included; None where it would climb.

        Near the answer Gauss-Newton overshoots when readings are missed by much; this step does not.
        """
        along = state_slope(self.model, u, self.columns)
        estimate, slope = self.expressions.jacobian_at(u)
        top = np.asarray(slope @ along) / self.sd[:, None]
        gap = (self.read - estimate) / self.sd
        bend = bend_along(self.model, self.expressions, u, along, -gap / self.sd)
        try:
            root = np.linalg.cholesky(top.T @ top + np.diag(self.weights**2) + bend)
        except np.linalg.LinAlgError:
            return None
        downhill = top.T @ gap + self.weights * self.prior_gap(u)
        return np.asarray(np.linalg.solve(root.T, np.linalg.solve(root, downhill)))

    @property
    def weights(self) -> Vector:
        """1 / prior uncertainty of each released setting (scaled); zero where it has none."""
        return np.asarray(self.model.nominal[self.columns] / self.prior_sd)

    def prior_gap(self, u: Vector) -> Vector:
        """(prior - value) / prior uncertainty of each released setting; zero where it has none."""
        return np.asarray((self.prior - u[self.columns] * self.model.nominal[self.columns]) / self.prior_sd)

    def _rows(self, readings: Matrix) -> Matrix:
        """Weighted rows of readings and priors by released settings."""
        return np.vstack([readings, np.diag(self.weights)[self.held]])

    def _factor(self, u: Vector) -> tuple[Factors, Any]:
        _, jacobian = self.model.jacobian_at(u)
        if not np.all(np.isfinite(jacobian.data)):
            raise NotSolved("an equation has no finite value at the readings and priors given", [], [])
        try:
            return Factors(self.model, jacobian), jacobian
        except RuntimeError as error:
            raise NotSolved("the equations are singular at this state", [], []) from error

    def moved(self, u: Vector, change: Vector) -> Vector | None:
        """The state after a change of the released settings, solved again; None where none is found.

        Begun along the tangent of the state that the change starts from.
        """
        start = u.copy()
        start[self.columns] += change
        if self._tangent is not None:
            factor, jacobian = self._tangent
            start[: self.model.n] -= factor.solve(self.model.columns_of(jacobian, self.columns) @ change)
        near = settled(self.model, start)
        if near is not None:
            return near.scaled
        found = newton_from_afar(self.model, start)
        (residual,) = evaluated(self.model.residual, found)
        good = np.all(np.isfinite(found)) and np.max(np.abs(residual), initial=0.0) <= RESIDUAL
        return found if good else None

    def merit(self, u: Vector) -> float:
        """Sum of squared weighted gaps of readings and priors."""
        with np.errstate(over="ignore", invalid="ignore"):  # a step too long ends anywhere; it is then halved
            misfit = (self.read - self.expressions.at(u)) / self.sd
            value = float(np.sum(misfit**2) + np.sum(self.prior_gap(u) ** 2))
        return value if np.isfinite(value) else np.inf

    def finish(self, u: Vector, iterations: int, at_bound: tuple[str, ...] = ()) -> Reconciliation:
        """The result at a converged point; variables at an active bound are held there and leave no freedom."""
        estimates, slope = self.expressions.jacobian_at(u)
        factor, jacobian = self._factor(u)
        rows = self._rows(slope_along(self.model, slope, self.columns, factor, jacobian) / self.sd[:, None])
        found = Reconciliation(
            self.model, self.expressions, self.measured, self.free, self.prior, self.prior_sd, u, rows, estimates,
            iterations, at_bound,
        )  # fmt: skip
        return replace(found, rows=rows @ found.kept) if at_bound else found


def reconcile(
    model: Model,
    expressions: Expressions,
    measured: Sequence[Measured],
    priors: Mapping[str, tuple[float, float]],
    start: Vector,
    max_iterations: int = 40,
) -> Reconciliation:
    """The most likely state: readings of ``expressions`` and priors (value, sd) on the released settings.

    A prior sd of infinity releases a setting without a prior. ``start`` is a full scaled vector near a solution. The
    answer satisfies every equation to 1e-10 (scaled); where it lies outside the range of a variable it is found again
    within bounds. Raises NotSolved when no state is found, ValueError for sizes or uncertainties that make no sense.
    """
    if expressions.size != len(measured):
        raise ValueError(f"{expressions.size} measured expressions but {len(measured)} readings")
    for m in measured:
        if not (m.uncertainty > 0 and np.isfinite(m.uncertainty) and np.isfinite(m.value)):
            raise ValueError(
                f"reading '{m.name}': value {m.value}, uncertainty {m.uncertainty}; "
                "both must be finite and the uncertainty above zero"
            )
    for name, (value, sd) in priors.items():
        if not (sd > 0 and np.isfinite(value)):
            raise ValueError(
                f"prior of '{name}': value {value}, uncertainty {sd}; the value must be finite, the uncertainty above "
                "zero (infinite for none); hold a setting that is known by leaving it out"
            )
    work = _Work(model, expressions, measured, priors)
    u, iterations, arrived = _descend(work, start.copy(), max_iterations)
    if arrived and not model.outside(u):
        return work.finish(u, iterations)
    bounded, active = _within_bounds(work, np.clip(u, *model.scaled_limits()))
    return work.finish(bounded, iterations, active)


def _descend(work: _Work, u: Vector, limit: int) -> tuple[Vector, int, bool]:
    """Step in the released settings, the state solved again each time; the last state, and whether it is the answer.

    Gauss-Newton while its steps shrink well, near the answer with the curvature of a step before; once they do not
    shrink, Newton with all curvature.
    """
    solved = work.moved(u, np.zeros(len(work.free)))
    if solved is None:
        return u, 0, False
    u = solved
    work.model.step(u)
    merit, last, bent, again = work.merit(u), np.inf, False, False
    for iteration in range(1, limit + 1):
        change = (work.bent_change(u) if bent else None) if len(work.free) else np.zeros(0)
        change = work.change(u, again=again) if change is None else change
        taken = _shortened(work, u, change, merit)
        if taken is None and again:
            again = False
            continue
        if taken is None:
            return u, iteration, False
        fraction, u, merit = taken
        size = float(np.max(np.abs(change) / np.maximum(1.0, np.abs(u[work.columns])), initial=0.0))
        if fraction == 1.0 and size < SMALL:
            return u, iteration, True
        slow = fraction < 1.0 or size > SHRINKING * last
        bent = bent or (slow and not again)
        again, last = size < NEAR and not slow and not bent, size
    return u, limit, False


def _shortened(work: _Work, u: Vector, change: Vector, merit: float) -> tuple[float, Vector, float] | None:
    """The whole step, or the largest halving of it that can be solved and does not worsen the fit."""
    fraction = 1.0
    while fraction > 1e-4:
        found = work.moved(u, fraction * change)
        if found is not None:
            after = work.merit(found)
            if after <= merit * (1 + 1e-9) + 1e-9:
                return fraction, found, after
        fraction /= 2
    return None


def _within_bounds(work: _Work, start: Vector) -> tuple[Vector, tuple[str, ...]]:
    """The same least squares as a bounded nonlinear programme, and the variables that a bound holds back."""
    model = work.model
    u = model.symbols
    misfit = (ca.DM(work.read) - work.expressions.graph) / ca.DM(work.sd)
    columns = [int(i) for i in work.columns[work.held]]
    scale = model.nominal[work.columns][work.held]
    prior = (ca.DM(work.prior[work.held]) - u[columns] * ca.DM(scale)) / ca.DM(work.prior_sd[work.held])
    low, high = model.scaled_limits()
    held = np.setdiff1d(np.arange(model.n, len(model.names)), work.columns)
    low[held] = high[held] = start[held]
    problem = {"x": u, "f": 0.5 * (ca.sumsqr(misfit) + ca.sumsqr(prior)), "g": model.residual_graph}
    options = {
        **QUIET,
        "ipopt.tol": 1e-9,
        "ipopt.max_iter": 300,
        "ipopt.constr_viol_tol": 1e-11,
        "ipopt.bound_relax_factor": 0.0,
        "ipopt.fixed_variable_treatment": "make_parameter",
    }
    solver = ca.nlpsol("bounded", "ipopt", problem, options)
    optimum = solver(x0=start, lbx=low, ubx=high, lbg=0, ubg=0)
    if not solver.stats()["success"]:
        raise NotSolved(
            f"no most likely state within the limits was reached ({solver.stats()['return_status']}); "
            "look for a reading that is far from what the others allow", [], [],
        )  # fmt: skip
    found = polished(model, np.asarray(optimum["x"]).ravel())
    residual = np.asarray(model.residual(found)).ravel()
    if not np.max(np.abs(residual), initial=0.0) <= RESIDUAL:
        outside = model.outside(found)
        worst = [(model.laws[int(i)], float(residual[i])) for i in np.argsort(-np.abs(residual))[:5]]
        said = "; ".join(str(law) for law, _ in worst)
        raise NotSolved(f"the readings cannot be met within the limits; furthest apart: {said}", worst, outside)
    pulls = np.abs(np.asarray(optimum["lam_x"]).ravel())
    pulls[held] = 0.0
    return found, tuple(model.names[int(i)] for i in np.flatnonzero(pulls > ACTIVE))


def _directions_left(fixed: Matrix) -> Matrix:
    """The projection onto the released settings' directions that leave these derivatives at zero."""
    _, singular, right = np.linalg.svd(fixed, full_matrices=False)
    taken = right[singular > DETERMINED * singular.max(initial=0.0)]
    return np.asarray(np.eye(fixed.shape[1]) - taken.T @ taken)
