"""Motion in time: named states with rates, integrated stiffly, stopped at events, with exact sensitivities.

A motion is traced once into symbolic functions; what drives it (settings, and inputs that are constant over each
interval) are numbers given at each run, so that one compiled integrator serves every run. Time within an interval is
scaled to its length, which is itself an input: the same integrator steps any grid, and the time of an event is an
unknown like any other. SUNDIALS CVODES (BDF) integrates.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from canewright.engine.evaluation import evaluated, evaluated_columns
from canewright.engine.model import Variable
from canewright.engine.tracing import traced
from canewright.quantity import noting_breaches

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
Values = Mapping[str, Any]
Rates = Callable[[Values], tuple[Mapping[str, Any], Mapping[str, Any]]]
TOLERANCE = 1e-8
"""Relative tolerance of an integration, and absolute one in units of each state's nominal size."""
LOOK = 10
"""Points from one look for events to the next."""
FEW = 64
"""Points up to which outputs are worked out one by one."""
SETTLED = 1e-10
"""Step of the time of an event, on the interval in which it lies, at which the search for it ends."""


class NotIntegrated(ArithmeticError):
    """A motion that could not be followed; says from which time on."""


@dataclass(frozen=True)
class Leg:
    """A stretch of a motion: its inputs, and the outputs one of which ends it when it rises through its value."""

    name: str
    inputs: Mapping[str, float]
    until: Mapping[str, float] = field(default_factory=dict)
    longest: float = np.inf
    set_by: Mapping[str, str] = field(default_factory=dict)
    """For an output that ends it: the setting that its value is, so that sensitivities know."""


@dataclass(frozen=True)
class Followed:
    """Where a leg led: its states at every point of its grid (scaled), times, and what ended it."""

    leg: Leg
    times: Vector
    states: Matrix
    ended_by: str

    @property
    def last(self) -> Vector:
        """The states at its end."""
        return self.states[:, -1]


