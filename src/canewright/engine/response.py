"""How the reconciled settings answer a change of a reading: the exact derivative, curvature and misfit included.

The covariance takes the equations as straight lines near the answer; that is what a standard uncertainty means. The
derivative of the answer itself also feels how the equations bend, in proportion to what the readings still miss, so
with a suspect reading on the day the two differ by tens of per cent.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from canewright.engine.factors import Factors

if TYPE_CHECKING:
    from canewright.engine.model import Expressions, Model, Vector
    from canewright.engine.reconcile import Reconciliation

Matrix = NDArray[np.float64]


def bend_along(model: Model, expressions: Expressions, u: Vector, along: Matrix, pull: Vector) -> Matrix:
    """Second derivative of weighted quantities by released settings, the equations kept satisfied along the way.

    ``along`` holds the derivative of every variable to each released setting, ``pull`` the weight of each quantity.
    """
    n = model.n
    _, jacobian = model.jacobian_at(u)
    _, slope = expressions.jacobian_at(u)
    multiplier = -Factors(model, jacobian).solve_transposed(np.asarray(slope[:, :n].T @ pull))
    bend = expressions.curvature(u, multiplier, pull).sparse()
    return np.asarray(along.T @ (bend @ along))


def response(result: Reconciliation) -> Matrix:
    """Derivative of each released setting (scaled) to each weighted reading and prior, by the implicit function.

    Directions held by a bound, or that nothing determines, do not answer.
    """
    read = np.array([m.value for m in result.measured])
    sd = np.array([m.uncertainty for m in result.measured])
    bend = bend_along(
        result.model, result.expressions, result.scaled, result.sensitivity, -(read - result.estimates) / sd**2
    )
    hessian = result.rows.T @ result.rows + bend
    return np.asarray(np.linalg.pinv(hessian, rcond=1e-13, hermitian=True) @ result.rows.T)
