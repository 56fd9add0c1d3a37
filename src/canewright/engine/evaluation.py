"""Functions evaluated on plain arrays without copying, which for small calls takes longer than the arithmetic."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LANES = 256
"""Columns that are evaluated together."""


def evaluated(function: ca.Function, *points: Array) -> list[Array]:
    """The stored values of each output (columns one after another); the structural zeros are left out.

    ``points`` are the function's inputs, the stored values of each.

    Raises RuntimeError where a linear system inside has no solution.
    """
    return _Places.of(function, [np.ascontiguousarray(point, dtype=float) for point in points]).filled()


class Ready:
    """A function that is evaluated many times: its places in memory are kept, one set for each thread."""

    def __init__(self, function: ca.Function) -> None:
        """Keep the function; places are made when a thread first asks."""
        self.function = function
        self._kept = threading.local()

    def __call__(self, *points: Array) -> list[Array]:
        """As ``evaluated``; the arrays given back are the caller's own."""
        try:
            places = self._kept.places
        except AttributeError:
            given = [np.empty(self.function.nnz_in(i)) for i in range(self.function.n_in())]
            places = self._kept.places = _Places.of(self.function, given)
        for place, point in zip(places.given, points, strict=True):
            place[:] = point
        return [result.copy() for result in places.filled()]


@dataclass(frozen=True)
class _Places:
    """Where a function reads its inputs and writes its results."""

    buffer: Any
    call: Any
    given: list[Array]
    results: list[Array]

    @classmethod
    def of(cls, function: ca.Function, given: list[Any]) -> _Places:
        buffer: Any
        buffer, call = function.buffer()
        results: list[Any] = [np.full(function.nnz_out(i), np.nan) for i in range(function.n_out())]
        for i, place in enumerate(given):
            buffer.set_arg(i, memoryview(place))
        for i, place in enumerate(results):
            buffer.set_res(i, memoryview(place))
        return cls(buffer, call, given, results)

    def filled(self) -> list[Array]:
        self.call()
        if self.buffer.ret():  # several columns together fail without an error
            raise RuntimeError("a linear system has no solution")
        return self.results


def evaluated_columns(function: ca.Function, columns: Array, threads: int, output: int = 0) -> Array:
    """One dense output of a function for every column; not a number where it has no value.

    Quickest where each column lies in one piece (Fortran order), as the answer does.
    """
    count = columns.shape[1]
    lanes = min(LANES, count)
    many = function.map(lanes, "thread", threads) if lanes > 1 else function
    points, found = columns.T, np.empty((count, function.size1_out(output)))
    for first in range(0, count, lanes):
        last = min(first + lanes, count)
        begin = last - lanes  # the last lot takes some columns again, for lots have one size
        try:
            found[begin:last] = evaluated(many, points[begin:last].ravel())[output].reshape(lanes, -1)
        except RuntimeError:  # one column has no value: each goes alone
            found[begin:last] = [_alone(function, point, output) for point in points[begin:last]]
    return np.asarray(found.T)


def _alone(function: ca.Function, column: Array, output: int) -> Array:
    try:
        return evaluated(function, column)[output]
    except RuntimeError:
        return np.full(function.size1_out(output), np.nan)
