"""The mean of a day: what each sample stands for, and what a figure's uncertainty is of how many determinations."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from accounts.small_mill import TEXT
from accounts.whole_days import readings_of
from canewright.accounts.day_mean import day_mean
from canewright.accounts.dayfiles import FactoryDay
from canewright.plant.description import DescriptionFaults, read_description
from canewright.plant.plant import Plant
from canewright.quantity import Figure

ZONE = ZoneInfo("Etc/GMT-10")
DAY = FactoryDay(dt.date(2031, 8, 14), 6, ZONE)


def _at(hour: int) -> dt.datetime:
    return DAY.start + dt.timedelta(hours=hour - 6)


def _figure(value: float, name: str = "reading") -> Figure:
    return Figure(name, value, "%", None, "reading", decimals=2)


def _mean(parts: dict[int, float], tonnes: dict[int, float] | None = None) -> Figure:
    weighed = {_at(hour): _figure(mass, f"mass {hour}") for hour, mass in (tonnes or {}).items()}
    return day_mean("pol", [(_at(hour), _figure(v)) for hour, v in parts.items()], "%", DAY, weighed)


def test_three_shifts_weigh_alike() -> None:
    found = _mean({14: 10.0, 22: 11.0, 30: 15.0})
    assert found.value == pytest.approx(12.0)
    assert found.how == "mean of the day, each part alike"


def test_a_sample_stands_for_the_hours_since_the_one_before() -> None:
    """10:00 for four hours, 18:00 for eight and the twelve that are left."""
    assert _mean({10: 10.0, 18: 16.0}).value == pytest.approx((4 * 10.0 + 20 * 16.0) / 24)


def test_a_lone_sample_is_the_day() -> None:
    assert _mean({9: 12.34}).value == 12.34


def test_tonnes_weigh_where_the_same_parts_were_weighed() -> None:
    found = _mean({14: 10.0, 22: 12.0}, {14: 3000.0, 22: 1000.0})
    assert found.value == pytest.approx(10.5)
    assert "tonnes" in found.how


def test_the_mean_answers_to_the_tonnes_as_its_tree_says() -> None:
    parts, tonnes = {14: 10.0, 22: 12.0, 30: 11.0}, {14: 3000.0, 22: 1000.0, 30: 2500.0}
    base = _mean(parts, tonnes)
    slopes = {s.figure.name: s.derivative for s in base.inputs}
    for hour, mass in tonnes.items():
        up = _mean(parts, {**tonnes, hour: mass + 0.5}).value
        down = _mean(parts, {**tonnes, hour: mass - 0.5}).value
        assert up is not None
        assert down is not None
        assert slopes[f"mass {hour}"] == pytest.approx(up - down, rel=1e-5)
    assert sum(s.variance_share or 0.0 for s in base.inputs) == pytest.approx(1.0)


@pytest.mark.parametrize("tonnes", [{14: 3000.0}, {14: 3000.0, 22: 0.0}, {14: 1.0, 22: 1.0, 30: 1.0}])
def test_hours_weigh_where_the_parts_were_not_all_weighed(tonnes: dict[int, float]) -> None:
    assert _mean({14: 10.0, 22: 12.0}, tonnes).value == pytest.approx((8 * 10.0 + 16 * 12.0) / 24)


def _pol(repeatability: str) -> str:
    old = 'quantity = "pol"\nuncertainty = 0.06\n'
    assert old in TEXT
    return TEXT.replace(old, f"{old}repeatability = {repeatability}\n")


def test_repeatability_averages_out_and_the_rest_does_not() -> None:
    meter = next(m for m in Plant.from_text(_pol("0.12")).description.meters if m.tag == "juice pol")
    assert meter.standard_uncertainty(15.0) == pytest.approx((0.06**2 + 0.12**2) ** 0.5)
    assert meter.standard_uncertainty(15.0, 4) == pytest.approx((0.06**2 + 0.12**2 / 4) ** 0.5)
    assert meter.standard_uncertainty(15.0, 10_000) == pytest.approx(0.06, rel=1e-3)


@pytest.mark.parametrize(
    ("given", "says"), [('"1 %"', "the same way as the uncertainty"), ("0", "above zero"), ("true", "above zero")]
)
def test_a_wrong_repeatability_is_refused(given: str, says: str) -> None:
    with pytest.raises(DescriptionFaults, match=says):
        read_description(_pol(given))


def test_more_determinations_make_the_day_surer() -> None:
    plant = Plant.from_text(_pol("0.5"))
    read = readings_of(plant, plant.predict())
    once, often = (plant.reconcile(read, determinations={"juice pol": n}) for n in (1, 12))
    sizes = [next(m.uncertainty for m in found.result.measured if m.name == "juice pol") for found in (once, often)]
    assert sizes == pytest.approx([(0.06**2 + 0.25) ** 0.5, (0.06**2 + 0.25 / 12) ** 0.5])
