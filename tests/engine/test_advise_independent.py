"""Advise against published programmes, an independent solver and finite differences."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pytest
from scipy.optimize import NonlinearConstraint, minimize

from canewright.engine import Advice, Limit, Model, Move, NotSolved, Programme, predict
from canewright.engine.advise import _Asked
from canewright.engine.along import Along
from canewright.engine.conflict import Conflict
from engine.small_models import model_of, variable


def _held(say: Callable[[Mapping[str, Any]], Sequence[Any]], moves: int, laws: int) -> Model:
    """Unknowns y1, y2 ... that are functions of settings x1, x2 ...; the functions are squared away as laws."""
    unknowns = [variable(f"y{i + 1}", low=-1e6, high=1e6) for i in range(laws)]
    settings = [variable(f"x{i + 1}", low=-1e6, high=1e6) for i in range(moves)]
    return model_of(
        unknowns, settings, [f"y{i + 1} as given" for i in range(laws)],
        lambda v: [(v[f"y{i + 1}"], each) for i, each in enumerate(say(v))],
    )  # fmt: skip


def _solved(model: Model, x: Sequence[float]) -> Any:
    values = dict.fromkeys(model.names, 0.0) | {f"x{i + 1}": each for i, each in enumerate(x)}
    return predict(model, values).scaled


# --- published programmes (Hock & Schittkowski, Test Examples for Nonlinear Programming Codes, 1981, from memory) -----


def _problem_71() -> tuple[Programme, list[Limit], list[Move], Any]:
    """Least x1 x4 (x1 + x2 + x3) + x3 with product at least 25 and sum of squares 40, each from 1 to 5."""
    model = _held(
        lambda v: [
            v["x1"] * v["x4"] * (v["x1"] + v["x2"] + v["x3"]) + v["x3"],
            v["x1"] * v["x2"] * v["x3"] * v["x4"],
            v["x1"] ** 2 + v["x2"] ** 2 + v["x3"] ** 2 + v["x4"] ** 2,
        ],
        4, 3,
    )  # fmt: skip
    worth = model.expressions(lambda v: [-v["y1"]])
    limited = model.expressions(lambda v: [v["y2"], v["y3"]])
    moves = [Move(f"x{i}", 1.0, 5.0) for i in range(1, 5)]
    programme = Programme(model, worth, limited, [m.name for m in moves])
    return programme, [Limit("product", low=25.0), Limit("squares", 40.0, 40.0)], moves, _solved(model, (1, 5, 5, 1))


def test_problem_71() -> None:
    """Printed optimum 17.0140173 at (1, 4.7429994, 3.8211503, 1.3794082)."""
    programme, limits, moves, start = _problem_71()
    advice = programme.best(limits, moves, start)
    assert advice.method == "in the moves"
    assert -advice.worth_then == pytest.approx(17.0140173, abs=5e-8)
    found = [advice.values[f"x{i}"] for i in range(1, 5)]
    assert found == pytest.approx([1.0, 4.7429994, 3.8211503, 1.3794082], abs=5e-7)


def test_problem_43() -> None:
    """Rosen and Suzuki's; printed optimum -44 at (0, 1, 2, -1), the first and third limit binding."""
    model = _held(
        lambda v: [
            v["x1"] ** 2 + v["x2"] ** 2 + 2 * v["x3"] ** 2 + v["x4"] ** 2
            - 5 * v["x1"] - 5 * v["x2"] - 21 * v["x3"] + 7 * v["x4"],
            v["x1"] ** 2 + v["x2"] ** 2 + v["x3"] ** 2 + v["x4"] ** 2 + v["x1"] - v["x2"] + v["x3"] - v["x4"],
            v["x1"] ** 2 + 2 * v["x2"] ** 2 + v["x3"] ** 2 + 2 * v["x4"] ** 2 - v["x1"] - v["x4"],
            2 * v["x1"] ** 2 + v["x2"] ** 2 + v["x3"] ** 2 + 2 * v["x1"] - v["x2"] - v["x4"],
        ],
        4, 4,
    )  # fmt: skip
    worth = model.expressions(lambda v: [-v["y1"]])
    limited = model.expressions(lambda v: [v["y2"], v["y3"], v["y4"]])
    moves = [Move(f"x{i}", -10.0, 10.0) for i in range(1, 5)]
    limits = [Limit("first", high=8.0), Limit("second", high=10.0), Limit("third", high=5.0)]
    programme = Programme(model, worth, limited, [m.name for m in moves])
    advice = programme.best(limits, moves, _solved(model, (0, 0, 0, 0)))
    assert advice.worth_then == pytest.approx(44.0, abs=1e-9)
    assert [advice.values[f"x{i}"] for i in range(1, 5)] == pytest.approx([0.0, 1.0, 2.0, -1.0], abs=1e-6)
    assert advice.binding == ("first", "third")


