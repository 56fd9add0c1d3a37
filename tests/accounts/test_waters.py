"""Sugar in watched waters: at once when it arrives, and as a loss at the close."""

from __future__ import annotations

import datetime as dt

import pytest

from canewright.accounts.dayfiles import PointReading
from canewright.accounts.waters import alarms, trace_points, water_matters
from canewright.plant.stocktaking import Trace
from canewright.store import Reading
from canewright.store.records import Quality

WATER = Trace("pan condenser water", "pan condenser.warm", 20.0, to_boilers=False)
FEED = Trace("heater condensate", "heater.condensate", 20.0, to_boilers=True)
AT = dt.datetime(2031, 9, 4, 14, tzinfo=dt.UTC)


def found(trace: Trace, value: float | None, quality: Quality = "good") -> PointReading:
    """A row of the laboratory's file."""
    return PointReading(2, trace_points([trace])[0], 0, AT, value, quality, "analyst")


def stored(value: float, hour: int) -> Reading:
    """A stored reading of the condenser water."""
    at = AT.replace(hour=hour)
    return Reading(
        hour, at.date(), WATER.sample, "sugar", value, "mg/kg", "good", at, "analyst", at, "keyboard", 0, None, None,
        None, None,
    )  # fmt: skip


def test_boiler_feed_speaks_of_diversion_under_the_sites_procedure() -> None:
    (said,) = alarms([found(FEED, 25.0), found(FEED, 21.0), found(WATER, 3.0)])
    assert said.startswith("heater condensate: sugar 25 mg/kg is above its limit of 20 mg/kg")
    assert "divert this condensate from the boilers now under the site's procedure" in said


@pytest.mark.parametrize(("value", "quality"), [(20.0, "good"), (25.0, "bad"), (None, "missing")])
def test_nothing_is_said_at_the_limit_or_of_what_is_not_used(value: float | None, quality: Quality) -> None:
    assert alarms([found(FEED, value, quality)]) == []


def test_the_loss_is_the_mean_in_the_days_water() -> None:
    """By hand: 80 mg/kg in 5,000 t/h is 0.40 t/h, in 20.4 h 8.16 t; at 420 $/t 3,427 $."""
    flows, hours = {WATER.stream: 5000.0}, {WATER.stream: 20.4}
    (matter,) = water_matters([WATER], [stored(70.0, 6), stored(90.0, 14)], flows, hours, 420.0)
    assert matter.size == pytest.approx(8.16)
    assert matter.money == pytest.approx(8.16 * 420.0)
    assert "0.40 t/h of sugar leaves, 8.2 t on the day" in matter.why


def test_clean_water_is_no_matter() -> None:
    assert water_matters([WATER], [stored(3.0, 6)], {WATER.stream: 5000.0}, {WATER.stream: 20.0}, None) == []
