"""Haul allotments and the yard: known shares, Erlang's queue, and a yard that keeps its cane."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.cane.allotment import AllotmentRefused, allot, by_hour, fleet, with_arrears
from canewright.cane.yard import QueueRefused, erlang_c, waits_of, yard_forecast

REMAINING = [Decimal(t) for t in (120_000, 90_000, 61_000, 29_000)]


def test_the_days_bins_are_shared_by_what_is_left() -> None:
    assert allot(1428, REMAINING) == [571, 429, 290, 138]  # collected facts 3.3, row F-21: 8,568 t in bins of 6 t


@given(st.integers(0, 5000), st.lists(st.integers(0, 10**6), min_size=1, max_size=30).filter(any))
def test_shares_add_up_and_none_is_a_bin_off(bins: int, left: list[int]) -> None:
    found = allot(bins, [Decimal(t) for t in left])
    assert sum(found) == bins
    assert all(abs(n - bins * t / sum(left)) < 1 for n, t in zip(found, left, strict=True))


@given(st.integers(0, 400), st.floats(0.0, 23.99), st.floats(0.5, 23.5))
def test_bins_are_spread_evenly_over_the_groups_hours(bins: int, start: float, length: float) -> None:
    hours = by_hour(bins, start, (start + length) % 24.0)
    assert sum(hours) == bins
    assert max(hours) <= 2.0 * bins / length + 1.0  # an hour may hold the day's last part and its first


def test_hours_by_hand_and_over_midnight() -> None:
    assert by_hour(6, 6.0, 18.0)[6:18] == [0, 1] * 6
    assert [h for h, n in enumerate(by_hour(30, 20.0, 2.0)) if n] == [0, 1, 20, 21, 22, 23]


def test_a_group_behind_catches_up_by_at_most_fifteen_in_a_hundred() -> None:
    shares = [Decimal(200), Decimal(100)]
    assert with_arrears(shares, [Decimal(90), Decimal(-5)]) == [Decimal(230), Decimal(100)]
    assert with_arrears(shares, [Decimal(10), Decimal(0)]) == [Decimal(210), Decimal(100)]


def test_the_fleet_is_rounded_up() -> None:
    assert fleet(8568.0, 36.0, 2.5, 12.0) == 60  # by hand: 238 trips, four a vehicle
    for bad in ((100.0, 36.0, 13.0, 12.0), (100.0, 0.0, 2.0, 12.0)):
        with pytest.raises(AllotmentRefused):
            fleet(*bad)
    with pytest.raises(AllotmentRefused, match="not all 0 t"):
        allot(10, [Decimal(0)])
    with pytest.raises(AllotmentRefused, match="no hour"):
        by_hour(5, 6.0, 6.0)
    assert by_hour(0, 6.0, 6.0) == [0] * 24
    assert by_hour(24, 0.0, 24.0) == [1] * 24


@pytest.mark.parametrize(
    ("arrivals", "served", "places", "waits", "minutes"),
    [
        (18.0, 10.0, 2, 0.85263, 25.5789),  # collected facts 3.4, row F-20, computed there
        (18.0, 10.0, 3, 0.35474, 1.7737),
        (9.0, 10.0, 1, 0.9, 54.0),  # one place: W = 1/(mu - lambda) is 60 min in all
        (120.0, 20.0, 10, 0.1013, 0.0760),  # a published exercise on Erlang C reads "about 0.10" off the curve
    ],
)
def test_the_queue_is_erlangs(arrivals: float, served: float, places: int, waits: float, minutes: float) -> None:
    found = erlang_c(arrivals, served, places)
    assert found.waits == pytest.approx(waits, abs=1e-4)
    assert found.wait_minutes == pytest.approx(minutes, abs=1e-4)
    assert found.whole_minutes == pytest.approx(minutes + 60.0 / served, abs=1e-4)


def test_the_simulated_queue_is_erlangs_where_arrivals_are_by_chance() -> None:
    chance, n = np.random.default_rng(2), 200_000
    found = waits_of(np.cumsum(chance.exponential(1 / 18.0, n)), chance.exponential(0.1, n), 3)
    assert 60.0 * found.mean() == pytest.approx(1.7737, rel=0.05)
    assert (found > 0.0).mean() == pytest.approx(0.35474, rel=0.02)


def test_waits_by_hand() -> None:
    assert waits_of(np.array([0.0, 0.1, 0.2]), np.full(3, 0.5), 1).tolist() == pytest.approx([0.0, 0.4, 0.8])
    assert waits_of(np.array([0.0, 0.1, 0.2]), np.full(3, 0.5), 2).tolist() == pytest.approx([0.0, 0.0, 0.3])


def test_a_queue_that_only_grows_is_refused() -> None:
    with pytest.raises(QueueRefused, match="grows without end"):
        erlang_c(20.0, 10.0, 2)
    with pytest.raises(QueueRefused):
        erlang_c(-1.0, 10.0, 1)
    with pytest.raises(QueueRefused, match="24 hours"):
        yard_forecast([1.0] * 23, 400.0, 0.0, 1)


def test_the_yard_without_chance_is_the_running_balance() -> None:
    """What comes every hour and is crushed every hour leaves the opening stock as it is."""
    found = yard_forecast([0.0] * 24, 400.0, 30_000.0, seed=4, stops=0.0)
    assert found.middle.tolist() == pytest.approx([30_000.0 - 400.0 * (25 + h) for h in range(24)])
    assert found.night == 400.0 * 24
    empty = yard_forecast([0.0] * 24, 400.0, 0.0, seed=4, stops=0.0)
    assert (empty.short, empty.starved) == (1.0, 9600.0)


def test_hauling_by_day_must_leave_the_night_in_the_yard() -> None:
    planned = [0.0, 0.0] + [9000.0 / 12] * 12 + [0.0] * 10
    plenty = yard_forecast(planned, 375.0, 5500.0, seed=9, stops=0.0)
    scarce = yard_forecast(planned, 375.0, 500.0, seed=9, stops=0.0)
    assert plenty.night == 375.0 * 12
    assert plenty.short == 0.0
    assert scarce.short > 0.02
    assert np.all(plenty.low <= plenty.middle)
    assert np.array_equal(plenty.middle, yard_forecast(planned, 375.0, 5500.0, seed=9, stops=0.0).middle)
