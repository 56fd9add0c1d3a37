"""Which further or better readings are worth having: by the interval of a figure, by money, or to have things checked.

One more reading with derivatives ``a`` to the released settings and noise ``s`` takes ``(u'Ca)² / (s² + a'Ca)`` off the
variance ``u'Cu`` of a figure with derivatives ``u`` (rank-one change of the covariance ``C``; textbook identity).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from canewright.engine.spread import Matrix, Vector
from canewright.intervals import TIMES

LOOSE = 1e-7
"""A direction along which a quantity moves less than this, relative to its own size, leaves it determined."""


@dataclass(frozen=True)
class Candidate:
    """A possible reading: its name, derivatives to the released settings, standard uncertainty, and cost."""

    name: str
    slope: Vector
    uncertainty: float
    cost: float = 1.0


@dataclass(frozen=True)
class Worth:
    """What a set of readings makes of a figure's standard uncertainty, in the order in which they are best added."""

    name: str
    before: float
    after: float

    @property
    def cut(self) -> float:
        """By which part the interval shrinks."""
        return 1.0 - self.after / self.before if self.before > 0 else 0.0


def ranked(covariance: Matrix, figure: Vector, candidates: Sequence[Candidate]) -> list[Worth]:
    """What each candidate alone would make of the figure's standard uncertainty, the best first."""
    before = _deviation(covariance, figure)
    found = [Worth(c.name, before, _deviation(_with(covariance, c), figure)) for c in candidates]
    return sorted(found, key=lambda w: w.after)


def best_set(covariance: Matrix, figure: Vector, candidates: Sequence[Candidate], count: int) -> list[Worth]:
    """So many readings, each the best beside those before it; stops where none helps any more."""
    taken, left, found = covariance, list(candidates), list[Worth]()
    for _ in range(count):
        if not left:
            break
        first = ranked(taken, figure, left)[0]
        if first.cut < 1e-9:
            break
        chosen = next(c for c in left if c.name == first.name)
        taken = _with(taken, chosen)
        left.remove(chosen)
        found.append(first)
    return found


def without(covariance: Matrix, figure: Vector, reading: Candidate) -> float | None:
    """The figure's standard uncertainty if a present reading were missing; None where nothing else would hold it."""
    along = covariance @ reading.slope
    left = reading.uncertainty**2 - float(reading.slope @ along)
    if left <= 1e-9 * reading.uncertainty**2:
        return None
    return _deviation(covariance + np.outer(along, along) / left, figure)


def worth_in_money(worth: Worth, price: float, days: float) -> float:
    """Money at stake in the part of the 95 % interval that a reading takes away: its half width x price x days.

    ``price`` is per unit of the figure and day. It is the size of the doubt that is removed, not a saving.
    """
    return TIMES * (worth.before - worth.after) * price * days


def _with(covariance: Matrix, one: Candidate) -> Matrix:
    along = covariance @ one.slope
    return np.asarray(covariance - np.outer(along, along) / (one.uncertainty**2 + float(one.slope @ along)))


def _deviation(covariance: Matrix, slope: Vector) -> float:
    return float(np.sqrt(max(float(slope @ covariance @ slope), 0.0)))


# --- having things checked ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Outfit:
    """The cheapest set of readings for what was asked, its cost, and how many demands proved that none is cheaper."""

    names: tuple[str, ...]
    cost: float
    cuts: int


class NotPossible(ValueError):
    """No set of the candidates does what was asked."""


def cheapest(
    quantities: Matrix, candidates: Sequence[Candidate], *, checked: bool = True, present: Sequence[str] = ()
) -> Outfit:
    """The cheapest set that determines every quantity (rows: derivatives to the released settings), priors left aside.

    ``checked``: each quantity stays determined when any single reading of the set fails. ``present`` are candidates
    that are there already and cost nothing. Exact: wherever a set leaves a quantity loose along a direction, every good
    set needs one (checked: two) of the readings that feel that direction; the cheapest set that meets all such demands
    found so far is looked for (HiGHS) until it leaves nothing loose. Raises NotPossible naming the row that all of them
    leave loose.
    """
    slopes = np.array([c.slope / max(float(np.linalg.norm(c.slope)), 1e-300) for c in candidates])
    cost = np.array([0.0 if c.name in present else c.cost for c in candidates])
    needed = 2 if checked else 1
    demands: list[Vector] = []
    chosen = np.array([c.name in present for c in candidates])
    while True:
        loose = _loosest(quantities, slopes, chosen, checked=checked)
        if loose is None:
            names = tuple(c.name for c, taken in zip(candidates, chosen, strict=True) if taken)
            return Outfit(names, float(cost @ chosen), len(demands))
        row, direction = loose
        feels = (np.abs(slopes @ direction) > LOOSE).astype(float)
        if feels.sum() < needed:
            raise NotPossible(f"quantity {row + 1}: {int(feels.sum())} of the candidates feel what leaves it loose")
        demands.append(feels)
        found = milp(
            cost + 1e-6 * max(float(cost.max(initial=0.0)), 1.0),
            constraints=LinearConstraint(np.array(demands), lb=needed),
            integrality=np.ones(len(candidates)),
            bounds=Bounds([1.0 if c.name in present else 0.0 for c in candidates], 1.0),
        )
        chosen = np.asarray(found.x) > 0.5


def _loosest(quantities: Matrix, slopes: Matrix, chosen: NDBool, *, checked: bool) -> tuple[int, Vector] | None:
    """A quantity that the chosen readings (less any one, if checked) leave loose, with the direction; None if none."""
    drops = [None, *np.flatnonzero(chosen)] if checked else [None]
    for drop in drops:
        kept = chosen.copy()
        if drop is not None:
            kept[drop] = False
        for row, quantity in enumerate(quantities):
            direction = _loose_along(quantity, slopes[kept])
            if direction is not None:
                return row, direction
    return None


def _loose_along(quantity: Vector, readings: Matrix) -> Vector | None:
    """The part of a quantity that these readings do not see, as a direction; None where they determine it."""
    left = quantity.copy()
    if len(readings):
        _, singular, right = np.linalg.svd(readings, full_matrices=False)
        seen = right[singular > 1e-9 * singular[0]]
        left = left - seen.T @ (seen @ left)
    size = float(np.linalg.norm(left))
    return left / size if size > LOOSE * float(np.linalg.norm(quantity)) else None


NDBool = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
