"""Lag, mixing, windows, tares and waits, against hand-worked figures."""

from __future__ import annotations

import datetime as dt

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad

from canewright.analysis.cane_sampling import (
    carrier_lag,
    ccs_error_of_lag,
    crushing_time,
    least_sampled_mass,
    share_of_neighbour,
    share_of_neighbour_early,
)
from canewright.cane.neighbours import lag_with_stops, neighbour_share, with_window_marks
from canewright.cane.waiting import TARGET_HOURS, weekly, with_waits, yard_stock
from canewright.cane.weighing import due_for_weighing, tare_of, trips_of, wrong_tares

SIX = dt.datetime.combine(dt.date(2026, 7, 13), dt.time(6))


def test_lag_and_its_error() -> None:
    """By hand (F-25): 40 m at 8 m/min is 300 s; 20 s in 180 s with 2.5 units apart is 0.27778."""
    assert carrier_lag(40.0, 8.0) == 300.0
    assert ccs_error_of_lag(20.0, 180.0, 15.5, 13.0) == pytest.approx(0.27778, abs=1e-4)


def test_least_consignment_with_its_own_sample() -> None:
    """By hand: at 420 t/h 36 t last 5.143 min; 60, 180 and 30 s need 31.5 t."""
    assert crushing_time(36.0, 420.0) == pytest.approx(5.143, abs=5e-4)
    assert least_sampled_mass(420.0, 60.0, 180.0, 30.0) == pytest.approx(31.5)


@pytest.mark.parametrize(("start", "window", "mixing"), [(60.0, 180.0, 25.0), (0.0, 60.0, 40.0), (120.0, 90.0, 10.0)])
def test_share_of_the_neighbour_is_the_mean_of_the_decaying_tray(start: float, window: float, mixing: float) -> None:
    mean, _ = quad(lambda t: np.exp(-t / mixing) / window, start, start + window)
    assert share_of_neighbour(start, window, mixing) == pytest.approx(mean, rel=1e-9)


def test_a_sample_begun_early_holds_the_neighbour_whole_until_the_boundary() -> None:
    after, _ = quad(lambda t: np.exp(-t / 25.0), 0.0, 165.0)
    assert share_of_neighbour_early(15.0, 165.0, 25.0) == pytest.approx((15.0 + after) / 180.0, rel=1e-9)
    assert share_of_neighbour_early(0.0, 180.0, 25.0) == pytest.approx(share_of_neighbour(0.0, 180.0, 25.0), rel=1e-12)


def test_stops_of_the_carrier_delay_the_boundary() -> None:
    assert lag_with_stops([], 100.0, 300.0) == 400.0
    assert lag_with_stops([(200.0, 260.0)], 100.0, 300.0) == 460.0
    assert lag_with_stops([(50.0, 150.0), (500.0, 600.0)], 100.0, 300.0) == 450.0
    assert lag_with_stops([(0.0, 90.0), (900.0, 990.0)], 100.0, 300.0) == 400.0


def mixed(share: float, count: int = 900) -> pl.DataFrame:
    """Consignments of 30 blocks, tipped by turns at random, whose samples hold a share of the one before."""
    chance = np.random.default_rng(5)
    place = chance.integers(0, 30, count)
    true = 13.0 + chance.normal(0.0, 1.0, 30)[place]
    before = np.concatenate([true[:1], true[:-1]])
    ccs = (1 - share) * true + share * before + chance.normal(0.0, 0.3, count)
    frame = pl.DataFrame({"block": place, "ccs": ccs}).with_columns(
        tipped_at=pl.lit(SIX) + pl.duration(minutes=5 * pl.int_range(pl.len())), spread=pl.lit(0.5)
    )
    return frame.with_columns(expected=pl.col("ccs").median().over("block"), day=pl.col("tipped_at").dt.date())


@pytest.mark.parametrize("share", [0.0, 0.1, 0.22, 0.4])
def test_the_share_of_the_neighbour_is_found_again(share: float) -> None:
    found = neighbour_share(mixed(share))
    assert found is not None
    assert found.share == pytest.approx(share, abs=3.5 * found.uncertainty)
    assert found.wrong_lag == (share > 0.05)
    assert ("audit it" in found.says()) == found.wrong_lag


def test_few_or_like_consignments_say_nothing_of_the_lag() -> None:
    assert neighbour_share(mixed(0.2, 20)) is None
    assert neighbour_share(mixed(0.2).with_columns(block=1)) is None


