"""Linear models whose effects come in families: each family's spread is estimated, each effect drawn towards its mean.

y = X b + Z1 u1 + Z2 u2 + ... + e, with u of family k independent with variance s_k² and e of source j with variance
r_j². Given the variances, effects follow from one linear system (the mixed model equations of Henderson); the variances
are those of restricted maximum likelihood (Patterson and Thompson 1971). Both from memory; checked on published data.

The family with most levels (blocks) meets itself only level by level, so it is taken out of the system first, exactly;
what is left is small.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

SMALLEST, LARGEST = 1e-3, 10.0
"""Least and greatest spread tried, as shares of the data's: a family at the least has no spread that the data show."""
LEAST_NOISE = 0.01
"""Least noise tried, as a share of the spread of the data; below it the system loses its figures."""


class TooLittleToFit(ValueError):
    """Too few observations, or none that differ, to estimate spreads from."""


@dataclass(frozen=True)
class Family:
    """Effects of one kind: the sparse columns by which they enter each observation."""

    name: str
    columns: sparse.csr_matrix


@dataclass(frozen=True)
class Solution:
    """The system solved at given spreads: effects, log of the determinant, and what the covariance is made from."""

    effects: Floats
    log_determinant: float
    explained: float
    inner: Whole
    outer: Whole
    own: sparse.csr_matrix
    passed: sparse.csr_matrix
    rest: tuple[Floats, bool]

    def covariance(self) -> Floats:
        """Inverse of the whole system."""
        size = self.inner.size + self.outer.size
        outer = cho_solve(self.rest, np.eye(self.outer.size))
        between = -np.asarray(self.passed @ outer)
        whole = np.empty((size, size))
        whole[np.ix_(self.outer, self.outer)] = outer
        whole[np.ix_(self.inner, self.outer)] = between
        whole[np.ix_(self.outer, self.inner)] = between.T
        whole[np.ix_(self.inner, self.inner)] = self.own.toarray() - np.asarray(self.passed @ between.T)
        return whole


@dataclass(frozen=True)
class Fitted:
    """Effects and spreads. ``effects``: the fixed ones, then each family's, at ``places``.

    ``spreads`` standard deviation by family, ``noises`` by source; ``criterion`` is -2 restricted log-likelihood.
    """

    solution: Solution
    places: Mapping[str, slice]
    spreads: Mapping[str, float]
    noises: Floats
    criterion: float

    @property
    def effects(self) -> Floats:
        """Fixed effects, then those of each family."""
        return self.solution.effects

    @cached_property
    def covariance(self) -> Floats:
        """Covariance of the errors of all effects, given the spreads (their own doubt is not in it)."""
        return self.solution.covariance()


def fit(
    y: Floats,
    fixed: Floats,
    families: Sequence[Family],
    source: Whole | None = None,
    sources: int = 1,
    progress: Callable[[int], None] = lambda _: None,
) -> Fitted:
    """Fit by restricted maximum likelihood. ``source`` tells whose noise each observation has.

    Raises TooLittleToFit with no more observations than fixed effects, or when all are the same.
    """
    whose = np.zeros(y.size, dtype=np.int64) if source is None else source
    scale = float(np.std(y))
    if y.size <= fixed.shape[1] + 1 or not scale > 0.0:
        raise TooLittleToFit(f"{y.size} observations are too few, or all the same, to fit {fixed.shape[1]} figures")
    model = _Model(y, fixed, families, whose, sources)
    start = np.concatenate([np.full(len(families), 0.3), np.full(sources, 0.6)]) * scale
    least = np.concatenate([np.full(len(families), SMALLEST), np.full(sources, LEAST_NOISE)])
    edges = [(np.log(low * scale), np.log(LARGEST * scale)) for low in least]
    steps = iter(range(1, 10_000))
    found = minimize(
        model.criterion, np.log(start), method="L-BFGS-B", bounds=edges, options={"ftol": 1e-9},
        callback=lambda _: progress(next(steps)),
    )  # fmt: skip
    return model.fitted(found.x)


