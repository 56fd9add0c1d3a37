"""A row of three effects written a second time, in Pyomo, and solved by IPOPT from Pyomo's own file: the same answer.

The second model shares the property formulas (each checked against its own source) and the settings, nothing else: its
balances, its unknowns (kg/s, no components), its derivatives and its solver are others.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import casadi as ca
import numpy as np
import pyomo.environ as pyo
import pytest
from pyomo.repn.plugins.nl_writer import NLWriter

from canewright.plant.streams import Water
from canewright.properties.boiling import boiling_point_elevation_textbook
from canewright.properties.steam import saturation_temperature, steam_enthalpy, water_enthalpy
from canewright.properties.thermal import liquor_enthalpy_flow
from canewright.quantity import Formula
from plant.juice_side import flow
from plant.test_evaporator_published import TRIPLE, geankoplis

FEED, SOLIDS, PURE = 22.680 / 3.6, 2.2680 / 3.6, 0.99999  # kg/s, kg/s, share of sucrose in the solids
AREA, COEFFICIENTS = 104.98, (3.123, 1.987, 1.136)  # m², kW/m²K
LIVE, LAST, FED_AT = 205.5, 13.4, 26.7  # kPa, kPa, °C


@dataclass
class Term:
    """A Pyomo expression that our formulas can compute with."""

    of: Any

    def __neg__(self) -> Term:
        return Term(-self.of)

    def __add__(self, other: Any) -> Term:
        return Term(self.of + _plain(other))

    def __radd__(self, other: Any) -> Term:
        return Term(_plain(other) + self.of)

    def __sub__(self, other: Any) -> Term:
        return Term(self.of - _plain(other))

    def __rsub__(self, other: Any) -> Term:
        return Term(_plain(other) - self.of)

    def __mul__(self, other: Any) -> Term:
        return Term(self.of * _plain(other))

    def __rmul__(self, other: Any) -> Term:
        return Term(_plain(other) * self.of)

    def __truediv__(self, other: Any) -> Term:
        return Term(self.of / _plain(other))

    def __rtruediv__(self, other: Any) -> Term:
        return Term(_plain(other) / self.of)

    def sqrt(self) -> Term:
        """Square root."""
        return Term(pyo.sqrt(self.of))

    def exp(self) -> Term:
        """Exponential."""
        return Term(pyo.exp(self.of))

    def log(self) -> Term:
        """Natural logarithm."""
        return Term(pyo.log(self.of))


def _plain(x: Any) -> Any:
    return x.of if isinstance(x, Term) else x


def law(formula: Formula, *given: Any) -> Any:
    """A property formula of Pyomo expressions."""
    return _plain(formula.function(*(Term(x) for x in given)))


def heat(liquor: Any, temperature: Any) -> Any:
    """Enthalpy flow of liquor, kW, from its flow in kg/s."""
    sucrose, rest = PURE * SOLIDS, (1 - PURE) * SOLIDS
    return law(liquor_enthalpy_flow, liquor - SOLIDS, sucrose + 0.0 * liquor, rest + 0.0 * liquor, temperature)


def row() -> pyo.ConcreteModel:
    """Three effects in series, written as balances of kilograms and kilowatts for each second."""
    m = pyo.ConcreteModel()
    effects = range(1, 4)
    m.liquor = pyo.Var(effects, initialize=lambda _, i: FEED * (1 - 0.25 * i), bounds=(SOLIDS, FEED))
    m.vapour = pyo.Var(range(4), initialize=FEED / 4, bounds=(0.0, FEED))
    m.boils = pyo.Var(effects, initialize=lambda _, i: 125.0 - 20.0 * i, bounds=(20.0, 130.0))
    m.pressure = pyo.Var(effects, initialize=lambda _, i: 200.0 - 60.0 * i, bounds=(5.0, LIVE))
    m.holds = pyo.ConstraintList()
    m.holds.add(m.pressure[3] == LAST)
    liquor, warm = FEED, FED_AT
    pressure: Any = LIVE
    steam_at: Any = float(saturation_temperature(LIVE))
    condenses: Any = steam_at
    for i in effects:
        given = m.vapour[i - 1] * (
            _enthalpy(steam_enthalpy, steam_at, pressure) - _enthalpy(water_enthalpy, condenses, Water.LINE_PRESSURE)
        )
        brought = (
            heat(liquor, warm)
            if i > 1
            else float(liquor_enthalpy_flow(FEED - SOLIDS, PURE * SOLIDS, (1 - PURE) * SOLIDS, FED_AT))
        )
        m.holds.add(given == COEFFICIENTS[i - 1] * AREA * (condenses - m.boils[i]))
        m.holds.add(liquor == m.liquor[i] + m.vapour[i])
        leaves = m.vapour[i] * law(steam_enthalpy, m.boils[i], m.pressure[i])
        m.holds.add(brought + given == heat(m.liquor[i], m.boils[i]) + leaves)
        condenses = law(saturation_temperature, m.pressure[i])
        m.holds.add(m.boils[i] == condenses + law(boiling_point_elevation_textbook, 100.0 * SOLIDS / m.liquor[i]))
        liquor, warm, steam_at, pressure = m.liquor[i], m.boils[i], m.boils[i], m.pressure[i]
    m.nothing = pyo.Objective(expr=0.0 * m.boils[1])
    return m


def _enthalpy(formula: Formula, temperature: Any, pressure: Any) -> Any:
    known = isinstance(temperature, float) and isinstance(pressure, float)
    return float(formula(temperature, pressure)) if known else law(formula, temperature, pressure)


def answer(model: pyo.ConcreteModel, folder: Path) -> dict[str, float]:
    """The model written to Pyomo's file, read from it and solved by IPOPT; values by Pyomo's names."""
    path = folder / "row.nl"
    with path.open("w", encoding="ascii") as file:
        written = NLWriter().write(model, file, linear_presolve=False)
    read = ca.NlpBuilder()
    read.import_nl(str(path))
    problem: dict[str, Any] = {"x": ca.vertcat(*read.x), "f": read.f, "g": ca.vertcat(*read.g)}
    options: dict[str, Any] = {"print_time": False, "ipopt.print_level": 0, "ipopt.sb": "yes", "ipopt.tol": 1e-12}
    solver = ca.nlpsol("row", "ipopt", problem, options)
    found = solver(x0=read.x_init, lbx=read.x_lb, ubx=read.x_ub, lbg=read.g_lb, ubg=read.g_ub)
    assert solver.stats()["success"]
    names = [variable.name for variable in written.variables]
    return dict(zip(names, np.asarray(found["x"]).ravel().tolist(), strict=True))


def test_another_model_and_solver_give_the_same_row(tmp_path: Path) -> None:
    """Steam, and of each effect vapour, boiling temperature and pressure, to eight digits."""
    other, state = answer(row(), tmp_path), geankoplis().predict()
    assert 3.6 * other["vapour[0]"] == pytest.approx(flow(state, "steam.steam.1"), rel=1e-8)
    for i, name in enumerate(TRIPLE, start=1):
        assert 3.6 * other[f"liquor[{i}]"] == pytest.approx(flow(state, f"{name}.concentrated"), rel=1e-8)
        assert other[f"boils[{i}]"] == pytest.approx(state.values[f"{name}.vapour.temperature"], rel=1e-8)
        assert other[f"pressure[{i}]"] == pytest.approx(state.values[f"{name}.vapour.pressure"], rel=1e-8)