def windows(*seconds: tuple[int, int] | None) -> pl.DataFrame:
    """Sample windows from and to so many seconds after six."""
    made = [(None, None) if w is None else tuple(SIX + dt.timedelta(seconds=s) for s in w) for w in seconds]
    schema = {"sampled_from": pl.Datetime, "sampled_to": pl.Datetime}
    return pl.DataFrame(made, schema=schema, orient="row")


def test_windows_that_touch_two_consignments_are_marked() -> None:
    marks = with_window_marks(windows((0, 180), (170, 350), (400, 420), None, (500, 680)))["window_mark"]
    assert marks.to_list() == ["shared", "shared", "short", None, None]
    long = with_window_marks(windows((0, 900), (100, 200), (300, 400), (1000, 1100)))["window_mark"]
    assert long.to_list() == ["shared", "shared", "shared", None]


def test_a_low_tare_is_found_by_weighing_empty_and_costs_what_it_costs() -> None:
    """Scenario G: 45 kg low reads 45 kg high, 0.75 % of a bin of 6 t."""
    stored = pl.DataFrame({"bin": ["1", "2", "3"], "tare_kg": [1875, 1920, 1905]})
    weighed = pl.DataFrame({"bin": ["1", "1", "2", "3", "3"], "tare_kg": [1925, 1915, 1932, 1920, 1918]})
    trips = pl.DataFrame({"bin": ["1", "2"], "trips": [150, 150]})
    (found,) = wrong_tares(stored, weighed, trips)
    assert (found.bin, found.low_by, found.weighings) == ("1", 45.0, 2)
    assert found.over_weighed == pytest.approx(6.75)
    assert 100 * found.low_by / 6000 == 0.75
    assert "45 ± 14 kg low by 2 weighings empty" in found.says()


def test_a_high_tare_is_told_as_too_little_cane() -> None:
    stored = pl.DataFrame({"bin": ["1"], "tare_kg": [1980]})
    weighed = pl.DataFrame({"bin": ["1"] * 3, "tare_kg": [1920] * 3})
    (found,) = wrong_tares(stored, weighed, pl.DataFrame({"bin": ["1"], "trips": [10]}))
    assert "kg high" in found.says()
    assert "too little" in found.says()


def test_trips_and_who_is_due() -> None:
    frame = pl.DataFrame({"bins": ["1;2", "1;3", "1", None, ""]})
    trips = trips_of(frame)
    assert dict(trips.iter_rows()) == {"1": 3, "2": 1, "3": 1}
    weighed = pl.DataFrame({"bin": ["2"], "tare_kg": [1900]})
    assert due_for_weighing(trips, weighed, cycle=2)["bin"].to_list() == ["1"]


def test_tare_by_the_register() -> None:
    assert tare_of(["a", "b"], {"a": 1900, "b": 1925}) == 3825
    assert tare_of(["a", "c"], {"a": 1900}) is None
    assert tare_of([], {}) is None


def waiting() -> pl.DataFrame:
    """Two consignments of one week, one of the next."""
    days = [SIX, SIX + dt.timedelta(hours=6), SIX + dt.timedelta(days=7)]
    return pl.DataFrame(
        {
            "day": [d.date() for d in days], "tipped_at": days, "net": [30.0, 10.0, 20.0],
            "paid_ccs": [13.0, 15.0, 12.0], "rung": [0, 2, 0],
            "arrived_at": [SIX - dt.timedelta(hours=2), SIX, None],
            "cut_at": [SIX - dt.timedelta(hours=18), SIX - dt.timedelta(hours=2), None],
        }
    )  # fmt: skip


def test_waits_by_week() -> None:
    frame = with_waits(waiting())
    assert frame["delay"].to_list() == [18.0, 8.0, None]
    assert frame["yard_hours"].to_list() == [2.0, 6.0, None]
    assert frame["haul_hours"].to_list() == [16.0, 2.0, None]
    first, second = weekly(frame).iter_rows(named=True)
    assert (first["tonnes"], first["ccs"], first["without_sample"]) == (40.0, 13.5, 0.5)
    assert (first["delay"], first["late_share"]) == (13.0, 0.5)
    assert second["delay"] is None
    assert TARGET_HOURS == 16.0  # Mackintosh, Sugar Milling, chapter 17 (read)


def test_cane_in_the_yard_hour_by_hour() -> None:
    stock = yard_stock(waiting())
    assert stock["tonnes"].to_list() == pytest.approx([30.0, 10.0, 0.0, -20.0])  # the last one's arrival is not known
    assert yard_stock(waiting().with_columns(arrived_at=pl.lit(None, pl.Datetime))).is_empty()
