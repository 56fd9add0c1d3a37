"""Which limits cannot be met together, and by how much: a smallest set of limits in conflict.

First every limit may be broken and the sum of all breaches is made least; what then presses on that sum, the broken
limits and those that hold them back, is in conflict. From these one after another is left out: where the others are
still in conflict without it, it goes (Chinneck & Dravnieks, Locating minimal infeasible constraint sets in linear
programs, ORSA J. Computing 3 (1991) 157, from memory). What is left is in conflict, and without any one of it is not,
as far as a local method can tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import casadi as ca
import numpy as np

from canewright.engine.limits import Limit, Move, sizes_of
from canewright.engine.model import Expressions, Model, Vector
from canewright.engine.solve import QUIET, NotSolved

BROKEN = 1e-6
"""Breach, by the size of the limited quantity, from which a limit is broken."""
PRESSES = 1e-6
"""Multiplier above which a limit presses on the sum of breaches, which counts each breach by its size."""


@dataclass(frozen=True)
class Conflicting:
    """A limit of a conflict: what it allows, and what it would have to allow if it alone gave way (None: cannot)."""

    limit: Limit
    needed: float | None

    def __str__(self) -> str:
        """The limit in words."""
        least, most = self.limit.least, self.limit.most
        allowed = " to ".join(f"{end:g}" for end in (least, most) if np.isfinite(end))
        ends = allowed if np.isfinite(least) and np.isfinite(most) else f"{_end(self.limit)} {allowed}"
        margin = f", {self.limit.margin:.3g} kept clear of it" if self.limit.margin else ""
        gives = "no change of this limit alone helps" if self.needed is None else f"alone it would be {self.needed:.4g}"
        return f"{self.limit.sentence} ({gives}, allowed {ends}{margin})"


def _end(limit: Limit) -> str:
    return "at least" if np.isfinite(limit.least) else "at most"


class Conflict(NotSolved):
    """Limits that no state within the moves meets together."""

    def __init__(self, limits: Sequence[Conflicting], ends: Sequence[str]) -> None:
        """``ends`` are the moves that stand at an end of their room and would help beyond it."""
        self.limits, self.ends = tuple(limits), tuple(ends)
        together = "; ".join(str(each) for each in limits) or "the limits meet in a single point"
        said = f"no state within all limits was found; in conflict: {together}"
        if ends:
            said += f"; more room would help for {', '.join(ends)}"
        super().__init__(said, [], [])


@dataclass(frozen=True)
class _Least:
    """The least breaches: their size each, the state, and what presses."""

    breach: Vector
    state: Vector
    pressing: list[int]
    ends: list[str]

    @property
    def broken(self) -> bool:
        return bool(np.max(self.breach, initial=0.0) > BROKEN)


class _Elastic:
    """The equations with limits that may be broken."""

    def __init__(
        self, model: Model, limited: Expressions, limits: Sequence[Limit], start: Vector,
        bounds: tuple[Vector, Vector], moves: Sequence[Move],
    ) -> None:  # fmt: skip
        self.model, self.limits, self.start, self.bounds, self.moves = model, limits, start, bounds, moves
        self.size = sizes_of(limited, start)
        self.lower = np.array([m.least for m in limits]) / self.size
        self.upper = np.array([m.most for m in limits]) / self.size
        breach = ca.SX.sym("s", len(limits))
        value = limited.graph / ca.DM(self.size) if limits else ca.SX(0, 1)
        problem = {
            "x": ca.vertcat(model.symbols, breach),
            "f": ca.sum1(ca.vertcat(breach, ca.SX(0.0))),
            "g": ca.vertcat(model.residual_graph, value + breach, value - breach),
        }
        options = {
            **QUIET,
            "ipopt.tol": 1e-9,
            "ipopt.constr_viol_tol": 1e-11,
            "ipopt.max_iter": 300,
            "ipopt.bound_relax_factor": 0.0,
            "ipopt.fixed_variable_treatment": "make_parameter",
        }
        self._solver = ca.nlpsol("elastic", "ipopt", problem, options)

    def least(self, kept: Sequence[int], giving: Sequence[int]) -> _Least:
        """The least sum of breaches of the limits that give way, those kept standing and the others gone.

        Raises NotSolved where the equations themselves do not hold.
        """
        model, count = self.model, len(self.limits)
        stands, gives = np.isin(np.arange(count), kept), np.isin(np.arange(count), giving)
        zero, none = np.zeros(len(model.laws)), np.full(count, np.inf)
        lower, upper = np.where(stands, self.lower, -np.inf), np.where(stands, self.upper, np.inf)
        found = self._solver(
            x0=np.concatenate([self.start, np.ones(count)]),
            lbx=np.concatenate([self.bounds[0], np.zeros(count)]),
            ubx=np.concatenate([self.bounds[1], np.where(gives, np.inf, 0.0)]),
            lbg=np.concatenate([zero, lower, -none]),
            ubg=np.concatenate([zero, none, upper]),
        )
        scaled, laws = np.asarray(found["x"]).ravel(), len(model.laws)
        state = scaled[: len(self.start)]
        self._refuse_broken_laws(state)
        pulls = np.abs(np.asarray(found["lam_g"]).ravel()[laws:])
        pressing = np.flatnonzero(pulls[:count] + pulls[count:] > PRESSES)
        of_variables = np.abs(np.asarray(found["lam_x"]).ravel())
        ends = [m.name for m in self.moves if of_variables[model.index[m.name]] > PRESSES]
        return _Least(scaled[len(self.start) :], state, [int(i) for i in pressing], ends)

    def _refuse_broken_laws(self, state: Vector) -> None:
        residual = np.asarray(self.model.residual(state)).ravel()
        if np.max(np.abs(residual), initial=0.0) <= 1e-6:
            return
        worst = [(self.model.laws[int(i)], float(residual[i])) for i in np.argsort(-np.abs(residual))[:3]]
        said = "; ".join(str(law) for law, _ in worst)
        raise NotSolved(f"no state within the moves satisfies the equations; furthest apart: {said}", worst, [])

    def met(self, kept: Sequence[int]) -> bool:
        """Whether these limits can be met together."""
        return not self.least(kept, kept).broken

    def needed(self, which: int, kept: Sequence[int], limited: Expressions) -> float | None:
        """The value that a limit would have to allow if it alone gave way to the others kept."""
        try:
            found = self.least(kept, [which])
        except NotSolved:
            return None
        values = limited.at(found.state)
        for i in kept:
            slack = 1e-5 * max(abs(values[i]), 1.0)
            if i != which and not self.limits[i].least - slack <= values[i] <= self.limits[i].most + slack:
                return None
        return float(values[which])


def conflict(
    model: Model, limited: Expressions, limits: Sequence[Limit], start: Vector, bounds: tuple[Vector, Vector],
    moves: Sequence[Move],
) -> NotSolved:  # fmt: skip
    """The conflict that keeps any state from meeting all limits, for its caller to raise.

    ``bounds`` are the lowest and highest scaled values of every variable.
    """
    try:
        elastic = _Elastic(model, limited, limits, start, bounds, moves)
        everything = list(range(len(limits)))
        first = elastic.least(everything, everything)
        kept = first.pressing if first.broken else []
        for i in list(kept):
            rest = [j for j in kept if j != i]
            if rest and not elastic.met(rest):
                kept = rest
        return Conflict([Conflicting(limits[i], elastic.needed(i, everything, limited)) for i in kept], first.ends)
    except NotSolved as lack:
        return lack
