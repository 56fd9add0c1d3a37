"""Contact heaters: vapour taken up by juice, and flash recovered from limed juice."""

from __future__ import annotations

import pytest

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from canewright.properties.steam import saturation_temperature
from plant.juice_side import flow, part, plant, station, worst_closure


def controlled() -> Plant:
    """Raw juice on vapour of 60 kPa."""
    stations = [
        station("juice", "juice supply", rate=100, dry_substance=15, fibre=0, temperature=30),
        station("steam", "steam supply", pressure=60, superheat=0),
        station("heater", "contact heater", temperature=70, heat_loss=0),
    ]
    links: dict[str, str | list[str]] = {
        "heater.juice": "juice.juice", "heater.vapour": "steam.steam", "outside.hot": "heater.heated",
    }  # fmt: skip
    return plant(stations, links)


def recovered(**changes: float) -> Plant:
    """Raw juice takes up the flash of limed juice, which is heated on vapour before its tank."""
    rate = changes.get("rate", 400.0)
    stations = [
        station("raw", "juice supply", rate=rate, dry_substance=15, temperature=35),
        station("limed", "juice supply", rate=rate, dry_substance=14.5, temperature=changes.get("limed", 104.0)),
        station("tank", "flash tank"),
        station("heater", "flash heater", heat_loss=0),
    ]
    links: dict[str, str | list[str]] = {
        "heater.juice": "raw.juice", "tank.juice": "limed.juice", "heater.vapour": "tank.vapour",
        "outside.warm": "heater.heated", "outside.to clarifier": "tank.flashed",
    }  # fmt: skip
    return plant(stations, links)


def test_vapour_by_hand() -> None:
    """Heat of warming over the vapour's heat above the juice; its water stays in the juice."""
    state = controlled().predict()
    taken = flow(state, "steam.steam.1")
    assert taken == pytest.approx(100 * 3.86 * 40 / (2653.0 - 4.19 * 70), rel=0.01)
    juice, hot = state.stream("juice.juice"), state.stream("heater.heated")
    assert part(hot, "water") - part(juice, "water") == pytest.approx(taken, rel=1e-12)
    assert part(hot, "dry_substance") < part(juice, "dry_substance")
    steam = float(saturation_temperature(60.0))
    assert state.values["heater.approach"] == pytest.approx(steam - 70.0, abs=1e-9)
    assert worst_closure(state) <= 1e-9


@pytest.mark.parametrize(
    ("change", "sign"),
    [({"heater.temperature": 75.0}, 1), ({"juice.temperature": 40.0}, -1), ({"heater.heat_loss": 2.0}, 1)],
)
def test_what_asks_for_vapour(change: dict[str, float], sign: int) -> None:
    before, after = controlled().predict(), controlled().predict(change)
    assert (flow(after, "steam.steam.1") - flow(before, "steam.steam.1")) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_flash_is_recovered() -> None:
    """3.7 K flash off; the raw juice gains them and the heat of the condensed flash down to its own 39 °C."""
    state = recovered().predict()
    fallen = 104.0 - state.measured("tank.flashed", "temperature")
    risen = state.measured("heater.heated", "temperature") - 35.0
    assert fallen == pytest.approx(3.7, abs=0.1)
    assert risen == pytest.approx(fallen * (2257 + 4.2 * (100.3 - 39)) / 2257, rel=0.03)
    assert flow(state, "heater.heated") == pytest.approx(400.0 + flow(state, "tank.vapour"), rel=1e-12)
    assert worst_closure(state) <= 1e-9


def test_hotter_limed_juice_gives_back_more() -> None:
    cool, hot = recovered(limed=103.0).predict(), recovered(limed=106.0).predict()
    assert hot.measured("heater.heated", "temperature") > cool.measured("heater.heated", "temperature")


def test_juice_hotter_than_the_vapour_is_refused() -> None:
    """Juice cannot pass its vapour; the message names the heater."""
    with pytest.raises(NotSolved, match="heater"):
        controlled().predict({"heater.temperature": 90.0})


def test_too_near_the_vapour_is_named() -> None:
    """One kelvin below vapour that condenses at 86 °C is nearer than 1.5 K."""
    case = controlled()
    near = float(saturation_temperature(60.0)) - 1.0
    view = case.assembly.stations["heater"].bound(case.predict({"heater.temperature": near}).values.__getitem__)
    [(_, wanted, there)] = list(view.capacities())
    assert float(wanted) > float(there)


def test_nothing_flows() -> None:
    """Idle heaters take no vapour; juice that does not flow is as warm as it came."""
    still = controlled().predict({"juice.rate": 0.0})
    assert flow(still, "steam.steam.1") == pytest.approx(0.0, abs=1e-6)
    assert worst_closure(still) <= 1e-9
    empty = recovered(rate=0.0).predict()
    assert empty.measured("heater.heated", "temperature") == pytest.approx(35.0, abs=1e-3)
    assert worst_closure(empty) <= 1e-9
