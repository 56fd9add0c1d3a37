"""Predict: all settings fixed, the square system solved, and nothing called solved that is not.

Newton first; where it fails, Newton from another estimate; then continuation from solved settings; then an
interior-point solve within bounds. Whatever a solver claims, the answer is evaluated again before it is believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import splu

from canewright.engine.evaluation import evaluated
from canewright.engine.model import Law, Model, Variable, Vector
from canewright.engine.near import CLOSE, RESIDUAL, STEP, anchored, largest, newton, newton_from_afar, settle
from canewright.engine.pathway import LEAK, Pathway, amount, follow
from canewright.engine.stepping import Anchor

__all__ = [
    "NOT_SOLVED",
    "QUIET",
    "RESIDUAL",
    "STEP",
    "Batch",
    "Helps",
    "NotSolved",
    "Solution",
    "newton",
    "polished",
    "predict",
    "predict_many",
]


class NotSolved(RuntimeError):
    """No state satisfies the equations from here; the message names equations and limits in words."""

    def __init__(
        self, message: str, worst: Sequence[tuple[Law, float]], outside: Sequence[tuple[Variable, float]]
    ) -> None:
        """Keep the worst equations and the impossible values with the message."""
        super().__init__(message)
        self.worst = list(worst)
        self.outside = list(outside)


@dataclass(frozen=True)
class Solution:
    """A state inside every range that satisfies every equation to 1e-10 (scaled), and how it was found."""

    model: Model
    scaled: Vector
    method: str
    residual: float
    step: float

    @property
    def values(self) -> dict[str, float]:
        """Every variable by name in its own unit."""
        return self.model.named(self.scaled)


def _proof(model: Model, scaled: Vector) -> tuple[float, Vector]:
    """Largest scaled residual, and the step that Newton would still take; infinite where anything is not finite."""
    nowhere = np.full(model.n, np.inf)
    if not np.all(np.isfinite(scaled)):
        return np.inf, nowhere
    residual, jacobian = model.jacobian_at(scaled)
    if not np.all(np.isfinite(residual)) or not np.all(np.isfinite(jacobian.data)):
        return np.inf, nowhere
    try:
        step = splu(jacobian[:, : model.n].tocsc()).solve(residual)
    except RuntimeError:  # singular
        step = nowhere
    return float(np.max(np.abs(residual), initial=0.0)), np.asarray(step)


def _accept(model: Model, scaled: Vector, method: str) -> Solution | None:
    """The state as a solution where it is proved to be one.

    A root finder stops where the residuals are small. Where a quantity hardly enters its equation (a share of next to
    nothing) the state is then still a short step away, which is taken.
    """
    for _ in range(LAST_STEPS):
        residual, change = _proof(model, scaled)
        step = largest(change, scaled[: model.n])
        if residual > RESIDUAL or not step <= CLOSE:
            return None
        if step <= STEP:
            return None if model.outside(scaled) else Solution(model, scaled, method, residual, step)
        scaled = scaled.copy()
        scaled[: model.n] -= change
    return None


LAST_STEPS = 3
"""Times a state whose residuals are small enough is looked at before it is given up."""


def _quick(model: Model, start: Vector, solved: Vector | None) -> Solution | None:
    """By Newton with its elimination written out, where a state has been solved before; settling proves the state.

    ``solved`` is a solved state that the start may be near.
    """
    anchor = anchored(model, solved) if solved is not None else None
    steps = anchor.steps if anchor is not None else model.step_known
    if steps is None:
        return None
    held = anchor is not None and np.allclose(start[: model.n], anchor.scaled[: model.n], rtol=0.0, atol=SAME)
    found = settle(model, steps, start, anchor.factors if anchor is not None and held else None)
    if found is None or model.outside(found.scaled):
        return None
    return Solution(model, found.scaled, "newton", found.residual, found.step)


SAME = 1e-9
"""Scaled difference below which two states are the same but for rounding."""


QUIET: dict[str, Any] = {"ipopt.print_level": 0, "print_time": False, "ipopt.sb": "yes", "show_eval_warnings": False}
"""Options that keep a solver from writing on a person's screen."""


def polished(model: Model, scaled: Vector) -> Vector:
    """The same settings with unknowns on the equations to the last digits; unchanged where that brings no gain."""
    nearer = newton(model, scaled)
    before, after = (np.max(np.abs(np.asarray(model.residual(u)).ravel()), initial=0.0) for u in (scaled, nearer))
    return nearer if after <= before else scaled


