"""Newton's step with its elimination written out once, at a solved state, and used again near it and far from it.

The order of elimination is Markowitz's: each pivot is the entry that can spoil the fewest zeros among those large
enough in their column. On the equations of a plant, most of them balances with few terms, that leaves hardly any fill.
The elimination is then written out as plain operations and joined to those of the residuals and their Jacobian, so that
what is constant or zero is left out and nothing is looked for while it runs. Where a pivot vanishes the step is not a
number; where pivots are poor the factors grow, and the step is trusted only while they do not.

Source of the order: H. M. Markowitz, The elimination form of the inverse and its application to linear programming,
Management Science 3 (1957) 255-269; with a threshold as in I. S. Duff, A. M. Erisman, J. K. Reid, Direct Methods for
Sparse Matrices (1986), chapter 5 (from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from canewright.engine.evaluation import Ready
from canewright.engine.ties import Ties

PIVOT = 0.1
"""A pivot that spoils few zeros is taken when it is at least this part of the largest in its column."""
COMPARED = 8
"""Shortest columns among which each pivot is sought."""

Order = tuple[list[int], list[int]]
Entries = dict[int, Any]


@dataclass(frozen=True)
class Steps:
    """Newton's step from a full scaled vector, and a further one with factors that an earlier one left.

    ``whole`` gives residuals, step and factors; ``again`` takes a vector and factors and gives residuals and step.
    Rounding spoils a step in proportion to the size of its factors; ``usual`` is their size where the order was chosen.
    """

    whole: Ready
    again: Ready
    usual: float = np.inf

    def sized(self, point: NDArray[np.float64]) -> Steps:
        """These steps with the size that factors have at a point."""
        return replace(self, usual=float(np.abs(self.whole(point)[2]).max(initial=0.0)))


@dataclass(frozen=True)
class Anchor:
    """A solved state with the factors of the step from it."""

    steps: Steps
    scaled: NDArray[np.float64]
    factors: NDArray[np.float64]


def elimination_order(jacobian: sparse.csc_matrix) -> Order | None:
    """Rows and columns in the order in which their pivots are taken; None where the matrix is singular."""
    rows, columns = _entries(jacobian)
    order: Order = ([], [])
    left = set(range(len(columns)))
    while left:
        pivot = _cheapest(rows, columns, heapq.nsmallest(COMPARED, left, key=lambda j: len(columns[j])))
        if pivot is None:
            return None
        _take(rows, columns, *pivot)
        left.discard(pivot[1])
        order[0].append(pivot[0])
        order[1].append(pivot[1])
    return order


def _entries(matrix: sparse.csc_matrix) -> tuple[list[Entries], list[Entries]]:
    """The entries by row and by column."""
    rows: list[Entries] = [{} for _ in range(matrix.shape[0])]
    columns: list[Entries] = [{} for _ in range(matrix.shape[1])]
    listed = matrix.tocoo()
    for i, j, value in zip(listed.row.tolist(), listed.col.tolist(), listed.data.tolist(), strict=True):
        rows[i][j] = columns[j][i] = value
    return rows, columns


def _cheapest(rows: Sequence[Entries], columns: Sequence[Entries], among: Iterable[int]) -> tuple[int, int] | None:
    """The large enough entry of these columns that can spoil the fewest zeros; the larger one where two are equal."""
    found = [
        ((len(rows[i]) - 1) * (len(columns[j]) - 1), -abs(value), i, j)
        for j in among
        for i, value in columns[j].items()
        if value and abs(value) >= PIVOT * max(map(abs, columns[j].values()))
    ]
    return min(found)[2:] if found else None


def _take(rows: list[Entries], columns: list[Entries], i: int, j: int) -> None:
    """Eliminate with this pivot."""
    row, column = rows[i], columns[j]
    pivot = row.pop(j)
    del column[i]
    for k in row:
        del columns[k][i]
    for other, value in column.items():
        del rows[other][j]
        share = value / pivot
        for k, above in row.items():
            rows[other][k] = columns[k][other] = rows[other].get(k, 0.0) - share * above
    rows[i], columns[j] = {}, {}


def steps_of(residual: Any, point: Any, ties: Ties, order: Order) -> Steps:
    """Residuals and step as functions of ``point``; ``order`` eliminates what the ties leave.

    The step takes every unknown, also a tied one, so the state after it keeps every tie.
    """
    left = ca.substitute([residual[ties.free_laws]], [point], [ties.held(point)])[0]
    # forward: on plants this way gives a fifth fewer operations than the way that needs the fewest sweeps
    jacobian = ca.jacobian(left, point, {"allow_reverse": False})[:, ties.free]
    left, jacobian = ca.cse([left, jacobian])
    factors = _factors(jacobian[order[0], order[1]])
    told = ca.vertcat(left, residual[ties.laws])
    step = _of_all(_solved(factors, left, order), point, ties)
    held = ca.vertcat(*(f for part in factors for f in part.nonzeros() if not f.is_constant()))
    whole = Ready(ca.Function("step", [point], [told, step, held]))
    kept = ca.SX.sym("factors", held.shape[0])
    by = iter(ca.vertsplit(kept))
    further = _solved((_replaced(factors[0], by), _replaced(factors[1], by)), left, order)
    return Steps(whole, Ready(ca.Function("again", [point, kept], [told, _of_all(further, point, ties)])))


def _of_all(step: Any, point: Any, ties: Ties) -> Any:
    """The step of all unknowns from that of those which hang on nothing."""
    own, steps = ca.vertsplit(point), dict(zip(ties.free, ca.vertsplit(step), strict=True))
    return ca.vertcat(
        *(
            steps[k] if on == k else own[k] - (f * (own[on] - steps.get(on, 0.0)) + a)
            for k, (on, f, a) in enumerate(ties.holds[: ties.size])
        )
    )


Factors = tuple[Any, Any]


def _factors(matrix: Any) -> Factors:
    """The lower factor, with ones on its diagonal, and the upper one of a symbolic matrix, pivots down its diagonal."""
    rows, columns = _symbols(matrix)
    below: list[Entries] = [{k: ca.SX(1)} for k in range(len(rows))]
    for k, row in enumerate(rows):
        pivot = row[k]
        for i in sorted(i for i in columns[k] if i > k):
            share = below[i][k] = rows[i].pop(k) / pivot
            for j, above in row.items():
                if j > k:
                    rows[i][j] = rows[i][j] - share * above if j in rows[i] else -(share * above)
                    columns[j].add(i)
    return _joined(below), _joined(rows)


def _symbols(matrix: Any) -> tuple[list[Entries], list[set[int]]]:
    """Rows of entries, and the rows that have an entry in each column."""
    rows: list[Entries] = [{} for _ in range(matrix.shape[0])]
    columns: list[set[int]] = [set() for _ in range(matrix.shape[1])]
    pattern = matrix.sparsity()
    for i, j, entry in zip(pattern.row(), pattern.get_col(), matrix.nonzeros(), strict=True):
        rows[i][j] = entry
        columns[j].add(i)
    return rows, columns


def _joined(rows: Sequence[Entries]) -> Any:
    """The sparse matrix of these rows."""
    size = len(rows)
    listed = sorted((j, i) for i, row in enumerate(rows) for j in row)
    pattern = ca.Sparsity.triplet(size, size, [i for _, i in listed], [j for j, _ in listed])
    return ca.SX(pattern, ca.vertcat(*(rows[i][j] for j, i in listed)))


def _replaced(factor: Any, by: Iterator[Any]) -> Any:
    """The same factor with each entry that varies replaced by the next of these."""
    entries = [f if f.is_constant() else next(by) for f in factor.nonzeros()]
    return ca.SX(factor.sparsity(), ca.vertcat(*entries))


def _solved(factors: Factors, right: Any, order: Order) -> Any:
    """The solution of the linear equations with this right-hand side."""
    found = ca.solve(factors[1], ca.solve(factors[0], right[order[0]]))
    back = sorted(range(len(order[1])), key=order[1].__getitem__)
    return found[back]
