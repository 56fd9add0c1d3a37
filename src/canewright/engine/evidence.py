"""What readings say against one another, as straight lines at the answer of a reconciliation.

Each reading is weighed by its uncertainty. ``checked`` tells what remains missed of a change of each reading once the
settings have followed it as far as they can: the unit matrix for readings that nothing could explain, zero for those
that nothing checks. Every test of what might be wrong needs only this matrix and what the readings miss now.
Theory: Narasimhan & Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 7 to 9 (from memory);
the identities are checked in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.stats import chi2

from canewright.engine.reconcile import Reconciliation
from canewright.engine.spread import Matrix, Vector

NOTHING = 1e-9
"""Of a change, the part missed below which nothing checks it."""

CHECKED = 0.02
"""Of a change, the squared part missed below which it is not checked in practice: an error would have to be some thirty
standard uncertainties large to be found, and allowing for one that nobody made would spoil the estimates."""


@dataclass(frozen=True)
class Evidence:
    """Readings by name, what is checked of each, and what each misses (both in standard uncertainties)."""

    names: tuple[str, ...]
    checked: Matrix
    missed: Vector
    uncertainty: Vector

    @classmethod
    def of(cls, result: Reconciliation) -> Evidence:
        """The evidence of a reconciled day: readings against each other and against priors."""
        count = len(result.measured)
        taken_up = (result.rows @ result.influence)[:count, :count]
        checked = np.eye(count) - 0.5 * (taken_up + taken_up.T)
        sd = np.array([m.uncertainty for m in result.measured])
        return cls(tuple(m.name for m in result.measured), checked, result.adjustments, sd)

    @classmethod
    def of_balances(cls, names: Sequence[str], balances: Matrix, read: Vector, uncertainty: Vector) -> Evidence:
        """The evidence of readings of every flow that must satisfy ``balances @ flows = 0``, without priors."""
        weighed = balances * uncertainty
        inner = np.linalg.pinv(weighed @ weighed.T)
        checked = weighed.T @ inner @ weighed
        return cls(tuple(names), checked, checked @ (read / uncertainty), uncertainty)

    @cached_property
    def spectrum(self) -> tuple[Vector, Matrix]:
        """Eigenvalues of ``checked``, between 0 and 1, and their directions."""
        value, direction = np.linalg.eigh(self.checked)
        return np.clip(value, 0.0, 1.0), direction

    @cached_property
    def freedom(self) -> int:
        """Degrees of freedom of the global test."""
        return int(np.sum(self.spectrum[0] > NOTHING))

    @cached_property
    def said(self) -> Vector:
        """Weighted readings that would be missed so, as far as anything checks them."""
        value, direction = self.spectrum
        kept = value > NOTHING
        return np.asarray(direction[:, kept] @ ((direction[:, kept].T @ self.missed) / value[kept]))

    @cached_property
    def objective(self) -> float:
        """Sum of squared weighted adjustments of readings and priors."""
        return float(self.missed @ self.said)

    def passes(self, level: float = 0.95) -> bool:
        """Whether all readings together agree with the equations: the global test at this level."""
        return self.freedom == 0 or self.objective <= float(chi2.ppf(level, self.freedom))

    def unseen(self, signature: Vector) -> bool:
        """Whether a change of the readings along this signature would be followed by the settings unnoticed."""
        return bool(signature @ self.checked @ signature <= NOTHING * max(float(signature @ signature), 1e-300))

    def checks(self, signature: Vector) -> bool:
        """Whether an error along this signature is checked in practice."""
        return bool(signature @ self.checked @ signature > CHECKED * float(signature @ signature))

    def allowing(self, signature: Vector) -> Evidence:
        """The evidence once an error of free size along this signature is allowed for.

        For one reading's own signature: the evidence without that reading.
        """
        left = self.checked @ signature
        size = float(signature @ left)
        return Evidence(
            self.names,
            self.checked - np.outer(left, left) / size,
            self.missed - left * (float(signature @ self.missed) / size),
            self.uncertainty,
        )
