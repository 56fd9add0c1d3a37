"""A season smoothed together: what changes slowly is one unknown that wanders from day to day.

Each day's reconciliation says, along straight lines at its answer, how much its readings know of the slow quantities
once the day's own unknowns are let free within their priors. Slow quantities walk: tomorrow's is today's and a step of
unknown direction whose size is the *pace*. The most likely course of all days together is one block-tridiagonal system;
its factors give uncertainties, the likelihood of a pace, and a test for a sudden step or a drift. Theory: Durbin and
Koopman, Time Series Analysis by State Space Methods (2001); for the test Harvey and Koopman (1992) (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.linalg import cho_factor, cho_solve, solve_triangular

from canewright.engine.reconcile import Reconciliation
from canewright.engine.spread import Matrix, Vector

STILL = 1e-6
"""A pace below this part of the first uncertainty counts as this: a constant that still has a walk to be solved by."""
WITHIN = 3.84
"""Fall of twice the log likelihood within which another date is as good (95 % point of chi-square, one degree)."""


BEYOND = 1.8
"""Steps of the pace (of its logarithm) by which those of expectation and maximisation, which are short, are taken."""


@dataclass(frozen=True)
class Day:
    """What one day says of the slow quantities: information, pull, and the misfit that is left at zero."""

    information: Matrix
    pull: Vector
    misfit: float

    @classmethod
    def silent(cls, count: int) -> Day:
        """A day without readings."""
        return cls(np.zeros((count, count)), np.zeros(count), 0.0)


@dataclass(frozen=True)
class Walk:
    """Slow quantities: names, first value with its standard uncertainty, and pace (standard step from day to day)."""

    names: tuple[str, ...]
    first: Vector
    uncertainty: Vector
    pace: Vector

    @property
    def steps(self) -> Vector:
        """The pace, kept off zero."""
        return np.asarray(np.maximum(self.pace, STILL * self.uncertainty))


@dataclass(frozen=True)
class Change:
    """A sudden step or a drift: quantity, size with uncertainty, and its days, counted from 0.

    A step is there from ``begins`` on, a drift grows after ``begins`` until ``ends``; it may have begun between
    ``earliest`` and ``latest``.
    """

    name: str
    kind: str
    begins: int
    ends: int
    earliest: int
    latest: int
    size: float
    uncertainty: float

    @property
    def test(self) -> float:
        """Size over its uncertainty, without sign."""
        return abs(self.size) / self.uncertainty


@dataclass(frozen=True)
class Told:
    """What one day's readings say of slow quantities, weighed: ``missed`` is what they miss where all are 0."""

    rows: Matrix
    missed: Vector

    def day(self, chosen: Sequence[int], others: Mapping[int, tuple[float, float]]) -> Day:
        """The day for the chosen quantities; the others are new every day, within their value and uncertainty."""
        kept = list(others)
        value, spread = (np.array([others[i][j] for i in kept]) for j in (0, 1))
        loose = self.rows[:, kept] * spread
        left = np.linalg.cholesky(np.eye(len(self.missed)) + loose @ loose.T)
        rows = solve_triangular(left, self.rows[:, list(chosen)], lower=True)
        missed = solve_triangular(left, self.missed - self.rows[:, kept] @ value, lower=True)
        return Day(rows.T @ rows, rows.T @ missed, float(missed @ missed))


def told_by(result: Reconciliation, slow: Sequence[str], gains: Sequence[str] = ()) -> Day:
    """What a reconciled day's readings say of slow released settings (in their units) and of meters' gains (in %).

    The priors of the slow settings are left out: the walk has its own. Raises KeyError for a setting that was not
    released or a meter that was not read.
    """
    told = rows_of(result, slow, gains)
    return told.day(range(len(slow) + len(gains)), {})


