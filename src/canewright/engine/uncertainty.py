"""Uncertainty of what any function gives, from the uncertainty of its inputs.

First order is the law of propagation of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008,
5.1.2 and 5.2.2), with exact derivatives; second order adds the terms of the note to its 5.1.2, extended to correlated
normal inputs; the Monte Carlo check is that of JCGM 101:2008 for normal inputs. (Both guides: from memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import ArrayLike, NDArray

from canewright.engine.evaluation import evaluated_columns

Array = NDArray[np.float64]
Worked = Callable[..., Any]
"""A function of numbers, arrays or symbols, one result; its mathematics must read symbols too."""

ROUNDING = 1e-9
"""How far a matrix may be from symmetric, or an eigenvalue below zero, relative to its size, and still be rounding."""
DRAWS = 100_000


class BadUncertainty(ValueError):
    """Standard uncertainties, a correlation or a covariance that cannot be; the message says which and why."""


@dataclass(frozen=True)
class Propagated:
    """A function's value with its uncertainty; each field has the shape of the inputs, derivatives one row per input.

    ``standard`` is of first order; ``second_order`` also counts curvature, and is not a number where the expansion
    fails; ``shift`` is by how much curvature moves the mean; ``shares`` are each input's part of the variance.
    """

    value: Array
    standard: Array
    second_order: Array
    shift: Array
    derivatives: Array
    shares: Array


@dataclass(frozen=True)
class Sampled:
    """What a function gives when its inputs are drawn: mean, standard deviation, interval, draws without a value."""

    draws: int
    mean: float
    standard: float
    low: float
    high: float
    without_value: int


def propagated(
    function: Worked,
    values: Sequence[ArrayLike],
    standard: Sequence[ArrayLike] | None = None,
    *,
    correlation: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
) -> Propagated:
    """The value of ``function`` at ``values`` and its standard uncertainty.

    Give ``standard`` uncertainties (numbers, or arrays as long as the values), with a ``correlation`` matrix where the
    inputs are not independent; or give one ``covariance`` matrix. Raises BadUncertainty for what cannot be and
    ValueError for arrays of different lengths.
    """
    spread, related = _spread(len(values), standard, correlation, covariance)
    try:
        every = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (*values, *spread)))
    except ValueError:
        lengths = ", ".join(str(np.shape(v)) for v in (*values, *spread))
        raise ValueError(f"values and uncertainties have shapes that do not fit together: {lengths}") from None
    shape, n = every[0].shape, len(values)
    columns = np.asfortranarray([each.ravel() for each in every])
    rows = evaluated_columns(_terms(function, n, related), columns, 1)
    value, first, second, shift = (row.reshape(shape) for row in rows[:4])
    slopes = rows[4:].reshape(n, *shape)
    parts = slopes * np.array(every[n:])
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = np.where(first > 0, parts * np.tensordot(related, parts, 1) / first, 0.0)
        total = np.sqrt(first + second)
    return Propagated(value, np.sqrt(np.maximum(first, 0.0)), total, shift, slopes, shares)


def _terms(function: Worked, n: int, related: Array) -> ca.Function:
    """Of values and standard uncertainties: value, variance, what second order adds to it, shift, derivatives."""
    x, u = ca.SX.sym("x", n), ca.SX.sym("u", n)
    value = ca.SX(function(*ca.vertsplit(x)))
    if not value.is_scalar():
        raise ValueError(f"uncertainty is propagated to one result; the function gives {value.shape}")
    curvature, slope = ca.hessian(value, x)
    spread = ca.diag(u) @ ca.SX(ca.DM(related)) @ ca.diag(u)
    first = ca.bilin(spread, slope, slope)
    shift = ca.trace(curvature @ spread) / 2
    bent = curvature @ spread
    second = ca.trace(bent @ bent) / 2 + 2 * ca.bilin(spread, slope, ca.gradient(shift, x))
    return ca.Function("terms", [ca.vertcat(x, u)], [ca.densify(ca.vertcat(value, first, second, shift, slope))])


def sampled(
    function: Worked,
    values: Sequence[float],
    standard: Sequence[float] | None = None,
    *,
    chance: np.random.Generator,
    draws: int = DRAWS,
    probability: float = 0.95,
    correlation: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
) -> Sampled:
    """What ``function`` gives on normal draws of its inputs, as a check of ``propagated``; the generator is passed in.

    The interval leaves the same share out at both ends. Raises BadUncertainty as ``propagated`` and ValueError when
    no draw has a value.
    """
    spread, related = _spread(len(values), standard, correlation, covariance)
    size, way = np.linalg.eigh(related)
    mixing = way * np.sqrt(np.maximum(size, 0.0))
    normal = mixing @ chance.standard_normal((len(values), draws))
    points = [v + np.asarray(u, dtype=float) * d for v, u, d in zip(values, spread, normal, strict=True)]
    results = np.broadcast_to(np.asarray(function(*points), dtype=float), (draws,))
    kept = results[np.isfinite(results)]
    if kept.size < 2:
        raise ValueError("none of the draws has a value")
    low, high = np.quantile(kept, [(1 - probability) / 2, (1 + probability) / 2])
    return Sampled(draws, float(kept.mean()), float(kept.std(ddof=1)), float(low), float(high), draws - kept.size)


def _spread(
    n: int, standard: Sequence[ArrayLike] | None, correlation: ArrayLike | None, covariance: ArrayLike | None
) -> tuple[Sequence[ArrayLike], Array]:
    """Standard uncertainties and correlation, whichever way they were given."""
    if (standard is None) == (covariance is None) or (covariance is not None and correlation is not None):
        raise BadUncertainty("give either standard uncertainties, with or without a correlation, or a covariance")
    if standard is None:
        matrix = _symmetric("covariance", covariance, n)
        return _parted(matrix)
    if len(standard) != n:
        raise BadUncertainty(f"{n} values but {len(standard)} standard uncertainties")
    for place, each in enumerate(standard):
        size = np.asarray(each, dtype=float)
        if not (np.isfinite(size) & (size >= 0)).all():
            raise BadUncertainty(f"standard uncertainty {place + 1} is {each}; accepted: finite, zero or more")
    related = np.eye(n) if correlation is None else _symmetric("correlation", correlation, n)
    if np.abs(np.diag(related) - 1).max(initial=0.0) > ROUNDING:
        raise BadUncertainty("the diagonal of a correlation is 1 throughout")
    return standard, related


def _symmetric(what: str, given: ArrayLike | None, n: int) -> Array:
    matrix = np.asarray(given, dtype=float)
    if matrix.shape != (n, n):
        raise BadUncertainty(f"the {what} of {n} inputs has {n} rows and columns; found shape {matrix.shape}")
    if not np.isfinite(matrix).all():
        raise BadUncertainty(f"the {what} holds what is not a number")
    scale = np.abs(matrix).max(initial=0.0)
    if np.abs(matrix - matrix.T).max(initial=0.0) > ROUNDING * scale:
        raise BadUncertainty(f"the {what} is not symmetric")
    if np.linalg.eigvalsh(matrix).min(initial=0.0) < -ROUNDING * n * scale:
        raise BadUncertainty(f"the {what} is impossible: it gives some sum of the inputs a negative variance")
    return matrix


def _parted(covariance: Array) -> tuple[list[ArrayLike], Array]:
    """Standard uncertainties and correlation of a covariance; an input without spread is related to none."""
    standard = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    known = np.where(standard > 0, standard, 1.0)
    related = covariance / np.outer(known, known)
    np.fill_diagonal(related, 1.0)
    return list(standard), related
