"""A model: named unknowns and settings, named equations, traced once into scaled symbolic functions.

Everything is scaled by declared nominal sizes, so that a residual or a step of 1e-10 means the same for a flow, a
temperature or a pressure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from operator import itemgetter
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from canewright.engine.evaluation import evaluated
from canewright.engine.stepping import Anchor, Steps, elimination_order, steps_of
from canewright.engine.ties import ties_of
from canewright.engine.tracing import Ranged, Tracer, identity, traced
from canewright.quantity import RangeBreach, answering

Vector = NDArray[np.float64]
Values = Mapping[str, Any]


@dataclass(frozen=True)
class Pattern:
    """Where a sparse derivative has entries: row of each, and where each column starts."""

    rows: NDArray[np.int32]
    starts: NDArray[np.int32]
    shape: tuple[int, int]

    @classmethod
    def of(cls, function: ca.Function) -> Pattern:
        """The pattern of a function's second output."""
        found = function.sparsity_out(1)
        return cls(np.array(found.row(), np.int32), np.array(found.colind(), np.int32), found.shape)

    def filled(self, entries: Vector) -> sparse.csc_matrix:
        """The sparse matrix with these entries."""
        return sparse.csc_matrix((entries, self.rows, self.starts), shape=self.shape)


@dataclass(frozen=True)
class Variable:
    """A named quantity of the model with its unit, nominal size and the range in which it makes sense."""

    name: str
    unit: str
    nominal: float
    low: float = -np.inf
    high: float = np.inf
    says: str = ""


@dataclass(frozen=True)
class Law:
    """One equation: whose it is, the sentence it is, its unit and the nominal size of its two sides."""

    owner: str
    sentence: str
    unit: str
    nominal: float

    def __str__(self) -> str:
        """Owner and sentence."""
        return f"{self.owner}: {self.sentence}"


Equations = Callable[[Values], Iterable[tuple[Any, Any]]]