def test_both_ways_find_the_same_best_state_and_prices() -> None:
    programme, limits, moves, start = _problem_71()
    asked = _Asked(programme, limits, moves, start)
    quick = programme.best(limits, moves, start)
    slow = programme._advice(asked, programme._in_all_variables(asked))
    assert slow.method == "in all variables"
    assert slow.worth_then == pytest.approx(quick.worth_then, rel=1e-7)
    for name in ("product", "squares"):
        assert slow.shadow_prices[name] == pytest.approx(quick.shadow_prices[name], rel=1e-5)
    assert slow.law_prices == pytest.approx(quick.law_prices, rel=1e-5, abs=1e-7)


def test_an_independent_solver_finds_the_same() -> None:
    """SciPy's trust-constr, derivatives by hand, on a programme with a curved feasible region."""
    programme, limits, moves, start = _problem_71()
    advice = programme.best(limits, moves, start)

    def slope(x: Any) -> Any:
        return np.array([x[3] * (2 * x[0] + x[1] + x[2]), x[0] * x[3], x[0] * x[3] + 1, x[0] * (x[0] + x[1] + x[2])])

    def held(x: Any) -> Any:
        return [x[0] * x[1] * x[2] * x[3], float(np.sum(x**2))]

    def slopes(x: Any) -> Any:
        return np.array([[np.prod(np.delete(x, i)) for i in range(4)], 2 * x])

    found = minimize(
        lambda x: x[0] * x[3] * (x[0] + x[1] + x[2]) + x[2], [1.0, 5.0, 5.0, 1.0], jac=slope, hess="2-point",
        method="trust-constr", bounds=[(1, 5)] * 4,
        constraints=[NonlinearConstraint(held, [25, 40], [np.inf, 40], jac=slopes, hess="2-point")],
        options={"gtol": 1e-9, "xtol": 1e-11, "maxiter": 3000},
    )  # fmt: skip
    assert -advice.worth_then == pytest.approx(found.fun, rel=1e-6)
    assert [advice.values[f"x{i}"] for i in range(1, 5)] == pytest.approx(found.x.tolist(), abs=1e-4)


# --- derivatives ------------------------------------------------------------------------------------------------------


def test_slopes_and_curvature_agree_with_finite_differences() -> None:
    programme, _, _, start = _problem_71()
    along = Along(programme.model, programme.both, programme.names, start)
    z, weights, nothing = np.array([1.3, 4.2, 3.9, 1.7]), np.array([1.0, -0.4, 0.3]), np.zeros(programme.model.n)
    slopes, bend = along.slopes(z), along.curvature(z, weights, nothing)
    for j in range(4):
        step = 1e-5 * np.eye(4)[j]
        difference = (along.values(z + step) - along.values(z - step)) / 2e-5
        assert slopes[:, j] == pytest.approx(difference, rel=1e-6, abs=1e-6)
        turned = weights @ (along.slopes(z + step) - along.slopes(z - step)) / 2e-5
        assert bend[:, j] == pytest.approx(turned, rel=1e-6, abs=1e-6)


