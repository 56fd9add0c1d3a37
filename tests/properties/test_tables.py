"""Water, steam and moist air beside other implementations; what published tables say of themselves."""

from __future__ import annotations

from math import exp

import numpy as np
import psychrolib
import pytest
from iapws import _iapws97Constants, iapws97

from canewright.properties import if97
from canewright.properties.air import dew_point, humidity_at, moist_air_enthalpy, relative_humidity
from canewright.properties.steam import (
    saturation_pressure,
    steam_enthalpy,
    steam_entropy,
    steam_volume,
    water_enthalpy,
    water_entropy,
    water_volume,
)
from published.checks import Check, read_folder

MISPRINT = "32"
"""The viscosity printed for 32 % fits neither its neighbours nor any formula; 3.58 mPa·s would (digits exchanged)."""


def printed(percent: str) -> Check:
    """The viscosity the handbook prints for this much sucrose at 20 °C."""
    return next(c for c in read_folder() if c.name == f"viscosity of sucrose solution at {percent}")


def test_the_viscosity_that_does_not_close_is_out_of_line_with_its_neighbours() -> None:
    misprint = printed(MISPRINT)
    between = (printed("30").expected.value * printed("34").expected.value) ** 0.5
    assert misprint.expected.value / between > 1.04
    assert misprint.ours() / between < 1.03


def test_steam_verification_beyond_the_pressures_of_a_cane_boiler() -> None:
    """IAPWS R7-97(2012), table 15 (read), nine digits: the point that the formulas' range leaves out."""
    assert if97.vapour_volume(700.0, 30.0) == pytest.approx(0.542946619e-2, rel=1e-8)
    assert if97.vapour_enthalpy(700.0, 30.0) == pytest.approx(2631.49474, rel=1e-8)
    assert if97.vapour_entropy(700.0, 30.0) == pytest.approx(5.17540298, rel=1e-8)


def test_coefficients_are_those_of_the_release() -> None:
    """Every coefficient of tables 2, 10 and 11 as the open library iapws has it."""
    for ours, region in ((if97.LIQUID, "Region1"), (if97.VAPOUR, "Region2")):
        columns = (getattr(_iapws97Constants, f"{region}_{name}") for name in ("Li", "Lj", "n"))
        theirs = {(int(i), int(j)): float(n) for i, j, n in zip(*columns, strict=True)}
        assert {(i, j): n for i, row in ours for j, n in row} == theirs
    ideal = zip(_iapws97Constants.Region2_cp0_Jo, _iapws97Constants.Region2_cp0_no, strict=True)
    assert dict(if97.IDEAL[1]) == {int(j): float(n) for j, n in ideal}


def test_water_and_steam_beside_another_implementation() -> None:
    """200 random points of each phase against the open library iapws."""
    chance = np.random.default_rng(97)
    for celsius in chance.uniform(5.0, 300.0, 200):
        boiling = float(saturation_pressure(celsius))
        pressure = boiling + chance.uniform(0.0, 20000.0)
        theirs = iapws97._Region1(celsius + 273.15, pressure * 1e-3)
        assert water_enthalpy(celsius, pressure) == pytest.approx(theirs["h"], rel=1e-10, abs=1e-9)
        assert water_volume(celsius, pressure) == pytest.approx(theirs["v"], rel=1e-10)
        assert water_entropy(celsius, pressure) == pytest.approx(theirs["s"], rel=1e-10, abs=1e-11)
        pressure = chance.uniform(0.5, boiling)
        hot = celsius + chance.uniform(0.0, 250.0)
        theirs = iapws97._Region2(hot + 273.15, pressure * 1e-3)
        assert steam_enthalpy(hot, pressure) == pytest.approx(theirs["h"], rel=1e-10)
        assert steam_volume(hot, pressure) == pytest.approx(theirs["v"], rel=1e-10)
        assert steam_entropy(hot, pressure) == pytest.approx(theirs["s"], rel=1e-10)
        assert boiling == pytest.approx(1e3 * iapws97._PSat_T(celsius + 273.15), rel=1e-12)


def test_moist_air_beside_another_implementation() -> None:
    """100 random points against the open library PsychroLib, whose saturation curve parts by less than 0.02 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    chance = np.random.default_rng(30)
    for celsius, percent, pressure in chance.uniform((5.0, 20.0, 85.0), (80.0, 95.0, 105.0), (100, 3)):
        theirs = psychrolib.GetHumRatioFromRelHum(celsius, percent / 100.0, pressure * 1e3)
        ours = humidity_at(celsius, percent, pressure)
        crowding = 1.0 + ours / 0.621945  # near saturation at the air pressure a small change of vapour weighs more
        assert ours == pytest.approx(theirs, rel=2e-4 * crowding)
        enthalpy = psychrolib.GetMoistAirEnthalpy(celsius, ours) / 1e3
        assert moist_air_enthalpy(celsius, ours) == pytest.approx(enthalpy, rel=1e-9)
        humidity = psychrolib.GetRelHumFromHumRatio(celsius, ours, pressure * 1e3)
        assert relative_humidity(celsius, ours, pressure) == pytest.approx(100.0 * humidity, rel=2e-4)
        if ours > 0.0055:
            dew = psychrolib.GetTDewPointFromHumRatio(celsius, ours, pressure * 1e3)
            assert dew_point(ours, pressure) == pytest.approx(dew, abs=0.01)


def test_the_ice_relation_used_with_the_published_freezing_points() -> None:
    """At -5 °C ice has 401.8 Pa and supercooled water 421.8 Pa (from memory, meteorological tables)."""
    assert exp(-(9.6934e-3 * 5.0 + 4.761e-6 * 25.0)) == pytest.approx(401.8 / 421.8, abs=5e-4)
