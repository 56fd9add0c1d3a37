"""Predict: what is solved is proved, and what is not solved is named. Cases are definitions, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Model, NotSolved, predict, predict_many
from canewright.quantity.maths import tanh
from engine.small_models import model_of, variable


def _square() -> Model:
    """The root of a number."""
    return model_of(
        [variable("root")], [variable("number")], ["the square of the root is the number"],
        lambda v: [(v["root"] ** 2, v["number"])],
    )  # fmt: skip


def _limited() -> Model:
    """A flow that cannot exceed 3 t/h."""
    return model_of(
        [variable("flow", low=0.0, high=3.0)], [variable("asked")], ["flow is what is asked"],
        lambda v: [(v["flow"], v["asked"])],
    )  # fmt: skip


def _pair(second: float) -> Model:
    """Two equations that say the sum of two unknowns: the same, or contradicting."""
    return model_of(
        [variable("juice"), variable("water")], [], ["the sum is one", "the sum again"],
        lambda v: [(v["juice"] + v["water"], 1.0), (v["juice"] + v["water"], second)],
    )  # fmt: skip


def test_root() -> None:
    solution = predict(_square(), {"root": 1.0, "number": 2.0})
    assert solution.values["root"] == pytest.approx(np.sqrt(2.0), rel=1e-12)
    assert solution.residual <= 1e-10
    assert solution.step <= 1e-9


def test_one_variable_that_is_a_setting() -> None:
    """Nothing to solve for is solved; a setting beyond its limits is still named."""
    only = model_of([], [variable("rate", low=0.0, high=9.0)], [], lambda v: [])
    assert predict(only, {"rate": 3.0}).values == {"rate": 3.0}
    with pytest.raises(NotSolved, match="rate would be 12 t/h, possible is 0 to 9 t/h"):
        predict(only, {"rate": 12.0})


def test_one_variable_that_is_an_unknown() -> None:
    """Nothing set: the number whose square is four."""
    only = model_of([variable("root")], [], ["its square is four"], lambda v: [(v["root"] ** 2, 4.0)])
    assert predict(only, {"root": 1.0}).values["root"] == pytest.approx(2.0, rel=1e-12)


def test_no_solution_names_the_equation() -> None:
    with pytest.raises(NotSolved, match="the square of the root is the number") as caught:
        predict(_square(), {"root": 1.0, "number": -4.0})
    assert caught.value.worst[0][1] >= 4.0


def test_contradiction_names_both_equations() -> None:
    with pytest.raises(NotSolved, match="the sum again") as caught:
        predict(_pair(2.0), {"juice": 0.3, "water": 0.3})
    assert {law.sentence for law, _ in caught.value.worst} == {"the sum is one", "the sum again"}


def test_singular_equations_name_what_they_leave_open() -> None:
    """Every residual can be zero; still nothing is called solved."""
    with pytest.raises(NotSolved, match=r"do not determine (juice, water|water, juice)"):
        predict(_pair(1.0), {"juice": 0.3, "water": 0.3})


def test_impossible_value_is_named_with_its_limits() -> None:
    with pytest.raises(NotSolved, match="flow would be 5 t/h, possible is 0 to 3 t/h") as caught:
        predict(_limited(), {"flow": 1.0, "asked": 5.0})
    assert caught.value.outside[0][0].name == "flow"


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
@pytest.mark.parametrize("name", ["root", "number"])
def test_values_that_are_no_numbers_are_named(name: str, bad: float) -> None:
    with pytest.raises(NotSolved, match=f"not numbers: {name}"):
        predict(_square(), {"root": 1.0, "number": 4.0, name: bad})


def test_missing_value_and_unsquare_model_are_refused() -> None:
    with pytest.raises(KeyError, match="number"):
        predict(_square(), {"root": 1.0})
    loose = model_of([variable("a"), variable("b")], [], ["a is one"], lambda v: [(v["a"], 1.0)])
    with pytest.raises(ValueError, match="1 equations for 2 unknowns"):
        predict(loose, {"a": 1.0, "b": 1.0})


def test_model_refuses_names_used_twice_and_wrong_counts() -> None:
    with pytest.raises(ValueError, match="used twice"):
        model_of([variable("a"), variable("a")], [], ["one"], lambda v: [(v["a"], 1.0)])
    with pytest.raises(ValueError, match="1 laws declared but 2 equations"):
        model_of([variable("a")], [], ["one"], lambda v: [(v["a"], 1.0), (v["a"], 2.0)])


def test_continuation_reaches_what_newton_cannot() -> None:
    """tanh(x) = a far from zero throws Newton out; from a solved neighbour the settings are moved in stages."""
    model = model_of(
        [variable("x", low=-10.0, high=10.0)], [variable("a")], ["tanh"],
        lambda v: [(tanh(v["x"]), v["a"])],
    )  # fmt: skip
    near = predict(model, {"x": 0.1, "a": 0.1})
    far = predict(model, {"x": 9.0, "a": 0.9}, last_solved=near.scaled)
    assert far.values["x"] == pytest.approx(np.arctanh(0.9), rel=1e-9)


def test_many_scenarios_each_have_a_status() -> None:
    """Numbers 1, 4, -1, 9, no number, 0: a root of zero is singular and not called solved by its small residual."""
    base = predict(_square(), {"root": 1.0, "number": 4.0})
    batch = predict_many(_square(), base, {"number": np.array([1.0, 4.0, -1.0, 9.0, np.nan, 0.0])})
    assert batch.status == ["newton", "newton", "not solved", "newton", "not solved", "not solved"]
    found = batch.of("root")
    assert found[[0, 1, 3]] == pytest.approx([1.0, 2.0, 3.0], rel=1e-9)
    assert np.all(np.isnan(found[[2, 4, 5]]))


def test_scenario_outside_a_limit_is_not_solved() -> None:
    base = predict(_limited(), {"flow": 1.0, "asked": 1.0})
    assert predict_many(_limited(), base, {"asked": np.array([2.0, 5.0])}).status == ["newton", "not solved"]


def test_many_agrees_with_one_at_a_time() -> None:
    model = _square()
    numbers = np.linspace(0.5, 60.0, 50)
    base = predict(model, {"root": 1.0, "number": 4.0})
    one = [predict(model, {"root": 2.0, "number": x}).values["root"] for x in numbers]
    assert predict_many(model, base, {"number": numbers}).of("root") == pytest.approx(one, rel=1e-9)
    assert predict_many(model, base, {"number": np.array([25.0])}).of("root") == pytest.approx([5.0], rel=1e-9)


def test_unknown_or_uneven_scenarios_are_refused() -> None:
    base = predict(_square(), {"root": 1.0, "number": 4.0})
    for name in ("root", "colour"):
        with pytest.raises(KeyError, match="not a setting"):
            predict_many(_square(), base, {name: np.array([1.0, 2.0])})
    for table in ({}, {"number": np.array([])}):
        with pytest.raises(ValueError, match="one length"):
            predict_many(_square(), base, table)
