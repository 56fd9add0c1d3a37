"""Reconcile: priors, limits, shares of variance and refusals, by hand and by definition."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Measured, Model, Reconciliation, reconcile
from engine.small_models import INFINITE, model_of, variable


def _model(highest_flow: float = 30.0, highest_setting: float = 30.0) -> Model:
    """Product is a and b together."""
    return model_of(
        [variable("product", low=0.0, high=highest_flow)],
        [variable("a", low=0.0, high=highest_setting), variable("b", low=0.0, high=30.0)],
        ["product is a and b"], lambda v: [(v["product"], v["a"] + v["b"])],
    )  # fmt: skip


def _day(model: Model, read: dict[str, tuple[float, float]], priors: dict[str, tuple[float, float]]) -> Reconciliation:
    measured = [Measured(n, y, sd) for n, (y, sd) in read.items()]
    expressions = model.expressions(lambda v: [v[n] for n in read])
    return reconcile(model, expressions, measured, priors, model.scaled({"product": 2.0, "a": 1.0, "b": 1.0}))


def test_reading_and_prior_are_weighted() -> None:
    """By hand: a reading 5 ± 1 of a + b with priors 1 ± 1 and 2 ± 2: the gap 2 is shared 1 : 4 of 6."""
    result = _day(_model(), {"product": (5.0, 1.0)}, {"a": (1.0, 1.0), "b": (2.0, 2.0)})
    assert result.values["a"] == pytest.approx(1.0 + 2.0 / 6.0, rel=1e-9)
    assert result.values["b"] == pytest.approx(2.0 + 8.0 / 6.0, rel=1e-9)
    assert result.values["product"] == pytest.approx(5.0 - 2.0 / 6.0, rel=1e-9)
    assert result.variable_uncertainty["product"] == pytest.approx((1 / (1 + 1 / 5)) ** 0.5, rel=1e-9)
    assert result.objective == pytest.approx(4.0 / 6.0, rel=1e-9)
    assert result.freedom == 1


def test_shares_of_variance_sum_to_one() -> None:
    result = _day(_model(), {"product": (5.0, 1.0)}, {"a": (1.0, 1.0), "b": (2.0, 2.0)})
    names = ("product", "a", "b")
    everything = result.model.expressions(lambda v: [v[n] for n in names])
    for name in names:
        shares = result.shares(everything, names.index(name))
        assert sum(share for _, _, share in shares) == pytest.approx(1.0, rel=1e-12)
        assert {n for n, _, _ in shares} == {"product", "prior: a", "prior: b"}


def test_derivatives_to_readings_are_those_of_the_answer() -> None:
    """Moving a reading by a little moves the answer by the derivative that is reported (definition)."""
    priors = {"a": (1.0, 1.0), "b": (2.0, 2.0)}
    here, there = (_day(_model(), {"product": (y, 1.0)}, priors) for y in (5.0, 5.001))
    reported = {n: d for n, d, _ in here.shares(here.model.expressions(lambda v: [v["b"]]))}
    assert (there.values["b"] - here.values["b"]) / 0.001 == pytest.approx(reported["product"], rel=1e-6)


def test_monte_carlo_agrees_with_the_covariance() -> None:
    """Four hundred noisy days (seed 7): estimates scatter as widely as reported, chi-square has its mean."""
    chance = np.random.default_rng(7)
    truth = {"a": (11.0, 1.0), "b": (12.0, 2.0)}
    found = []
    for _ in range(400):
        noisy = {n: (float(chance.normal(value, sd)), sd) for n, (value, sd) in truth.items()}
        found.append(_day(_model(), {"product": (float(chance.normal(23.0, 1.0)), 1.0)}, noisy))
    errors = np.array([r.values["product"] - 23.0 for r in found])
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(found[0].variable_uncertainty["product"], rel=0.1)
    assert np.mean([r.objective for r in found]) == pytest.approx(1.0, abs=0.25)


@pytest.mark.parametrize(("flow", "setting", "held"), [(3.0, 30.0, "product"), (30.0, 1.5, "a")])
def test_active_limit_is_named_and_carries_no_uncertainty(flow: float, setting: float, held: str) -> None:
    """A state pressed against a limit, of an unknown or of a setting: that one is held, the others stay free."""
    priors = {"a": (1.0, 1.0), "b": (1.0, 1.0)}
    result = _day(_model(flow, setting), {"product": (9.0, 0.1)}, priors)
    assert result.at_bound == (held,)
    assert result.variable_uncertainty[held] == 0.0
    assert result.variable_uncertainty["b"] > 0.0
    assert result.values[held] == pytest.approx({"product": flow, "a": setting}[held], abs=1e-6)
    assert np.max(np.abs(np.asarray(result.model.residual(result.scaled)))) <= 1e-10


def test_held_product_ties_its_parts_together() -> None:
    """By hand: with a + b held, priors of one give each part an uncertainty of the root of a half."""
    result = _day(_model(3.0), {"product": (9.0, 0.1)}, {"a": (1.0, 1.0), "b": (1.0, 1.0)})
    assert result.variable_uncertainty["a"] == pytest.approx(0.5**0.5, rel=1e-6)
    assert result.values["a"] == pytest.approx(1.5, abs=1e-6)


def test_without_prior_or_reading_nothing_is_known() -> None:
    result = _day(_model(), {"product": (5.0, 1.0)}, {"a": (1.0, INFINITE), "b": (2.0, INFINITE)})
    assert np.isnan(result.variable_uncertainty["a"])
    assert result.variable_uncertainty["product"] == pytest.approx(1.0, rel=1e-9)
    assert result.redundancy["product"] == pytest.approx(0.0, abs=1e-12)
    assert result.suspicions == []
    assert result.freedom == 0


def test_nothing_released_leaves_the_state_and_tests_every_reading() -> None:
    result = _day(_model(), {"product": (5.0, 1.0)}, {})
    assert result.values["product"] == 2.0
    assert result.suspicions[0].test == pytest.approx(3.0, rel=1e-12)
    assert result.freedom == 1


@pytest.mark.parametrize(
    ("read", "priors", "said"),
    [
        ({"product": (float("nan"), 1.0)}, {}, "reading 'product'"),
        ({"product": (5.0, 0.0)}, {}, "reading 'product'"),
        ({"product": (5.0, -1.0)}, {}, "reading 'product'"),
        ({"product": (5.0, INFINITE)}, {}, "reading 'product'"),
        ({"product": (5.0, 1.0)}, {"a": (1.0, 0.0)}, "prior of 'a'"),
        ({"product": (5.0, 1.0)}, {"a": (1.0, -1.0)}, "prior of 'a'"),
        ({"product": (5.0, 1.0)}, {"a": (float("nan"), 1.0)}, "prior of 'a'"),
    ],
)
def test_senseless_readings_and_priors_are_refused(
    read: dict[str, tuple[float, float]], priors: dict[str, tuple[float, float]], said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        _day(_model(), read, priors)
