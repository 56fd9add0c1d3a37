"""How the whole state answers a change of some settings, along the equations."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from canewright.engine.factors import Factors
from canewright.engine.model import Expressions, Model, Vector

Matrix = NDArray[np.float64]
Places = Sequence[int] | NDArray[np.int_]


def total_slope(model: Model, expressions: Expressions, scaled: Vector, settings: Sequence[str]) -> Matrix:
    """Derivative of each expression to each named setting (scaled) with every equation kept satisfied.

    Raises KeyError for an unknown setting.
    """
    _, jacobian = model.jacobian_at(scaled)
    columns = [model.index[name] for name in settings]
    return slope_along(model, expressions.jacobian_at(scaled)[1], columns, Factors(model, jacobian), jacobian)


def slope_along(model: Model, slope: Any, columns: Places, factors: Factors, jacobian: Any) -> Matrix:
    """Derivatives to settings (by column) along the equations, from those to every variable.

    By the adjoint: one back-solve for each expression, however many settings there are.
    """
    dense = slope.toarray()
    weight = factors.solve_transposed(dense[:, : model.n].T) if len(dense) else np.zeros((model.n, 0))
    return np.asarray(dense[:, columns] - (model.columns_of(jacobian, columns).T @ weight).T)


def state_slope(model: Model, scaled: Vector, columns: Places) -> Matrix:
    """Derivative of every variable (scaled) to settings (by column, scaled), along the equations."""
    _, jacobian = model.jacobian_at(scaled)
    found = np.zeros((len(model.names), len(columns)))
    if len(columns):
        found[: model.n] = -Factors(model, jacobian).solve(model.columns_of(jacobian, columns).toarray())
    found[columns, np.arange(len(columns))] = 1.0
    return found