class _Model:
    """What does not change with the spreads: products of the columns by source of noise, sorted for elimination."""

    def __init__(self, y: Floats, fixed: Floats, families: Sequence[Family], source: Whole, sources: int) -> None:
        columns = sparse.hstack([sparse.csr_matrix(fixed), *(each.columns for each in families)], format="csr")
        self.names = [each.name for each in families]
        self.sizes = [each.columns.shape[1] for each in families]
        self.fixed, self.free = fixed.shape[1], y.size - fixed.shape[1]
        self.starts = np.cumsum([self.fixed, *self.sizes])
        mine = [np.flatnonzero(source == j) for j in range(sources)]
        self.counts = np.array([m.size for m in mine])
        self.sides = [np.asarray(columns[m].T @ y[m]) for m in mine]
        self.squares = [float(y[m] @ y[m]) for m in mine]
        together = _alike(families)
        levels = self.sizes[together[0]]
        self.inner = np.add.outer(np.arange(levels), self.starts[together]).ravel()
        self.outer = np.setdiff1d(np.arange(self.starts[-1]), self.inner)
        self.shape = (levels, len(together), len(together))
        products = [(columns[m].T @ columns[m]).tocsr() for m in mine]
        self.own = [self._blocks(p[self.inner][:, self.inner]) for p in products]
        self.between = [p[self.inner][:, self.outer] for p in products]
        self.rest = [p[self.outer][:, self.outer].toarray() for p in products]

    def _blocks(self, product: sparse.csr_matrix) -> Floats:
        levels, k, _ = self.shape
        place = np.arange(levels) * k
        found = np.empty(self.shape)
        for i in range(k):
            for j in range(k):
                found[:, i, j] = np.asarray(product[place + i, place + j]).ravel()
        return found

    def solve(self, logs: Floats) -> Solution:
        """The system at the logarithms of the spreads."""
        noises = np.exp(2.0 * logs[len(self.sizes) :])
        prior = np.concatenate([np.zeros(self.fixed), np.repeat(np.exp(-2.0 * logs[: len(self.sizes)]), self.sizes)])
        levels, k, _ = self.shape
        own = sum(d / r for d, r in zip(self.own, noises, strict=True)) + np.zeros(self.shape)
        own[:, np.arange(k), np.arange(k)] += prior[self.inner].reshape(levels, k)
        between = sum(
            (b / r for b, r in zip(self.between, noises, strict=True)), sparse.csr_matrix(self.between[0].shape)
        )
        inverse = sparse.bsr_matrix((np.linalg.inv(own), np.arange(levels), np.arange(levels + 1))).tocsr()
        passed = inverse @ between
        rest = sum(o / r for o, r in zip(self.rest, noises, strict=True)) + np.diag(prior[self.outer])
        rest = cho_factor(rest - (between.T @ passed).toarray(), lower=True)
        side = np.asarray(sum(s / r for s, r in zip(self.sides, noises, strict=True)))
        effects = np.empty_like(side)
        effects[self.outer] = cho_solve(rest, side[self.outer] - passed.T @ side[self.inner])
        effects[self.inner] = inverse @ side[self.inner] - passed @ effects[self.outer]
        size = float(np.linalg.slogdet(own)[1].sum()) + 2.0 * float(np.log(np.diag(rest[0])).sum())
        return Solution(effects, size, float(side @ effects), self.inner, self.outer, inverse, passed, rest)

    def criterion(self, logs: Floats) -> float:
        """-2 restricted log-likelihood at the logarithms of the spreads."""
        solved = self.solve(logs)
        spreads = 2.0 * float(logs[: len(self.sizes)] @ self.sizes) + 2.0 * float(logs[len(self.sizes) :] @ self.counts)
        square = sum(q / r for q, r in zip(self.squares, np.exp(2.0 * logs[len(self.sizes) :]), strict=True))
        return float(solved.log_determinant + spreads + square - solved.explained + self.free * np.log(2.0 * np.pi))

    def fitted(self, logs: Floats) -> Fitted:
        """Effects at these spreads."""
        places = {"fixed": slice(0, self.fixed)}
        places |= {
            n: slice(int(a), int(b)) for n, a, b in zip(self.names, self.starts[:-1], self.starts[1:], strict=True)
        }
        spreads = dict(zip(self.names, np.exp(logs[: len(self.sizes)]).tolist(), strict=True))
        return Fitted(self.solve(logs), places, spreads, np.exp(logs[len(self.sizes) :]), self.criterion(logs))


def _alike(families: Sequence[Family]) -> list[int]:
    """The families of the most levels that meet one another only level by level."""
    sizes = [each.columns.shape[1] for each in families]
    first = int(np.argmax(sizes))
    found = [first]
    for place, each in enumerate(families):
        if place != first and sizes[place] == sizes[first]:
            met = (families[first].columns.T @ each.columns).tocoo()
            if np.all(met.row == met.col):
                found.append(place)
    return sorted(found)


def of_levels(level: Whole, levels: int, times: Floats | None = None) -> sparse.csr_matrix:
    """Columns of a family: observation i has effect ``level[i]``, times a figure of its own where given."""
    weight = np.ones(level.size) if times is None else times
    return sparse.csr_matrix((weight, (np.arange(level.size), level)), shape=(level.size, levels))
