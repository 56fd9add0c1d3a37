"""A store by its book: hand-worked gaps, a weigher that drifts, a load entered twice."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from canewright.accounts.ledgers import Entry, Stock, entered_twice, intervals, kept, ledger_matters, restored, weighers
from canewright.plant.description import Meter
from canewright.plant.stocktaking import Ledger, Movement

BEGIN = dt.date(2031, 6, 2)
LEDGER = Ledger("raw sugar store", 3000.0, ("raw sugar weight", "rakes"), ("melt weight",), 2.7)
METERS = (
    Meter("raw sugar weight", "a", "mass", "t", 0.5, True, "meters", 0, 4000, "", 1, "", 0.0, 0.6),
    Meter("melt weight", "b", "mass", "t", 0.1, True, "meters", 0, 4000, "", 1, "", 0.0, 0.1),
)
SCALES = weighers(LEDGER, METERS, (Movement("rakes", 0.1),))


def day(number: int) -> dt.date:
    """The date of a day counted from 1."""
    return BEGIN + dt.timedelta(days=number - 1)


def season(gain: float, last: int, seed: int = 3) -> tuple[list[Entry], list[Stock]]:
    """1,100 t made and melted a day, 50 t taken off the opening 3,000 t until the store is empty on day 60.

    From day 61 the sugar weigher's gain rises by ``gain`` a day; what is made is melted.
    """
    chance = np.random.default_rng(seed)
    entries, stocks, pile = [], [], 3000.0
    for n in range(1, last + 1):
        melt = 1150.0 if n <= 60 else 1100.0
        pile += 1100.0 - melt
        read = 1100.0 * (1 + gain * max(n - 60, 0)) * (1 + 0.006 * chance.standard_normal())
        entries += [Entry(day(n), "raw sugar weight", round(read, 1)), Entry(day(n), "melt weight", melt)]
        if n % 30 == 0:
            stocks.append(Stock(day(n), 0.0 if n >= 60 else round(pile, -1)))
    return entries, stocks


def test_a_gap_is_the_book_less_the_stock() -> None:
    """By hand: 3,000 + 1,100 - 600 = 3,500 t by the book; the survey finds 3,400 t."""
    entries = [Entry(day(1), "raw sugar weight", 1100.0), Entry(day(1), "melt weight", 600.0)]
    (gap,) = kept(LEDGER, SCALES, entries, [Stock(day(1), 3400.0)], BEGIN, day(1))
    assert gap.book == pytest.approx(3500.0)
    assert gap.excess == pytest.approx(100.0)
    survey, opening = np.hypot(0.027 * 3400, 10), np.hypot(0.027 * 3000, 10)
    made = np.hypot(0.006 * 1100, 0.005 * 1100)
    assert gap.uncertainty == pytest.approx(
        np.sqrt(survey**2 + opening**2 + made**2 + (0.001 * 600) ** 2 * 2), rel=1e-3
    )


def test_true_weighers_agree_with_their_stocks() -> None:
    for seed in range(20):
        entries, stocks = season(0.0, 120, seed)
        gaps = kept(LEDGER, SCALES, entries, stocks, BEGIN, day(120))
        assert all(g.test < 4.0 for g in gaps)


def test_a_drift_is_found_where_the_store_is_next_seen_empty() -> None:
    entries, stocks = season(0.0006, 90)
    gaps = kept(LEDGER, SCALES, entries, stocks, BEGIN, day(90))
    (matter,) = ledger_matters(LEDGER, SCALES, gaps, entries, day(90), 420.0)
    assert matter.about == ("raw sugar weight", "raw sugar store")
    assert matter.size == pytest.approx(sum(0.0006 * k * 1100 for k in range(1, 31)), rel=0.35)
    assert "raw sugar weight, which then reads" in matter.why


def test_a_rake_entered_twice_explains_the_gap() -> None:
    entries, stocks = season(0.0, 60)
    entries += [Entry(day(40), "rakes", 1498.34), Entry(day(41), "rakes", 1498.34)]
    stocks = [Stock(day(42), 3000.0 - 42 * 50.0 + 1498.34)]
    gaps = kept(LEDGER, SCALES, entries, stocks, BEGIN, day(42))
    (matter,) = ledger_matters(LEDGER, SCALES, gaps, entries, day(42), None)
    assert matter.about[0] == "rakes"
    assert "1,498.34 t on 2031-07-11 and the same again on 2031-07-12" in matter.why
    assert entered_twice(gaps[-1], SCALES, entries) == (entries[-2], entries[-1])


def test_restored_totals_close_on_the_stocks() -> None:
    entries, stocks = season(0.0006, 120)
    found = restored(intervals(LEDGER, SCALES, entries, stocks, BEGIN, day(120)))
    value, uncertainty = found["raw sugar weight"]
    raw = sum(e.mass for e in entries if e.tag == "raw sugar weight")
    assert abs(value - 120 * 1100.0) < 2.0 * uncertainty
    assert abs(value - 120 * 1100.0) < 0.1 * abs(raw - 120 * 1100.0)
    book = 3000.0 + value - found["melt weight"][0]
    assert book == pytest.approx(0.0, abs=15.0)


@pytest.mark.parametrize(("twice", "counted"), [(True, 1479.56), (False, 2 * 1479.56)])
def test_a_doubled_load_is_seen_behind_a_coarse_survey(twice: bool, counted: float) -> None:
    """A pile of 18,000 t surveyed to 2.7 % and a weigher half a per cent high over 70 days hide no load of 1,480 t.

    Two loads that truly came and happen to weigh alike close the book, and both count.
    """
    entries = [Entry(day(n), "raw sugar weight", 1105.5) for n in range(1, 71)]
    entries += [Entry(day(n), "melt weight", 885.0) for n in range(1, 71)]
    entries += [Entry(day(40), "rakes", 1479.56), Entry(day(41), "rakes", 1479.56)]
    pile = 3000.0 + 70 * (1100.0 - 885.0) + (1.0 if twice else 2.0) * 1479.56
    parts = intervals(LEDGER, SCALES, entries, [Stock(day(70), pile)], BEGIN, day(70))
    assert restored(parts)["rakes"][0] == pytest.approx(counted, abs=15.0)


def test_a_doubled_entry_counts_once_in_what_is_restored() -> None:
    entries, _ = season(0.0, 42)
    entries += [Entry(day(40), "rakes", 1498.34), Entry(day(41), "rakes", 1498.34)]
    stocks = [Stock(day(42), 3000.0 - 42 * 50.0 + 1498.34)]
    assert restored(intervals(LEDGER, SCALES, entries, stocks, BEGIN, day(42)))["rakes"][0] == pytest.approx(
        1498.34, abs=5.0
    )
