"""Quantities of a model as functions of a few settings alone: each point solved, derivatives along the equations.

First derivatives by the implicit function; the second ones of a weighted sum by one adjoint solve and the exact
curvature of laws and quantities, projected on the directions in which the state can move.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from canewright.engine.evaluation import evaluated
from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.near import settle
from canewright.engine.solve import NotSolved

Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Following:
    """Settings that go with others along straight lines: their columns, and slopes (scaled) by what they follow."""

    columns: NDArray[np.int_]
    slopes: Matrix

    @classmethod
    def nothing(cls, count: int) -> Following:
        """None follow these so many."""
        return cls(np.zeros(0, dtype=int), np.zeros((0, count)))

    @classmethod
    def of(cls, model: Model, names: Sequence[str], slopes: Mapping[str, Mapping[str, float]]) -> Following:
        """From slopes by following setting and followed one, each in its unit."""
        columns = [model.index[name] for name in slopes]
        table = np.zeros((len(columns), len(names)))
        for row, (name, by) in enumerate(slopes.items()):
            for followed, slope in by.items():
                scale = model.nominal[model.index[followed]] / model.nominal[model.index[name]]
                table[row, list(names).index(followed)] = slope * scale
        return cls(np.array(columns, dtype=int), table)


class Along:
    """A model seen from some of its settings, starting at a solved state; the last point asked for is remembered."""

    def __init__(
        self,
        model: Model,
        quantities: Expressions,
        names: Sequence[str],
        start: Vector,
        following: Following | None = None,
    ) -> None:
        """``quantities`` are the ones whose values and derivatives are asked for; ``start`` is near a solved state.

        ``following`` holds further settings that go with the named ones. Raises NotSolved where the equations are
        singular at the start.
        """
        steps = model.step(start)
        if steps is None:
            raise NotSolved("the equations are singular at this state", [], [])
        self.model, self.quantities, self._steps = model, quantities, steps
        self.columns = np.array([model.index[name] for name in names], dtype=int)
        self.following = following or Following.nothing(len(self.columns))
        self._from, self._state, self._settled = start, start.copy(), False
        self._linear: tuple[Any, Matrix] | None = None

    def state(self, z: Vector) -> Vector:
        """The solved state at these values (scaled) of the settings.

        Raises NotSolved where Newton from the last point does not reach it.
        """
        if not self._settled or not np.array_equal(self._state[self.columns], z):
            asked = self._state.copy()
            asked[self.columns] = z
            also = self.following
            asked[also.columns] = self._from[also.columns] + also.slopes @ (z - self._from[self.columns])
            found = settle(self.model, self._steps, asked)
            if found is None:
                raise NotSolved("no state was found at these settings near the last ones", [], [])
            self._state, self._settled, self._linear = found.scaled, True, None
        return self._state

    def values(self, z: Vector) -> Vector:
        """The quantities."""
        return self.quantities.at(self.state(z))

    def linear(self, z: Vector) -> tuple[Any, Matrix]:
        """Factors of the equations, and the derivative of every variable to the settings (all scaled)."""
        u, n = self.state(z), self.model.n
        if self._linear is None:
            _, jacobian = self.model.jacobian_at(u)
            factors, also = splu(jacobian[:, :n].tocsc()), self.following
            answer = np.zeros((len(self.model.names), len(self.columns)))
            moved = jacobian[:, self.columns].toarray() + jacobian[:, also.columns] @ also.slopes
            answer[:n] = -factors.solve(moved)
            answer[self.columns, np.arange(len(self.columns))] = 1.0
            answer[also.columns] = also.slopes
            self._linear = factors, answer
        return self._linear

    def slopes(self, z: Vector) -> Matrix:
        """Derivative of each quantity to the settings (scaled), every equation kept satisfied."""
        _, answer = self.linear(z)
        return np.asarray(self.quantities.jacobian_at(self.state(z))[1] @ answer)

    def adjoint(self, z: Vector, weights: Vector, pull: Vector) -> Vector:
        """The weight of each law in the derivative of a sum: ``weights`` by quantities, ``pull`` by unknowns.

        A source of one (scaled) in a law moves that sum by minus its weight here.
        """
        factors, _ = self.linear(z)
        slope = self.quantities.jacobian_at(self.state(z))[1]
        return np.asarray(factors.solve(slope[:, : self.model.n].T @ weights + pull, trans="T"))

    def curvature(self, z: Vector, weights: Vector, pull: Vector) -> Matrix:
        """Second derivative of that sum to the settings (scaled)."""
        _, answer = self.linear(z)
        function = self.quantities.curvature
        (entries,) = evaluated(function, self.state(z), -self.adjoint(z, weights, pull), weights)
        pattern = function.sparsity_out(0)
        bend = sparse.csc_matrix((entries, pattern.row(), pattern.colind()), shape=pattern.shape)
        found = answer.T @ (bend @ answer)
        return np.asarray((found + found.T) / 2)
