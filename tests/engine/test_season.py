"""A season smoothed together: against a published series, a dense solution of the same problem, and planted changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from canewright.engine import Measured, reconcile
from canewright.engine.changes import Altered, altered, likeliest_change
from canewright.engine.season import Change, Day, Smoothed, Walk, rows_of, told_by, with_pace
from engine.small_models import model_of, variable

NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
    1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831,
    726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845,
    944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918,
    986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]  # fmt: skip
"""Yearly flow of the Nile at Aswan 1871-1970, 10^8 m³: Cobb, Biometrika 65 (1978) 243 (read in public copies)."""
NOISE, PACE = 15099.0**0.5, 1469.1**0.5
"""Most likely standard deviations of reading and yearly step: Durbin and Koopman (2001), section 2.10 (from memory)."""


def _nile() -> list[Day]:
    return [Day(np.array([[1 / NOISE**2]]), np.array([y / NOISE**2]), (y / NOISE) ** 2) for y in NILE]


def _walk(pace: float = PACE) -> Walk:
    return Walk(("level",), np.array([0.0]), np.array([1e4]), np.array([pace]))


def test_the_published_pace_is_found_from_far_off() -> None:
    """Durbin and Koopman: 38.3 (variance 1469.1), from starts five times too slow and four times too fast."""
    for start in (8.0, 150.0):
        found = with_pace(_walk(start), _nile(), rounds=600, settled=1e-6)
        assert found.pace[0] == pytest.approx(PACE, rel=0.005)


def test_no_other_pace_is_likelier() -> None:
    best = Smoothed(_walk(), _nile()).log_likelihood
    for factor in (0.5, 0.8, 1.25, 2.0):
        assert Smoothed(_walk(PACE * factor), _nile()).log_likelihood < best


def test_the_break_of_1898_is_dated() -> None:
    """The flow fell when the first dam at Aswan was begun, 1898 to 1899 (Cobb 1978, from memory)."""
    found = likeliest_change(Smoothed(_walk(), _nile()), "level")
    assert found is not None
    assert 1871 + found.begins == 1899
    assert found.earliest <= found.begins <= found.latest
    assert found.size < 0
    assert found.test > 2.0


def test_equals_the_dense_solution_of_the_same_problem() -> None:
    """Two quantities, thirty days, one of them without readings: mean, uncertainty and likelihood."""
    chance = np.random.default_rng(7)
    walk = Walk(("a", "b"), np.array([1.0, -2.0]), np.array([0.5, 2.0]), np.array([0.1, 0.4]))
    days = []
    for t in range(30):
        rows = chance.normal(size=(3, 2))
        read = rows @ np.array([1.0 + 0.05 * t, -2.0]) + chance.normal(size=3)
        days.append(Day(rows.T @ rows, rows.T @ read, float(read @ read)) if t != 11 else Day.silent(2))
    found = Smoothed(walk, days)
    size = 60
    precision, pull = np.zeros((size, size)), np.zeros(size)
    for t, day in enumerate(days):
        precision[2 * t : 2 * t + 2, 2 * t : 2 * t + 2] += day.information
        pull[2 * t : 2 * t + 2] += day.pull
    begin, tie = np.diag(1 / walk.uncertainty**2), np.diag(1 / walk.pace**2)
    precision[:2, :2] += begin
    pull[:2] += begin @ walk.first
    for t in range(29):
        both = np.kron(np.array([[1.0, -1.0], [-1.0, 1.0]]), tie)
        precision[2 * t : 2 * t + 4, 2 * t : 2 * t + 4] += both
    covariance = np.linalg.inv(precision)
    assert found.mean.ravel() == pytest.approx(covariance @ pull, rel=1e-9)
    assert found.uncertainty.ravel() == pytest.approx(np.sqrt(np.diagonal(covariance)), rel=1e-9)
    step = np.zeros(size)
    step[[2 * 20, 2 * 21]] = -1.0, 1.0
    assert found.steps[1][20, 0] == pytest.approx(step @ covariance @ step, rel=1e-7)


def test_a_step_is_found_with_its_day_and_size() -> None:
    """Readings of noise 1 on a level that jumps by 6 on day 41 of 80 and otherwise hardly moves."""
    chance = np.random.default_rng(11)
    read = chance.normal(size=80) + np.where(np.arange(80) >= 41, 6.0, 0.0)
    walk = Walk(("gain",), np.zeros(1), np.array([5.0]), np.array([0.05]))
    found = likeliest_change(Smoothed(walk, [Day(np.eye(1), np.array([y]), y * y) for y in read]), "gain")
    assert found is not None
    assert abs(found.begins - 41) <= 1
    assert found.earliest <= 41 <= found.latest
    assert found.latest - found.earliest <= 8
    assert found.test > 8.0
    assert found.size == pytest.approx(6.0, abs=4 * found.uncertainty)


def test_a_drift_is_found_with_its_size() -> None:
    """A gain that rises by 0.06 a day from day 61 to 110, as a belt weigher that goes off, and stays."""
    chance = np.random.default_rng(5)
    true = 0.06 * np.clip(np.arange(160) - 61, 0, 49)
    walk = Walk(("gain",), np.zeros(1), np.array([1.0]), np.array([0.02]))
    days = [Day(np.eye(1) / 0.5**2, np.array([y / 0.25]), y * y / 0.25) for y in true + chance.normal(0, 0.5, size=160)]
    course = Smoothed(walk, days)
    known = course.drift("gain", 61, 110)
    assert known is not None
    assert known.size == pytest.approx(true[-1], abs=3 * known.uncertainty)
    found = likeliest_change(course, "gain")
    assert found is not None
    assert found.test > 8.0
    assert 45 <= found.begins <= 75
    assert 100 <= found.ends <= 125
    assert found.kind == "drift"
    assert found.earliest <= 61 <= found.latest


def test_a_season_without_change_alarms_rarely() -> None:
    """30 seasons of 60 days that walk: at the 5 % level one or two alarms are expected."""
    alarms = 0
    for seed in range(30):
        chance = np.random.default_rng([3, seed])
        true = np.cumsum(chance.normal(0, 0.1, size=60))
        days = [Day(np.eye(1), np.array([y]), y * y) for y in true + chance.normal(size=60)]
        walk = Walk(("gain",), np.zeros(1), np.ones(1), np.array([0.1]))
        alarms += bool(altered(walk, days).changes)
    assert alarms <= 3


def test_intervals_cover_the_truth() -> None:
    """90 % intervals of a walk that is as the model says, 200 seasons of 30 days: 88 to 92 %."""
    covered = asked = 0
    for seed in range(200):
        chance = np.random.default_rng([9, seed])
        true = chance.normal() + np.cumsum(chance.normal(0, 0.3, size=30))
        days = [Day(np.eye(1), np.array([y]), y * y) for y in true + chance.normal(size=30)]
        walk = Walk(("a",), np.zeros(1), np.array([1.05]), np.array([0.3]))
        course = Smoothed(walk, days)
        covered += int(np.sum(np.abs(course.mean[:, 0] - true) < 1.645 * course.uncertainty[:, 0]))
        asked += 30
    assert covered / asked == pytest.approx(0.9, abs=0.02)


def _reconciled(slow: float, own: float, noise: tuple[float, float]) -> Day:
    """A day with a slow factor k and an own flow a: readings of a and of k a."""
    model = model_of(
        [variable("b", 10.0)], [variable("a", 10.0), variable("k")], ["b is k a"], lambda v: [(v["b"], v["k"] * v["a"])]
    )
    read = model.expressions(lambda v: [v["a"], v["b"]])
    measured = [Measured("flow", own + noise[0], 0.1), Measured("product", slow * own + noise[1], 0.1)]
    priors = {"a": (10.0, 5.0), "k": (1.0, 0.2)}
    start = model.scaled({"a": 10.0, "k": 1.0, "b": 10.0})
    return told_by(reconcile(model, read, measured, priors, start), ["k"], ["product"])


def test_what_a_day_tells_is_its_readings_and_not_its_prior() -> None:
    """Information on k from two exact readings is that of error propagation (textbook); the prior of k is not in it."""
    day = _reconciled(1.1, 10.0, (0.0, 0.0))
    variance = (0.1**2 * (1 + 1.1**2)) / 10.0**2
    assert day.information[0, 0] == pytest.approx(1 / variance, rel=0.01)
    estimate = np.linalg.solve(day.information[:1, :1], day.pull[:1])
    assert estimate[0] == pytest.approx(1.1, abs=0.005)
    # a gain of the product's meter does the same as the slow factor: only together they are known
    assert np.linalg.matrix_rank(day.information, tol=1e-3 * day.information[0, 0]) == 1


def test_many_days_make_a_constant_known_better_than_one() -> None:
    chance = np.random.default_rng(2)
    days = [_reconciled(1.1, float(chance.uniform(8, 12)), tuple(chance.normal(0, 0.1, 2))) for _ in range(30)]
    only = [replace(d, information=d.information[:1, :1], pull=d.pull[:1]) for d in days]
    walk = Walk(("k",), np.ones(1), np.array([0.2]), np.zeros(1))
    course = Smoothed(walk, only)
    assert course.uncertainty[-1, 0] == pytest.approx(0.0149 / 30**0.5, rel=0.1)
    assert course.mean[-1, 0] == pytest.approx(1.1, abs=4 * course.uncertainty[-1, 0])
    assert np.ptp(course.mean) < 1e-6


def test_unknown_names_are_refused() -> None:
    model = model_of([variable("c")], [variable("a")], ["c is a"], lambda v: [(v["c"], v["a"])])
    read = model.expressions(lambda v: [v["a"]])
    start = model.scaled({"a": 1.0, "c": 1.0})
    result = reconcile(model, read, [Measured("m", 1.0, 0.1)], {"a": (1.0, 1.0)}, start)
    with pytest.raises(KeyError, match="no setting 'b'"):
        told_by(result, ["b"])
    with pytest.raises(KeyError, match="no meter 'n'"):
        told_by(result, ["a"], ["n"])
    with pytest.raises(ValueError, match="no day"):
        Smoothed(_walk(), [])


# --- changes beside the walk ------------------------------------------------------------------------------------------


def _season(count: int, seed: int, gone: np.ndarray) -> list[Day]:
    """Readings of noise 0.5 of a quantity that walks by 0.02 a day and beside changes as given."""
    chance = np.random.default_rng([13, seed])
    read = gone + np.cumsum(chance.normal(0, 0.02, size=count)) + chance.normal(0, 0.5, size=count)
    return [Day(np.eye(1) / 0.25, np.array([y / 0.25]), y * y / 0.25) for y in read]


def test_a_change_of_known_date_is_sized_as_by_one_large_system() -> None:
    """The walk and the size of one step as unknowns of one dense system: value, uncertainty, course."""
    chance = np.random.default_rng(3)
    walk = Walk(("a", "b"), np.array([0.2, 0.0]), np.array([1.0, 0.5]), np.array([0.1, 0.05]))
    days = []
    for t in range(25):
        rows = chance.normal(size=(3, 2))
        read = rows @ np.array([0.2 + (2.0 if t >= 12 else 0.0), 0.1]) + chance.normal(size=3)
        days.append(Day(rows.T @ rows, rows.T @ read, float(read @ read)))
    step = Change("a", "step", 12, 12, 12, 12, 0.0, 1.0)
    found = Altered(walk, days, [step])
    size = 51
    precision, pull = np.zeros((size, size)), np.zeros(size)
    for t, day in enumerate(days):
        seen = np.zeros((2, size))
        seen[:, 2 * t : 2 * t + 2] = np.eye(2)
        seen[0, 50] = float(t >= 12)
        precision += seen.T @ day.information @ seen
        pull += seen.T @ day.pull
    begin = np.diag(1 / walk.uncertainty**2)
    precision[:2, :2] += begin
    pull[:2] += begin @ walk.first
    for t in range(24):
        precision[2 * t : 2 * t + 4, 2 * t : 2 * t + 4] += np.kron(
            np.array([[1.0, -1.0], [-1.0, 1.0]]), np.diag(1 / walk.pace**2)
        )
    covariance = np.linalg.inv(precision)
    best = covariance @ pull
    assert found.changes[0].size == pytest.approx(best[50], rel=1e-8)
    assert found.changes[0].uncertainty == pytest.approx(np.sqrt(covariance[50, 50]), rel=1e-8)
    told = np.zeros((50, size))
    told[:, :50] = np.eye(50)
    told[24::2, 50] = 1.0
    assert found.mean.ravel() == pytest.approx(told @ best, rel=1e-8, abs=1e-10)
    spread = np.sqrt(np.diagonal(told @ covariance @ told.T))
    assert found.uncertainty.ravel() == pytest.approx(spread, rel=1e-8)


def test_what_the_other_days_say_is_the_season_without_that_day() -> None:
    days = _season(30, 1, np.zeros(30))
    walk = Walk(("a",), np.zeros(1), np.ones(1), np.array([0.1]))
    value, covariance = Altered(walk, days).without_own(17)
    without = Smoothed(walk, [Day.silent(1) if t == 17 else d for t, d in enumerate(days)])
    assert value[0] == pytest.approx(without.mean[17, 0], rel=1e-9)
    assert np.sqrt(covariance[0, 0]) == pytest.approx(without.uncertainty[17, 0], rel=1e-9)


def test_covariance_across_days_is_that_of_single_pulls() -> None:
    """Column by column the answer to a pull on one day (definition of the inverse)."""
    walk = Walk(("a",), np.zeros(1), np.ones(1), np.array([0.1]))
    course = Smoothed(walk, _season(12, 2, np.zeros(12)))
    joint = course.across_days("a")
    for t in range(12):
        pulls = np.zeros((12, 1))
        pulls[t] = 1.0
        assert joint[:, t] == pytest.approx(course.solved(pulls)[:, 0], rel=1e-9)


def test_a_drift_and_a_later_step_are_both_found_at_an_unknown_pace() -> None:
    """A rise of 0.06 a day from day 40 to 90, then a fall of 2 on day 140 of 180; the pace is found beside them."""
    days = np.arange(180)
    gone = 0.06 * np.clip(days - 40, 0, 50) - 2.0 * (days >= 140)
    walk = Walk(("gain",), np.zeros(1), np.ones(1), np.array([0.05]))
    found = altered(walk, _season(180, 3, gone))
    drift, step = sorted(found.changes, key=lambda c: c.begins)
    assert (drift.kind, step.kind) == ("drift", "step")
    assert drift.earliest <= 40 <= drift.latest
    assert drift.size == pytest.approx(3.0, abs=3 * drift.uncertainty)
    assert step.earliest <= 140 <= step.latest
    assert step.size == pytest.approx(-2.0, abs=3 * step.uncertainty)
    assert found.walk.pace[0] < 0.1
    late = found.mean[-1, 0] - 1.0
    assert abs(late) < 4 * found.uncertainty[-1, 0]


def test_quantities_that_are_not_asked_after_are_new_every_day() -> None:
    """A day for one quantity of two equals the day for both, with the other's prior added and marginalised."""
    model = model_of(
        [variable("b", 10.0)], [variable("a", 10.0), variable("k")], ["b is k a"], lambda v: [(v["b"], v["k"] * v["a"])]
    )
    read = model.expressions(lambda v: [v["a"], v["b"]])
    measured = [Measured("flow", 10.2, 0.1), Measured("product", 20.9, 0.3)]
    start = model.scaled({"a": 10.0, "b": 20.0, "k": 2.0})
    result = reconcile(model, read, measured, {"a": (10.0, 1.0), "k": (2.0, 0.2)}, start)
    told = rows_of(result, ["k"], ["flow"], lasting=0.5)
    both, one = told.day([0, 1], {}), told.day([0], {1: (0.3, 0.7)})
    information = both.information + np.diag([0.0, 1 / 0.7**2])
    pull = both.pull + np.array([0.0, 0.3 / 0.7**2])
    left = information[0, 0] - information[0, 1] ** 2 / information[1, 1]
    assert one.information[0, 0] == pytest.approx(left, rel=1e-9)
    assert one.pull[0] == pytest.approx(pull[0] - information[0, 1] / information[1, 1] * pull[1], rel=1e-9)
