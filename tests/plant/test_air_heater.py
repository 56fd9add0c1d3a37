"""Air heater: steam by the enthalpy of moist air, and air warmer than its steam refused by name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from canewright.plant.catalogue import STATIONS
from canewright.plant.plant import Plant
from canewright.plant.station import Equations, Station, inlet, setting
from canewright.plant.streams import Air
from plant.steam_plant import plant_of, solved


class AirUser(Station):
    """A user that takes warm air at a rate."""

    kind = "air user of this test"
    boundary = True
    air = inlet(Air)
    rate = setting("t/h", 22.5, "dry air taken", limits=(0.0, 100.0))

    def equations(self) -> Equations:
        """Its rate."""
        yield "air is taken at the rate", self.air.dry_air, self.rate

    def estimate(self) -> Mapping[str, float]:
        """Its rate."""
        return {f"{self.air.prefix}.dry_air": float(self.rate)}


@pytest.fixture
def plant(monkeypatch: pytest.MonkeyPatch) -> Plant:
    monkeypatch.setitem(STATIONS, AirUser.kind, AirUser)
    stations: dict[str, dict[str, Any]] = {
        "air": {"kind": "air supply", "temperature": 30.0, "relative_humidity": 50.0},
        "steam": {"kind": "steam supply", "pressure": 170.0, "superheat": 5.0},
        "heater": {"kind": "air heater", "temperature": 85.0},
        "user": {"kind": AirUser.kind},
    }
    connections = {
        "heater.air": "air.air", "heater.steam": "steam.steam", "user.air": "heater.heated",
        "outside.condensate": "heater.condensate",
    }  # fmt: skip
    return plant_of(stations, connections)


def test_steam_by_hand(plant: Plant) -> None:
    """22.5 t/h dry air from 30 to 85 °C with 2 % lost: heat by h = 1.006 t + W (2501 + 1.86 t), steam by iapws.

    Source: ASHRAE Handbook Fundamentals (2017), chapter 1 (read); enthalpies of steam by the iapws library,
    condensate at the 500 kPa at which every water line is counted.
    """
    state = solved(plant)
    warm = state.stream("heater.heated")
    humidity = float(warm.water / warm.dry_air)
    heat = 22.5 * 1.02 * (1.006 + 1.86 * humidity) * (85.0 - 30.0)
    boiling = IAPWS97(P=0.17, x=0)
    live, condensed = IAPWS97(T=boiling.T + 5.0, P=0.17).h, IAPWS97(T=boiling.T, P=0.5).h
    assert state.stream("steam.steam.1").flow == pytest.approx(heat / (live - condensed), rel=1e-5)
    assert state.values["heater.approach"] == pytest.approx(boiling.T - 273.15 - 85.0, abs=1e-3)


def test_warmer_air_takes_more_steam(plant: Plant) -> None:
    cool, warm = (solved(plant, {"heater.temperature": t}).stream("steam.steam.1").flow for t in (60.0, 90.0))
    assert warm > cool


def test_air_warmer_than_its_steam_is_refused_by_name(plant: Plant) -> None:
    with pytest.raises(NotSolved, match="approach"):
        plant.predict({"heater.temperature": 125.0})


def test_no_air_takes_no_steam(plant: Plant) -> None:
    state = solved(plant, {"user.rate": 0.0})
    assert abs(state.stream("steam.steam.1").flow) < 1e-12