class Model:
    """Equations F(unknowns, settings) = 0 with exact sparse derivatives.

    ``equations`` is called once with symbols and must give the two sides of each law in the order of ``laws``, one by
    one: what a formula is given while a law is made counts as that law's owner's.
    Raises ValueError when their numbers differ or a name is used twice.
    """

    def __init__(
        self, unknowns: Sequence[Variable], settings: Sequence[Variable], laws: Sequence[Law], equations: Equations
    ) -> None:
        """Trace the equations."""
        self.unknowns = tuple(unknowns)
        self.settings = tuple(settings)
        self.laws = tuple(laws)
        self.variables = self.unknowns + self.settings
        self.names = [v.name for v in self.variables]
        self.index = {name: i for i, name in enumerate(self.names)}
        if len(self.index) != len(self.names):
            raise ValueError("a variable name is used twice")
        self.nominal = np.array([v.nominal for v in self.variables])
        self.low = np.array([v.low for v in self.variables])
        self.high = np.array([v.high for v in self.variables])
        self.symbols = ca.SX.sym("u", len(self.names))
        self._steps: Steps | None = None
        self.kept: Anchor | None = None
        sides, self._checked = self._traced(equations)
        if len(sides) != len(self.laws):
            raise ValueError(f"{len(self.laws)} laws declared but {len(sides)} equations given")
        self.residual_graph = ca.vertcat(
            *[(left - right) / law.nominal for (left, right), law in zip(sides, self.laws, strict=True)]
        )

    def _traced(self, equations: Equations) -> tuple[list[tuple[Any, Any]], list[tuple[str, Ranged, Any]]]:
        """Both sides of every law, and the arguments with ranges that each law's owner gives to formulas."""
        sides, checked, tracer = [], [], Tracer()
        with answering(tracer):
            for number, pair in enumerate(equations(self._symbolic_values)):
                sides.append(pair)
                owner = self.laws[number].owner if number < len(self.laws) else ""
                checked += [(owner, ranged, expression) for ranged, expression in tracer.checked]
                tracer.checked.clear()
        return sides, checked

    @cached_property
    def _symbolic_values(self) -> Values:
        """Every variable in its own unit, as a symbol; the same one for all that is traced."""
        sized = ca.vertsplit(self.symbols * ca.DM(self.nominal))
        return dict(zip(self.names, sized, strict=True))

    @property
    def n(self) -> int:
        """Number of unknowns."""
        return len(self.unknowns)

    @cached_property
    def square(self) -> bool:
        """Whether there are as many equations as unknowns."""
        return len(self.laws) == self.n

    def scaled(self, values: Mapping[str, float]) -> Vector:
        """The full scaled vector of these values.

        Raises KeyError naming a missing variable.
        """
        return np.asarray(np.fromiter(self._in_order(values), float, len(self.names)) / self.nominal)

    @cached_property
    def _in_order(self) -> Callable[[Mapping[str, float]], tuple[float, ...]]:
        """Every variable's value of those given by name; one call for all is twice as quick as one for each."""
        if len(self.names) > 1:
            return itemgetter(*self.names)
        return lambda values: tuple(values[name] for name in self.names)

    def named(self, scaled: Vector) -> dict[str, float]:
        """Values by name of a full scaled vector."""
        return dict(zip(self.names, (scaled * self.nominal).tolist(), strict=True))

    @cached_property
    def residual(self) -> ca.Function:
        """Scaled residuals of a full scaled vector."""
        return ca.Function("residual", [self.symbols], [self.residual_graph])

    @cached_property
    def residual_and_jacobian(self) -> ca.Function:
        """Scaled residuals and their sparse Jacobian to the full scaled vector."""
        jacobian = ca.jacobian(self.residual_graph, self.symbols)
        return ca.Function("residual_and_jacobian", [self.symbols], [self.residual_graph, jacobian])

    @cached_property
    def root_problem(self) -> dict[str, Any]:
        """The square problem: unknowns as x, settings as p."""
        return {"x": self.symbols[: self.n], "p": self.symbols[self.n :], "g": self.residual_graph}

    @cached_property
    def newton(self) -> ca.Function:
        """Sparse Newton for the square problem."""
        options: dict[str, Any] = {
            "linear_solver": "qr",
            "abstol": 1e-12,
            "abstolStep": 1e-11,
            "max_iter": 40,
            "error_on_fail": False,
        }
        return ca.rootfinder("newton", "fast_newton", self.root_problem, options)

    def step(self, scaled: Vector) -> Steps | None:
        """Newton's steps, their elimination ordered at the first solved state given.

        None where the equations are singular at that state.
        """
        if self._steps is None:
            _, jacobian = self.jacobian_at(scaled)
            ties = ties_of(self.residual_graph, self.symbols, self.n)
            order = elimination_order(ties.reduced(jacobian)) if np.all(np.isfinite(jacobian.data)) else None
            steps = steps_of(self.residual_graph, self.symbols, ties, order) if order is not None else None
            self._steps = steps.sized(scaled) if steps is not None else None
        return self._steps

    @property
    def step_known(self) -> Steps | None:
        """What ``step`` has made, where a state has been solved before."""
        return self._steps

    def jacobian_at(self, scaled: Vector) -> tuple[Vector, sparse.csc_matrix]:
        """Scaled residuals and Jacobian (equations by all variables) at a point."""
        residual, entries = evaluated(self.residual_and_jacobian, scaled)
        return residual, self._pattern.filled(entries)

    @cached_property
    def _pattern(self) -> Pattern:
        return Pattern.of(self.residual_and_jacobian)

    def expressions(self, build: Callable[[Values], Sequence[Any]], name: str = "expressions") -> Expressions:
        """Trace further quantities of the same variables, for measuring, limits or money."""
        built, _ = traced(lambda: list(build(self._symbolic_values)))
        graph = ca.vertcat(*built)
        return Expressions(self, graph, name)

    @cached_property
    def _ranges(self) -> tuple[list[tuple[str, Ranged]], Vector, Vector, ca.Function]:
        """Each argument of a formula that has a range, once for each owner; their limits and their values."""
        once = {(owner, r, identity(x)): (owner, r, x) for owner, r, x in self._checked}
        kept = [(owner, r) for owner, r, _ in once.values()]
        function = ca.Function("ranges", [self.symbols], [ca.vertcat(*(x for _, _, x in once.values()))])
        least = np.array([r.declared.least for _, r in kept])
        return kept, least, np.array([r.declared.most for _, r in kept]), function

    def breaches(self, scaled: Vector) -> list[tuple[str, RangeBreach]]:
        """Arguments of formulas outside their ranges in a state, each with the owner of the law that uses it."""
        kept, least, most, function = self._ranges
        (values,) = evaluated(function, scaled)
        bad = np.flatnonzero(~((values >= least) & (values <= most)))
        return [(kept[i][0], kept[i][1].breach(float(values[i]))) for i in bad]

    def scaled_limits(self) -> tuple[Vector, Vector]:
        """Lowest and highest scaled value of every variable; new arrays, for the caller to narrow."""
        return self.low / self.nominal, self.high / self.nominal

    def outside(self, scaled: Vector, tolerance: float = 1e-9) -> list[tuple[Variable, float]]:
        """The variables that lie outside the range in which they make sense, with their values."""
        values = scaled * self.nominal
        slack = tolerance * self.nominal
        bad = np.flatnonzero((values < self.low - slack) | (values > self.high + slack))
        return [(self.variables[i], float(values[i])) for i in bad]


class Expressions:
    """Quantities computed from a model's variables, with their derivatives to the scaled variables."""

    def __init__(self, model: Model, graph: Any, name: str) -> None:
        """Compile the quantities."""
        self.model = model
        self.graph = graph
        self.size = int(graph.shape[0])
        self.name = name

    @cached_property
    def value(self) -> ca.Function:
        """Values at a full scaled vector."""
        return ca.Function(self.name, [self.model.symbols], [self.graph])

    @cached_property
    def value_and_jacobian(self) -> ca.Function:
        """Values and sparse Jacobian at a full scaled vector."""
        jacobian = ca.jacobian(self.graph, self.model.symbols)
        return ca.Function(f"{self.name}_jacobian", [self.model.symbols], [self.graph, jacobian])

    @cached_property
    def curvature(self) -> ca.Function:
        """Second derivative, to the scaled variables, of laws and these quantities under given weights."""
        law, own = ca.SX.sym("law", len(self.model.laws)), ca.SX.sym("own", self.size)
        weighted = ca.dot(law, self.model.residual_graph) + ca.dot(own, self.graph)
        bend, _ = ca.hessian(weighted, self.model.symbols)
        return ca.Function(f"{self.name}_curvature", [self.model.symbols, law, own], [bend])

    def at(self, scaled: Vector) -> Vector:
        """Values at a point."""
        return evaluated(self.value, scaled)[0]

    def jacobian_at(self, scaled: Vector) -> tuple[Vector, sparse.csc_matrix]:
        """Values and Jacobian at a point."""
        value, entries = evaluated(self.value_and_jacobian, scaled)
        return value, self._pattern.filled(entries)

    @cached_property
    def _pattern(self) -> Pattern:
        return Pattern.of(self.value_and_jacobian)
