"""Motions against closed solutions and against SciPy's stiff integrators."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from canewright.engine import Variable
from canewright.engine.dynamics import Leg, Motion, NotIntegrated
from canewright.quantity.maths import exp


def decay() -> Motion:
    """One state that decays at a rate, less what is let in."""

    def law(v: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        return {"mass": v["in"] - v["rate"] * v["mass"]}, {"mass left": v["mass"], "lost": v["start"] - v["mass"]}

    return Motion([Variable("mass", "t", 10.0)], ["rate", "start"], ["in"], law)


def robertson() -> Motion:
    """Robertson's stiff kinetics (1966), the common test of stiff integrators."""

    def law(v: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        slow, fast = 0.04 * v["a"], 1e4 * v["b"] * v["c"]
        pair = 3e7 * v["b"] * v["b"]
        return {"a": fast - slow, "b": slow - fast - pair, "c": pair}, {"c made": v["c"]}

    states = [Variable("a", "1", 1.0), Variable("b", "1", 1e-4), Variable("c", "1", 1.0)]
    return Motion(states, [], [], law)


def test_exponential_decay_is_followed_to_its_closed_solution() -> None:
    motion = decay()
    p = motion.vector({"rate": 0.3, "start": 10.0})
    found = motion.stepped(np.array([1.0]), p, np.array([[0.0]]), np.full(20, 0.5), 1e-11)[0] * 10.0
    assert found == pytest.approx(10.0 * np.exp(-0.3 * 0.5 * np.arange(1, 21)), rel=1e-8)


def test_an_event_is_found_at_its_closed_time_and_the_grid_lies_at_whole_multiples() -> None:
    motion = decay()
    p = motion.vector({"rate": 0.3, "start": 10.0})
    leg = Leg("losing", {"in": 0.0}, {"lost": 7.5}, 100.0)
    found = motion.follow(leg, np.array([1.0]), p, 0.0, 0.1, chunk=7, tolerance=1e-11)
    assert found.ended_by == "lost"
    assert found.times[-1] == pytest.approx(math.log(4.0) / 0.3, rel=1e-9)
    assert found.times[1:-1] == pytest.approx(0.1 * np.arange(1, len(found.times) - 1), rel=1e-12)
    assert 10.0 * found.last[0] == pytest.approx(2.5, rel=1e-8)


def test_a_leg_without_its_event_ends_at_its_longest_time() -> None:
    motion = decay()
    p = motion.vector({"rate": 0.3, "start": 10.0})
    found = motion.follow(Leg("losing", {"in": 0.0}, {"lost": 11.0}, 2.05), np.array([1.0]), p, 0.0, 0.1)
    assert (found.ended_by, found.times[-1]) == ("time", pytest.approx(2.05))


def test_sensitivities_of_state_and_event_time_are_the_closed_ones() -> None:
    motion = decay()
    settings = {"rate": 0.3, "start": 10.0}
    p = motion.vector(settings)
    first = motion.follow(Leg("one", {"in": 0.0}, {"lost": 7.5}, 100.0), np.array([1.0]), p, 0.0, 0.5)
    second = motion.follow(Leg("two", {"in": 0.0}, {}, 2.0), first.last, p, float(first.times[-1]), 0.5)
    along, time = motion.response([first, second], p, ["rate"])
    # at the event the mass is 2.5 whatever the rate; from there it decays for two more units of time
    assert time[0] == pytest.approx(-math.log(4.0) / 0.3**2, rel=1e-6)
    assert 10.0 * along[0, 0] == pytest.approx(-2.0 * 2.5 * math.exp(-0.6), rel=1e-6)


def test_an_event_whose_value_is_a_setting_answers_to_it() -> None:
    motion = decay()
    p = motion.vector({"rate": 0.3, "start": 10.0})
    leg = Leg("one", {"in": 0.0}, {"lost": 10.0 - 2.5}, 100.0, {"lost": "start"})
    found = motion.follow(leg, np.array([1.0]), p, 0.0, 0.5)
    _, time = motion.response([found], p, ["start"])
    # the value moves with the setting by one, as does what is lost of a start that the state does not share
    assert time[0] == pytest.approx(0.0, abs=1e-9)


def test_robertsons_kinetics_agree_with_scipy_radau_at_tight_tolerance() -> None:
    motion = robertson()
    found = motion.stepped(np.array([1.0, 0.0, 0.0]), np.zeros(0), np.zeros((0, 1)), np.array([40.0]), 1e-11)[:, 0]

    def rate(_: float, x: Any) -> list[float]:
        slow, fast, pair = 0.04 * x[0], 1e4 * x[1] * x[2], 3e7 * x[1] ** 2
        return [fast - slow, slow - fast - pair, pair]

    other = solve_ivp(rate, (0.0, 40.0), [1.0, 0.0, 0.0], method="Radau", rtol=1e-11, atol=1e-14).y[:, -1]
    assert found * motion.nominal == pytest.approx(other, rel=1e-7)


def test_names_used_twice_and_states_without_a_rate_are_refused() -> None:
    with pytest.raises(ValueError, match="used twice"):
        Motion([Variable("x", "1", 1.0)], ["x"], [], lambda v: ({"x": v["x"]}, {}))
    with pytest.raises(ValueError, match="no rate for y"):
        Motion(
            [Variable("x", "1", 1.0), Variable("y", "1", 1.0)], [], [], lambda v: ({"x": v["x"]}, {"x told": v["x"]})
        )


def test_a_motion_that_runs_away_is_told_so() -> None:
    motion = Motion([Variable("x", "1", 1.0)], [], [], lambda v: ({"x": exp(v["x"] * v["x"])}, {"x told": v["x"]}))
    with pytest.raises(NotIntegrated):
        motion.stepped(np.array([1.0]), np.zeros(0), np.zeros((0, 1)), np.array([50.0]))
