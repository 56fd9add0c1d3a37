"""Advise: chosen settings free between limits, the best value subject to every equation and every limit.

Sequential quadratic programming in the moves alone, the state solved at each point and every derivative exact; what it
finds is proved before it is believed. Where it finds nothing, an interior-point method looks in all variables at once.
Directions in which the money curves upwards are taken with their curvature reflected, so that steps always climb
(Gill, Murray & Wright, Practical Optimization (1981), 4.4.2.1, from memory). Shadow prices are the multipliers of the
same optimum.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from canewright.engine.along import Along, Following
from canewright.engine.conflict import conflict
from canewright.engine.limits import Limit, Move, meets, sizes_of
from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.solve import QUIET, NotSolved, polished

__all__ = ["Advice", "Limit", "Move", "Programme", "advise"]

NEAR = 1e-4
"""First barrier from today's state: it is solved and mostly within the limits, so a high barrier only leads away."""
BINDING = 1e-6
"""Multiplier, scaled by the sizes of limit and money, above which a limit counts as binding."""
LEAST_BEND = 1e-7
"""Least curvature of a direction: what is straight is bent as little as the arithmetic allows."""
STATIONARY = 1e-7
"""Slope of the money (scaled) that may be left over at a best point."""
TOUCHING = 1e-7
"""Distance (scaled) from an end at which a limit can bind."""
ROUNDS = 6
"""Times that variables found outside their ranges are added to the limits."""
STEPS = 60
"""Most steps of the search in the moves."""


@dataclass(frozen=True)
class Advice:
    """The best state found, what moved, what it gains, and what binds.

    ``law_prices`` is the money for one (scaled) by which the left side of each law is raised.
    """

    model: Model
    start: Vector
    scaled: Vector
    worth_now: float
    worth_then: float
    changes: dict[str, tuple[float, float]]
    shadow_prices: dict[str, float]
    binding: tuple[str, ...]
    iterations: int
    law_prices: Vector
    method: str

    @property
    def gain(self) -> float:
        """Money gained per unit of the objective's time."""
        return self.worth_then - self.worth_now

    @property
    def values(self) -> dict[str, float]:
        """Every variable of the advised state by name."""
        return self.model.named(self.scaled)


@dataclass(frozen=True)
class _Found:
    """A best state with the multipliers (scaled by money) of limits, moves and unknowns."""

    scaled: Vector
    of_limits: Vector
    of_moves: Vector
    of_unknowns: Vector
    iterations: int
    method: str


