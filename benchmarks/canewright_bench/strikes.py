"""A strike followed second by second, and its recipe, against SciPy and a search without second derivatives."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from typing import Any
from unittest import mock

import casadi as ca
import numpy as np
from scipy.integrate import solve_ivp

from canewright.engine.dynamics import TOLERANCE, Followed
from canewright.engine.evaluation import evaluated
from canewright.pans import motion, pan
from canewright.pans.description import Described, template
from canewright.pans.recipe import Recipe, recipe
from canewright.pans.strike import EVERY, Boiled, boil
from canewright.quantity import noting_breaches
from canewright_bench.timing import Result, Rival, against, timed

FOUR_HOURS = {"pan.heating_surface": 140.0, "drop.longest": 6.0}
"""Makes the refined strike last four hours: a small calandria."""
PLAIN = "on the same equations in plain floats, same events and tolerance"
LENT = "with our compiled rates, Jacobian and outputs lent to it"
Lent = Callable[[Boiled, Followed], tuple[Any, Any, dict[str, Any]]]
PATIENCE = 6
SAME = 1e-4
"""How far a rival's states may part from ours, on their nominal size."""


def strikes(repeats: int) -> Iterator[Result]:
    """Both measurements."""
    yield _strike(repeats)
    yield _recipe(min(repeats, 3))


def _strike(repeats: int) -> Result:
    strike = template("refined").with_values(FOUR_HOURS)

    def ours() -> Boiled:
        one = boil(strike, EVERY)
        one.course, one.figures()
        return one

    done = timed(ours, repeats)
    one: Boiled = done.gave

    def check(theirs: np.ndarray) -> str:
        worst = float(np.max(np.abs(theirs - one.legs[-1].last)))
        return "" if worst <= SAME else f"another drop: states part by {worst:.1g}"

    rivals = (
        against(f"SciPy BDF {PLAIN}", lambda: _by_scipy(one, "BDF", _plain), check, 1),
        *(
            against(f"SciPy {method} {LENT}", functools.partial(_by_scipy, one, method, _compiled), check, repeats)
            for method in ("BDF", "Radau")
        ),
    )
    bare = timed(lambda: _bare(one), repeats)
    points = len(one.times)
    notes = (
        f"{one.times[-1] / 60.0:.2f} h, {points} moments of {len(one.motion.outputs)} quantities",
        f"tolerance {TOLERANCE:g}; our floor keeps no moments and looks for no events",
    )
    return Result("pans.strike", done.seconds, points, rivals, bare.seconds, notes)


def _bare(one: Boiled) -> None:
    """The phases integrated from end to end."""
    for leg in one.legs:
        span = float(leg.times[-1] - leg.times[0])
        one.motion.stepped(leg.states[:, 0], one.settings, one.motion.drive(leg.leg.inputs)[:, None], np.array([span]))


def _by_scipy(one: Boiled, method: str, given: Lent) -> np.ndarray:
    """The same phases by SciPy: states every two seconds, every quantity worked out, ended by the same events."""
    x = one.legs[0].states[:, 0]
    for leg in one.legs:
        rate, event, options = given(one, leg)
        begins, ends = float(leg.times[0]), float(leg.times[-1])
        moments = np.arange(np.ceil(begins / EVERY), np.floor(ends / EVERY) + 1) * EVERY
        found = solve_ivp(
            rate, (begins, begins + 1.5 * (ends - begins)), x, method=method, t_eval=moments, events=event,
            rtol=TOLERANCE, atol=TOLERANCE, **options,
        )  # fmt: skip
        one.motion.told(found.y, one.settings, one.motion.drive(leg.leg.inputs))
        x = np.asarray(found.y_events[0][0])
    return x


def _compiled(one: Boiled, leg: Followed) -> tuple[Any, Any, dict[str, Any]]:
    """Our compiled rates, exact Jacobian and outputs lent to SciPy."""
    moved, p, u = one.motion, one.settings, one.motion.drive(leg.leg.inputs)
    row, value = moved.outputs.index(leg.ended_by), leg.leg.until[leg.ended_by]

    def reached(_: float, x: np.ndarray) -> float:
        return float(evaluated(moved.tell, x, p, u)[0][row]) - value

    reached.terminal = True  # type: ignore[attr-defined]
    jacobian = {"jac": lambda _, x: np.array(moved.jacobian(x, p, u))}
    return (lambda _, x: evaluated(moved.rate, x, p, u)[0]), reached, jacobian


def _plain(one: Boiled, leg: Followed) -> tuple[Any, Any, dict[str, Any]]:
    """The same equations on plain floats, ranges unchecked, as a person gives them to SciPy; its own Jacobian."""
    strike, moved = one.strike, one.motion
    fixed = {**strike.values, **dict(leg.leg.inputs)}
    names, sizes = [s.name for s in moved.states], moved.nominal
    told = {"volume": "volume", "brix": "brix", "supersaturation": "supersaturation"}[leg.ended_by]
    value, law, source = (
        leg.leg.until[leg.ended_by],
        strike.choices["growth.law"],
        strike.choices["colour.included_from"],
    )

    def contents(x: np.ndarray) -> tuple[dict[str, float], pan.Contents]:
        v = fixed | dict(zip(names, (x * sizes).tolist(), strict=True))
        return v, pan.contents(v, strike.feeds)

    def rate(_: float, x: np.ndarray) -> np.ndarray:
        with noting_breaches():
            v, c = contents(x)
            found = pan.rates(v, c, motion.law_flows(v, c, strike.feeds), law, source)
        return np.asarray(np.array([found[name] for name in names]) / sizes)

    def reached(_: float, x: np.ndarray) -> float:
        with noting_breaches():
            return float(getattr(contents(x)[1], told)) - value

    reached.terminal = True  # type: ignore[attr-defined]
    return rate, reached, {}


def _recipe(repeats: int) -> Result:
    strike = template("refined")
    done = timed(lambda: recipe(strike), repeats, warm_up=False)
    one: Recipe = done.gave

    def check(theirs: Recipe) -> str:
        same = abs(theirs.time - one.time) <= 1e-3 * one.time
        return "" if same else f"another recipe: {theirs.time:.2f} min where ours takes {one.time:.2f}"

    rival: Rival = against(
        "the same search without second derivatives", lambda: _without_curvature(strike, one), check, 1
    )
    floor = one.driven.steps * timed(lambda: _bare(one.before), 3).seconds
    notes = (
        f"{len(one.rows)} elements of three points, {one.driven.steps} interior-point iterations",
        f"{one.before.times[-1]:.1f} min as described, {one.time:.1f} min by the recipe",
    )
    return Result("pans.recipe", done.seconds, one.driven.states.size, (rival,), floor, notes)


def _without_curvature(strike: Described, ours: Recipe) -> Recipe:
    """The rival, with the patience of six times our iterations."""
    kept: Any = ca.nlpsol
    fewer = {"ipopt.hessian_approximation": "limited-memory", "ipopt.max_iter": PATIENCE * ours.driven.steps}

    def plain(name: str, plugin: str, problem: dict[str, Any], options: dict[str, Any]) -> Any:
        return kept(name, plugin, problem, {**options, **fewer})

    with mock.patch("casadi.nlpsol", plain):
        return recipe(strike)
