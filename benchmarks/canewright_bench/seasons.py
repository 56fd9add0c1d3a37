"""A season of days: reconciled one after the other, and smoothed together."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Iterator

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from canewright.engine import Reconciliation
from canewright.engine.season import Smoothed
from canewright.plant.plant import State
from canewright.plant.season import CannotSmooth, Course, SeasonDay, smooth
from canewright_bench import rivals
from canewright_bench.measurements import Bench
from canewright_bench.timing import Result, Rival, timed

FIRST = dt.date(2031, 6, 2)
DRIFT = 0.05
"""Rise of the first meter's reading in % a day, from the middle of the season."""
RIVAL = "plain Gauss-Newton: splu, dense least squares, each from the day before"


def seasons(bench: Bench) -> Iterator[Result]:
    """Both measurements on the same season."""
    days = _days(bench)
    daily = timed(lambda: _one_by_one(bench, days), 1)
    results = daily.gave
    rival, sampled = _rival(bench, results)
    steps = sum(2 * (r.iterations + 1) for r in results)
    floor = steps * bench.floor_of_a_step()
    size = f"{len(days)} days, {len(days[0].readings)} readings a day, {len(results[0].free)} released settings"
    notes = (f"{size}; {1e3 * daily.seconds / len(days):.1f} ms a day", f"{sampled} days of the rival, scaled up")
    yield Result("season.daily", daily.seconds, bench.model.n, (rival,), floor, notes)
    yield _together(bench, days, rival, floor)


def _days(bench: Bench) -> list[SeasonDay]:
    """Days as the described plant makes them, read with noise of half the variance and a lasting error of the rest."""
    chance, state = np.random.default_rng(bench.seed), bench.state
    meters = [m for m in bench.plant.description.meters if np.isfinite(state.measured(m.stream, m.quantity))]
    true = np.array([state.measured(m.stream, m.quantity) for m in meters])
    sd = np.array([m.standard_uncertainty(float(x)) for m, x in zip(meters, true, strict=True)])
    lasting = np.sqrt(0.5) * sd * chance.standard_normal(len(meters))
    days = []
    for t in range(bench.days):
        read = true + lasting + np.sqrt(0.5) * sd * chance.standard_normal(len(meters))
        read[0] *= 1.0 + 0.01 * DRIFT * max(0, t - bench.days // 2)
        tags = [m.tag for m in meters]
        given = dict(zip(tags, read.tolist(), strict=True)), dict(zip(tags, sd.tolist(), strict=True))
        days.append(SeasonDay(FIRST + dt.timedelta(days=t), given[0], {}, given[1]))
    return days


def _one_by_one(bench: Bench, days: list[SeasonDay]) -> list[Reconciliation]:
    found: list[Reconciliation] = []
    state: State = bench.state
    for day in days:
        reconciled = bench.plant.reconcile(day.readings, start=state, uncertainties=day.uncertainties)
        state = reconciled.state
        found.append(reconciled.result)
    return found


def _rival(bench: Bench, results: list[Reconciliation]) -> tuple[Rival, int]:
    """The rival on the first days, scaled up; it must find the same sums of squares."""
    sample = results[: bench.rival_days]
    start, priors = bench.state.scaled, bench.plant.priors()
    begin = time.perf_counter()
    for result in sample:
        try:
            objective, _ = rivals.gauss_newton(bench.model, result.expressions, result.measured, priors, start)
        except (ArithmeticError, RuntimeError, ValueError) as error:
            return Rival(RIVAL, None, f"{type(error).__name__}: {error}"), len(sample)
        if abs(objective - result.objective) > 1e-6 * result.objective:
            return Rival(RIVAL, None, f"another answer: {objective:.8g} for {result.objective:.8g}"), len(sample)
    seconds = (time.perf_counter() - begin) * len(results) / len(sample)
    return Rival(RIVAL, seconds, f"{len(sample)} days, scaled up"), len(sample)


def _together(bench: Bench, days: list[SeasonDay], rival: Rival, floor: float) -> Result:
    name = f"{RIVAL}; then one sparse system of all days by splu, at the pace that ours found"
    try:
        ours = timed(lambda: smooth(bench.plant, days), 1, warm_up=False)
    except CannotSmooth as lack:  # a plant without checked meters has no season
        return Result("season.smoothed", floor, bench.model.n, (Rival(name, None, str(lack)),), floor, (str(lack),))
    course: Course = ours.gave
    answer = course.answer
    begin = time.perf_counter()
    course_of_rival = _sparse(answer.plain)
    joined = time.perf_counter() - begin
    same = bool(np.all(np.abs(course_of_rival - answer.plain.mean) <= 1e-3 * answer.plain.uncertainty))
    seconds = None if rival.seconds is None or not same else rival.seconds + joined
    why = rival.why if same else "another course"
    once = timed(lambda: Smoothed(answer.walk, answer.days).mean, 1).seconds
    found = ", ".join(f"{c.kind} of {c.name}" for c in course.changes) or "none"
    notes = (
        f"{len(course.slow)} slow quantities; changes found: {found}",
        "with every day reconciled, the pace estimated, steps and drifts looked for",
    )
    return Result("season.smoothed", ours.seconds, bench.model.n, (Rival(name, seconds, why),), floor + once, notes)


def _sparse(course: Smoothed) -> np.ndarray:
    """The same course from one sparse system of all days."""
    walk, days = course.walk, course.days
    tie, begin = np.diag(1.0 / walk.steps**2), np.diag(1.0 / walk.uncertainty**2)
    last = len(days) - 1
    diagonal = [
        d.information + (begin if t == 0 else tie) + (tie if t < last else 0.0 * tie) for t, d in enumerate(days)
    ]
    whole = sparse.block_diag(diagonal, format="lil")
    count = len(walk.names)
    across = sparse.kron(sparse.diags([np.ones(last), np.ones(last)], [-1, 1]), tie) if last else 0.0 * whole
    pulls = np.array([d.pull for d in days])
    pulls[0] += begin @ walk.first
    return np.asarray(splu((whole - across).tocsc()).solve(pulls.ravel())).reshape(-1, count)