class Programme:
    """Money, limits and moves of a model: traced once, asked for the best state as often as wanted."""

    def __init__(
        self,
        model: Model,
        worth: Expressions,
        limited: Expressions,
        names: Sequence[str],
        slopes: Mapping[str, Mapping[str, float]] | None = None,
    ) -> None:
        """``worth`` is one expression; ``names`` are the settings that may move.

        ``slopes`` holds settings that go with them along straight lines: by name and by what they follow, in units.
        """
        self.model, self.worth, self.limited, self.names = model, worth, limited, tuple(names)
        self.following = Following.of(model, names, slopes or {})
        self.columns = np.array([model.index[name] for name in names], dtype=int)
        both = ca.vertcat(worth.graph, limited.graph) if limited.size else worth.graph
        self.both = Expressions(model, both, "money_and_limits")
        self.watched: list[int] = []

    def moving(self, names: Sequence[str], slopes: Mapping[str, Mapping[str, float]] | None = None) -> Programme:
        """The same money and limits, traced already, with other moves."""
        other = Programme(self.model, self.worth, self.limited, names, slopes)
        other.both = self.both
        return other

    def best(self, limits: Sequence[Limit], moves: Sequence[Move], start: Vector) -> Advice:
        """Maximise the worth by the moves, holding every other setting at its value in ``start``.

        A shadow price is the money gained for each unit by which a limit is relaxed. Raises NotSolved naming the limits
        in conflict when no state meets them all, and when the best value has no end or was not reached; ValueError
        where limits or moves are not those of this programme.
        """
        if self.limited.size != len(limits):
            raise ValueError(f"{self.limited.size} limited expressions but {len(limits)} limits")
        if tuple(m.name for m in moves) != self.names:
            raise ValueError("the moves are not those of this programme")
        asked = _Asked(self, limits, moves, start)
        found = _in_the_moves(asked) or self._in_all_variables(asked)
        return self._advice(asked, found)

    def _in_all_variables(self, asked: _Asked) -> _Found:
        """By an interior-point method; slower, and from further away."""
        model = self.model
        low, high = asked.bounds
        zero = np.zeros(len(model.laws) + len(self.following.columns))
        ends = {"lbg": np.concatenate([zero, asked.lower]), "ubg": np.concatenate([zero, asked.upper])}
        also = self.following
        start = asked.start[also.columns] - also.slopes @ asked.start[self.columns]
        sized = np.concatenate([asked.size, [asked.money], start])
        found = self._interior(x0=asked.start, p=sized, lbx=low, ubx=high, **ends)
        scaled = polished(model, np.asarray(found["x"]).ravel())
        if not meets(model, self.limited, asked.limits, scaled):
            raise conflict(model, self.limited, asked.limits, asked.start, (low, high), asked.moves)
        stats = self._interior.stats()
        if not stats["success"]:
            raise NotSolved(
                f"no best state was reached ({stats['return_status']}); give every move two finite limits", [], []
            )
        of_variables = np.asarray(found["lam_x"]).ravel()
        return _Found(
            scaled, np.asarray(found["lam_g"]).ravel()[len(zero) :], of_variables[self.columns],
            of_variables[: model.n], int(stats["iter_count"]), "in all variables",
        )  # fmt: skip

    @cached_property
    def _interior(self) -> ca.Function:
        size, money = ca.SX.sym("size", self.limited.size), ca.SX.sym("money")
        also, u = self.following, self.model.symbols
        from_where = ca.SX.sym("start", len(also.columns))
        moved = ca.DM(also.slopes) @ u[self.columns.tolist()] if len(also.columns) else from_where
        laws = ca.vertcat(self.model.residual_graph, u[also.columns.tolist()] - moved - from_where)
        held = ca.vertcat(laws, self.limited.graph / size) if self.limited.size else laws
        given = ca.vertcat(size, money, from_where)
        problem = {"x": u, "p": given, "f": -self.worth.graph[0] / money, "g": held}
        options = {
            **QUIET,
            "ipopt.tol": 1e-9,
            "ipopt.constr_viol_tol": 1e-11,
            "ipopt.max_iter": 300,
            "ipopt.mu_init": NEAR,
            "ipopt.bound_relax_factor": 0.0,
            "ipopt.fixed_variable_treatment": "make_parameter",
        }
        return ca.nlpsol("advise", "ipopt", problem, options)

    def _advice(self, asked: _Asked, found: _Found) -> Advice:
        model, money = self.model, asked.money
        limit_prices = found.of_limits * money / asked.size
        move_prices = found.of_moves * money / model.nominal[self.columns]
        shadow = {m.sentence: float(p) for m, p in zip(asked.limits, limit_prices, strict=True)}
        shadow |= {f"limit of {m.name}": float(p) for m, p in zip(asked.moves, move_prices, strict=True)}
        binding = [m.sentence for m, p in zip(asked.limits, found.of_limits, strict=True) if abs(p) > BINDING]
        binding += [f"limit of {m.name}" for m, p in zip(asked.moves, found.of_moves, strict=True) if abs(p) > BINDING]
        along = Along(model, self.both, self.names, found.scaled, self.following)
        weights = np.concatenate([[1.0], -limit_prices])
        prices = -along.adjoint(found.scaled[self.columns], weights, -found.of_unknowns * money)
        now, then = (float(self.worth.at(u)[0]) for u in (asked.start, found.scaled))
        changes = {m.name: (_in_unit(model, i, asked.start), _in_unit(model, i, found.scaled))
                   for m, i in zip(asked.moves, self.columns, strict=True)}  # fmt: skip
        return Advice(
            model, asked.start, found.scaled, now, then, changes, shadow, tuple(binding), found.iterations, prices,
            found.method,
        )  # fmt: skip


def _in_unit(model: Model, i: int, scaled: Vector) -> float:
    return float(scaled[i] * model.nominal[i])


def advise(
    model: Model,
    worth: Expressions,
    limited: Expressions,
    limits: Sequence[Limit],
    moves: Sequence[Move],
    start: Vector,
) -> Advice:
    """The best state of a programme that is asked only once; raises as ``Programme.best`` does."""
    return Programme(model, worth, limited, [m.name for m in moves]).best(limits, moves, start)