class Motion:
    """States whose rates follow from states, settings and inputs, all named, each state scaled by its nominal size.

    ``law`` is called once with symbols and gives the rate of each state and any outputs.
    Raises ValueError where a name is used twice or a state has no rate.
    """

    def __init__(self, states: Sequence[Variable], settings: Sequence[str], inputs: Sequence[str], law: Rates) -> None:
        """Trace the rates and the outputs."""
        self.states, self.settings, self.inputs = tuple(states), tuple(settings), tuple(inputs)
        names = [*(s.name for s in states), *settings, *inputs]
        if len(set(names)) != len(names):
            raise ValueError("a name of the motion is used twice")
        self.nominal = np.array([s.nominal for s in states])
        self._law = law
        self._x, self._p = ca.SX.sym("x", len(self.states)), ca.SX.sym("p", len(self.settings))
        self._u = ca.SX.sym("u", len(self.inputs))
        sized = ca.vertsplit(self._x * ca.DM(self.nominal))
        values = dict(zip(names, [*sized, *ca.vertsplit(self._p), *ca.vertsplit(self._u)], strict=True))
        (rates, outputs), _ = traced(lambda: law(values))
        missing = [s.name for s in states if s.name not in rates]
        if missing:
            raise ValueError(f"no rate for {', '.join(missing)}")
        self.outputs = tuple(outputs)
        graph = ca.vertcat(*(rates[s.name] / s.nominal for s in states))
        told = ca.vertcat(*outputs.values())
        self._rate, self._told = ca.cse([ca.SX(graph), ca.SX(told)])
        given = [self._x, self._p, self._u]
        self.rate = ca.Function("rate", given, [self._rate], ["x", "p", "u"], ["rate"])
        self.tell = ca.Function("tell", given, [self._told], ["x", "p", "u"], ["told"])
        self._steppers: dict[tuple[int, float], ca.Function] = {}
        self._watches: dict[tuple[str, ...], ca.Function] = {}
        self._answers: dict[int, ca.Function] = {}

    @cached_property
    def jacobian(self) -> ca.Function:
        """Derivative of the scaled rates by the scaled states."""
        return ca.Function("jacobian", [self._x, self._p, self._u], [ca.jacobian(self._rate, self._x)])

    def vector(self, settings: Mapping[str, float]) -> Vector:
        """Settings in order. Raises KeyError naming one that is missing."""
        return np.array([settings[name] for name in self.settings], dtype=float)

    def drive(self, inputs: Mapping[str, float]) -> Vector:
        """Inputs in order. Raises KeyError naming one that is missing."""
        return np.array([inputs[name] for name in self.inputs], dtype=float)

    def stepper(self, intervals: int, tolerance: float = TOLERANCE) -> ca.Function:
        """The integrator over so many intervals: (x0, p, inputs with the length of each below) to the states there."""
        key = (intervals, tolerance)
        if key not in self._steppers:
            length = ca.SX.sym("length")
            problem = {
                "x": self._x,
                "p": self._p,
                "u": ca.vertcat(self._u, length),
                "ode": length * self._rate,
            }
            options = {
                "reltol": tolerance, "abstol": tolerance, "max_num_steps": 100_000, "disable_internal_warnings": True,
                "show_eval_warnings": False,
            }  # fmt: skip
            grid = [float(k) for k in range(1, intervals + 1)]
            self._steppers[key] = ca.integrator("stepper", "cvodes", problem, 0.0, grid, options)
        return self._steppers[key]

    def stepped(self, x: Vector, p: Vector, inputs: Matrix, lengths: Vector, tolerance: float = TOLERANCE) -> Matrix:
        """States (scaled) at the end of each interval with the same inputs and length throughout.

        Raises NotIntegrated where the integrator gives up or a state is no number.
        """
        driven = np.vstack([np.broadcast_to(inputs, (len(self.inputs), len(lengths))), lengths])
        try:
            found = np.array(self.stepper(len(lengths), tolerance)(x0=x, p=p, u=driven)["xf"])
        except RuntimeError as stopped:
            raise NotIntegrated(_plainly(stopped)) from None
        if not np.isfinite(found).all():
            raise NotIntegrated("a state is no number")
        return found

    def told(self, states: Matrix, p: Vector, inputs: Vector | Matrix) -> dict[str, Vector]:
        """Every output at states (scaled, a column for each point), the inputs one for all or one for each."""
        if states.shape[1] > FEW:
            return self._told_together(states, p, inputs)
        return dict(zip(self.outputs, self._all(self._joined, states, p, inputs), strict=True))

    def _told_together(self, states: Matrix, p: Vector, inputs: Vector | Matrix) -> dict[str, Vector]:
        """The law on arrays: for many points several times quicker than point by point."""
        values = dict(zip((s.name for s in self.states), states * self.nominal[:, None], strict=True))
        values |= dict(zip(self.settings, p.tolist(), strict=True))
        values |= dict(zip(self.inputs, inputs.tolist() if inputs.ndim == 1 else inputs, strict=True))
        with noting_breaches(), np.errstate(all="ignore"):
            _, outputs = self._law(values)
        return {name: np.array(np.broadcast_to(row, states.shape[1]), dtype=float) for name, row in outputs.items()}

    def telling(self, names: Sequence[str]) -> ca.Function:
        """These outputs as a function of states, settings and inputs, without what the others need."""
        rows = ca.vertcat(*(self._told[self.outputs.index(name)] for name in names))
        return ca.Function("telling", [self._x, self._p, self._u], [rows])

    @cached_property
    def _joined(self) -> ca.Function:
        return ca.Function("told", [ca.vertcat(self._x, self._p, self._u)], [ca.densify(self._told)])

    # --- legs that end at events --------------------------------------------------------------------------------------

    def follow(
        self,
        leg: Leg,
        x: Vector,
        p: Vector,
        begins: float,
        every: float,
        chunk: int = 900,
        tolerance: float = TOLERANCE,
    ) -> Followed:
        """Integrate a leg until one of its events or its longest time, states kept ``every`` unit of time.

        Points of the grid lie at whole multiples of ``every`` counted from time zero, besides the event itself.
        Raises NotIntegrated as ``stepped``.
        """
        u = self.drive(leg.inputs)
        at, last = begins, np.asarray(x, dtype=float)
        times, states = [np.array([at])], [last[:, None]]
        until = begins + leg.longest
        while until - at > 1e-9 * every:
            grid, found, chunk = self._chunk(last, p, u, (at, until, every), chunk, tolerance)
            crossed = self._crossed(leg, found, p, u)
            k, name = crossed or (len(grid), "")
            times.append(grid[:k])
            states.append(found[:, :k])
            if k:
                at, last = float(grid[k - 1]), found[:, k - 1]
            if name:
                spent, end = self._event(last, p, u, (name, leg.until[name]), float(grid[k]) - at, tolerance)
                whole = np.concatenate([*times, [at + spent]])
                return Followed(leg, whole, np.hstack([*states, end[:, None]]), name)
        return Followed(leg, np.concatenate(times), np.hstack(states), "time")

    def _chunk(
        self, x: Vector, p: Vector, u: Vector, span: tuple[float, float, float], chunk: int, tolerance: float
    ) -> tuple[Vector, Matrix, int]:
        """The next points of the grid and the states there: one point to come onto the grid or to end, else many.

        Integration goes on past an event, perhaps to where nothing can be; what then fails is tried in shorter chunks,
        and so is the rest of the leg: the last number is the length that did.
        """
        at, until, every = span
        first = every * (np.floor(at / every + 1e-9) + 1.0)
        if first - at < (1.0 - 1e-9) * every or first > until:
            point = min(first, until)
            return np.array([point]), self.stepped(x, p, u[:, None], np.array([point - at]), tolerance), chunk
        while True:
            try:
                found = self.stepped(x, p, u[:, None], np.full(chunk, every), tolerance)
                break
            except NotIntegrated:
                if chunk == 1:
                    raise
                chunk = max(1, chunk // 8)
        grid = first + every * np.arange(chunk)
        inside = int(np.count_nonzero(grid <= until + 1e-9 * every))
        return grid[:inside], found[:, :inside], chunk

    def _crossed(self, leg: Leg, found: Matrix, p: Vector, u: Vector) -> tuple[int, str] | None:
        """The first point at or above the value of an event, and which.

        Every tenth point is looked at, then those before the first beyond: an output that passes its value for less
        than ten points and falls back goes unseen.
        """
        if not leg.until:
            return None
        values = np.array(list(leg.until.values()))[:, None]
        places = np.unique(np.append(np.arange(0, found.shape[1], LOOK), found.shape[1] - 1))
        beyond = np.flatnonzero((self._watched(leg, found[:, places], p, u) >= values).any(axis=0))
        if not len(beyond):
            return None
        last = int(places[beyond[0]])
        first = max(0, last - LOOK + 1)
        near = self._watched(leg, found[:, first : last + 1], p, u) >= values
        k = int(np.flatnonzero(near.any(axis=0))[0])
        return first + k, list(leg.until)[int(np.flatnonzero(near[:, k])[0])]

    def _watched(self, leg: Leg, states: Matrix, p: Vector, u: Vector) -> Matrix:
        return self._all(self._watch(tuple(leg.until)), states, p, u)

    def _watch(self, names: tuple[str, ...]) -> ca.Function:
        """Some outputs alone, which is quicker than all."""
        if names not in self._watches:
            rows = ca.densify(ca.vertcat(*(self._told[self.outputs.index(name)] for name in names)))
            self._watches[names] = ca.Function("watch", [ca.vertcat(self._x, self._p, self._u)], [rows])
        return self._watches[names]

    @staticmethod
    def _all(function: ca.Function, states: Matrix, p: Vector, inputs: Matrix | Vector) -> Matrix:
        """A function of states, settings and inputs at every point."""
        n, count = states.shape
        columns = np.empty((n + len(p) + len(inputs), count), order="F")
        columns[:n], columns[n : n + len(p)] = states, p[:, None]
        columns[n + len(p) :] = inputs[:, None] if inputs.ndim == 1 else inputs
        return evaluated_columns(function, columns, 1)

    def _event(
        self, x: Vector, p: Vector, u: Vector, event: tuple[str, float], longest: float, tolerance: float
    ) -> tuple[float, Vector]:
        """The time after ``x`` at which an output reaches its value, and the states then: Newton in its bracket."""
        name, value = event
        row = self.outputs.index(name)
        low, high, span = 0.0, longest, 0.5 * longest
        state = x
        for _ in range(60):
            state = self.stepped(x, p, u[:, None], np.array([span]), tolerance)[:, 0]
            gap = float(evaluated(self.tell, state, p, u)[0][row]) - value
            low, high = (span, high) if gap < 0 else (low, span)
            slope = float(evaluated(self._slope, state, p, u)[0][row])
            step = -gap / slope if slope > 0 else np.nan
            fresh = span + step if low <= span + step <= high else 0.5 * (low + high)
            if abs(fresh - span) <= SETTLED * longest:
                break
            span = fresh
        return span, state

    @cached_property
    def _slope(self) -> ca.Function:
        """How fast each output changes with time."""
        along = ca.jtimes(self._told, self._x, self._rate)
        return ca.Function("slope", [self._x, self._p, self._u], [ca.densify(along)])

    # --- sensitivities ------------------------------------------------------------------------------------------------

    def _along(self, columns: int) -> ca.Function:
        """The end of one interval, and its derivatives along so many directions of start and settings."""
        if columns not in self._answers:
            x, p = ca.MX.sym("x", len(self.states)), ca.MX.sym("p", len(self.settings))
            u, ways = (
                ca.MX.sym("u", len(self.inputs) + 1),
                ca.MX.sym("ways", len(self.states) + len(self.settings), columns),
            )
            end = self.stepper(1)(x0=x, p=p, u=u)["xf"]
            along = ca.jtimes(end, ca.vertcat(x, p), ways)
            self._answers[columns] = ca.Function("along", [x, p, u, ways], [end, along])
        return self._answers[columns]

    def stepped_along(self, x: Vector, p: Vector, inputs: Vector, length: float, ways: Matrix) -> tuple[Vector, Matrix]:
        """The states after an interval, and their derivatives along directions of start (above) and settings (below).

        Raises NotIntegrated as ``stepped``.
        """
        try:
            end, along = self._along(ways.shape[1])(x, p, np.append(inputs, length), ways)
        except RuntimeError as stopped:
            raise NotIntegrated(_plainly(stopped)) from None
        return np.array(end).ravel(), np.array(along).reshape(len(self.states), -1)

    def stepwise(self, x: Vector, p: Vector, inputs: Matrix, lengths: Vector) -> Matrix:
        """States (scaled) at the end of each interval, started afresh at each, for inputs that jump between them.

        Raises NotIntegrated as ``stepped``.
        """
        found, at = np.empty((len(self.states), len(lengths))), np.asarray(x, dtype=float)
        for k, length in enumerate(lengths):
            found[:, k] = at = self.stepped(at, p, inputs[:, k : k + 1], np.array([length]))[:, 0]
        return found

    def chosen(self, wanted: Sequence[str]) -> Matrix:
        """One column for each wanted setting: which of all it is."""
        pick = np.zeros((len(self.settings), len(wanted)))
        pick[[self.settings.index(name) for name in wanted], range(len(wanted))] = 1.0
        return pick

    def response(self, legs: Iterable[Followed], p: Vector, wanted: Sequence[str]) -> tuple[Matrix, Vector]:
        """Derivative of the scaled states at the end of the last leg, and of its time, by the wanted settings.

        The times of events answer too: each leg ends where its event's output has its value.
        """
        pick = self.chosen(wanted)
        along, time = np.zeros((len(self.states), len(wanted))), np.zeros(len(wanted))
        for each in legs:
            u, span = self.drive(each.leg.inputs), float(each.times[-1] - each.times[0])
            end, along = self.stepped_along(each.states[:, 0], p, u, span, np.vstack([along, pick]))
            if each.ended_by != "time":
                by_x, by_p = self._event_slopes(end, p, u, each.ended_by)
                rate = evaluated(self.rate, end, p, u)[0]
                marked = np.array([float(each.leg.set_by.get(each.ended_by) == name) for name in wanted])
                moved = (marked - by_x @ along - by_p @ pick) / float(by_x @ rate)
                along, time = along + np.outer(rate, moved), time + moved
        return along, time

    def _event_slopes(self, x: Vector, p: Vector, u: Vector, name: str) -> tuple[Vector, Vector]:
        row = self.outputs.index(name)
        by_x, by_p = self._told_slopes(x, p, u)
        return np.array(by_x)[row], np.array(by_p)[row]

    @cached_property
    def _told_slopes(self) -> ca.Function:
        slopes = [ca.densify(ca.jacobian(self._told, by)) for by in (self._x, self._p)]
        return ca.Function("told_slopes", [self._x, self._p, self._u], slopes)

    def told_response(self, x: Vector, p: Vector, u: Vector, along: Matrix, wanted: Sequence[str]) -> dict[str, Vector]:
        """Derivative of each output at the end by the wanted settings, from that of the states."""
        by_x, by_p = (np.array(each) for each in self._told_slopes(x, p, u))
        whole = by_x @ along + by_p[:, [self.settings.index(name) for name in wanted]]
        return dict(zip(self.outputs, whole, strict=True))


def _plainly(error: Exception) -> str:
    """That the integrator gave up, with its word for why."""
    word = re.search(r'"(CV_\w+)"', str(error))
    return f"no step is small enough to follow the rates ({word.group(1) if word else 'unknown'})"
