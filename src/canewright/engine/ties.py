"""Unknowns that an equation ties to one other variable: what need not be solved for.

A fifth of a plant's equations say no more than that what leaves is as warm as what came, or that all of a component
goes on. With each tied unknown replaced by the variable it hangs on, there is less to eliminate, and a formula that is
given the same temperature and pressure under several names is worked once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

Hold = tuple[int, float, float]
"""The variable that another hangs on, the factor it is taken with, and what is added."""


@dataclass(frozen=True)
class Ties:
    """What each variable hangs on (itself, where it is not tied), and the equations that say so."""

    holds: Sequence[Hold]
    laws: Sequence[int]
    size: int

    @property
    def free_laws(self) -> list[int]:
        """The equations that are left to solve."""
        said = set(self.laws)
        return [i for i in range(self.size) if i not in said]

    @property
    def free(self) -> list[int]:
        """The unknowns that are left to solve for."""
        return [k for k in range(self.size) if self.holds[k][0] == k]

    def held(self, point: Any) -> Any:
        """Symbols of every variable with each tied one replaced by what it hangs on."""
        own = ca.vertsplit(point)
        return ca.vertcat(*(own[k] if on == k else f * own[on] + a for k, (on, f, a) in enumerate(self.holds)))

    def reduced(self, jacobian: sparse.csc_matrix) -> sparse.csc_matrix:
        """The Jacobian of the equations that are left to the unknowns that are left, from the whole one."""
        place = {k: j for j, k in enumerate(self.free)}
        into = [(k, place[on], f) for k, (on, f, _) in enumerate(self.holds) if on in place]
        rows, columns, factors = np.array(into).reshape(-1, 3).T
        spread = sparse.csc_matrix((factors, (rows.astype(int), columns.astype(int))), (len(self.holds), len(place)))
        return sparse.csc_matrix(jacobian[self.free_laws] @ spread)


def ties_of(residual: Any, point: Any, size: int) -> Ties:
    """The ties among equations ``residual`` of ``point``, whose first ``size`` entries are the unknowns."""
    holds: list[Hold] = [(k, 1.0, 0.0) for k in range(point.shape[0])]
    hangers: list[list[int]] = [[k] for k in range(len(holds))]
    laws = []
    for law, terms, constant in islice(_pairs(residual, point), max(size - 1, 0)):  # one unknown is left to solve for
        # what goes is the first in order: settings come last and stay
        (gone, a), (on, b) = sorted((holds[k][0], c * holds[k][1]) for k, c in terms)
        if gone >= size or gone == on or not LEAST <= abs(b / a) <= 1.0 / LEAST:
            continue
        factor, added = -b / a, -(constant + sum(c * holds[k][2] for k, c in terms)) / a
        for k in hangers[gone]:
            _, kept, before = holds[k]
            holds[k] = (on, kept * factor, kept * added + before)
        hangers[on] += hangers[gone]
        laws.append(law)
    return Ties(holds, laws, size)


LEAST = 1e-3
"""Factors of a tie lie between this and its inverse, so that a chain of ties loses no digits."""

Term = tuple[int, float]


def _pairs(residual: Any, point: Any) -> Iterator[tuple[int, list[Term], float]]:
    """The equations with two variables and constant factors: equation, both terms, and the constant."""
    pattern = ca.Function("pattern", [point], [residual]).jac_sparsity(0, 0)
    entries = np.bincount(np.array(pattern.row(), int), minlength=residual.shape[0])
    among = np.flatnonzero(entries == 2).tolist()
    jacobian = ca.jacobian(residual[among], point).T
    constants = _at_nothing(residual[among], point)
    starts, variables, factors = jacobian.colind(), jacobian.row(), jacobian.nonzeros()
    for number, law in enumerate(among):
        terms = [(variables[i], factors[i]) for i in range(starts[number], starts[number + 1])]
        if len(terms) == 2 and all(f.is_constant() for _, f in terms) and np.isfinite(constants[number]):
            yield law, [(k, float(f)) for k, f in terms], float(constants[number])


def _at_nothing(residual: Any, point: Any) -> NDArray[np.float64]:
    """The equations' values with every variable zero."""
    return np.asarray(ca.Function("nothing", [point], [residual])(0.0)).ravel()
