"""The quick ways of the engine give what the plain ways give."""

from collections.abc import Iterator

import casadi as ca
import numpy as np
import pytest
from scipy.sparse.linalg import splu

from canewright.engine import Law, Model, Variable, predict, predict_many
from canewright.engine.evaluation import evaluated, evaluated_columns
from canewright.engine.model import Values
from canewright.engine.spread import Anchored, Together, best_change
from canewright.engine.ties import ties_of
from canewright.properties import steam
from canewright.quantity import Num, noting_breaches

CHANCE = np.random.default_rng(7)


def ring(size: int = 12) -> Model:
    """Unknowns in a ring, each a smooth function of its neighbours and of two settings."""
    unknowns = [Variable(f"x{i}", "1", 1.0 + i % 3) for i in range(size)]
    settings = [Variable("a", "1", 1.0), Variable("b", "1", 2.0)]
    laws = [Law("ring", f"law {i}", "1", 1.0) for i in range(size)]
    return Model(
        unknowns, settings, laws,
        lambda v: [
            (3.0 * v[f"x{i}"] + 0.3 * v[f"x{i - 1 if i else size - 1}"] ** 2, v["a"] + v["b"] * v[f"x{(i + 1) % size}"])
            for i in range(size)
        ],
    )  # fmt: skip


def start_of(model: Model) -> dict[str, float]:
    return {**{v.name: 0.5 for v in model.unknowns}, "a": 1.0, "b": 0.4}


def test_a_step_in_a_kept_order_is_newtons_step() -> None:
    model = ring()
    solved = predict(model, start_of(model))
    steps = model.step(solved.scaled)
    assert steps is not None
    point = solved.scaled * (1 + 0.1 * CHANCE.uniform(-1, 1, len(solved.scaled)))
    residual, step, factors = steps.whole(point)
    plain, jacobian = model.jacobian_at(point)
    np.testing.assert_allclose(residual, plain, rtol=1e-12)
    np.testing.assert_allclose(step, splu(jacobian[:, : model.n].tocsc()).solve(plain), rtol=1e-10)
    elsewhere = point * 1.01
    _, further = steps.again(elsewhere, factors)
    expected = splu(jacobian[:, : model.n].tocsc()).solve(model.jacobian_at(elsewhere)[0])
    np.testing.assert_allclose(further, expected, rtol=1e-10)


def tied() -> Model:
    """Four unknowns in a chain of ties, one tied to a setting, and two equations that must be solved."""
    unknowns = [
        Variable(name, "1", size) for name, size in (("a", 1.0), ("b", 2.0), ("c", 1.0), ("d", 4.0), ("e", 1.0))
    ]
    settings = [Variable("s", "1", 3.0), Variable("r", "1", 1.0)]
    return Model(
        unknowns, settings, [Law("chain", f"law {i}", "1", 1.0) for i in range(5)],
        lambda v: [
            (2.0 * v["a"], v["b"] + 1.0),
            (v["c"], 3.0 * v["b"] - 2.0),
            (v["d"], v["s"] + 0.5),
            (v["a"] * v["d"] + v["e"], v["r"]),
            (v["e"] ** 3 + v["c"], 4.0 * v["r"] + v["b"] * v["a"]),
        ],
    )  # fmt: skip


def test_ties_are_followed_to_the_end() -> None:
    model = tied()
    ties = ties_of(model.residual_graph, model.symbols, model.n)
    assert ties.laws == [0, 1, 2]
    assert len(ties.free) == len(ties.free_laws) == 2
    point = dict(zip(model.names, CHANCE.uniform(0.5, 1.5, 7), strict=True))
    held = ca.Function("held", [model.symbols], [ties.held(model.symbols)])
    kept = model.named(np.asarray(held(model.scaled(point))).ravel())
    assert 2.0 * kept["a"] == pytest.approx(kept["b"] + 1.0, rel=1e-14)
    assert kept["c"] == pytest.approx(3.0 * kept["b"] - 2.0, rel=1e-14)
    assert kept["d"] == pytest.approx(point["s"] + 0.5, rel=1e-14)
    assert (kept["s"], kept["r"]) == pytest.approx((point["s"], point["r"]), rel=1e-15)


def test_a_step_with_ties_is_newtons_step_and_keeps_them() -> None:
    """At a point that keeps the ties it is the whole system's step; from any other it arrives on them."""
    model = tied()
    solved = predict(model, {"a": 1.0, "b": 1.0, "c": 1.0, "d": 2.5, "e": -1.0, "s": 2.0, "r": 1.2})
    steps = model.step(solved.scaled)
    assert steps is not None
    ties = ties_of(model.residual_graph, model.symbols, model.n)
    point = solved.scaled * (1 + 0.1 * CHANCE.uniform(-1, 1, 7))
    held = np.asarray(ca.Function("held", [model.symbols], [ties.held(model.symbols)])(point)).ravel()
    plain, jacobian = model.jacobian_at(held)
    expected = splu(jacobian[:, : model.n].tocsc()).solve(plain)
    residual, step, factors = steps.whole(held)
    np.testing.assert_allclose(step, expected, rtol=1e-10, atol=1e-14)
    np.testing.assert_allclose(sorted(np.abs(residual)), sorted(np.abs(plain)), atol=1e-14)
    away, step, _ = steps.whole(point)
    assert np.abs(away).max() > 0.01
    np.testing.assert_allclose(point[: model.n] - step, held[: model.n] - expected, rtol=1e-10)
    _, further = steps.again(held, factors)
    np.testing.assert_allclose(further, expected, rtol=1e-10, atol=1e-14)


