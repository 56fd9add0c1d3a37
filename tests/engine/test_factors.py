"""Back-solves along the equations: the same answers with and without the elimination order, and singular ones told."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine.factors import Factors
from canewright.engine.model import Model
from engine.small_models import model_of, variable


def _model() -> Model:
    return model_of(
        [variable("a"), variable("b"), variable("c")],
        [variable("s"), variable("t")],
        ["first", "second", "third"],
        lambda v: [
            (v["a"] * v["s"], v["b"] + v["t"]),
            (v["b"] * v["b"], v["c"]),
            (v["c"] + v["a"], v["s"] * v["t"]),
        ],
    )


def _at(model: Model) -> tuple[np.ndarray, np.ndarray]:
    u = model.scaled({"a": 1.0, "b": 2.0, "c": 3.0, "s": 1.5, "t": 0.5})
    return u, model.jacobian_at(u)[1].toarray()[:, : model.n]


def test_with_and_without_the_order_of_elimination() -> None:
    """Against a dense solution, for one and several right-hand sides, both ways round."""
    model = _model()
    u, dense = _at(model)
    for ordered in (False, True):
        if ordered:
            model.step(u)
        assert (model.order is not None) == ordered
        factors = Factors(model, model.jacobian_at(u)[1])
        for right in (np.array([1.0, -2.0, 0.5]), np.arange(6.0).reshape(3, 2)):
            assert factors.solve(right) == pytest.approx(np.linalg.solve(dense, right))
            assert factors.solve_transposed(right) == pytest.approx(np.linalg.solve(dense.T, right))


def test_a_pivot_that_vanishes_is_chosen_anew() -> None:
    """The order chosen where every pivot is large serves also where one of them is zero."""
    model = _model()
    u, _ = _at(model)
    model.step(u)
    for name in ("a", "b", "c", "s", "t"):
        moved = u.copy()
        moved[model.index[name]] = 0.0
        jacobian = model.jacobian_at(moved)[1]
        dense = jacobian.toarray()[:, : model.n]
        if abs(np.linalg.det(dense)) > 1e-12:
            right = np.array([1.0, 2.0, 3.0])
            assert Factors(model, jacobian).solve(right) == pytest.approx(np.linalg.solve(dense, right))


def test_singular_equations_are_told() -> None:
    model = model_of(
        [variable("a"), variable("b")], [], ["one", "same"], lambda v: [(v["a"], v["b"]), (v["b"], v["a"])]
    )
    with pytest.raises(RuntimeError, match="singular"):
        Factors(model, model.jacobian_at(model.scaled({"a": 1.0, "b": 1.0}))[1])


def test_columns_of_the_jacobian_are_those_asked_for_each_time() -> None:
    model = _model()
    u, _ = _at(model)
    for state in (u, 2.0 * u):
        jacobian = model.jacobian_at(state)[1]
        for columns in ([3, 4], [4], [0, 3]):
            assert model.columns_of(jacobian, columns).toarray() == pytest.approx(jacobian.toarray()[:, columns])
