"""The best way to drive a motion: inputs over time, lengths of stages and freed settings within limits.

Each stage of the motion is cut into elements; within one the inputs are constant and the states are polynomials that
obey the rates at the three Radau points (fifth order at the ends). Everything is solved at once by IPOPT with exact
derivatives. Source: direct collocation as in Biegler, Nonlinear Programming (2010), chapter 10 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from canewright.engine.dynamics import Motion

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
Span = tuple[float, float]
POINTS = 3
SMOOTH = 1e-4
"""Weight of the squared step of an input (on its range) from element to element: decides where nothing else does."""
PROVED = 1e-7
"""Largest scaled miss of a rate or limit in an answer that counts as one."""
MOST_STEPS = 120


class NoBest(ArithmeticError):
    """No way within the limits was found; says what IPOPT made of it and the limits that were missed."""


@dataclass(frozen=True)
class Stage:
    """A stretch of the motion: elements, what its inputs are or range over, its length, and limits on outputs.

    ``path`` holds at every point, ``ends`` at the end of the stage.
    """

    name: str
    elements: int
    held: Mapping[str, float]
    moved: Mapping[str, Span]
    length: Span
    path: Mapping[str, Span] = field(default_factory=dict)
    ends: Mapping[str, Span] = field(default_factory=dict)
    whole: Mapping[str, Span] = field(default_factory=dict)
    """Inputs with one value for the stage."""


@dataclass(frozen=True)
class Begin:
    """Where the search starts: times and scaled states of a course that is possible or nearly so, and its inputs."""

    times: Vector
    states: Matrix
    inputs: Mapping[str, Vector]
    ends: Sequence[float]
    """Time at the end of each stage."""


@dataclass(frozen=True)
class Driven:
    """The answer: for each element the stage, its length and inputs; the states at its end; settings as chosen."""

    stages: tuple[str, ...]
    lengths: Vector
    inputs: Matrix
    states: Matrix
    settings: Mapping[str, float]
    value: float
    prices: Mapping[str, float]
    """Change of the value for a unit more of each limit that binds at the end of a stage."""
    answers: Mapping[str, float]
    """Change of the value for a unit more of each setting, everything else chosen anew."""
    steps: int
    miss: float


def begin_from(motion: Motion, driven: Driven, first: Vector) -> Begin:
    """A search that starts where an earlier one of the same stages ended; ``first`` are the states it began with."""
    at = np.concatenate([[0.0], np.cumsum(driven.lengths)])
    last = [k + 1 for k, name in enumerate(driven.stages) if driven.stages[k + 1 : k + 2] != (name,)]
    middles = 0.5 * (at[1:] + at[:-1])
    inputs = {name: np.interp(at, middles, driven.inputs[i]) for i, name in enumerate(motion.inputs)}
    return Begin(at, np.hstack([first[:, None], driven.states]), inputs, [float(at[k]) for k in last])


class _Program:
    """Unknowns and conditions as they gather."""

    def __init__(self) -> None:
        self.unknowns: list[Any] = []
        self.low: list[Vector] = []
        self.high: list[Vector] = []
        self.first: list[Vector] = []
        self.conditions: list[Any] = []
        self.least: list[Vector] = []
        self.most: list[Vector] = []
        self.says: list[tuple[int, str]] = []

    def unknown(self, rows: int, columns: int, low: Any, high: Any, first: Any) -> Any:
        """A block of unknowns with limits and a first guess."""
        made = ca.MX.sym("v", rows, columns)
        self.unknowns.append(ca.vec(made))
        for kept, given in ((self.low, low), (self.high, high), (self.first, first)):
            kept.append(np.broadcast_to(np.asarray(given, dtype=float), (rows, columns)).ravel(order="F"))
        return made

    def hold(self, expression: Any, low: float, high: float, says: str = "") -> None:
        """A condition: an expression within limits."""
        count = expression.numel()
        self.says.append((sum(len(m) for m in self.least), says))
        self.conditions.append(ca.vec(expression))
        self.least.append(np.full(count, low))
        self.most.append(np.full(count, high))


def best(
    motion: Motion,
    settings: Mapping[str, float],
    stages: Sequence[Stage],
    begin: Begin,
    worth: Mapping[str, float],
    freed: Mapping[str, Span] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Driven:
    """The inputs that make the weighted sum of ``worth`` least: outputs at the end, and ``time``.

    Raises NoBest where none is found, naming the limits that stay missed.
    """
    return _Search(motion, settings, stages, begin, worth, freed or {}).answer(progress)


class _Search:
    def __init__(
        self,
        motion: Motion,
        settings: Mapping[str, float],
        stages: Sequence[Stage],
        begin: Begin,
        worth: Mapping[str, float],
        freed: Mapping[str, Span],
    ) -> None:
        self.motion, self.stages, self.begin, self.freed = motion, tuple(stages), begin, dict(freed)
        self.settings = dict(settings)
        self.n = len(motion.states)
        self.program = _Program()
        self.taus = ca.collocation_points(POINTS, "radau")
        self.C, self.D, self.B = (np.array(m) for m in ca.collocation_coeff(self.taus))
        self.sized = {name: max(abs(high), 1e-12) for name, (_, high) in self.freed.items()}
        self._p = self._parameters()
        self._lay(worth)

    def _parameters(self) -> Any:
        self.given = ca.MX.sym("settings", len(self.motion.settings))
        p = ca.vertsplit(self.given)
        self.chosen: dict[str, Any] = {}
        for name, (low, high) in self.freed.items():
            size = self.sized[name]
            first = min(max(self.settings[name], low), high)
            one = self.program.unknown(1, 1, low / size, high / size, first / size)
            self.chosen[name] = one
            p[self.motion.settings.index(name)] = one * size
        return ca.vertcat(*p)

    def _lay(self, worth: Mapping[str, float]) -> None:
        begins = [self.begin.times[0], *self.begin.ends[:-1]]
        x, objective, self.blocks = ca.MX(ca.DM(self.begin.states[:, 0])), ca.MX(0.0), []
        for stage, at, to in zip(self.stages, begins, self.begin.ends, strict=True):
            block = _Block(self, stage, float(at), float(to), x)
            self.blocks.append(block)
            objective += worth.get("time", 0.0) * block.length + SMOOTH * block.roughness
            x = block.last
        told = self.blocks[-1].told_last
        for name, weight in worth.items():
            if name != "time":
                objective += weight * told[self.motion.outputs.index(name)]
        self.objective = objective

    def answer(self, progress: Callable[[str], None] | None) -> Driven:
        """Solve and prove."""
        program = self.program
        problem = {
            "x": ca.vertcat(*program.unknowns), "p": self.given, "f": self.objective,
            "g": ca.vertcat(*program.conditions),
        }  # fmt: skip
        options: dict[str, Any] = {
            "ipopt.print_level": 0, "print_time": False, "ipopt.sb": "yes", "ipopt.max_iter": MOST_STEPS,
            "ipopt.tol": 1e-7, "ipopt.mu_init": 1e-3, "ipopt.linear_solver": "mumps", "error_on_fail": False,
            "show_eval_warnings": False,
        }  # fmt: skip
        if progress is not None:
            progress("compiling the recipe's equations")
        solver = ca.nlpsol("recipe", "ipopt", problem, options)
        if progress is not None:
            progress("looking for the best recipe")
        low, high = np.concatenate(program.least), np.concatenate(program.most)
        found = solver(
            x0=np.concatenate(program.first), lbx=np.concatenate(program.low), ubx=np.concatenate(program.high),
            lbg=low, ubg=high, p=self.motion.vector(self.settings),
        )  # fmt: skip
        self._prove(np.array(found["g"]).ravel(), low, high, str(solver.stats()["return_status"]))
        return self._driven(problem["x"], found, int(solver.stats()["iter_count"]), low, high)

    def _prove(self, held: Vector, low: Vector, high: Vector, status: str) -> None:
        miss = _missed(held, low, high)
        if (
            np.isfinite(miss).all()
            and miss.max() <= PROVED
            and status in {"Solve_Succeeded", "Solved_To_Acceptable_Level"}
        ):
            return
        worst: dict[str, float] = {}
        starts = [*self.program.says, (len(held), "")]
        for (at, says), (to, _) in pairwise(starts):
            if says and to > at and miss[at:to].max() > PROVED:
                worst[says] = max(worst.get(says, 0.0), float(miss[at:to].max()))
        missed = "; ".join(f"{says}, missed by {by:.3g}" for says, by in worst.items())
        raise NoBest(f"no recipe was found within the limits ({status.replace('_', ' ').lower()}): {missed or 'rates'}")

    def _driven(self, x: Any, found: Any, steps: int, low: Vector, high: Vector) -> Driven:
        wanted = [b.lengths for b in self.blocks] + [ca.vec(b.inputs) for b in self.blocks]
        wanted += [ca.vec(b.ends) for b in self.blocks] + list(self.chosen.values())
        read = ca.Function("read", [x, self.given], wanted)
        values = [np.array(v) for v in read.call([found["x"], self.motion.vector(self.settings)])]
        count = len(self.blocks)
        rows = len(self.motion.inputs)
        inputs = np.hstack([v.reshape(rows, -1, order="F") for v in values[count : 2 * count]])
        states = np.hstack([v.reshape(self.n, -1, order="F") for v in values[2 * count : 3 * count]])
        chosen = {
            name: float(v.item()) * self.sized[name] for name, v in zip(self.chosen, values[3 * count :], strict=True)
        }
        held, price = np.array(found["g"]).ravel(), np.array(found["lam_g"]).ravel()
        binding = {
            says: -float(price[at])
            for at, says in self.program.says
            if says.startswith("at the end") and abs(price[at]) > 1e-6
        }
        miss = float(_missed(held, low, high).max())
        names = tuple(b.stage.name for b in self.blocks for _ in range(b.stage.elements))
        return Driven(
            names, np.concatenate([v.ravel() for v in values[:count]]), inputs, states, {**self.settings, **chosen},
            float(found["f"]), binding,
            dict(zip(self.motion.settings, (-np.array(found["lam_p"]).ravel()).tolist(), strict=True)), steps, miss,
        )  # fmt: skip


def _missed(held: Vector, low: Vector, high: Vector) -> Vector:
    """How far each condition is missed, on one more than the size of its limit."""
    below = (low - held) / (1.0 + np.where(np.isfinite(low), np.abs(low), 0.0))
    above = (held - high) / (1.0 + np.where(np.isfinite(high), np.abs(high), 0.0))
    return np.maximum(below, above)


def _within(low: float, high: float) -> str:
    """Limits in words."""
    if low == high:
        return f"of {low:g}"
    if not np.isfinite(high):
        return f"at least {low:g}"
    return f"from {low:g} to {high:g}" if np.isfinite(low) else f"at most {high:g}"


class _Block:
    """Unknowns and conditions of one stage."""

    def __init__(self, search: _Search, stage: Stage, at: float, to: float, x: Any) -> None:
        self.stage, motion, program = stage, search.motion, search.program
        n, k = search.n, stage.elements
        first = (to - at) / k
        self.length = program.unknown(
            1, 1, stage.length[0], stage.length[1], min(max(to - at, stage.length[0]), stage.length[1])
        )
        self.lengths = ca.repmat(self.length / k, 1, k)
        middles: Vector = np.asarray(at + first * (np.arange(k) + 0.5), dtype=float)
        self.inputs, self.roughness = self._inputs(search, middles)
        places = at + first * (np.arange(k)[:, None] + np.array(search.taus)[None, :]).ravel()
        guess = np.array([np.interp(places, search.begin.times, row) for row in search.begin.states])
        low = np.array([-1e-6 if s.low >= 0 else -1e6 for s in motion.states])[:, None]
        points = program.unknown(n, POINTS * k, low, 1e6, guess)
        self.ends = points[:, POINTS - 1 :: POINTS]
        starts = ca.horzcat(x, self.ends[:, : k - 1]) if k > 1 else x
        driven = ca.horzcat(*[self.inputs[:, i] for i in range(k) for _ in range(POINTS)])
        p = ca.repmat(search._p, 1, POINTS * k)  # noqa: SLF001 - one search, told in two classes
        rate = motion.rate.map(POINTS * k)(points, p, driven)
        for j in range(POINTS):
            slope = search.C[0, j] * starts
            for i in range(POINTS):
                slope = slope + search.C[i + 1, j] * points[:, i::POINTS]
            program.hold(slope - self.length / k * rate[:, j::POINTS], 0.0, 0.0)
        told = motion.telling(list(stage.path)).map(POINTS * k)(points, p, driven)
        self.last = points[:, POINTS * k - 1]
        self.told_last = motion.tell(self.last, search._p, self.inputs[:, k - 1])  # noqa: SLF001
        for row, (name, (least, most)) in enumerate(stage.path.items()):
            program.hold(told[row, :], least, most, f"{stage.name}: {name} {_within(least, most)}")
        for name, (least, most) in stage.ends.items():
            one = self.told_last[motion.outputs.index(name)]
            program.hold(one, least, most, f"at the end of {stage.name}: {name} {_within(least, most)}")

    def _inputs(self, search: _Search, middles: Vector) -> tuple[Any, Any]:
        k, rows, roughness = self.stage.elements, [], ca.MX(0.0)
        for name in search.motion.inputs:
            if name in self.stage.moved or name in self.stage.whole:
                low, high = {**self.stage.moved, **self.stage.whole}[name]
                first = np.interp(middles, search.begin.times, search.begin.inputs[name])
                share = np.clip((first - low) / (high - low), 0.02, 0.98)
                count = k if name in self.stage.moved else 1
                one = search.program.unknown(1, count, 0.0, 1.0, share[:count])
                if count > 1:
                    roughness += ca.sumsqr(one[1:] - one[:-1])
                rows.append(ca.repmat(low + (high - low) * one, 1, k // count))
            else:
                rows.append(ca.repmat(ca.MX(float(self.stage.held[name])), 1, k))
        return ca.vertcat(*rows), roughness
