"""The interval that is shown, and the smallest loss that would be seen, by counting days."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from canewright.intervals import SEEN, TIMES, least_seen


def test_the_interval_shown_holds_95_of_100() -> None:
    assert pytest.approx(NormalDist().inv_cdf(0.975), abs=5e-5) == TIMES


def test_a_loss_of_that_size_is_told_from_nothing_as_often_as_is_said() -> None:
    """Alarm above half of it: one day of twenty without a loss, nineteen of twenty with one (Currie 1968)."""
    noise = np.random.default_rng(1).normal(0.0, 0.4, size=200_000)
    size = least_seen(0.4)
    assert size is not None
    assert size == pytest.approx(SEEN * 0.4)
    assert np.mean(noise > size / 2) == pytest.approx(0.05, abs=0.003)
    assert np.mean(size + noise > size / 2) == pytest.approx(0.95, abs=0.003)


def test_no_uncertainty_no_answer() -> None:
    assert least_seen(None) is None
