"""A season smoothed together: what changes slowly is one unknown that wanders from day to day.

Each day's reconciliation says, along straight lines at its answer, how much its readings know of the slow quantities
once the day's own unknowns are let free within their priors. Slow quantities walk: tomorrow's is today's and a step of
unknown direction whose size is the *pace*. The most likely course of all days together is one block-tridiagonal system;
its factors give uncertainties, the likelihood of a pace, and a test for a sudden step or a drift. Theory: Durbin and
Koopman, Time Series Analysis by State Space Methods (2001); for the test Harvey and Koopman (1992) (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from canewright.engine.reconcile import Reconciliation
from canewright.engine.spread import Matrix, Vector

STILL = 1e-6
"""A pace below this part of the first uncertainty counts as this: a constant that still has a walk to be solved by."""
WITHIN = 3.84
"""Fall of twice the log likelihood within which another date is as good (95 % point of chi-square, one degree)."""


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
    """A sudden step or a drift: quantity, first and last day it may have begun and ended, its size and uncertainty."""

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


def told_by(result: Reconciliation, slow: Sequence[str], gains: Sequence[str] = ()) -> Day:
    """What a reconciled day's readings say of slow released settings (in their units) and of meters' gains (in %).

    The priors of the slow settings are left out: the walk has its own. Raises KeyError for a setting that was not
    released or a meter that was not read.
    """
    count = len(result.measured)
    names, meters = list(result.free), [m.name for m in result.measured]
    columns = [_place(names, n, "setting") for n in slow]
    model = result.model
    size = model.nominal[[model.index[n] for n in slow]] if slow else np.ones(0)
    readings = result.rows[:count]
    own = np.setdiff1d(np.arange(len(names)), columns)
    sd = np.array([m.uncertainty for m in result.measured])
    gained = np.zeros((count, len(gains)))
    for k, tag in enumerate(gains):
        i = _place(meters, tag, "meter")
        gained[i, k] = 0.01 * result.estimates[i] / sd[i]
    wanted = np.hstack([readings[:, columns] / size, gained])
    scale = model.nominal[[model.index[n] for n in names]]
    at = result.scaled[[model.index[n] for n in names]]
    prior = result.prior[own] / scale[own]
    weight = scale[own] / result.prior_uncertainty[own]
    missed = result.adjustments + readings @ at - readings[:, own] @ prior
    relative = readings[:, own] / weight
    kept = np.linalg.inv(np.eye(count) + relative @ relative.T)
    return Day(wanted.T @ kept @ wanted, wanted.T @ kept @ missed, float(missed @ kept @ missed))


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
        self._tie = np.diag(1.0 / walk.steps**2)
        self._begin = np.diag(1.0 / walk.uncertainty**2)
        self._factors = list(self._eliminated())

    def _eliminated(self) -> list[tuple[Matrix, bool]]:
        """Cholesky factors of the blocks left once the days before are eliminated."""
        factors: list[tuple[Matrix, bool]] = []
        for t, day in enumerate(self.days):
            block = day.information + (self._begin if t == 0 else self._tie)
            if t < len(self.days) - 1:
                block = block + self._tie
            if factors:
                block = block - self._tie @ cho_solve(factors[-1], self._tie)
            factors.append(cho_factor(block, lower=True))
        return factors

    def solved(self, pulls: Matrix) -> Matrix:
        """The course that answers to these pulls (days x quantities)."""
        forward, last = np.array(pulls, dtype=float), len(self.days) - 1
        for t in range(1, last + 1):
            forward[t] += self._tie @ cho_solve(self._factors[t - 1], forward[t - 1])
        course = np.empty_like(forward)
        course[last] = cho_solve(self._factors[last], forward[last])
        for t in range(last - 1, -1, -1):
            course[t] = cho_solve(self._factors[t], forward[t] + self._tie @ course[t + 1])
        return course

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
            gain = cho_solve(self._factors[t], self._tie)
            across[t] = gain @ own[t + 1]
            own[t] = cho_solve(self._factors[t], np.eye(count)) + across[t] @ gain.T
        return own, across

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
        misfit += float(start @ self._begin @ start) + float(np.sum(moved @ self._tie * moved))
        determinant = sum(2.0 * float(np.sum(np.log(np.diagonal(f[0])))) for f in self._factors)
        prior = -2.0 * float(np.sum(np.log(self.walk.uncertainty)))
        prior += -2.0 * (len(self.days) - 1) * float(np.sum(np.log(self.walk.steps)))
        return -0.5 * (misfit + determinant - prior)

    # --- what changed -----------------------------------------------------------------------------------------------

    def step(self, name: str) -> Change | None:
        """The likeliest sudden step of a quantity, with the days between which it may have come; None for one day."""
        k = self.walk.names.index(name)
        moved, variance = (m[:, k] for m in self.steps)
        if not len(moved):
            return None
        pace = float(self.walk.steps[k]) ** 2
        seen = np.maximum(pace - variance, 1e-12 * pace)
        test = moved**2 / seen
        best = int(np.argmax(test))
        near = np.flatnonzero(test > test[best] - WITHIN)
        size, sd = moved[best] * pace / seen[best], pace / np.sqrt(seen[best])
        return Change(name, "step", best + 1, best + 1, int(near[0]) + 1, int(near[-1]) + 1, float(size), float(sd))

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

    def likeliest_drift(self, name: str, shortest: int = 7, stride: int = 3) -> Change | None:
        """The likeliest drift of at least so many days, begins and ends looked for on every third day."""
        last = len(self.days) - 1
        found = [
            change
            for begins in range(0, last - shortest + 1, stride)
            for ends in range(begins + shortest, last + 1, stride)
            if (change := self.drift(name, begins, ends)) is not None
        ]
        if not found:
            return None
        best = max(found, key=lambda c: c.test)
        near = [c for c in found if c.test**2 > best.test**2 - WITHIN]
        return replace(best, earliest=min(c.begins for c in near), latest=max(c.ends for c in near))


def with_pace(walk: Walk, days: Sequence[Day], rounds: int = 60, settled: float = 1e-3) -> Walk:
    """The walk at its most likely pace, by expectation and maximisation from the pace given.

    A quantity whose pace is given as zero stays still.
    """
    moving = walk.pace > 0
    for _ in range(rounds):
        moved, variance = Smoothed(walk, days).steps
        if not len(moved):
            return walk
        fresh = np.where(moving, np.sqrt(np.mean(moved**2 + variance, axis=0)), 0.0)
        change = np.max(np.abs(np.log(fresh[moving] / walk.pace[moving])), initial=0.0)
        walk = replace(walk, pace=fresh)
        if change < settled:
            break
    return walk
