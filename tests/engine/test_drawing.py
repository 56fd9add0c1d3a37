"""Covariances against 100,000 drawn days: published networks, reconciled by methods of the test's own."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Measured, reconcile
from canewright.engine.drawing import drawn_again
from engine.small_models import INFINITE, Balances, model_of, variable
from engine.test_published_reconciliations import EXCHANGER, READ, _pai_and_fisher

DRAWS = 100_000


def test_exchanger_against_100_000_draws() -> None:
    """Exchanger with bypass (Narasimhan & Jordache 2000): the projection of each draw onto the balances, by formula.

    Deviations agree to 1 % (sampling: 0.2 %), covariances to 1 % of the product of the deviations.
    """
    chance = np.random.default_rng(5)
    balances = Balances(EXCHANGER)
    result = balances.reconciled(READ)
    best = np.array([result.values[n] for n in balances.names])
    drawn = best + chance.standard_normal((DRAWS, len(best)))
    onto = EXCHANGER.T @ np.linalg.solve(EXCHANGER @ EXCHANGER.T, EXCHANGER)
    found = drawn - drawn @ onto.T
    expressions = balances.model.expressions(lambda v: [v[n] for n in balances.names])
    _, slope = result.gradient(expressions)
    covariance = slope @ result.covariance @ slope.T
    sampled = np.cov(found.T)
    spread = np.sqrt(np.diagonal(covariance))
    assert np.sqrt(np.diagonal(sampled)) == pytest.approx(spread, rel=0.01)
    assert np.max(np.abs(sampled - covariance) / np.outer(spread, spread)) < 0.01
    one = balances.reconciled(dict(zip(balances.names, drawn[0].tolist(), strict=True)))
    assert np.array([one.values[n] for n in balances.names]) == pytest.approx(found[0], rel=1e-9)


NAMES = ["x1", "x2", "x3", "x4", "x5", "u1", "u2", "u3"]
NOISE = 0.02


def _laws(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The six equations of Pai and Fisher and their derivatives, for many points at once (columns of z)."""
    x1, x2, x3, x4, x5, u1, u2, u3 = z
    o, i, root = np.zeros_like(x1), np.ones_like(x1), np.sqrt(u3)
    residual = np.array([
        0.5 * x1**2 - 0.7 * x2 + x3 * u1 + x2**2 * u1 * u2 + 2 * x3 * u3**2 - 255.8,
        x1 - 2 * x2 + 3 * x1 * x3 - 2 * x2 * u1 - x2 * u2 * u3 + 111.2,
        x3 * u1 - x1 + 3 * x2 + x1 * u2 - x3 * root - 33.57,
        x4 - x1 - x3**2 + u2 + 3 * u3,
        x5 - 2 * x3 * u2 * u3,
        2 * x1 + x2 * x3 * u1 + u2 - u3 - 126.6,
    ])  # fmt: skip
    slope = np.array([
        [x1, 2 * x2 * u1 * u2 - 0.7, u1 + 2 * u3**2, o, o, x3 + x2**2 * u2, x2**2 * u1, 4 * x3 * u3],
        [i + 3 * x3, -2 - 2 * u1 - u2 * u3, 3 * x1, o, o, -2 * x2, -x2 * u3, -x2 * u2],
        [u2 - 1, 3 * i, u1 - root, o, o, x3, x1, -x3 / (2 * root)],
        [-i, o, -2 * x3, i, o, o, i, 3 * i],
        [o, o, -2 * u2 * u3, o, i, o, -2 * x3 * u3, -2 * x3 * u2],
        [2 * i, x3 * u1, x2 * u1, o, o, x2 * x3, i, -i],
    ])  # fmt: skip
    return residual.T, np.moveaxis(slope, 2, 0)


