"""Nonlinear least squares with certified answers, through the same engine: NIST Statistical Reference Datasets.

Public domain; data, starting points, certified values, their standard deviations and the residual sum of squares were
read in public copies of the data files (Roszman1 and Eckerle4 as files; MGH17 and Thurber in test suites that quote
them). The reference gives eleven digits. Misra1a stands in test_published_reconciliations.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
import pytest

from canewright.engine import Measured, Reconciliation, reconcile
from canewright.quantity.maths import exp
from engine.small_models import INFINITE, model_of, variable


@dataclass(frozen=True)
class Certified:
    """A data set: model, data, two starting points, certified values with standard deviations, and the sum."""

    fitted: Callable[[Mapping[str, Any], float], Any]
    x: Sequence[float]
    y: Sequence[float]
    starts: tuple[Sequence[float], Sequence[float]]
    values: Sequence[float]
    deviations: Sequence[float]
    squares: float

    @property
    def names(self) -> list[str]:
        """b1, b2, ..."""
        return [f"b{i + 1}" for i in range(len(self.values))]


def _roszman(b: Mapping[str, Any], x: float) -> Any:
    return b["b1"] - b["b2"] * x - ca.atan(b["b3"] / (x - b["b4"])) / np.pi


def _thurber(b: Mapping[str, Any], x: float) -> Any:
    above = b["b1"] + b["b2"] * x + b["b3"] * x**2 + b["b4"] * x**3
    return above / (1 + b["b5"] * x + b["b6"] * x**2 + b["b7"] * x**3)


ROSZMAN = Certified(
    _roszman,
    [-4868.68, -4868.09, -4867.41, -3375.19, -3373.14, -3372.03, -2473.74, -2472.35, -2469.45, -1894.65, -1893.40,
     -1497.24, -1495.85, -1493.41, -1208.68, -1206.18, -1206.04, -997.92, -996.61, -996.31, -834.94, -834.66, -710.03,
     -530.16, -464.17],
    [0.252429, 0.252141, 0.251809, 0.297989, 0.296257, 0.295319, 0.339603, 0.337731, 0.333820, 0.389510, 0.386998,
     0.438864, 0.434887, 0.427893, 0.471568, 0.461699, 0.461144, 0.513532, 0.506641, 0.505062, 0.535648, 0.533726,
     0.568064, 0.612886, 0.624169],
    ([0.1, -1e-5, 1000.0, -100.0], [0.2, -5e-6, 1200.0, -150.0]),
    [2.0196866396e-1, -6.1953516256e-6, 1.2044556708e3, -1.8134269537e2],
    [1.9172666023e-2, 3.2058931691e-6, 7.4050983057e1, 4.9573513849e1],
    4.9484847331e-4,
)  # fmt: skip
ECKERLE = Certified(
    lambda b, x: b["b1"] / b["b2"] * exp(-0.5 * ((x - b["b3"]) / b["b2"]) ** 2),
    [400, 405, 410, 415, 420, 425, 430, 435, 436.5, 438, 439.5, 441, 442.5, 444, 445.5, 447, 448.5, 450, 451.5, 453,
     454.5, 456, 457.5, 459, 460.5, 462, 463.5, 465, 470, 475, 480, 485, 490, 495, 500],
    [0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710, 0.0017418, 0.0046400, 0.0065895, 0.0097302,
     0.0149002, 0.0237310, 0.0401683, 0.0712559, 0.1264458, 0.2073413, 0.2902366, 0.3445623, 0.3698049, 0.3668534,
     0.3106727, 0.2078154, 0.1164354, 0.0616764, 0.0337200, 0.0194023, 0.0117831, 0.0074357, 0.0022732, 0.0008800,
     0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710],
    ([1.0, 10.0, 500.0], [1.5, 5.0, 450.0]),
    [1.5543827178, 4.0888321754, 4.5154121844e2],
    [1.5408051163e-2, 4.6803020753e-2, 4.6800518816e-2],
    1.4635887487e-3,
)  # fmt: skip
MGH17 = Certified(
    lambda b, x: b["b1"] + b["b2"] * exp(-x * b["b4"]) + b["b3"] * exp(-x * b["b5"]),
    [10.0 * i for i in range(33)],
    [0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658, 0.628, 0.603,
     0.580, 0.558, 0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431, 0.424, 0.420, 0.414, 0.411,
     0.406],
    ([50.0, 150.0, -100.0, 1.0, 2.0], [0.5, 1.5, -1.0, 0.01, 0.02]),
    [3.7541005211e-1, 1.9358469127, -1.4646871366, 1.2867534640e-2, 2.2122699662e-2],
    [2.0723153551e-3, 2.2031669222e-1, 2.2175707739e-1, 4.4861358114e-4, 8.9471996575e-4],
    5.4648946975e-5,
)  # fmt: skip
THURBER = Certified(
    _thurber,
    [-3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322, -1.501, -1.460,
     -1.274, -1.212, -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309, -0.109, -0.103, 0.010, 0.119,
     0.377, 0.790, 0.963, 1.006, 1.115, 1.572, 1.841, 2.047, 2.200],
    [80.574, 84.248, 87.264, 87.195, 89.076, 89.608, 89.868, 90.101, 92.405, 95.854, 100.696, 101.060, 401.672, 390.724,
     567.534, 635.316, 733.054, 759.087, 894.206, 990.785, 1090.109, 1080.914, 1122.643, 1178.351, 1260.531, 1273.514,
     1288.339, 1327.543, 1353.863, 1414.509, 1425.208, 1421.384, 1442.962, 1464.350, 1468.705, 1447.894, 1457.628],
    ([1000.0, 1000.0, 400.0, 40.0, 0.7, 0.3, 0.03], [1300.0, 1500.0, 500.0, 75.0, 1.0, 0.4, 0.05]),
    [1.2881396800e3, 1.4910792535e3, 5.8323836877e2, 7.5416644291e1, 9.6629502864e-1, 3.9797285797e-1, 4.9727297349e-2],
    [4.6647963344, 3.9571156086e1, 2.8698696102e1, 5.5675370270, 3.1333340687e-2, 1.4984928198e-2, 6.5842344623e-3],
    5.6427082397e3,
)  # fmt: skip


def _fit(one: Certified, start: Sequence[float]) -> Reconciliation:
    """The fit as a day: every value of y a reading, every parameter a setting without a prior."""
    free = [variable(n, abs(b)) for n, b in zip(one.names, start, strict=True)]
    model = model_of([], free, [], lambda v: [])
    scatter = float(np.ptp(np.array(one.y)))
    measured = [Measured(f"y{i}", y, scatter) for i, y in enumerate(one.y)]
    fitted = model.expressions(lambda v: [one.fitted(v, x) for x in one.x])
    begin = dict(zip(one.names, start, strict=True))
    return reconcile(model, fitted, measured, {n: (b, INFINITE) for n, b in begin.items()}, model.scaled(begin), 400)


@pytest.mark.parametrize("one", [ROSZMAN, ECKERLE, MGH17, THURBER], ids=["Roszman1", "Eckerle4", "MGH17", "Thurber"])
@pytest.mark.parametrize("start", [0, 1])
def test_certified_values_deviations_and_sum(one: Certified, start: int) -> None:
    """Eight digits of the values, nine of the sum, seven of the standard deviations.

    The two exponentials of MGH17 may come out in the other order, which is the same fit.
    """
    result = _fit(one, one.starts[start])
    names = one.names
    if one is MGH17 and result.values["b4"] > result.values["b5"]:
        names = ["b1", "b3", "b2", "b5", "b4"]
    for name, value in zip(names, one.values, strict=True):
        assert result.values[name] == pytest.approx(value, rel=1e-8)
    scatter = float(np.ptp(np.array(one.y)))
    assert result.objective * scatter**2 == pytest.approx(one.squares, rel=1e-9)
    assert result.freedom == len(one.y) - len(one.values)
    residual = np.sqrt(result.objective / result.freedom)
    for name, deviation in zip(names, one.deviations, strict=True):
        assert residual * result.variable_uncertainty[name] == pytest.approx(deviation, rel=1e-7)
