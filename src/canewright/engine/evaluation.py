"""Functions evaluated on plain arrays without copying, which for small calls takes longer than the arithmetic."""

from __future__ import annotations

from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LANES = 256
"""Columns that are evaluated together."""


def evaluated(function: ca.Function, point: Array) -> list[Array]:
    """The stored values of each output at a point (columns one after another); the structural zeros are left out.

    Raises RuntimeError where a linear system inside has no solution.
    """
    buffer: Any
    buffer, call = function.buffer()
    given: Any = np.ascontiguousarray(point, dtype=float)
    results: list[Any] = [np.full(function.nnz_out(i), np.nan) for i in range(function.n_out())]
    buffer.set_arg(0, memoryview(given))
    for i, result in enumerate(results):
        buffer.set_res(i, memoryview(result))
    call()
    if buffer.ret():  # several columns together fail without an error
        raise RuntimeError("a linear system has no solution")
    return results


def evaluated_columns(function: ca.Function, columns: Array, threads: int, output: int = 0) -> Array:
    """One dense output of a function for every column; not a number where it has no value."""
    count = columns.shape[1]
    lanes = min(LANES, count)
    many = function.map(lanes, "thread", threads) if lanes > 1 else function
    found = np.empty((function.size1_out(output), count), order="F")
    for first in range(0, count, lanes):
        here = np.minimum(np.arange(first, first + lanes), count - 1)
        together = columns[:, here]
        try:
            found[:, here] = evaluated(many, together.T.ravel())[output].reshape(lanes, -1).T
        except RuntimeError:  # one column has no value: each goes alone
            found[:, here] = np.column_stack([_alone(function, column, output) for column in together.T])
    return found


def _alone(function: ca.Function, column: Array, output: int) -> Array:
    try:
        return evaluated(function, column)[output]
    except RuntimeError:
        return np.full(function.size1_out(output), np.nan)
