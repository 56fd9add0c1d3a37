"""Boundary supplies: the stream that comes is the one described."""

from __future__ import annotations

import psychrolib
import pytest
from iapws import IAPWS97

from plant.boiling_house import STRIKE, STRIKE_CONNECTIONS, described, number, of


@pytest.mark.parametrize(("kind", "port"), [("liquor supply", "liquor"), ("juice supply", "juice")])
def test_a_solution_has_its_rate_dry_substance_and_purity(kind: str, port: str) -> None:
    given = {"rate": 120, "dry_substance": 62, "purity": 88, "suspended": 2, "colour": 9000, "ash": 20}
    state = described({"feed": {"kind": kind, **given}}, {"outside.feed": f"feed.{port}"}).predict()
    out = of(state, f"feed.{port}")
    assert out.flow == pytest.approx(120, rel=1e-10)
    assert out.dry_substance == pytest.approx(62, rel=1e-10)
    assert out.purity == pytest.approx(88, rel=1e-10)
    assert out.suspended == pytest.approx(2.4, rel=1e-10)
    assert out.ash == pytest.approx(0.2 * out.non_sucrose, rel=1e-10)
    assert out.icumsa_colour == pytest.approx(9000, rel=1e-10)


@pytest.mark.parametrize(("kind", "port"), [("massecuite supply", "massecuite"), ("sugar supply", "sugar")])
def test_crystals_have_purities_moisture_and_colour(kind: str, port: str) -> None:
    given = {"rate": 40, "moisture": 3, "purity": 90, "film_purity": 60, "colour": 5000, "colour_in_film": 80}
    state = described({"feed": {"kind": kind, **given}}, {"outside.feed": f"feed.{port}"}).predict()
    out = of(state, f"feed.{port}")
    assert out.water == pytest.approx(1.2, rel=1e-10)
    assert out.crystal == pytest.approx(38.8 * (90 - 60) / (100 - 60), rel=1e-10)
    assert out.purity == pytest.approx(90, rel=1e-10)
    assert out.icumsa_colour == pytest.approx(5000, rel=1e-10)
    assert out.crystal_colour == pytest.approx(0.2 * out.total_colour, rel=1e-10)


def test_nothing_supplied_solves() -> None:
    state = described({"feed": {"kind": "sugar supply", "rate": 0}}, {"outside.feed": "feed.sugar"}).predict()
    assert number(state, "feed.sugar", "flow") == pytest.approx(0.0, abs=1e-12)


def test_steam_by_superheat_or_by_temperature() -> None:
    """Boiling temperature at 170 kPa from an independent IAPWS-97 (iapws package)."""
    saturated = IAPWS97(P=0.170, x=1).T - 273.15
    for given, wanted in (({"superheat": 5}, saturated + 5), ({"given": "temperature", "temperature": 140}, 140.0)):
        stations = {**STRIKE, "steam": {"kind": "steam supply", "pressure": 170, **given}}
        state = described(stations, STRIKE_CONNECTIONS).predict()
        assert number(state, "steam.steam.1", "temperature") == pytest.approx(wanted, abs=1e-3)


def test_air_by_relative_humidity() -> None:
    """PsychroLib (ASHRAE 2017): humidity of air of 60 °C and 15 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    stations = {
        "wet": {"kind": "sugar supply", "rate": 20, "moisture": 0.5},
        "air": {"kind": "air supply", "temperature": 60, "relative_humidity": 15},
        "dryer": {"kind": "sugar dryer"},
    }
    state = described(
        stations,
        {"dryer.sugar": "wet.sugar", "dryer.air": "air.air", "outside.d": "dryer.dried", "outside.a": "dryer.air_out"},
    ).predict()
    wanted = psychrolib.GetHumRatioFromRelHum(60.0, 0.15, 101325.0)
    assert number(state, "air.air.1", "humidity") == pytest.approx(wanted, rel=1e-3)
