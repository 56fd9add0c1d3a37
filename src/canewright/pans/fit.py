"""Growth and heat transfer fitted to a logged strike: weighted least squares with exact derivatives, and uncertainty.

The log drives the pan (feed, water, steam opening, vacuum); the constants asked for are moved until what the strike is
computed to do misses the readings least. A constant that the readings do not tell of is said to be not determined.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from canewright.engine.dynamics import NotIntegrated
from canewright.pans import motion
from canewright.pans.description import Described, StrikeRefused, closest
from canewright.pans.log import READINGS, Log
from canewright.pans.settings import declared
from canewright.quantity import noting_breaches

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
USUAL = ("growth.rate", "pan.heat_transfer", "pan.viscosity_exponent")
NOT_TOLD = 1e4
"""Spread of a constant on the width of its limits, or condition of the equations, beyond which it is not determined."""
FAR = 1e6
"""Residual that stands for a course that cannot be followed."""


@dataclass(frozen=True)
class FittedConstant:
    """A constant before and after; ``uncertainty`` is one standard uncertainty, None where it is not determined."""

    name: str
    unit: str
    before: float
    value: float
    uncertainty: float | None
    at_limit: bool


@dataclass(frozen=True)
class Fit:
    """What a log says of the constants."""

    constants: tuple[FittedConstant, ...]
    correlations: Matrix
    misfit: float
    freedom: int
    missed: Mapping[str, tuple[int, float, float]]
    """For each column: readings, root mean square miss before and after, on the standard uncertainty."""
    strike: Described
    times: Vector
    computed: Mapping[str, Vector]

    @property
    def chance(self) -> float:
        """Probability of a larger misfit by chance alone."""
        return float(stats.chi2.sf(self.misfit, self.freedom))


def fit(
    strike: Described, log: Log, wanted: Sequence[str] = USUAL, progress: Callable[[str], None] | None = None
) -> Fit:
    """Fit constants to a log.

    Uncertainties grow by the root of the misfit per degree of freedom where that is above one.
    Raises StrikeRefused naming a constant that is none, too few readings, or a log that the pan cannot follow.
    """
    names = list(wanted)
    for name in names:
        if name not in strike.values:
            raise StrikeRefused(f"no setting is called '{name[:60]}'; accepted: {closest(name, strike.values)}")
    if len(set(names)) < len(names) or not names:
        raise StrikeRefused(f"constants to fit: found {', '.join(names) or 'none'}; accepted: each once, at least one")
    freedom = log.count - len(names)
    if freedom < 1:
        raise StrikeRefused(
            f"found {log.count} readings for {len(names)} constants; accepted: at least {len(names) + 1}"
        )
    course = _Course(strike, log, names, progress)
    low, high = (np.array([getattr(declared(n), end) for n in names]) for end in ("low", "high"))
    first = np.array([strike.values[n] for n in names])
    size = np.maximum(np.abs(first), 1e-3 * (high - low))
    before = course.misses(first)
    if not np.isfinite(before).all() or abs(before).max() >= FAR:
        raise StrikeRefused(f"the log drives the pan where it cannot be followed: {course.stopped}")
    with np.errstate(all="ignore"):
        found = optimize.least_squares(
            lambda z: course.misses(z * size), first / size, lambda z: course.slopes(z * size) * size,
            bounds=(low / size, high / size), x_scale="jac", xtol=1e-10, ftol=1e-12,
        )  # fmt: skip
    value = found.x * size
    after, slopes = course.misses(value), course.slopes(value)
    misfit = float(after @ after)
    sds, correlations = _spread(slopes, max(1.0, misfit / freedom), high - low)
    constants = tuple(
        FittedConstant(
            n, declared(n).unit, float(b), float(x), sd, bool(min(x - lo, hi - x) <= 1e-6 * (hi - lo))
        )
        for n, b, x, sd, lo, hi in zip(names, first, value, sds, low, high, strict=True)
    )  # fmt: skip
    fitted = strike.with_values(dict(zip(names, value.tolist(), strict=True)))
    return Fit(
        constants, correlations, misfit, freedom, course.missed(before, after), fitted, log.times, course.told(value)
    )


def _spread(slopes: Matrix, scale: float, width: Vector) -> tuple[list[float | None], Matrix]:
    """Standard uncertainties, None where the readings do not tell, and correlations."""
    sized = slopes * width
    _, singular, right = np.linalg.svd(sized, full_matrices=False)
    told = singular > singular.max(initial=0.0) / NOT_TOLD
    inverse = np.where(told, 1.0 / np.where(told, singular, 1.0), 0.0)
    covariance = scale * (right.T * inverse**2) @ right
    # a constant that leans on a direction that nothing tells of has no uncertainty to give
    loose = np.sum(right[~told] ** 2, axis=0) > 1e-6
    sd = np.sqrt(np.diagonal(covariance))
    safe = np.where(sd > 0.0, sd, 1.0)
    given = [None if bad or not s else float(s * w) for s, w, bad in zip(sd, width, loose, strict=True)]
    return given, covariance / np.outer(safe, safe)


class _Course:
    """The strike as the log drives it, for given constants; the last ones are remembered."""

    def __init__(self, strike: Described, log: Log, names: list[str], progress: Callable[[str], None] | None) -> None:
        self.strike, self.log, self.names, self.progress = strike, log, names, progress
        self.motion = motion.by_recipe(
            strike.feeds, strike.choices["growth.law"], strike.choices["colour.included_from"]
        )
        self.inputs = np.array([log.inputs[name] for name in self.motion.inputs])
        self.columns = [READINGS[name][0] for name in log.readings]
        self.read = np.array(list(log.readings.values()))
        self.known = np.isfinite(self.read)
        self.sd = np.array([log.uncertainties[name] for name in log.readings])
        self.at: Vector | None = None
        self.stopped, self.runs = "", 0

    def _follow(self, constants: Vector) -> None:
        if self.at is not None and np.array_equal(self.at, constants):
            return
        self.at, self.runs = constants.copy(), self.runs + 1
        if self.progress is not None:
            self.progress(f"strike {self.runs}")
        values = {**self.strike.values, **dict(zip(self.names, constants.tolist(), strict=True))}
        with noting_breaches():
            try:
                self._walk(self.motion.vector(values))
                self.stopped = ""
            except NotIntegrated as stopped:
                self.stopped = str(stopped)

    def _walk(self, p: Vector) -> None:
        """States and derivatives at each moment; what is told there, driven by the inputs that led to it."""
        n, pick = len(self.motion.states), self.motion.chosen(self.names)
        x, along = np.zeros(n), np.zeros((n, len(self.names)))
        told, slopes = [], []
        for k in range(len(self.log.times)):
            if k:
                driven, length = self.inputs[:, k - 1], float(self.log.lengths[k - 1])
                x, along = self.motion.stepped_along(x, p, driven, length, np.vstack([along, pick]))
            u = self.inputs[:, max(k - 1, 0)]
            everything = self.motion.told(x[:, None], p, u)
            answer = self.motion.told_response(x, p, u, along, self.names)
            told.append([float(everything[c][0]) for c in self.columns])
            slopes.append([answer[c] for c in self.columns])
        self.computed, self.answer = np.array(told).T, np.array(slopes).transpose(1, 0, 2)

    def misses(self, constants: Vector) -> Vector:
        """Readings less what is computed, on their standard uncertainty."""
        self._follow(constants)
        if self.stopped:
            return np.full(int(self.known.sum()), FAR)
        return np.asarray(((self.computed - self.read) / self.sd[:, None])[self.known])

    def slopes(self, constants: Vector) -> Matrix:
        """Derivative of the misses by the constants."""
        self._follow(constants)
        return np.asarray((self.answer / self.sd[:, None, None])[self.known])

    def told(self, constants: Vector) -> dict[str, Vector]:
        """What is computed at each moment, by column of the log."""
        self._follow(constants)
        return dict(zip(self.log.readings, self.computed, strict=True))

    def missed(self, before: Vector, after: Vector) -> dict[str, tuple[int, float, float]]:
        """Number and root mean square misses of each column."""
        rows = np.repeat(np.arange(len(self.columns)), self.known.sum(axis=1))
        return {
            name: (
                int((rows == i).sum()),
                float(np.sqrt(np.mean(before[rows == i] ** 2))) if (rows == i).any() else 0.0,
                float(np.sqrt(np.mean(after[rows == i] ** 2))) if (rows == i).any() else 0.0,
            )
            for i, name in enumerate(self.log.readings)
        }
