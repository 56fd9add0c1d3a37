"""Published reconciliations and gross-error tests, solved through the engine as models with free settings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest

from canewright.engine import Measured, Reconciliation, reconcile
from canewright.quantity.maths import exp, sqrt
from engine.small_models import INFINITE, Balances, model_of, variable

# --- heat exchanger with bypass --------------------------------------------------------------------------------------

EXCHANGER = np.array([[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]], dtype=float)
READ = dict(zip([f"x{i}" for i in range(1, 7)], [101.91, 64.45, 34.65, 64.20, 36.44, 98.88], strict=True))


@cache
def _exchanger() -> Balances:
    return Balances(EXCHANGER)


def test_exchanger_all_measured() -> None:
    """Narasimhan & Jordache, Data Reconciliation and Gross Error Detection (2000), exchanger with bypass.

    Readings read in a public collection, printed answer from memory; objective and deviations recomputed.
    """
    result = _exchanger().reconciled(READ)
    expected = {"x1": 100.22, "x2": 64.50, "x3": 35.72, "x4": 64.50, "x5": 35.72, "x6": 100.22}
    for name, value in expected.items():
        assert result.values[name] == pytest.approx(value, abs=0.006)
        assert result.variable_uncertainty[name] == pytest.approx(1 / np.sqrt(3), abs=1e-9)
    assert result.objective == pytest.approx(6.4075, abs=6e-4)
    assert result.freedom == 4
    assert result.global_passes


def test_exchanger_with_a_bias_of_four() -> None:
    """Same source (recomputed): +4 on stream 2 fails the global test and stream 2 is the first suspect by 3.2048."""
    result = _exchanger().reconciled({**READ, "x2": READ["x2"] + 4.0})
    assert result.objective == pytest.approx(16.6742, abs=6e-4)
    assert result.global_level == pytest.approx(9.4877, abs=1e-4)
    assert not result.global_passes
    first = result.suspicions[0]
    assert first.name == "x2"
    assert first.test == pytest.approx(3.2048, abs=6e-4)
    assert first.flagged
    assert first.bias == pytest.approx(3.925, abs=6e-4)
    assert first.implied == pytest.approx(READ["x2"] + 4.0 - 3.925, abs=6e-4)


def test_serial_elimination_takes_stream_two_out_and_stops() -> None:
    """Same source (recomputed): without stream 2 the rest agrees."""
    read = {**READ, "x2": READ["x2"] + 4.0}
    taken = []
    result = _exchanger().reconciled(read)
    while not result.global_passes:
        worst = result.suspicions[0].name
        taken.append(worst)
        del read[worst]
        result = _exchanger().reconciled(read)
    assert taken == ["x2"]


@pytest.mark.parametrize(
    ("missing", "objective", "freedom"),
    [("34", 4.6885, 2), ("46", 3.0689, 2), ("35", 4.6217, 2), ("16", 1.6333, 2), ("356", 0.0313, 1)],
)
def test_exchanger_with_unmeasured_streams(missing: str, objective: float, freedom: int) -> None:
    """Same source (recomputed): what is not measured follows from the rest."""
    result = _exchanger().reconciled({n: y for n, y in READ.items() if n[1] not in missing})
    assert result.objective == pytest.approx(objective, abs=6e-5)
    assert result.freedom == freedom
    assert all(np.isfinite(list(result.variable_uncertainty.values())))
    if missing == "356":
        assert {n for n, share in result.redundancy.items() if share > 1e-9} == {"x2", "x4"}


def test_what_nothing_determines_is_not_reported_as_known() -> None:
    """With only streams 2 and 4 read, streams 1, 3, 5 and 6 are loose (by definition): no uncertainty is given."""
    balances = _exchanger()
    result = balances.reconciled({n: READ[n] for n in ("x2", "x4")})
    _, sd = result.uncertainty(balances.model.expressions(lambda v: [v[n] for n in balances.names]))
    loose = dict(zip(balances.names, np.isnan(sd), strict=True))
    assert loose == {"x1": True, "x2": False, "x3": True, "x4": False, "x5": True, "x6": True}
    known = result.variable_uncertainty
    assert {n for n in balances.names if np.isnan(known[n])} == {"x1", "x3", "x5", "x6"}


# --- four streams, three elements ------------------------------------------------------------------------------------

RIPPS = np.array([[0.1, 0.6, -0.2, -0.7], [0.8, 0.1, -0.2, -0.1], [0.1, 0.3, -0.6, -0.2]])
RIPPS_READ = {"x1": 0.1858, "x2": 4.7935, "x3": 1.2295, "x4": 3.8800}
RIPPS_SD = {"x1": 0.000289**0.5, "x2": 0.0025**0.5, "x3": 0.000576**0.5, "x4": 0.04**0.5}


def test_ripps_all_measured() -> None:
    """Ripps, Chem. Eng. Prog. Symp. Ser. 61 (1965), four flows and three elements (from memory, recomputed)."""
    result = Balances(RIPPS).reconciled(RIPPS_READ, RIPPS_SD)
    for name, value in {"x1": 0.16757, "x2": 4.85945, "x3": 1.17297, "x4": 3.85405}.items():
        assert result.values[name] == pytest.approx(value, abs=6e-6)
    assert result.objective == pytest.approx(8.45474, abs=6e-6)
    assert result.freedom == 3


def test_ripps_measurement_tests() -> None:
    """Adjustments by their standard deviations: 1.077, 2.737, 2.624, 0.132 in size (same source).

    The published tests weigh adjustments by the inverse covariance, which for uncorrelated readings is the same test.
    """
    result = Balances(RIPPS).reconciled(RIPPS_READ, RIPPS_SD)
    tests = {s.name: s.test for s in result.suspicions}
    for name, value in {"x1": 1.077, "x2": 2.737, "x3": 2.624, "x4": 0.132}.items():
        assert tests[name] == pytest.approx(value, abs=6e-4)


def test_ripps_without_the_second_stream() -> None:
    """Same source (recomputed): 0.17509, 5.07747, 1.22560, 4.02696; the bias of stream 2 is -0.28397."""
    read = {n: y for n, y in RIPPS_READ.items() if n != "x2"}
    result = Balances(RIPPS).reconciled(read, RIPPS_SD)
    for name, value in {"x1": 0.17509, "x2": 5.07747, "x3": 1.22560, "x4": 4.02696}.items():
        assert result.values[name] == pytest.approx(value, abs=6e-6)
    bias = {s.name: s.bias for s in Balances(RIPPS).reconciled(RIPPS_READ, RIPPS_SD).suspicions}
    assert bias["x2"] == pytest.approx(-0.28397, abs=6e-6)


# --- steam metering network ------------------------------------------------------------------------------------------

NODES = (
    "+1+2-3+4; -5-6+7+8-9; -1+5-10; +10+11-12; +3-11+13-14-15-16-17; -2+6-13; -7+14+18-19-20-21; +15-18+22-23-24; "
    "+12+16-22-25; +19+23-26+27; -8+20+26+28"
)
TRUE = [
    0.86, 1.00, 111.82, 109.95, 53.27, 112.27, 2.32, 164.05, 0.86, 52.41, 14.86, 67.27, 111.27, 91.86, 60.00, 23.64,
    32.73, 16.23, 7.95, 10.50, 87.27, 5.45, 2.59, 46.64, 85.45, 81.32, 70.77, 72.23,
]  # fmt: skip
METERED = [
    0.875, 0.989, 108.426, 107.799, 50.149, 110.327, 2.201, 165.779, 0.821, 51.779, 14.757, 67.183, 107.734, 89.855,
    58.554, 23.258, 31.879, 15.843, 7.920, 10.130, 91.047, 5.555, 2.471, 44.687, 81.656, 82.839, 70.685, 72.913,
]  # fmt: skip
DEVIATION = [
    0.022, 0.025, 2.796, 2.749, 1.332, 2.807, 0.058, 4.101, 0.021, 1.310, 0.372, 1.682, 2.782, 2.297, 1.500, 0.591,
    0.818, 0.406, 0.196, 0.263, 2.183, 0.136, 0.065, 1.166, 2.137, 2.033, 1.770, 1.806,
]  # fmt: skip


def network() -> NDArrayFloat:
    matrix = np.zeros((11, 28))
    for i, node in enumerate(NODES.split(";")):
        for term in node.replace("+", " +").replace("-", " -").split():
            matrix[i, abs(int(term)) - 1] = np.sign(int(term))
    return matrix


NDArrayFloat = np.ndarray[Any, np.dtype[np.float64]]


@cache
def _steam() -> tuple[Balances, Reconciliation]:
    balances = Balances(network(), nominal=TRUE)
    read = dict(zip(balances.names, METERED, strict=True))
    return balances, balances.reconciled(read, dict(zip(balances.names, DEVIATION, strict=True)))


def test_steamnetwork() -> None:
    """Serth & Heenan, AIChE J. 32 (1986) 733: 28 steam flows around 11 nodes (data read in a public collection)."""
    _, result = _steam()
    assert np.linalg.matrix_rank(network()) == 11
    assert np.max(np.abs(network() @ np.array(TRUE))) <= 0.0501
    assert result.freedom == 11
    assert result.objective == pytest.approx(10.6857, abs=6e-4)
    assert result.global_level == pytest.approx(19.675, abs=6e-4)
    assert result.global_passes
    for name, value in {"x3": 109.190, "x8": 162.664, "x21": 88.408}.items():
        assert result.values[name] == pytest.approx(value, abs=6e-4)


def test_steam_network_comes_nearer_the_truth() -> None:
    """Same source (recomputed): root-mean-square error by deviation 1.1677 as read, 0.9893 reconciled."""
    balances, result = _steam()
    true, deviation = np.array(TRUE), np.array(DEVIATION)
    found = np.array([result.values[n] for n in balances.names])
    assert np.sqrt(np.mean(((np.array(METERED) - true) / deviation) ** 2)) == pytest.approx(1.1677, abs=6e-5)
    assert np.sqrt(np.mean(((found - true) / deviation) ** 2)) == pytest.approx(0.9893, abs=6e-5)


def test_covariance_is_the_projection() -> None:
    """Uncertainties equal the closed form ``V - V A' (A V A')⁻¹ A V`` of linear reconciliation (textbook identity)."""
    balances, result = _steam()
    matrix, variance = network(), np.diag(np.array(DEVIATION) ** 2)
    inner = np.linalg.solve(matrix @ variance @ matrix.T, matrix @ variance)
    expected = np.sqrt(np.diag(variance - variance @ matrix.T @ inner))
    found = [result.variable_uncertainty[n] for n in balances.names]
    assert found == pytest.approx(expected, rel=1e-8)


# --- nonlinear, eight variables, six equations -----------------------------------------------------------------------


def _pai_and_fisher(v: Mapping[str, Any]) -> Iterable[tuple[Any, Any]]:
    x1, x2, x3, x4, x5 = (v[f"x{i}"] for i in range(1, 6))
    u1, u2, u3 = (v[f"u{i}"] for i in range(1, 4))
    yield 0.5 * x1**2 - 0.7 * x2 + x3 * u1 + x2**2 * u1 * u2 + 2 * x3 * u3**2, 255.8
    yield x1 - 2 * x2 + 3 * x1 * x3 - 2 * x2 * u1 - x2 * u2 * u3, -111.2
    yield x3 * u1 - x1 + 3 * x2 + x1 * u2 - x3 * sqrt(u3), 33.57
    yield x4 - x1 - x3**2 + u2 + 3 * u3, 0.0
    yield x5 - 2 * x3 * u2 * u3, 0.0
    yield 2 * x1 + x2 * x3 * u1 + u2 - u3, 126.6


def test_nonlinear_reconciliation() -> None:
    """Pai & Fisher, AIChE J. 34 (1988) 876: five measured and three unmeasured variables (read in a collection).

    The collection prints 255 on the first right-hand side; 255.8 (from memory) is the one that closes.
    """
    first = {"x1": 4.4, "x2": 5.5, "x3": 1.7, "x4": 1.6, "x5": 5.0, "u1": 11.0, "u2": 0.6, "u3": 2.0}
    names = ["x1", "x4", "x5", "u1", "u2", "u3"]
    model = model_of(
        [variable(n) for n in names], [variable("x2"), variable("x3")], [f"equation {i}" for i in range(1, 7)],
        _pai_and_fisher,
    )  # fmt: skip
    measured = [Measured(n, y, 1.0) for n, y in first.items() if n[0] == "x"]
    read = model.expressions(lambda v: [v[m.name] for m in measured])
    free = {"x2": (5.5, INFINITE), "x3": (1.7, INFINITE)}
    result = reconcile(model, read, measured, free, model.scaled(first))
    published = {
        "x1": 4.5124, "x2": 5.5819, "x3": 1.9260, "x4": 1.4560, "x5": 4.8545, "u1": 11.070, "u2": 0.61467, "u3": 2.0504,
    }  # fmt: skip
    for name, value in published.items():
        digits = len(f"{value:.10f}".rstrip("0").split(".")[1]) if name != "u1" else 3
        assert result.values[name] == pytest.approx(value, abs=0.51 * 10.0**-digits)
    assert result.objective == pytest.approx(0.112297, abs=6e-7)
    assert result.freedom == 3
    assert np.max(np.abs(np.asarray(model.residual(result.scaled)))) <= 1e-10


# --- least squares with certified values -----------------------------------------------------------------------------

MISRA_X = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
MISRA_Y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]


@pytest.mark.parametrize(("b1", "b2"), [(500.0, 1e-4), (250.0, 5e-4)])
def test_certified_least_squares(b1: float, b2: float) -> None:
    """NIST Statistical Reference Datasets, Misra1a (public domain, read), from both published starting points."""
    model = model_of([], [variable("b1", 250.0), variable("b2", 5e-4)], [], lambda v: [])
    measured = [Measured(f"y{i}", y, 1.0) for i, y in enumerate(MISRA_Y)]
    fitted = model.expressions(lambda v: [v["b1"] * (1 - exp(-v["b2"] * x)) for x in MISRA_X])
    start = model.scaled({"b1": b1, "b2": b2})
    result = reconcile(model, fitted, measured, {"b1": (b1, INFINITE), "b2": (b2, INFINITE)}, start)
    assert result.values["b1"] == pytest.approx(2.3894212918e2, rel=1e-9)
    assert result.values["b2"] == pytest.approx(5.5015643181e-4, rel=1e-9)
    assert result.objective == pytest.approx(1.2455138894e-1, rel=1e-9)
    assert result.freedom == 12
    deviation = np.sqrt(result.objective / result.freedom)
    assert deviation * result.variable_uncertainty["b1"] == pytest.approx(2.7070075241, rel=1e-8)
    assert deviation * result.variable_uncertainty["b2"] == pytest.approx(7.2668688436e-6, rel=1e-8)
