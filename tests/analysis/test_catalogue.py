"""Every declared formula of the analysis package keeps what its declaration promises."""

from __future__ import annotations

from itertools import product

import casadi
import numpy as np
import pytest

import canewright.analysis  # noqa: F401  (declares the formulas)
from canewright.quantity import CATALOGUE, Dimensional, Formula, OutOfRange, UnitMismatch, unit

FORMULAS = sorted(
    (f for f in CATALOGUE.values() if f.module.startswith("canewright.analysis.")), key=lambda each: each.name
)
every = pytest.mark.parametrize("formula", FORMULAS, ids=lambda each: each.name)


def points(formula: Formula) -> list[list[float]]:
    """The example, each argument at each end of its range, and every corner of the box."""
    middle = list(formula.example.values())
    found = [middle]
    for place, declared in enumerate(formula.arguments.values()):
        found += [[*middle[:place], end, *middle[place + 1 :]] for end in (declared.low, declared.high)]
    ends = ((declared.low, declared.high) for declared in formula.arguments.values())
    return found + [list(corner) for corner in product(*ends)]


@every
def test_example_reproduces(formula: Formula) -> None:
    assert float(formula(*formula.example.values())) == pytest.approx(formula.gives, rel=1e-6, abs=1e-9)


@every
def test_ranges_are_finite_and_hold_the_example(formula: Formula) -> None:
    for name, declared in formula.arguments.items():
        assert np.isfinite([declared.low, declared.high]).all(), name
        assert declared.low < declared.high, name
        assert declared.low <= formula.example[name] <= declared.high, name
    assert formula.result.low <= formula.gives <= formula.result.high


@every
def test_floats_arrays_and_symbols_agree(formula: Formula) -> None:
    given = points(formula)
    floats = np.array([float(formula(*one)) for one in given])
    arrays = np.asarray(formula(*np.array(given).T.copy()), dtype=float)
    symbols = [casadi.SX.sym(name) for name in formula.arguments]
    symbolic = casadi.Function("f", symbols, [formula(*symbols)])
    by_symbols = np.array([float(symbolic(*one)) for one in given])
    assert np.isfinite(floats).all()
    np.testing.assert_allclose(arrays, floats, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(by_symbols, floats, rtol=1e-12, atol=1e-12)


@every
def test_gradients_and_curvatures_are_finite_at_range_ends(formula: Formula) -> None:
    symbols = casadi.SX.sym("x", len(formula.arguments))
    value = formula(*casadi.vertsplit(symbols))
    hessian, gradient = casadi.hessian(value, symbols)
    slopes = casadi.Function("slopes", [symbols], [casadi.densify(gradient), casadi.densify(hessian)])
    for one in points(formula):
        for each in slopes(one):
            assert np.isfinite(np.array(each)).all(), one


@every
def test_no_kinks(formula: Formula) -> None:
    symbols = [casadi.SX.sym(name) for name in formula.arguments]
    function = casadi.Function("f", symbols, [formula(*symbols)])
    names = ["FMIN", "FMAX", "FABS", "FLOOR", "CEIL", "SIGN", "LT", "LE", "IF_ELSE_ZERO"]
    kinks = {getattr(casadi, f"OP_{name}") for name in names}
    used = {function.instruction_id(k) for k in range(function.n_instructions())}
    assert not used & kinks


@every
def test_outside_the_range_is_refused_by_name(formula: Formula) -> None:
    for place, (name, declared) in enumerate(formula.arguments.items()):
        for beyond in (declared.low - 1e-6 - abs(declared.low), declared.high * 2 + 1.0, float("nan")):
            given = list(formula.example.values())
            given[place] = beyond
            with pytest.raises(OutOfRange, match=name):
                formula(*given)


@every
def test_reads_on_dimensions(formula: Formula) -> None:
    right = [Dimensional(declared.unit) for declared in formula.arguments.values()]
    assert formula(*right).unit.same_measure(unit(formula.result.unit))
    for place in range(len(right)):
        wrong = [*right[:place], Dimensional("mol"), *right[place + 1 :]]
        with pytest.raises(UnitMismatch, match="mol"):
            formula(*wrong)


def test_the_catalogue_is_not_empty() -> None:
    assert len(FORMULAS) > 90


@every
def test_another_kind_of_the_same_unit_is_refused(formula: Formula) -> None:
    declared = list(formula.arguments.values())
    right = [Dimensional(each.unit, each.kind) for each in declared]
    assert formula(*right).kind == formula.result.kind
    for place, each in enumerate(declared):
        wrong = [*right[:place], Dimensional(each.unit, "some other kind"), *right[place + 1 :]]
        if each.kind:
            with pytest.raises(UnitMismatch, match="some other kind"):
                formula(*wrong)


def test_purities_and_pols_do_not_mix() -> None:
    """Apparent purity is no true purity, and a vacuo pol is not the pol of the air convention."""
    apparent = Dimensional("%", "apparent")
    with pytest.raises(UnitMismatch, match="must be true, not apparent"):
        CATALOGUE["target_purity_difference"](apparent, Dimensional("%", "true"))
    vacuo = CATALOGUE["pol_from_polarimeter_vacuo"](Dimensional("°Z"), Dimensional("%", "refractometer"))
    with pytest.raises(UnitMismatch, match="must be pol, not pol, vacuo"):
        CATALOGUE["apparent_purity"](vacuo, Dimensional("%", "refractometer"))