def test_equations_that_tie_in_a_ring_or_settings_stay_to_be_solved() -> None:
    """Two ties between the same two unknowns determine both; the second is an equation to solve."""
    model = Model(
        [Variable("x", "1", 1.0), Variable("y", "1", 1.0)], [Variable("s", "1", 1.0)],
        [Law("ring", "one", "1", 1.0), Law("ring", "other", "1", 1.0)],
        lambda v: [(v["x"], v["y"]), (v["x"], 3.0 - 2.0 * v["y"])],
    )  # fmt: skip
    assert ties_of(model.residual_graph, model.symbols, 2).laws == [0]
    found = predict(model, {"x": 0.0, "y": 0.0, "s": 1.0})
    again = predict(model, {"x": 5.0, "y": -3.0, "s": 1.0}, last_solved=found.scaled)
    assert (again.values["x"], again.values["y"]) == pytest.approx((1.0, 1.0), rel=1e-12)


def test_far_from_a_solved_state_the_written_out_elimination_finds_the_same() -> None:
    model = ring()
    first = predict(model, start_of(model))
    assert model.step_known is None
    predict(model, {**first.values, "a": 1.1}, last_solved=first.scaled)
    assert model.step_known is not None
    np.testing.assert_allclose(predict(model, start_of(model)).scaled, first.scaled, rtol=1e-9)


def test_near_and_far_newton_agree() -> None:
    model = ring()
    first = predict(model, start_of(model))
    near = predict(model, {**first.values, "a": 1.2}, last_solved=first.scaled)
    far = predict(ring(), {**start_of(model), "a": 1.2})
    np.testing.assert_allclose(near.scaled, far.scaled, rtol=1e-9)


def test_scenarios_are_what_single_predictions_are() -> None:
    model = ring()
    base = predict(model, start_of(model))
    values = 1.0 + 0.2 * CHANCE.uniform(-1, 1, 300)  # more than go together at once
    batch = predict_many(model, base, {"a": values})
    for j in (0, 150, 299):
        alone = predict(model, {**start_of(model), "a": float(values[j])})
        assert batch.of("x3")[j] == pytest.approx(alone.values["x3"], rel=1e-9)


def test_a_column_without_a_value_spoils_no_other() -> None:
    given = ca.MX.sym("u", 2)
    matrix = ca.blockcat([[given[0], 1.0], [1.0, given[1]]])
    one = ca.Function("one", [given], [ca.solve(matrix, ca.DM([1.0, 0.0]), "csparse")])
    found = evaluated_columns(one, np.array([[2.0, 1.0, 3.0], [1.0, 1.0, 1.0]]), 2)
    np.testing.assert_allclose(found[:, [0, 2]], [[1.0, 0.5], [-1.0, -0.5]])
    assert np.all(np.isnan(found[:, 1]))


def test_settings_with_priors_need_only_the_readings_decomposed() -> None:
    readings, weights = CHANCE.normal(size=(4, 9)) * 30, CHANCE.uniform(0.5, 20, 9)
    anchored, together = Anchored(readings, weights), Together(np.vstack([readings, np.diag(weights)]))
    slope = CHANCE.normal(size=(6, 9))
    small, large = anchored.rooted(slope), together.rooted(slope)
    np.testing.assert_allclose(small @ small.T, large @ large.T, rtol=1e-9)
    np.testing.assert_allclose(anchored.influence, together.influence, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(anchored.known_by_itself, together.known_by_itself[:4], rtol=1e-9)
    assert anchored.determined == together.determined == 9


def test_the_best_change_is_the_least_squares_one() -> None:
    readings, weights = CHANCE.normal(size=(4, 9)), CHANCE.uniform(0.5, 20, 9)
    gap, prior_gap = CHANCE.normal(size=4), CHANCE.normal(size=9)
    rows = np.vstack([readings, np.diag(weights)])
    plain = np.linalg.lstsq(rows, np.concatenate([gap, prior_gap]), rcond=None)[0]
    np.testing.assert_allclose(best_change(readings, weights, gap, prior_gap), plain, rtol=1e-9)


def test_formulas_inlined_give_their_values_and_name_their_breaches() -> None:
    """Both through a model and called with numbers: same result, same arguments outside their ranges."""
    enthalpy = steam.steam_enthalpy

    def equations(v: Values) -> Iterator[tuple[Num, Num]]:
        yield v["h"], enthalpy(v["t"], v["p"])
        yield v["twice"], 2.0 * enthalpy(v["t"], v["p"])

    model = Model(
        [Variable("h", "kJ/kg", 1000.0), Variable("twice", "kJ/kg", 1000.0)],
        [Variable("t", "°C", 100.0), Variable("p", "kPa", 100.0)],
        [Law("boiler", "enthalpy", "kJ/kg", 1.0), Law("turbine", "twice the enthalpy", "kJ/kg", 1.0)],
        equations,
    )
    for t, p in ((180.0, 200.0), (2000.0, 200.0)):
        with noting_breaches() as noted:
            expected = enthalpy(t, p)
        scaled = model.scaled({"h": expected, "twice": 2 * expected, "t": t, "p": p})
        np.testing.assert_allclose(evaluated(model.residual, scaled)[0], 0.0, atol=1e-9)
        for owner in ("boiler", "turbine"):
            found = [b for whose, b in model.breaches(scaled) if whose == owner and b.formula == "steam_enthalpy"]
            assert [b.argument for b in found] == [b.argument for b in noted if b.formula == "steam_enthalpy"]
