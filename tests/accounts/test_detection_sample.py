"""A short fixed sample of days with known truth; the long exam counts two hundred.

One sample of this size decides a share of 90 % only roughly, so the two weighers are counted together.
"""

from __future__ import annotations

import pytest
from scipy.stats import binom

from exams.detection import CANE, JUICE, Counts, Trial

SEED, DAYS = 20262, 25
MOST_ALARMS = int(binom.ppf(0.95, DAYS, 0.10))


@pytest.fixture(scope="module")
def counts() -> Counts:
    trial = Trial(SEED)
    for _ in range(DAYS):
        trial.day()
    return trial.counts


def test_every_day_reconciles(counts: Counts) -> None:
    assert counts.not_solved == []
    assert counts.draws == DAYS


def test_a_weigher_three_per_cent_out_is_flagged(counts: Counts) -> None:
    assert counts.found[CANE] + counts.found[JUICE] >= 0.90 * 2 * DAYS


def test_days_without_fault_seldom_raise_an_alarm(counts: Counts) -> None:
    """The limit of one day in ten is for the two hundred days of the long exam.

    Were the rate just that, 25 days would show more than 5 alarms once in thirty samples; so few days can refute a
    worse rate but not prove this one.
    """
    assert counts.false_alarms <= MOST_ALARMS


def test_intervals_of_ninety_per_cent_cover_the_truth(counts: Counts) -> None:
    assert 0.85 <= counts.coverage <= 0.95
