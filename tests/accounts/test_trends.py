"""The slow drift of a balance."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from canewright.accounts.charts import PastDay
from canewright.accounts.trends import LOSS, SURE, trend_matters, trend_of


def losses(values: np.ndarray) -> list[PastDay]:
    """Past days with these undetermined losses."""
    first = dt.date(2031, 6, 2)
    return [
        PastDay(first + dt.timedelta(days=k), {}, losses={LOSS: (float(v), 0.7)}) for k, v in enumerate(values)
    ]  # fmt: skip


def test_a_straight_fall_is_found_with_its_slope() -> None:
    y = 0.8 - 0.052 * np.arange(45) + 0.5 * np.random.default_rng(5).standard_normal(45)
    trend = trend_of(y.tolist())
    assert trend is not None
    assert trend.slope == pytest.approx(-0.052, abs=2.5 * trend.uncertainty)


def test_the_sentence_names_the_weigher_and_its_way() -> None:
    y = 0.8 - 0.06 * np.arange(60) + 0.4 * np.random.default_rng(6).standard_normal(60)
    (matter,) = trend_matters(losses(y[:-1]), float(y[-1]), ["raw sugar weight", "final molasses weight"])
    assert matter.about[0] == "raw sugar weight"
    assert "raw sugar weight more and more high" in matter.why


def test_scatter_without_trend_seldom_speaks() -> None:
    """Forty seasons of 182 days looked at every day."""
    chance, spoken = np.random.default_rng(7), 0
    for _ in range(40):
        y = 0.8 + 0.6 * chance.standard_normal(182)
        spoken += any(trend_of(y[:k].tolist()) is not None for k in range(21, 183))
    assert spoken <= 8
    assert SURE > 4.0


def test_no_loss_today_says_nothing() -> None:
    assert trend_matters(losses(np.linspace(1, -1, 60)), None, ["raw sugar weight"]) == []