def rows_of(
    result: Reconciliation,
    slow: Sequence[str],
    gains: Sequence[str] = (),
    biases: Sequence[str] = (),
    lasting: float = 0.0,
) -> Told:
    """What a reconciled day's readings say of slow settings, of meters' gains (in %) and of biases (in their units).

    ``lasting`` is the part of the variance of a meter with a gain or bias that this gain or bias stands for, so that
    only the rest is new every day. Raises KeyError as ``told_by``.
    """
    count = len(result.measured)
    names, meters = list(result.free), [m.name for m in result.measured]
    columns = [_place(names, n, "setting") for n in slow]
    model = result.model
    scale = model.nominal[[model.index[n] for n in names]]
    own = np.setdiff1d(np.arange(len(names)), columns)
    sd = np.array([m.uncertainty for m in result.measured])
    erring = np.zeros((count, len(gains) + len(biases)))
    fresh = np.ones(count)
    for k, tag in enumerate([*gains, *biases]):
        i = _place(meters, tag, "meter")
        erring[i, k] = (0.01 * result.estimates[i] if k < len(gains) else 1.0) / sd[i]
        fresh[i] = np.sqrt(1.0 - lasting)
    readings = result.rows[:count] / fresh[:, None]
    at = result.scaled[[model.index[n] for n in names]]
    prior = result.prior[own] / scale[own]
    missed = result.adjustments / fresh + readings @ at - readings[:, own] @ prior
    relative = readings[:, own] * (result.prior_uncertainty[own] / scale[own])
    left = np.linalg.cholesky(np.eye(count) + relative @ relative.T)
    wanted = np.hstack([readings[:, columns] / scale[columns], erring / fresh[:, None]])
    return Told(solve_triangular(left, wanted, lower=True), solve_triangular(left, missed, lower=True))


def _place(names: Sequence[str], name: str, what: str) -> int:
    if name not in names:
        raise KeyError(f"no {what} '{name}' in this day")
    return names.index(name)


