"""Small models for tests of the engine: linear balances and a table of named variables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr

from canewright.engine import Law, Measured, Model, Reconciliation, Variable, reconcile

INFINITE = float("inf")


def variable(name: str, nominal: float = 1.0, low: float = -INFINITE, high: float = INFINITE) -> Variable:
    """A variable in t/h."""
    return Variable(name, "t/h", nominal, low, high)


def model_of(
    unknowns: Sequence[Variable],
    settings: Sequence[Variable],
    sentences: Sequence[str],
    equations: Callable[[Mapping[str, Any]], Iterable[tuple[Any, Any]]],
) -> Model:
    """A model whose laws have these sentences, in t/h."""
    return Model(unknowns, settings, [Law("test", s, "t/h", 1.0) for s in sentences], equations)


class Balances:
    """Linear balances ``matrix @ flows = 0`` as a model: as many flows as balances depend on the others."""

    def __init__(self, matrix: NDArray[np.float64], nominal: Sequence[float] | None = None) -> None:
        """The dependent flows are the pivots of a QR factorisation, so that they can be solved for."""
        count, width = matrix.shape
        order = qr(matrix, pivoting=True)[2]
        sizes = [1.0] * width if nominal is None else list(nominal)
        names = [f"x{i + 1}" for i in range(width)]
        made = [variable(name, size) for name, size in zip(names, sizes, strict=True)]
        self.names = names
        self.free = [names[i] for i in sorted(order[count:])]
        dependent = [made[i] for i in sorted(order[:count])]
        independent = [made[i] for i in sorted(order[count:])]

        def equations(values: Mapping[str, Any]) -> Iterable[tuple[Any, Any]]:
            for row in matrix:
                yield sum(float(c) * values[n] for c, n in zip(row, names, strict=True) if c), 0.0

        self.model = model_of(dependent, independent, [f"balance {i + 1}" for i in range(count)], equations)

    def reconciled(self, read: Mapping[str, float], sd: Mapping[str, float] | None = None) -> Reconciliation:
        """The least-squares flows for these readings; no flow has a prior."""
        measured = [Measured(n, y, sd[n] if sd else 1.0) for n, y in read.items()]
        expressions = self.model.expressions(lambda v: [v[n] for n in read])
        start = self.model.scaled({n: read.get(n, 1.0) for n in self.names})
        return reconcile(self.model, expressions, measured, dict.fromkeys(self.free, (0.0, INFINITE)), start)
