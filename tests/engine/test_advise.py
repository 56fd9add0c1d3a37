"""Advise: a small programme whose optimum and shadow prices follow by hand."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Advice, Limit, Model, Move, NotSolved, advise, predict
from engine.small_models import model_of, variable

BOTH = (Move("a", 0.0, 10.0), Move("b", 0.0, 10.0))


def _model() -> Model:
    """Steam is a and twice b; the settings c is held."""
    return model_of(
        [variable("steam")], [variable("a"), variable("b"), variable("c")], ["steam is a and twice b"],
        lambda v: [(v["steam"], v["a"] + 2 * v["b"])],
    )  # fmt: skip


def _advised(limits: tuple[Limit, ...], moves: tuple[Move, ...] = BOTH) -> Advice:
    """Best of 4 a + 3 b - a² - b² + c from a = b = 0, c = 5."""
    model = _model()
    worth = model.expressions(lambda v: [4 * v["a"] + 3 * v["b"] - v["a"] ** 2 - v["b"] ** 2 + v["c"]])
    limited = model.expressions(lambda v: [v["steam"] for _ in limits])
    start = model.scaled({"steam": 0.0, "a": 0.0, "b": 0.0, "c": 5.0})
    return advise(model, worth, limited, limits, moves, start)


def test_without_limits() -> None:
    """By hand: a = 2, b = 1.5, gain 6.25; nothing binds; what was not to be moved stands still."""
    advice = _advised(())
    assert advice.values["a"] == pytest.approx(2.0, abs=1e-6)
    assert advice.values["b"] == pytest.approx(1.5, abs=1e-6)
    assert advice.values["c"] == 5.0
    assert advice.gain == pytest.approx(6.25, rel=1e-9)
    assert advice.worth_now == pytest.approx(5.0, rel=1e-12)
    assert advice.binding == ()
    assert advice.iterations == 1  # Newton on a quadratic


def test_with_a_limit() -> None:
    """By hand (Lagrange): steam at most 2 gives a = 1.4, b = 0.3, gain 4.45, shadow price 1.2."""
    advice = _advised((Limit("steam at most two", high=2.0),))
    assert advice.changes["a"] == pytest.approx((0.0, 1.4), abs=1e-7)
    assert advice.changes["b"] == pytest.approx((0.0, 0.3), abs=1e-7)
    assert advice.gain == pytest.approx(4.45, rel=1e-8)
    assert advice.shadow_prices["steam at most two"] == pytest.approx(1.2, rel=1e-6)
    assert advice.binding == ("steam at most two",)


def test_shadow_price_is_the_gain_of_relaxing() -> None:
    """Re-optimised with the limit relaxed by 0.1 %: within 2 % of what the shadow price says (definition)."""
    tight, loose = (_advised((Limit("steam", high=h),)) for h in (2.0, 2.002))
    assert (loose.gain - tight.gain) / 0.002 == pytest.approx(tight.shadow_prices["steam"], rel=0.02)
    low, lower = (_advised((Limit("steam", low=x),)) for x in (8.0, 7.992))
    assert (lower.gain - low.gain) / 0.008 == pytest.approx(-low.shadow_prices["steam"], rel=0.02)


def test_limit_of_a_move_has_a_price_too() -> None:
    """By hand: a at most 1 and steam at most 2 give b = 0.5, steam's price 1 and that of the move 1."""
    advice = _advised((Limit("steam", high=2.0),), (Move("a", 0.0, 1.0), Move("b", 0.0, 10.0)))
    assert advice.values["b"] == pytest.approx(0.5, abs=1e-7)
    assert advice.shadow_prices["steam"] == pytest.approx(1.0, rel=1e-6)
    assert advice.shadow_prices["limit of a"] == pytest.approx(1.0, rel=1e-6)
    assert set(advice.binding) == {"steam", "limit of a"}


def test_margin_is_kept() -> None:
    advice = _advised((Limit("steam", high=2.0, margin=0.1),))
    assert advice.values["steam"] == pytest.approx(1.9, abs=1e-8)


def test_advised_settings_predict_the_same_state() -> None:
    advice = _advised((Limit("steam", high=2.0),))
    again = predict(_model(), advice.values)
    assert again.values["steam"] == pytest.approx(advice.values["steam"], rel=1e-12)
    assert np.max(np.abs(np.asarray(_model().residual(advice.scaled)))) <= 1e-10


def test_limits_in_conflict_are_named_and_others_are_not() -> None:
    limits = (Limit("steam at least fifty", low=50.0), Limit("steam below a thousand", high=1000.0))
    with pytest.raises(NotSolved, match="steam at least fifty") as caught:
        _advised(limits)
    assert "steam below a thousand" not in str(caught.value)
    assert "would be 30" in str(caught.value)


def test_equations_that_cannot_hold_are_named() -> None:
    model = model_of(
        [variable("x", low=0.0)], [variable("a")], ["x is a less ten"], lambda v: [(v["x"], v["a"] - 10.0)]
    )
    worth = model.expressions(lambda v: [v["a"]])
    none = model.expressions(lambda v: [])
    with pytest.raises(NotSolved, match="x is a less ten"):
        advise(model, worth, none, (), (Move("a", 0.0, 5.0),), model.scaled({"x": 0.0, "a": 1.0}))


def test_endless_gain_is_no_advice() -> None:
    model = model_of([variable("x")], [variable("a")], ["x is a"], lambda v: [(v["x"], v["a"])])
    worth = model.expressions(lambda v: [v["x"]])
    none = model.expressions(lambda v: [])
    with pytest.raises(NotSolved, match="two finite limits"):
        advise(model, worth, none, (), (Move("a", 0.0, float("inf")),), model.scaled({"x": 1.0, "a": 1.0}))


def test_counts_must_agree() -> None:
    model = _model()
    worth = model.expressions(lambda v: [v["a"]])
    with pytest.raises(ValueError, match="1 limited expressions but 0 limits"):
        advise(model, worth, worth, (), BOTH, model.scaled({"steam": 0.0, "a": 0.0, "b": 0.0, "c": 0.0}))


def test_setting_held_outside_its_range_does_not_stand_in_the_way() -> None:
    """What is held is as it is: only unknowns and moves are kept within their ranges."""
    model = model_of(
        [variable("x", low=0.0, high=8.0)],
        [variable("a"), variable("loss", low=0.0)],
        ["x is a less loss"],
        lambda v: [(v["x"], v["a"] - v["loss"])],
    )
    worth = model.expressions(lambda v: [v["x"]])
    none = model.expressions(lambda v: [])
    start = model.scaled({"x": 1.5, "a": 1.0, "loss": -0.5})
    advice = advise(model, worth, none, (), (Move("a", 0.0, 5.0),), start)
    assert advice.values["loss"] == -0.5
    assert advice.values["x"] == pytest.approx(5.5, abs=1e-6)