def _interior_point(model: Model, start: Vector) -> Vector:
    """The same square system with its bounds, by an interior-point method, then polished by Newton."""
    n = model.n
    problem = {"x": model.root_problem["x"], "p": model.root_problem["p"], "f": 0, "g": model.residual_graph}
    options = {
        **QUIET,
        "ipopt.tol": 1e-9,
        "ipopt.constr_viol_tol": 1e-10,
        "ipopt.max_iter": 400,
        "ipopt.bound_relax_factor": 0.0,
    }
    solver = ca.nlpsol("square", "ipopt", problem, options)
    low, high = model.scaled_limits()
    found = solver(x0=start[:n], p=start[n:], lbx=low[:n], ubx=high[:n], lbg=0, ubg=0)
    inside = np.concatenate([np.asarray(found["x"]).ravel(), start[n:]])
    return newton_from_afar(model, inside)


@dataclass(frozen=True)
class Helps:
    """Where else a solution may be sought; what is a function is asked only when it is needed.

    ``last_solved`` is a solved state of other settings, from which they can be moved to those wanted; one that does not
    satisfy the equations is no help and is left aside. ``estimate`` gives another start. ``known`` gives a solved state
    (or None) where there is no last one.
    """

    last_solved: Vector | None = None
    estimate: Callable[[], Mapping[str, float]] | None = None
    known: Callable[[], Vector | None] | None = None

    def anchor(self, model: Model) -> Anchor | None:
        """The solved state from which settings can be moved."""
        last = None if self.last_solved is None else anchored(model, self.last_solved)
        if last is not None or self.known is None:
            return last
        known = self.known()
        return None if known is None else anchored(model, known)


def predict(
    model: Model, values: Mapping[str, float], last_solved: Vector | None = None, helps: Helps | None = None
) -> Solution:
    """Solve for all unknowns with every setting fixed at its given value.

    ``values`` holds a start for every unknown and the value of every setting; ``helps`` more than a last solved state.
    Raises NotSolved with a diagnosis in words; ValueError when the model is not square.
    """
    if not model.square:
        raise ValueError(f"{len(model.laws)} equations for {model.n} unknowns: the plant is not fully described")
    return predict_scaled(model, model.scaled(values), helps or Helps(last_solved))


def predict_scaled(model: Model, start: Vector, helps: Helps) -> Solution:
    """As ``predict``, from a full scaled vector of a square model."""
    _refuse_unfinite(model, start)
    quick = _quick(model, start, helps.last_solved)
    return quick if quick is not None else _from_afar(model, start, helps)


def _from_afar(model: Model, start: Vector, helps: Helps) -> Solution:
    """One way after another, the quickest first."""
    nearest, path = start, None
    for method, attempt in _ways(model, start, helps):
        reached = attempt()
        if isinstance(reached, Pathway):
            path, reached = reached, reached.scaled if reached.whole else nearest
        solution = _accept(model, reached, method)
        if solution is not None:
            return solution
        nearest = min(nearest, reached, key=lambda u: _apart(model, u))
    raise _diagnosis(model, nearest) if path is None else _on_the_way(model, nearest, path)


NEARLY = 0.99
"""Share of the way beyond which the wanted state itself may only be hard to find, as where a station stands idle."""


def _ways(model: Model, start: Vector, helps: Helps) -> Iterator[tuple[str, Callable[[], Vector | Pathway]]]:
    """Ways to a state, by name.

    The last, slow one is spared where Newton from a solved state balances every equation, but clearly outside a limit.
    """
    estimate = helps.estimate
    if estimate is not None:  # a start was near no solution; Newton's plain way from it would take longer to fail
        yield "newton from another estimate", lambda: newton(model, model.scaled(estimate()))
    yield "newton", lambda: newton_from_afar(model, start)
    anchor = helps.anchor(model)
    if anchor is not None:
        path = follow(model, anchor.scaled, start, lambda u: _accept(model, u, "") is not None)
        yield "continuation", lambda: path
        moved = np.concatenate([anchor.scaled[: model.n], start[model.n :]])
        balanced = settle(model, anchor.steps, moved, anchor.factors)
        if path.share < NEARLY and balanced is not None and model.outside(balanced.scaled, LEAK):
            return
    yield "within bounds", lambda: _interior_point(model, start)


def _on_the_way(model: Model, nearest: Vector, path: Pathway) -> NotSolved:
    """What is impossible at the settings wanted, and how far one gets towards them."""
    diagnosis = _diagnosis(model, nearest)
    told = str(diagnosis)
    set_beyond = [(v, x) for v, x in model.outside(nearest) if model.index[v.name] >= model.n]
    if path.ahead and diagnosis.worst:  # how far equations are apart says less than where the way ends
        told = "; ".join(["no state satisfies these settings", *_impossible(set_beyond)])
    return NotSolved(f"{told}; {path}", diagnosis.worst, diagnosis.outside)


def _impossible(outside: Sequence[tuple[Variable, float]]) -> list[str]:
    return [
        f"{v.name} would be {amount(x, v.unit)}, possible is {v.low:g} to {amount(v.high, v.unit)}"
        for v, x in outside[:5]
    ]


def _refuse_unfinite(model: Model, start: Vector) -> None:
    bad = [model.variables[i] for i in np.flatnonzero(~np.isfinite(start))]
    if bad:
        names = ", ".join(v.name for v in bad[:5])
        raise NotSolved(f"these values are not numbers: {names}; give each a finite number", [], [])