def _all_reconciled(drawn: np.ndarray, start: np.ndarray) -> np.ndarray:
    """Every draw at its optimum: equations and multipliers together, for all draws at once."""
    z = np.repeat(start[:, None], len(drawn), axis=1)
    weight = np.diag([1.0] * 5 + [0.0] * 3)
    for _ in range(12):
        residual, slope = _laws(z)
        count = len(drawn)
        whole = np.zeros((count, 14, 14))
        whole[:, :8, :8], whole[:, :8, 8:], whole[:, 8:, :8] = weight, np.swapaxes(slope, 1, 2), slope
        right = np.zeros((count, 14))
        right[:, :5] = drawn - z[:5].T
        right[:, 8:] = -residual
        step = np.linalg.solve(whole, right[:, :, None])[:, :8, 0]
        z = z + step.T
        if np.abs(step).max() < 1e-10:
            break
    return z.T


def test_nonlinear_network_against_100_000_draws() -> None:
    """Pai and Fisher (1988), readings as sure as 0.02: all unknowns, three of them unmeasured, to 2 %."""
    first = {"x1": 4.5, "x2": 5.6, "x3": 1.9, "x4": 1.5, "x5": 4.9, "u1": 11.0, "u2": 0.6, "u3": 2.0}
    model = model_of(
        [variable(n, v) for n, v in first.items() if n not in {"x2", "x3"}],
        [variable(n, first[n]) for n in ("x2", "x3")],
        [f"equation {i}" for i in range(1, 7)],
        _pai_and_fisher,
    )
    measured = [Measured(n, y, NOISE) for n, y in zip(NAMES[:5], (4.4, 5.5, 1.7, 1.6, 5.0), strict=True)]
    read = model.expressions(lambda v: [v[n] for n in NAMES[:5]])
    free = {"x2": (5.5, INFINITE), "x3": (1.7, INFINITE)}
    result = reconcile(model, read, measured, free, model.scaled(first))
    best = np.array([result.values[n] for n in NAMES])
    chance = np.random.default_rng(11)
    drawn = best[:5] + NOISE * chance.standard_normal((DRAWS, 5))
    found = _all_reconciled(drawn, best)
    foretold = np.array([result.variable_uncertainty[n] for n in NAMES])
    assert found.std(axis=0, ddof=1) == pytest.approx(foretold, rel=0.02)
    assert np.abs(found.mean(axis=0) - best) == pytest.approx(np.zeros(8), abs=0.1 * foretold.max())
    own = drawn_again(result, model.expressions(lambda v: [v[n] for n in NAMES]), np.random.default_rng(3), 400)
    assert own.unsolved == 0
    assert own.ratio == pytest.approx(np.ones(8), abs=4.0 * own.chance_of_ratio)
    low, high = own.interval
    assert (high - low) / (2 * 1.96 * foretold) == pytest.approx(np.ones(8), abs=0.2)


def test_a_strong_bend_is_seen() -> None:
    """What is squared and known only as well as itself scatters more than its straight line says, and is shifted."""
    model = model_of(
        [variable("square", 1.0)], [variable("a", 1.0)], ["square of a"], lambda v: [(v["square"], v["a"] * v["a"])]
    )
    read = model.expressions(lambda v: [v["a"]])
    result = reconcile(
        model, read, [Measured("a", 1.0, 1.0)], {"a": (1.0, INFINITE)}, model.scaled({"a": 1.0, "square": 1.0})
    )
    found = drawn_again(result, model.expressions(lambda v: [v["square"]]), np.random.default_rng(7), 2000)
    assert found.foretold[0] == pytest.approx(2.0)
    assert found.ratio[0] == pytest.approx(1.5**0.5, rel=0.12)
    assert found.shift[0] == pytest.approx(0.5, abs=0.15)


def test_too_few_draws_are_refused() -> None:
    balances = Balances(EXCHANGER)
    result = balances.reconciled(READ)
    with pytest.raises(ValueError, match="3 draws tell nothing of a scatter; give at least 20"):
        drawn_again(result, balances.model.expressions(lambda v: [v["x1"]]), np.random.default_rng(1), 3)
