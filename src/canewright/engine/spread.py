"""How readings and priors spread into the released settings: the decompositions behind a covariance.

With a prior on every released setting the unit is the prior itself: the readings then change only as many directions as
there are readings, so that a decomposition of that size serves. Without, all rows are decomposed together.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

Matrix = NDArray[np.float64]
Vector = NDArray[np.float64]
DETERMINED = 1e-8
"""Smallest singular value, relative to the largest, of a direction that the readings and priors determine."""


class Spread(Protocol):
    """What readings and priors say of the released settings (scaled)."""

    @property
    def determined(self) -> int:
        """Number of directions that they determine."""

    @property
    def influence(self) -> Matrix:
        """Derivative of each released setting to each weighted reading and prior."""

    @property
    def known_by_itself(self) -> Vector:
        """For each row, the share of its fitted value that its own reading makes."""

    def rooted(self, slope: Matrix) -> Matrix:
        """Rows whose products with one another are the covariances of quantities with these derivatives."""

    def left_open(self, slope: Matrix) -> Matrix:
        """The part of these derivatives along directions that nothing determines."""


class Together:
    """All weighted rows decomposed together; directions may be left undetermined."""

    def __init__(self, rows: Matrix) -> None:
        """Decompose the rows (readings and priors by released settings)."""
        left, singular, right = np.linalg.svd(rows, full_matrices=False)
        keep = singular > DETERMINED * max(singular.max(initial=0.0), 1e-300)
        self._left, self._singular, self._right = left[:, keep], singular[keep], right[keep]

    @property
    def determined(self) -> int:
        """Number of directions that the rows determine."""
        return len(self._singular)

    @property
    def influence(self) -> Matrix:
        """Derivative of each released setting to each row's weighted value."""
        return np.asarray((self._right.T / self._singular) @ self._left.T)

    @property
    def known_by_itself(self) -> Vector:
        """For each row, the share of its fitted value that its own reading makes."""
        return np.asarray(np.sum(self._left**2, axis=1))

    def rooted(self, slope: Matrix) -> Matrix:
        """Rows whose products with one another are the covariances."""
        return np.asarray(slope @ (self._right.T / self._singular))

    def left_open(self, slope: Matrix) -> Matrix:
        """The part of these derivatives along directions that no row determines."""
        return np.asarray(slope - slope @ self._right.T @ self._right)


class Anchored:
    """Readings on settings that all have priors: (1 + AᵀA)⁻¹ in units of the priors, from A alone."""

    def __init__(self, readings: Matrix, weights: Vector) -> None:
        """``readings``: weighted rows by released settings; ``weights``: 1 / prior uncertainty of each (scaled)."""
        self._weights = weights
        self._left, self._singular, self._right = np.linalg.svd(readings / weights, full_matrices=False)

    @property
    def determined(self) -> int:
        """Every direction, for each has a prior."""
        return len(self._weights)

    @property
    def influence(self) -> Matrix:
        """Derivative of each released setting to each weighted reading, then to each weighted prior."""
        s, right = self._singular, self._right
        by_readings = (right.T * (s / (1 + s**2))) @ self._left.T
        by_priors = np.eye(len(self._weights)) - (right.T * (s**2 / (1 + s**2))) @ right
        return np.asarray(np.hstack([by_readings, by_priors]) / self._weights[:, None])

    @property
    def known_by_itself(self) -> Vector:
        """For each reading, the share of its fitted value that it makes itself."""
        s = self._singular
        return np.asarray(np.sum(self._left**2 * (s**2 / (1 + s**2)), axis=1))

    def rooted(self, slope: Matrix) -> Matrix:
        """Rows whose products with one another are the covariances: the slopes times (1 + AᵀA) to the power -1/2."""
        weighed = slope / self._weights
        less = 1 - 1 / np.sqrt(1 + self._singular**2)
        return np.asarray(weighed - ((weighed @ self._right.T) * less) @ self._right)

    def left_open(self, slope: Matrix) -> Matrix:
        """Nothing is left open."""
        return np.zeros_like(slope)


def best_change(readings: Matrix, weights: Vector, gap: Vector, prior_gap: Vector) -> Vector:
    """The change of the released settings that fits weighted gaps of readings and priors best (least squares).

    Solved in the space of the readings, which are fewer than the settings as a rule.
    """
    relative = readings / weights
    pull = np.linalg.solve(np.eye(len(gap)) + relative @ relative.T, gap - relative @ prior_gap)
    return np.asarray((prior_gap + relative.T @ pull) / weights)


class Curved:
    """The curvature of a fit at one state, for steps from states nearby: (AᵀA + weights²)⁻¹ from the readings' side."""

    def __init__(self, readings: Matrix, weights: Vector) -> None:
        """``readings``: weighted rows by released settings; ``weights``: 1 / prior uncertainty of each (scaled)."""
        self._relative, self._weights = readings / weights, weights
        self._root = cho_factor(np.eye(len(readings)) + self._relative @ self._relative.T)

    def change(self, downhill: Vector) -> Vector:
        """The step for this slope of (half) the sum of squares, downhill."""
        pull = downhill / self._weights
        return np.asarray((pull - self._relative.T @ cho_solve(self._root, self._relative @ pull)) / self._weights)
