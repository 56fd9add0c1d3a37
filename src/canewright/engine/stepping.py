"""Newton's step with the order of elimination chosen once, at a solved state, and used again near it.

The equations fall into blocks that can be solved one after another (Dulmage-Mendelsohn), each block is ordered for
little fill, and the pivots are those found at that state. A general routine finds all this anew at each step, which
takes longer than the elimination itself. Elsewhere the same order still gives the step to many digits; where a pivot
vanishes there is no step, and the caller takes the general way.
"""

from __future__ import annotations

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

PIVOT = 1e-3
"""A pivot that keeps fill low is taken when it is at least this part of the largest in its column."""

Order = tuple[NDArray[np.intp], NDArray[np.intp]]


def elimination_order(jacobian: sparse.csc_matrix) -> Order | None:
    """Rows and columns in an order in which plain elimination, without exchanges, is stable and keeps few nonzeros.

    None where the matrix is singular.
    """
    _, rows, columns, *_ = ca.DM(jacobian).sparsity().btf()
    blocks = jacobian[rows][:, columns].tocsc()
    try:
        factor = splu(blocks, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=PIVOT, relax=1)
    except RuntimeError:
        return None
    return np.asarray(rows)[np.argsort(factor.perm_r)], np.asarray(columns)[np.argsort(factor.perm_c)]


def stepper(residual_and_jacobian: ca.Function, size: int, order: Order) -> ca.Function:
    """Scaled residuals and the step that Newton would take from a full scaled vector, with this order."""
    rows, columns = ([int(i) for i in part] for part in order)
    point = ca.MX.sym("u", residual_and_jacobian.size1_in(0))
    residual, jacobian = residual_and_jacobian(point)
    step = ca.solve(jacobian[:, :size][rows, columns], residual[rows], "csparse")
    back = [int(i) for i in np.argsort(order[1])]
    return ca.Function("step", [point], [residual, step[back]])
