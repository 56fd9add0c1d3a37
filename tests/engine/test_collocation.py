"""Best ways to drive a motion against closed optima.

A mass moved from rest to rest by a force between -1 and 1 takes two units of time for a unit of way (bang-bang control,
Pontryagin and others, 1962; from memory).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from canewright.engine import Variable
from canewright.engine.collocation import Begin, Driven, NoBest, Stage, begin_from, best
from canewright.engine.dynamics import Motion


def cart() -> Motion:
    """A mass on a rail, pushed."""

    def law(v: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        return {"place": v["speed"], "speed": v["force"] / v["mass"]}, {"at": v["place"], "pace": v["speed"]}

    return Motion([Variable("place", "m", 1.0, -10.0), Variable("speed", "m/s", 1.0, -10.0)], ["mass"], ["force"], law)


def moved(way: float = 1.0, mass: float = 1.0, elements: int = 20) -> Driven:
    """From rest to rest over a way in least time."""
    motion = cart()
    stages = [
        Stage("push", elements, {}, {"force": (-1.0, 1.0)}, (0.1, 20.0)),
        Stage("brake", elements, {}, {"force": (-1.0, 1.0)}, (0.1, 20.0), {}, {"at": (way, way), "pace": (0.0, 0.0)}),
    ]
    times = np.linspace(0.0, 3.0, 9)
    begin = Begin(times, np.vstack([times / 3.0, 0.3 * np.sin(times)]), {"force": 0.0 * times}, [1.5, 3.0])
    return best(motion, {"mass": mass}, stages, begin, {"time": 1.0})


def test_a_mass_is_moved_from_rest_to_rest_in_two_root_of_the_way() -> None:
    found = moved(1.44)
    assert found.lengths.sum() == pytest.approx(2.0 * 1.2, rel=1e-3)
    assert found.miss < 1e-7
    assert found.inputs[0, :20] == pytest.approx(1.0, abs=0.02)


def test_prices_and_answers_are_what_a_further_search_gains() -> None:
    found, step = moved(), 1e-3
    price = next(by for says, by in found.prices.items() if "at of" in says)
    assert price == pytest.approx((moved(1.0 + step).value - moved(1.0 - step).value) / (2.0 * step), rel=1e-3)
    assert price == pytest.approx(1.0, rel=5e-3)  # time 2 √way
    answer = (moved(1.0, 1.0 + step).value - moved(1.0, 1.0 - step).value) / (2.0 * step)
    assert found.answers["mass"] == pytest.approx(answer, rel=1e-3)


def test_a_search_from_an_answer_finds_it_again_at_once() -> None:
    motion, found = cart(), moved()
    again = begin_from(motion, found, np.zeros(2))
    assert again.ends == pytest.approx([found.lengths[:20].sum(), found.lengths.sum()])
    assert math.isclose(again.times[-1], found.lengths.sum())


def test_limits_that_contradict_are_named() -> None:
    motion = cart()
    stages = [Stage("push", 5, {}, {"force": (-1.0, 1.0)}, (0.1, 1.0), {}, {"at": (5.0, np.inf)})]
    times = np.linspace(0.0, 1.0, 3)
    begin = Begin(times, np.zeros((2, 3)), {"force": 0.0 * times}, [1.0])
    with pytest.raises(NoBest, match="at the end of push: at at least 5"):
        best(motion, {"mass": 1.0}, stages, begin, {"time": 1.0})
