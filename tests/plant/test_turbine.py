"""Back-pressure turbine: ideal and real expansion against published steam tables, wet and superheated alike."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from canewright.plant.plant import State
from plant.steam_plant import enthalpy, solved, steam_plant


def _fall(state: State) -> float:
    """Real fall of enthalpy, kJ/kg."""
    return enthalpy(state.stream("main.branches.1")) - enthalpy(state.stream("turbine.exhaust"))


def test_worked_expansion() -> None:
    """45 bar, 440 °C to 2.3 bar at 78 %: exhaust 2768.73 kJ/kg, 531.88 kJ/kg, 6.769 kg/kWh at the shaft.

    Source: own figures by another program on IF97 (read).
    """
    state = solved(steam_plant())
    assert enthalpy(state.stream("turbine.exhaust")) == pytest.approx(2768.73, abs=0.05)
    assert _fall(state) == pytest.approx(531.88, abs=0.05)
    shaft = state.stream("turbine.power").power / 0.95 / 0.96
    assert 1000.0 * state.stream("turbine.exhaust").flow / shaft == pytest.approx(6.769, abs=1e-3)


def test_second_worked_expansion() -> None:
    """30 bar, 380 °C to 2.3 bar at 70 %: 394.13 kJ/kg, 9.134 kg/kWh at the shaft (own figures, read)."""
    changes = {"boiler.pressure": 3000.0, "boiler.temperature": 380.0, "turbine.isentropic_efficiency": 70.0}
    state = solved(steam_plant(), changes)
    assert _fall(state) == pytest.approx(394.13, abs=0.05)
    assert 3600.0 / _fall(state) == pytest.approx(9.134, abs=2e-3)


@pytest.mark.parametrize(
    ("pressure", "temperature", "exhaust", "efficiency"),
    [
        (4500.0, 440.0, 230.0, 78.0),
        (2000.0, 360.0, 150.0, 65.0),
        (1200.0, 400.0, 231.0, 70.0),  # the ideal end point is superheated
        (600.0, 350.0, 200.0, 80.0),  # far into superheat
        (9000.0, 520.0, 300.0, 75.0),
    ],
)
def test_against_an_independent_steam_library(
    pressure: float, temperature: float, exhaust: float, efficiency: float
) -> None:
    """Ideal and real end points by the iapws library, whose backward equations find the ideal state by entropy."""
    changes = {
        "boiler.pressure": pressure,
        "boiler.temperature": temperature,
        "range.pressure": exhaust,
        "turbine.isentropic_efficiency": efficiency,
    }
    state = solved(steam_plant(), changes)
    live = IAPWS97(T=temperature + 273.15, P=pressure / 1000.0)
    ideal = IAPWS97(P=exhaust / 1000.0, s=live.s)
    assert _fall(state) == pytest.approx(efficiency / 100.0 * (live.h - ideal.h), abs=0.05)
    if ideal.x < 1.0:
        assert state.values["turbine.end_quality"] == pytest.approx(ideal.x, abs=1e-4)
    else:
        boiling = IAPWS97(P=exhaust / 1000.0, x=1).T
        assert state.values["turbine.end_superheat"] == pytest.approx(ideal.T - boiling, abs=0.05)


def test_wet_exhaust_is_refused_by_name() -> None:
    """Saturated exhaust wetter than its stream can carry is never passed on silently."""
    with pytest.raises(NotSolved, match="exhaust_superheat"):
        steam_plant().predict({"boiler.temperature": 300.0, "turbine.isentropic_efficiency": 88.0})


def test_better_turbine_gives_more_power_and_cooler_exhaust() -> None:
    worse, better = (solved(steam_plant(), {"turbine.isentropic_efficiency": e}) for e in (70.0, 80.0))
    assert better.stream("turbine.power").power > worse.stream("turbine.power").power
    assert better.stream("turbine.exhaust").temperature < worse.stream("turbine.exhaust").temperature


def test_higher_back_pressure_gives_less_power() -> None:
    powers = [solved(steam_plant(), {"range.pressure": p}).values["turbine.power.power"] for p in (180.0, 230.0, 300.0)]
    assert powers == sorted(powers, reverse=True)
    assert powers[0] > 1.05 * powers[2]


def test_turbine_that_stands_gives_no_power() -> None:
    state = solved(steam_plant(), {"turbine.steam_flow": 0.0})
    assert abs(state.stream("turbine.power").power) < 1e-9
