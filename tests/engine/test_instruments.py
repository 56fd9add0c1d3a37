"""Which readings are worth having: rank-one changes against full reconciliations, cheapest sets against every set."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from canewright.engine.instruments import (
    Candidate,
    NotPossible,
    best_set,
    cheapest,
    ranked,
    without,
    worth_in_money,
)
from engine.small_models import Balances
from engine.test_published_reconciliations import DEVIATION, EXCHANGER, METERED, TRUE, network


def _free_slopes(balances: Balances) -> np.ndarray:
    """Derivatives of every flow to the free flows."""
    read = dict.fromkeys(balances.names, 1.0)
    result = balances.reconciled(read)
    _, slope = result.gradient(balances.model.expressions(lambda v: [v[n] for n in balances.names]))
    return slope


def test_a_further_reading_shrinks_an_interval_as_a_reconciliation_with_it_does() -> None:
    """Steam network (Serth & Heenan 1986) without stream 8: what reading it again makes of streams 26 and 21."""
    balances = Balances(network(), nominal=TRUE)
    read = dict(zip(balances.names, METERED, strict=True))
    sd = dict(zip(balances.names, DEVIATION, strict=True))
    fewer = {n: y for n, y in read.items() if n != "x8"}
    before, after = balances.reconciled(fewer, sd), balances.reconciled(read, sd)
    flows = balances.model.expressions(lambda v: [v[n] for n in balances.names])
    _, slope = before.gradient(flows)
    for figure in ("x26", "x21", "x8"):
        i = balances.names.index(figure)
        (one,) = ranked(before.covariance, slope[i], [Candidate("x8", slope[7], DEVIATION[7])])
        assert one.before == pytest.approx(before.variable_uncertainty[figure], rel=1e-8)
        assert one.after == pytest.approx(after.variable_uncertainty[figure], rel=1e-8)
        lost = without(
            after.covariance, after.gradient(flows)[1][i], Candidate("x8", after.gradient(flows)[1][7], DEVIATION[7])
        )
        assert lost == pytest.approx(before.variable_uncertainty[figure], rel=1e-8)


def test_a_reading_that_alone_holds_a_figure_cannot_be_spared() -> None:
    assert without(np.array([[0.04]]), np.array([1.0]), Candidate("only", np.array([1.0]), 0.2)) is None


def test_a_set_is_built_one_best_reading_after_another() -> None:
    covariance = np.diag([4.0, 1.0, 1.0])
    figure = np.ones(3)
    every = [Candidate(f"r{i}", np.eye(3)[i], 0.5) for i in range(3)]
    found = best_set(covariance, figure, every, 3)
    assert found[0].name == "r0"
    assert found[-1].after == pytest.approx(np.sqrt(1 / (1 / 4 + 4) + 2 / (1 + 4)), rel=1e-12)
    assert [w.before for w in found[1:]] == pytest.approx([w.after for w in found[:-1]])
    assert worth_in_money(found[0], 10.0, 100.0) == pytest.approx(1.96 * (found[0].before - found[0].after) * 1000.0)


def test_a_reading_of_something_else_is_never_added() -> None:
    candidates = [Candidate("useless", np.array([0.0, 1.0]), 0.1)]
    assert best_set(np.diag([1.0, 1.0]), np.array([1.0, 0.0]), candidates, 2) == []


def test_the_cheapest_checked_set_of_the_exchanger() -> None:
    """Exchanger with bypass: two free flows. Streams 2 and 3 are checked by any two readings on each branch."""
    slopes = _free_slopes(Balances(EXCHANGER))
    price = {"x1": 5.0, "x2": 1.0, "x3": 2.0, "x4": 1.0, "x5": 2.0, "x6": 5.0}
    candidates = [Candidate(n, s, 1.0, price[n]) for n, s in zip(price, slopes, strict=True)]
    found = cheapest(slopes[[1, 2]], candidates)
    assert found.names == ("x2", "x3", "x4", "x5")
    assert found.cost == 6.0
    assert cheapest(slopes[[1, 2]], candidates, checked=False).cost == 3.0
    assert cheapest(slopes[[1]], candidates).names == ("x2", "x4")
    there = cheapest(slopes[[1, 2]], candidates, present=("x1",))
    assert "x1" in there.names
    assert there.cost == 3.0  # with the whole flow read, one reading of each branch: any two of three give the third


def test_what_no_candidate_feels_is_refused() -> None:
    with pytest.raises(NotPossible, match="quantity 1: 1 of the candidates"):
        cheapest(np.array([[1.0, 0.0]]), [Candidate("a", np.array([1.0, 0.0]), 1.0)])


def _good(rows: np.ndarray, quantity: np.ndarray) -> bool:
    """Whether a quantity is determined by these rows, by rank."""
    if not len(rows):
        return False
    return bool(np.linalg.matrix_rank(rows, tol=1e-8) == np.linalg.matrix_rank(np.vstack([rows, quantity]), tol=1e-8))


@settings(deadline=None)
@given(st.integers(0, 10_000))
def test_no_cheaper_set_exists(seed: int) -> None:
    """Against every subset of seven random readings of three settings, by rank."""
    chance = np.random.default_rng(seed)
    slopes = chance.integers(-1, 2, size=(7, 3)).astype(float)
    cost = chance.integers(1, 6, size=7).astype(float)
    quantities = np.eye(3)[: int(chance.integers(1, 4))]
    candidates = [Candidate(f"r{i}", s, 1.0, float(c)) for i, (s, c) in enumerate(zip(slopes, cost, strict=True))]

    def does(subset: tuple[int, ...]) -> bool:
        drops = [[i for i in subset if i != out] for out in (None, *subset)]
        return all(_good(slopes[kept], q) for kept in drops for q in quantities)

    costs = [sum(cost[list(s)]) for size in range(8) for s in combinations(range(7), size) if does(s)]
    if not costs:
        with pytest.raises(NotPossible):
            cheapest(quantities, candidates)
        return
    found = cheapest(quantities, candidates)
    assert does(tuple(int(n[1:]) for n in found.names))
    assert found.cost == pytest.approx(min(costs))