class Smoothed:
    """The most likely course of slow quantities over all days, with uncertainties (days x quantities)."""

    def __init__(self, walk: Walk, days: Sequence[Day]) -> None:
        """Solve all days together. Raises ValueError where there is no day."""
        if not days:
            raise ValueError("no day to smooth")
        self.walk, self.days = walk, tuple(days)
        self._tie = 1.0 / walk.steps**2
        self._begin = np.diag(1.0 / walk.uncertainty**2)
        self._factors = list(self._eliminated())

    def _eliminated(self) -> list[tuple[Matrix, bool]]:
        """Cholesky factors of the blocks left once the days before are eliminated.

        Ties from day to day are diagonal; ``_gains`` keeps how each day's quantities follow those of the day after.
        """
        factors: list[tuple[Matrix, bool]] = []
        self._gains: list[Matrix] = []
        for t, day in enumerate(self.days):
            block = day.information + (self._begin if t == 0 else np.diag(self._tie))
            if t < len(self.days) - 1:
                block = block + np.diag(self._tie)
            if factors:
                block = block - self._tie[:, None] * self._gains[-1]
            factors.append(cho_factor(block, lower=True))
            if t < len(self.days) - 1:
                self._gains.append(cho_solve(factors[-1], np.diag(self._tie)))
        return factors

    def solved(self, pulls: Matrix) -> Matrix:
        """The course that answers to these pulls (days x quantities)."""
        forward, last = np.array(pulls, dtype=float), len(self.days) - 1
        for t in range(1, last + 1):
            forward[t] += self._tied(cho_solve(self._factors[t - 1], forward[t - 1]))
        course = np.empty_like(forward)
        course[last] = cho_solve(self._factors[last], forward[last])
        for t in range(last - 1, -1, -1):
            course[t] = cho_solve(self._factors[t], forward[t] + self._tied(course[t + 1]))
        return course

    def _tied(self, values: Matrix) -> Matrix:
        """Values weighted by the tie between days."""
        return np.asarray((self._tie * values.T).T)

    @cached_property
    def mean(self) -> Matrix:
        """Most likely value of each quantity on each day."""
        pulls = np.array([day.pull for day in self.days])
        pulls[0] += self._begin @ self.walk.first
        return self.solved(pulls)

    @cached_property
    def _covariances(self) -> tuple[list[Matrix], list[Matrix]]:
        """Covariance of each day, and between each day and the next."""
        last, count = len(self.days) - 1, len(self.walk.names)
        own: list[Matrix] = [np.zeros((0, 0))] * (last + 1)
        across: list[Matrix] = [np.zeros((0, 0))] * last
        own[last] = cho_solve(self._factors[last], np.eye(count))
        for t in range(last - 1, -1, -1):
            across[t] = self._gains[t] @ own[t + 1]
            own[t] = self._gains[t] / self._tie + across[t] @ self._gains[t].T
        return own, across

    def covariance(self, day: int) -> Matrix:
        """Covariance of all quantities on one day."""
        return self._covariances[0][day]

    def across_days(self, name: str) -> Matrix:
        """Covariance of one quantity between all days."""
        k, count = self.walk.names.index(name), len(self.days)
        found = np.diag(self.uncertainty[:, k] ** 2)
        rows = np.zeros((0, len(self.walk.names)))
        begun = np.eye(len(self.walk.names))[[k]]
        for t in range(1, count):
            rows = np.vstack([rows, begun]) @ self._gains[t - 1]
            found[:t, t] = found[t, :t] = rows @ self.covariance(t)[:, k]
        return found

    @cached_property
    def uncertainty(self) -> Matrix:
        """Standard uncertainty of each quantity on each day."""
        return np.asarray(np.sqrt(np.array([np.diagonal(c) for c in self._covariances[0]])))

    @cached_property
    def steps(self) -> tuple[Matrix, Matrix]:
        """Step of each quantity from each day to the next, and its variance."""
        own, across = self._covariances
        variance = [
            np.diagonal(own[t]) + np.diagonal(own[t + 1]) - 2.0 * np.diagonal(across[t]) for t in range(len(across))
        ]
        count = len(self.walk.names)
        return np.diff(self.mean, axis=0), np.array(variance).reshape(-1, count)

    @cached_property
    def log_likelihood(self) -> float:
        """Log likelihood of the readings, up to what no pace changes."""
        course = self.mean
        misfit = sum(
            day.misfit - 2.0 * float(day.pull @ x) + float(x @ day.information @ x)
            for day, x in zip(self.days, course, strict=True)
        )
        start = course[0] - self.walk.first
        moved = np.diff(course, axis=0)
        misfit += float(start @ self._begin @ start) + float(np.sum(moved**2 * self._tie))
        determinant = sum(2.0 * float(np.sum(np.log(np.diagonal(f[0])))) for f in self._factors)
        prior = -2.0 * float(np.sum(np.log(self.walk.uncertainty)))
        prior += -2.0 * (len(self.days) - 1) * float(np.sum(np.log(self.walk.steps)))
        return -0.5 * (misfit + determinant - prior)

    # --- what changed -----------------------------------------------------------------------------------------------

    def drift(self, name: str, begins: int, ends: int) -> Change | None:
        """A drift by equal amounts on each day after ``begins`` up to ``ends``: its whole size and uncertainty.

        None where the days say nothing of it.
        """
        k, length = self.walk.names.index(name), ends - begins
        pace = float(self.walk.steps[k]) ** 2
        along = np.zeros((len(self.days), len(self.walk.names)))
        along[begins, k], along[ends, k] = -1.0, 1.0
        score = float(self.steps[0][begins:ends, k].sum()) / pace
        information = length / pace - float(np.sum(along * self.solved(along))) / pace**2
        if information <= 1e-12 * length / pace:
            return None
        size, sd = score / information, information**-0.5
        return Change(name, "drift", begins, ends, begins, ends, size * length, sd * length)


def with_pace(walk: Walk, days: Sequence[Day], rounds: int = 60, settled: float = 1e-3) -> Walk:
    """The walk at its most likely pace, by expectation and maximisation from the pace given, each step overdone.

    A quantity whose pace is given as zero stays still.
    """
    moving = walk.pace > 0
    for _ in range(rounds):
        moved, variance = Smoothed(walk, days).steps
        if not len(moved):
            return walk
        likelier = np.where(moving, np.sqrt(np.mean(moved**2 + variance, axis=0)), 1.0)
        change = np.log(likelier / np.where(moving, walk.pace, 1.0))
        walk = replace(walk, pace=np.where(moving, walk.pace * np.exp(BEYOND * change), 0.0))
        if np.max(np.abs(change), initial=0.0) < settled:
            break
    return walk
