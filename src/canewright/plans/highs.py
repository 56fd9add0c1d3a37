"""The door to the solver of linear programmes: HiGHS (Huangfu and Hall 2018), an open library."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
from scipy import sparse

from canewright.plans.harvest_tables import Floats

LARGE = 20_000
"""Unknowns from which the interior point with crossover is begun with; below, the simplex method is as quick."""


@dataclass(frozen=True)
class Solved:
    """An optimum: its value, the unknowns, and what one more unit of each row's limit would add."""

    value: float
    unknowns: Floats
    duals: Floats


class _Quiet(highspy.Highs):
    """The solver without its callbacks: enabling them prints a banner where a command prints its answer."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()


class Linear:
    """A linear programme that may be solved again with other gains and bounds, starting where it ended."""

    def __init__(self, gain: Floats, top: Floats, matrix: sparse.csc_matrix, low: Floats, high: Floats) -> None:
        """Maximise gain · x with 0 ≤ x ≤ top and low ≤ matrix x ≤ high."""
        self._solver: Any = _Quiet()
        self._solver.setOptionValue("output_flag", False)
        self._solver.setOptionValue("solver", "ipm" if gain.size > LARGE else "simplex")
        model: Any = highspy.HighsLp()
        model.num_col_, model.num_row_ = gain.size, low.size
        model.col_cost_, model.col_lower_, model.col_upper_ = gain, np.zeros(gain.size), top
        model.row_lower_, model.row_upper_ = low, high
        model.sense_ = highspy.ObjSense.kMaximize
        model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        model.a_matrix_.start_, model.a_matrix_.index_ = matrix.indptr, matrix.indices
        model.a_matrix_.value_ = matrix.data
        self._solver.passModel(model)
        self._gain = gain

    def solve(self) -> Solved | None:
        """The optimum, or None where no unknowns keep all rows. Raises RuntimeError if the solver gives up."""
        self._solver.run()
        status = self._solver.getModelStatus()
        self._solver.setOptionValue("solver", "simplex")
        if status in {highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible}:
            return None
        if status != highspy.HighsModelStatus.kOptimal:
            raise RuntimeError(f"the solver stopped with '{self._solver.modelStatusToString(status)}'")
        found = self._solver.getSolution()
        unknowns = np.clip(np.array(found.col_value), 0.0, None)
        return Solved(float(self._gain @ unknowns), unknowns, np.array(found.row_dual))

    def change(self, gain: Floats, top: Floats) -> None:
        """Other gains and upper bounds of the first unknowns; value() goes on counting the first gains."""
        places = np.arange(gain.size, dtype=np.int32)
        self._solver.changeColsCost(gain.size, places, gain)
        self._solver.changeColsBounds(gain.size, places, np.zeros(gain.size), top)
