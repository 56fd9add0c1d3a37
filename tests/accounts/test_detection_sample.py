"""A short fixed sample of days with known truth; the long exam counts two hundred.

One sample of this size decides a share of 90 % only roughly, so the two weighers are counted together.
"""

from __future__ import annotations

import pytest

from exams.detection import CANE, JUICE, Counts, Trial

SEED, DAYS = 20262, 25


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
    assert counts.false_alarms <= 0.10 * DAYS


def test_intervals_of_ninety_per_cent_cover_the_truth(counts: Counts) -> None:
    assert 0.85 <= counts.coverage <= 0.95