def _apart(model: Model, scaled: Vector) -> float:
    """Largest scaled residual; infinite where anything is not finite."""
    (residual,) = evaluated(model.residual, scaled)
    finite = np.all(np.isfinite(residual)) and np.all(np.isfinite(scaled))
    return float(np.max(np.abs(residual), initial=0.0)) if finite else np.inf


PLAIN = {"t/h", "kg/h", "t", "kg", "MJ/h", "MJ", "kW", "kJ/kg", "K", "°C", "kPa", "%", "1", "IU", "m³/h", "m", "h", "d"}
"""Units that mean something to a person at the plant; a gap in a product of others has no size worth telling."""


def _gap(gap: float, symbol: str) -> str | None:
    """The size of a gap in a plain unit (per cents of one are taken as shares of it); None where it has none."""
    size, plain = abs(gap), symbol
    if symbol.startswith("%·"):
        size, plain = size / 100.0, symbol.removeprefix("%·")
    if plain == "°C":  # a difference between two points on the scale
        plain = "K"
    return amount(float(f"{size:.3g}"), plain) if plain in PLAIN else None


def _gaps(worst: Sequence[tuple[Law, float]]) -> list[str]:
    """Equations that do not hold: first those whose gap has a size in a plain unit."""
    sized = [(law, _gap(gap, law.unit)) for law, gap in worst]
    told = [f"{law}: {size} apart" for law, size in sized if size is not None]
    return told + [f"{law}: not met" for law, size in sized if size is None]


def _diagnosis(model: Model, reached: Vector) -> NotSolved:
    """Say which equations are furthest apart and which values are impossible."""
    outside = model.outside(reached)
    residual = np.asarray(model.residual(reached)).ravel()
    size = np.where(np.isfinite(residual), np.abs(residual), np.inf)
    order = [int(i) for i in np.argsort(-size)[:5] if size[i] > RESIDUAL]
    worst = [(model.laws[i], float(residual[i] * model.laws[i].nominal)) for i in order]
    lines = _gaps(worst)
    lines += _impossible(outside)
    if not lines:
        names = ", ".join(v.name for v in _undetermined(model, reached))
        return NotSolved(f"the equations do not determine {names} at these settings; they are singular", [], [])
    return NotSolved("no state satisfies these settings; " + "; ".join(lines), worst, outside)


def _undetermined(model: Model, reached: Vector) -> list[Variable]:
    """The unknowns that may move together without breaking any equation: the largest parts of a null direction."""
    _, jacobian = model.jacobian_at(reached)
    direction = np.abs(np.linalg.svd(jacobian[:, : model.n].toarray())[2][-1])
    return [model.unknowns[int(i)] for i in np.argsort(-direction)[:5] if direction[i] > 1e-3 * direction.max()]


@dataclass(frozen=True)
class Batch:
    """Many scenarios: values (variables by scenario), how each was solved, and why where it was not (else empty)."""

    model: Model
    scaled: NDArray[np.float64]
    status: list[str]
    why: list[str]

    def of(self, name: str) -> NDArray[np.float64]:
        """One variable over all scenarios, in its own unit; NaN where the scenario was not solved."""
        i = self.model.index[name]
        row = self.scaled[i] * self.model.nominal[i]
        return np.where(np.array([s != NOT_SOLVED for s in self.status]), row, np.nan)


NOT_SOLVED = "not solved"


def predict_many(model: Model, base: Solution, settings: Mapping[str, NDArray[np.float64]]) -> Batch:
    """Solve many scenarios that differ from a solved one in the named settings (arrays of equal length).

    Every column is solved and proved like a single question. Raises KeyError for a name that is not a setting and
    ValueError for arrays of unequal length or none.
    """
    for name in settings:
        if model.index.get(name, 0) < model.n:
            raise KeyError(f"'{name}' is not a setting of this model")
    count = {len(v) for v in settings.values()}
    if len(count) != 1 or 0 in count:
        raise ValueError(f"scenario columns must have one length, at least 1; they have {sorted(count)}")
    columns = np.repeat(base.scaled[None, :], count.pop(), axis=0).T  # each scenario in one piece
    for name, values in settings.items():
        columns[model.index[name]] = np.asarray(values, dtype=float) / model.nominal[model.index[name]]
    told = [_settled(model, base.scaled, columns[:, j]) for j in range(columns.shape[1])]
    return Batch(model, columns, [status for status, _ in told], [why for _, why in told])


def _settled(model: Model, base: Vector, scenario: Vector) -> tuple[str, str]:
    """How a scenario was solved, its unknowns now in place, or why not."""
    try:
        found = predict_scaled(model, scenario.copy(), Helps(base))
    except NotSolved as lack:
        return NOT_SOLVED, str(lack)
    scenario[:] = found.scaled
    return found.method, ""