def test_what_follows_counts_in_value_and_slope() -> None:
    """x2 goes up by two for each of x1: the best of -(x1 - 1)² - x2² from (0, 0) is at x1 = 0.2 by hand."""
    model = _held(lambda v: [-((v["x1"] - 1) ** 2) - v["x2"] ** 2], 2, 1)
    worth, none = model.expressions(lambda v: [v["y1"]]), model.expressions(lambda v: [])
    programme = Programme(model, worth, none, ["x1"], {"x2": {"x1": 2.0}})
    moves, start = [Move("x1", -5.0, 5.0)], _solved(model, (0, 0))
    advice = programme.best([], moves, start)
    assert (advice.values["x1"], advice.values["x2"]) == pytest.approx((0.2, 0.4), abs=1e-8)
    asked = _Asked(programme, [], moves, start)
    slow = programme._in_all_variables(asked)
    assert slow.scaled == pytest.approx(advice.scaled, abs=1e-6)


def test_the_price_of_a_law_is_what_a_source_in_it_brings() -> None:
    """The same programme with a source of 0.001 in the law that gives the product."""
    programme, limits, moves, start = _problem_71()
    price = programme.best(limits, moves, start).law_prices[1]

    def best(source: float) -> Advice:
        model = _held(
            lambda v: [
                v["x1"] * v["x4"] * (v["x1"] + v["x2"] + v["x3"]) + v["x3"],
                v["x1"] * v["x2"] * v["x3"] * v["x4"] + source,
                v["x1"] ** 2 + v["x2"] ** 2 + v["x3"] ** 2 + v["x4"] ** 2,
            ],
            4, 3,
        )  # fmt: skip
        worth = model.expressions(lambda v: [-v["y1"]])
        limited = model.expressions(lambda v: [v["y2"], v["y3"]])
        names = [m.name for m in moves]
        return Programme(model, worth, limited, names).best(limits, moves, _solved(model, (1, 5, 5, 1)))

    gained = (best(1e-3).worth_then - best(-1e-3).worth_then) / 2e-3
    assert -price == pytest.approx(gained, rel=1e-4)  # a source on the right side lowers the left less the right


# --- limits in conflict -----------------------------------------------------------------------------------------------


def test_a_smallest_set_in_conflict_is_named_with_what_each_would_have_to_allow() -> None:
    """Steam is a + b, sugar 2 a + b, both from 0 to 10; steam at most 4 and sugar at least 12 cannot be: 12 needs 6."""
    model = _held(lambda v: [v["x1"] + v["x2"], 2 * v["x1"] + v["x2"]], 2, 2)
    worth = model.expressions(lambda v: [v["y2"]])
    limited = model.expressions(lambda v: [v["y1"], v["y2"], v["y1"], v["x2"]])
    limits = [
        Limit("steam at most 4", high=4.0), Limit("sugar at least 12", low=12.0), Limit("steam at most 9", high=9.0),
        Limit("b at least nothing", low=0.0),
    ]  # fmt: skip
    moves = [Move("x1", 0.0, 10.0), Move("x2", 0.0, 10.0)]
    with pytest.raises(Conflict) as caught:
        Programme(model, worth, limited, ["x1", "x2"]).best(limits, moves, _solved(model, (1, 1)))
    named = {each.limit.sentence: each.needed for each in caught.value.limits}
    assert named == {"steam at most 4": pytest.approx(6.0, abs=1e-4), "sugar at least 12": pytest.approx(8.0, abs=1e-4)}
    assert "steam at most 9" not in str(caught.value)
    assert "x2" in caught.value.ends


def test_a_programme_refuses_what_is_not_its_own() -> None:
    programme, limits, moves, start = _problem_71()
    with pytest.raises(ValueError, match="not those of this programme"):
        programme.best(limits, moves[:2], start)
    with pytest.raises(ValueError, match="2 limited expressions but 1 limits"):
        programme.best(limits[:1], moves, start)
    with pytest.raises(NotSolved):
        programme.best([limits[0], Limit("squares", 3.0, 3.0)], moves, start)