class _Asked:
    """One question to a programme, everything scaled."""

    def __init__(self, programme: Programme, limits: Sequence[Limit], moves: Sequence[Move], start: Vector) -> None:
        model = programme.model
        self.programme, self.limits, self.moves, self.start = programme, limits, moves, start
        self.size = sizes_of(programme.limited, start)
        self.money = max(abs(float(programme.worth.at(start)[0])), 1.0)
        self.lower = np.array([m.least for m in limits]) / self.size
        self.upper = np.array([m.most for m in limits]) / self.size
        low, high = model.scaled_limits()
        low[model.n :] = high[model.n :] = start[model.n :]
        nominal = model.nominal[programme.columns]
        low[programme.columns] = np.array([m.low for m in moves]) / nominal
        high[programme.columns] = np.array([m.high for m in moves]) / nominal
        also = programme.following.columns
        low[also], high[also] = model.low[also] / model.nominal[also], model.high[also] / model.nominal[also]
        self.bounds = low, high


# --- in the moves -----------------------------------------------------------------------------------------------------


def _in_the_moves(asked: _Asked) -> _Found | None:
    """The proved best state, or None where none was found this way.

    Unknowns that may reach an end of their range are limits too; those that do so unforeseen are added, and the search
    is made again.
    """
    programme, model = asked.programme, asked.programme.model
    if not len(programme.columns) or not np.all(np.isfinite(asked.bounds[0][programme.columns])):
        return None
    try:
        _watch_what_is_near(asked)
        for _ in range(ROUNDS):
            found = _searched(asked)
            if found is None:
                return None
            beyond = [model.index[v.name] for v, _ in model.outside(found.scaled, 1e-9)]
            watchable = {*range(model.n), *programme.following.columns.tolist()}
            beyond = [i for i in beyond if i in watchable and i not in programme.watched]
            if not beyond:
                good = meets(model, programme.limited, asked.limits, found.scaled)
                return found if good else None
            programme.watched += beyond
    except (NotSolved, RuntimeError):
        return None
    return None


def _watch_what_is_near(asked: _Asked) -> None:
    """Watch every unknown that the moves, straight on, could bring to an end of its range."""
    programme, model = asked.programme, asked.programme.model
    along = Along(model, programme.both, programme.names, asked.start, programme.following)
    z, (low, high) = asked.start[programme.columns], asked.bounds
    _, answer = along.linear(z)
    room = np.maximum(high[programme.columns] - z, z - low[programme.columns])
    reach = np.abs(answer[: model.n]) @ room
    u, n = along.state(z)[: model.n], model.n
    near = (reach > 1e-9) & ((u - reach < low[:n]) | (u + reach > high[:n]))
    programme.watched += [int(i) for i in np.flatnonzero(near) if i not in programme.watched]


def _searched(asked: _Asked) -> _Found | None:
    programme, count = asked.programme, len(asked.limits)
    watched = np.array(programme.watched, dtype=int)
    low, high = asked.bounds
    search = _Search(asked, watched)
    solver = ca.nlpsol("moves", "sqpmethod", search.values, search.options)
    found = solver(
        x0=asked.start[programme.columns], lbx=low[programme.columns], ubx=high[programme.columns],
        lbg=np.concatenate([asked.lower, low[watched]]), ubg=np.concatenate([asked.upper, high[watched]]),
    )  # fmt: skip
    z = np.clip(np.asarray(found["x"]).ravel(), low[programme.columns], high[programme.columns])
    pulls = search.multipliers(z, (asked.lower, asked.upper), (low, high))
    if pulls is None:
        return None
    of_variables = np.zeros(len(programme.model.names))
    of_variables[watched] = pulls[count : -len(z)]
    steps = int(solver.stats()["iter_count"])
    return _Found(
        search.along.state(z), pulls[:count], pulls[-len(z) :], of_variables[: programme.model.n], steps, "in the moves"
    )


