"""Tests of what might be wrong: identities on published networks, and strategies on planted errors."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Measured, reconcile
from canewright.engine.evidence import Evidence
from canewright.engine.hypotheses import (
    Hypothesis,
    assessed,
    biases,
    exchanged,
    level,
    likeness,
    pairs,
    ties,
    together,
    told_apart,
)
from canewright.engine.strategies import STRATEGIES, WEIGHTS, gated_compensation, robust_misses
from engine.small_models import Balances, model_of, variable
from engine.test_published_reconciliations import DEVIATION, EXCHANGER, METERED, READ, TRUE, network

NAMES = tuple(READ)
ONES = np.ones(6)


def _exchanger(extra: float = 0.0) -> Evidence:
    read = np.array(list(READ.values())) + extra * (np.arange(6) == 1)
    return Evidence.of_balances(NAMES, EXCHANGER, read, ONES)


def test_evidence_of_a_reconciliation_is_that_of_its_balances() -> None:
    """Exchanger with bypass (Narasimhan & Jordache 2000): projection and reconciliation say the same."""
    one, other = Evidence.of(Balances(EXCHANGER).reconciled(READ)), _exchanger()
    assert one.checked == pytest.approx(other.checked, abs=1e-9)
    assert one.missed == pytest.approx(other.missed, abs=1e-6)
    assert one.objective == pytest.approx(6.4075, abs=6e-4)
    assert one.freedom == other.freedom == 4


def test_evidence_counts_priors() -> None:
    """With priors the objective is that of readings and priors, and every reading is checked a little by its prior."""
    model = model_of([variable("b")], [variable("a")], ["b is twice a"], lambda v: [(v["b"], 2 * v["a"])])
    read = model.expressions(lambda v: [v["a"], v["b"]])
    result = reconcile(
        model, read, [Measured("a", 1.2, 0.1), Measured("b", 1.8, 0.2)], {"a": (1.3, 0.3)},
        model.scaled({"a": 1.0, "b": 2.0}),
    )  # fmt: skip
    evidence = Evidence.of(result)
    assert evidence.objective == pytest.approx(result.objective, rel=1e-9)
    assert evidence.freedom == result.freedom == 2


def test_a_bias_is_tested_as_by_its_own_reading() -> None:
    """The generalised likelihood ratio of one bias is the square of the individual test: 3.2048, bias 3.925 ± 1.225."""
    found = assessed(_exchanger(4.0), biases(_exchanger(4.0)))
    assert found[0].hypothesis.name == "x2"
    assert found[0].test == pytest.approx(3.2048, abs=6e-4)
    assert found[0].size == pytest.approx(3.925, abs=6e-4)
    assert found[0].uncertainty == pytest.approx(1.2247, abs=6e-5)
    assert found[0].gain == pytest.approx(10.2704, abs=3e-3)


def test_allowing_for_a_bias_is_leaving_the_reading_out() -> None:
    whole = _exchanger(4.0)
    without = whole.allowing(biases(whole)[1].mark)
    again = Balances(EXCHANGER).reconciled({n: y for n, y in READ.items() if n != "x2"})
    assert without.objective == pytest.approx(again.objective, abs=1e-6)
    assert without.objective == pytest.approx(whole.objective - 10.2704, abs=3e-3)
    assert without.freedom == again.freedom == 3
    kept = [i for i, n in enumerate(NAMES) if n != "x2"]
    assert without.missed[kept] == pytest.approx(again.adjustments, abs=1e-6)


def test_what_nothing_checks_is_not_tested() -> None:
    """A reading of a flow in no balance cannot be wrong in any way that shows."""
    balances = np.array([[1.0, -1.0, 0.0]])
    evidence = Evidence.of_balances(("a", "b", "c"), balances, np.array([1.0, 2.0, 3.0]), np.ones(3))
    assert {f.hypothesis.name for f in assessed(evidence, biases(evidence))} == {"a", "b"}
    assert not evidence.checks(biases(evidence)[2].mark)


def test_readings_in_one_balance_tie() -> None:
    """Two readings of one flow and nothing else: either may be wrong, and the answer says both."""
    evidence = Evidence.of_balances(("a", "b"), np.array([[1.0, -1.0]]), np.array([10.0, 16.0]), np.ones(2))
    found = assessed(evidence, biases(evidence))
    assert {f.hypothesis.name for f in ties(evidence, found)} == {"a", "b"}
    assert abs(likeness(evidence, found[0].hypothesis, found[1].hypothesis)) == pytest.approx(1.0)


def test_two_biases_are_sized_together_and_ties_are_not() -> None:
    """Three readings of one flow in a chain: 10, 16, 30 against two more that read 10."""
    chain = np.eye(4, 5) - np.eye(4, 5, 1)
    read = np.array([10.0, 16.0, 30.0, 10.0, 10.0])
    evidence = Evidence.of_balances(("a", "b", "c", "d", "e"), chain, read, np.ones(5))
    best = pairs(evidence, biases(evidence))[0]
    assert {f.hypothesis.name for f in best.findings} == {"b", "c"}
    sizes = {f.hypothesis.name: f.size for f in best.findings}
    assert sizes == pytest.approx({"b": 6.0, "c": 20.0}, abs=1e-9)
    assert best.gain == pytest.approx(evidence.objective, rel=1e-9)
    two = Evidence.of_balances(("a", "b"), np.array([[1.0, -1.0]]), np.array([10.0, 16.0]), np.ones(2))
    assert together(two, biases(two)) is None


def test_exchanged_readings_have_size_one() -> None:
    """Readings of the exchanger's 64.20 (x4) and 36.44 (x5) written in each other's place."""
    wrong = {**READ, "x4": READ["x5"], "x5": READ["x4"]}
    evidence = Evidence.of_balances(NAMES, EXCHANGER, np.array(list(wrong.values())), ONES)
    swap = exchanged(evidence, "x4", "x5", (wrong["x4"], wrong["x5"]))
    (finding,) = assessed(evidence, [swap])
    assert finding.size == pytest.approx(1.0, abs=3 * finding.uncertainty)
    assert evidence.allowing(swap.mark).passes()
    assert not evidence.passes()
    assert finding.gain > assessed(evidence, biases(evidence))[0].gain


def test_a_leak_is_named_with_its_size() -> None:
    """Steam network (Serth & Heenan 1986), 20 t/h left over at node 3, whose flows all lead to other nodes; no noise."""
    matrix, sd = network(), np.array(DEVIATION)
    weighed = matrix * sd
    moved = weighed.T @ np.linalg.solve(weighed @ weighed.T, np.eye(11))
    closed = np.array(TRUE) - sd * (moved @ (matrix @ np.array(TRUE)))
    read = closed + sd * moved[:, 2] * 20.0
    evidence = Evidence.of_balances([f"x{i + 1}" for i in range(28)], matrix, read, sd)
    leaks = [Hypothesis(f"node {k + 1}", "leak", "t/h", moved[:, k]) for k in range(11)]
    verdict = gated_compensation(evidence, [*biases(evidence), *leaks])
    assert verdict.names == ("node 3",)
    assert verdict.findings[0].size == pytest.approx(20.0, rel=1e-9)
    assert verdict.findings[0].least_seen(3.0) == pytest.approx(4.2816 * verdict.findings[0].uncertainty, rel=1e-4)


def test_level_keeps_the_share_of_false_alarms() -> None:
    """Šidák: 28 tests at 3.117 and one at 1.960 each alarm on 5 % of faultless days."""
    assert level(1) == pytest.approx(1.95996, abs=1e-5)
    chance = np.random.default_rng(3)
    assert np.mean(np.max(np.abs(chance.normal(size=(40_000, 28))), axis=1) > level(28)) == pytest.approx(
        0.05, abs=0.004
    )


@pytest.mark.parametrize("name", sorted(STRATEGIES))
def test_every_strategy_is_silent_on_the_published_readings(name: str) -> None:
    """The steam network as published agrees with itself (10.69 against 19.68)."""
    evidence = Evidence.of_balances(NAMES28, network(), np.array(METERED), np.array(DEVIATION))
    assert STRATEGIES[name](evidence).names == ()


NAMES28 = tuple(f"x{i + 1}" for i in range(28))


@pytest.mark.parametrize("name", sorted(STRATEGIES))
def test_every_strategy_finds_one_large_bias(name: str) -> None:
    """Stream 21 of the steam network 15 standard uncertainties high."""
    read = np.array(METERED) + 15.0 * np.array(DEVIATION) * (np.arange(28) == 20)
    evidence = Evidence.of_balances(NAMES28, network(), read, np.array(DEVIATION))
    verdict = STRATEGIES[name](evidence)
    assert verdict.names[0] == "x21"
    before = np.array(METERED)[20] - 88.408
    assert verdict.findings[0].size == pytest.approx(15.0 * 2.183 + before, abs=3 * verdict.findings[0].uncertainty)


@pytest.mark.parametrize("name", sorted(WEIGHTS))
def test_a_robust_estimate_solves_its_own_equations(name: str) -> None:
    """At the answer the weighted misses are orthogonal to every direction that the balances leave free."""
    read = np.array(METERED) + 20.0 * np.array(DEVIATION) * (np.arange(28) == 3)
    evidence = Evidence.of_balances(NAMES28, network(), read, np.array(DEVIATION))
    left = robust_misses(evidence, name)
    free = np.eye(28) - evidence.checked
    assert free @ (WEIGHTS[name](left) * left) == pytest.approx(np.zeros(28), abs=1e-5)
    assert evidence.checked @ left == pytest.approx(evidence.missed, abs=1e-9)


def test_a_further_reading_that_tells_two_ties_apart() -> None:
    """Two flows read differently of which one goes on to a third: reading the third tells which of them is wrong."""
    model = model_of(
        [variable("b"), variable("c")], [variable("a"), variable("d")],
        ["b is a", "c is d"], lambda v: [(v["b"], v["a"]), (v["c"], v["d"])],
    )  # fmt: skip
    read = model.expressions(lambda v: [v["a"], v["b"]])
    priors = {"a": (10.0, 5.0), "d": (3.0, 1.0)}
    result = reconcile(
        model, read, [Measured("a", 10.0, 0.1), Measured("b", 11.0, 0.1)], priors,
        model.scaled({"a": 10.0, "b": 10.0, "c": 3.0, "d": 3.0}),
    )  # fmt: skip
    evidence = Evidence.of(result)
    first, second = ties(evidence, assessed(evidence, biases(evidence)))
    candidates = model.expressions(lambda v: [v["b"], v["c"]])
    _, slopes = result.gradient(candidates)
    _, spread = result.uncertainty(candidates)
    apart = told_apart(result.influence[:, :2], slopes, spread, first, second, np.array([0.1, 0.1]))
    assert apart[0] == pytest.approx(1.0 / np.hypot(0.1, 0.1 / np.sqrt(2)), rel=0.01)
    assert apart[1] == pytest.approx(0.0, abs=1e-9)