class _Search:
    """The programme in the moves as a solver asks for it: values, slopes and curvature at a point."""

    def __init__(self, asked: _Asked, watched: NDArray[np.int_]) -> None:
        programme = asked.programme
        self.along = Along(programme.model, programme.both, programme.names, asked.start, programme.following)
        self.watched, self.money, self.size = watched, asked.money, asked.size
        moves, held = len(programme.names), len(asked.limits) + len(watched)
        self.values = _Told("values", self._values, {"x": (moves, 1), "p": (0, 1)}, {"f": (1, 1), "g": (held, 1)})
        self._slopes = _Told(
            "slopes", self._values_and_slopes, {"x": (moves, 1), "p": (0, 1)},
            {"f": (1, 1), "grad_f_x": (moves, 1), "g": (held, 1), "jac_g_x": (held, moves)},
        )  # fmt: skip
        self._bend = _Told(
            "bend", self._curvature, {"x": (moves, 1), "p": (0, 1), "lam_f": (1, 1), "lam_g": (held, 1)},
            {"hess_gamma_x_x": (moves, moves)},
        )  # fmt: skip

    @property
    def options(self) -> dict[str, Any]:
        """How the solver is to work: exact derivatives of ours, an active-set method for each quadratic programme."""
        return {
            "no_nlp_grad": True, "jac_fg": self._slopes, "hess_lag": self._bend, "qpsol": "daqp",
            "qpsol_options": {"error_on_fail": False}, "tol_pr": 1e-9, "tol_du": 1e-9, "max_iter": STEPS,
            "max_iter_ls": 10, "error_on_fail": False, "print_time": False, "print_header": False,
            "print_status": False, "print_iteration": False, "show_eval_warnings": False,
        }  # fmt: skip

    def _values(self, z: Vector) -> list[Any]:
        told, u = self.along.values(z), self.along.state(z)
        return [-told[0] / self.money, np.concatenate([told[1:] / self.size, u[self.watched]])]

    def _values_and_slopes(self, z: Vector) -> list[Any]:
        value, held = self._values(z)
        slopes, (_, answer) = self.along.slopes(z), self.along.linear(z)
        rows = np.vstack([slopes[1:] / self.size[:, None], answer[self.watched]])
        return [value, -slopes[0] / self.money, held, rows]

    def _curvature(self, z: Vector, of_money: Vector, of_limits: Vector) -> list[Any]:
        count = len(self.size)
        weights = np.concatenate([-of_money / self.money, of_limits[:count] / self.size])
        pull = np.zeros(len(self.along.model.names))
        pull[self.watched] = of_limits[count:]
        pull = pull[: self.along.model.n]  # what follows does so along straight lines
        size, way = np.linalg.eigh(self.along.curvature(z, weights, pull))
        return [(way * np.maximum(np.abs(size), LEAST_BEND)) @ way.T]

    def multipliers(self, z: Vector, limits: tuple[Vector, Vector], bounds: tuple[Vector, Vector]) -> Vector | None:
        """The pull of each limit, watched unknown and move at a point; None where it is not proved to be the best.

        At a best point the slope of the money is a sum of the slopes of what binds, each outwards.
        """
        _, slope, held, rows = self._values_and_slopes(z)
        outwards = np.vstack([rows, np.eye(len(z))])
        at, columns = np.concatenate([held, z]), self.along.columns
        low, high = (
            np.concatenate([limit, bound[self.watched], bound[columns]])
            for limit, bound in zip(limits, bounds, strict=True)
        )
        up, down = np.flatnonzero(at > high - TOUCHING), np.flatnonzero(at < low + TOUCHING)
        sides = np.vstack([outwards[up], -outwards[down]])
        pulls, left = nnls(sides.T, -slope) if len(sides) else (np.zeros(0), float(np.linalg.norm(slope)))
        if left > STATIONARY:
            return None
        found = np.zeros(len(at))
        np.add.at(found, np.concatenate([up, down]), pulls * np.repeat([1.0, -1.0], [len(up), len(down)]))
        return found


Shapes = dict[str, tuple[int, int]]


class _Told(ca.Callback):
    """Work of ours as a function that the solver calls; inputs and outputs have names and shapes."""

    def __init__(self, name: str, work: Callable[..., list[Any]], given: Shapes, gives: Shapes) -> None:
        ca.Callback.__init__(self)
        self._work, self._given, self._gives = work, given, gives
        self.construct(name, {})

    def get_n_in(self) -> int:
        return len(self._given)

    def get_n_out(self) -> int:
        return len(self._gives)

    def get_name_in(self, i: int) -> str:
        return list(self._given)[i]

    def get_name_out(self, i: int) -> str:
        return list(self._gives)[i]

    def get_sparsity_in(self, i: int) -> ca.Sparsity:
        return ca.Sparsity.dense(*list(self._given.values())[i])

    def get_sparsity_out(self, i: int) -> ca.Sparsity:
        return ca.Sparsity.dense(*list(self._gives.values())[i])

    def eval(self, given: Sequence[Any]) -> list[Any]:
        """The outputs; the parameters, of which there are none, are not passed on."""
        x, _, *rest = (np.asarray(each, dtype=float).ravel() for each in given)
        try:
            return self._work(x, *rest)
        except (NotSolved, RuntimeError):  # no state there: the solver takes a shorter step
            return [np.full(shape, np.nan) for shape in self._gives.values()]
