"""The crystals of a strike by classes of size: a check of the moments by another way, and the whole distribution.

Sizes are cut into equal cells for each of some paces; growth carries crystals from cell to cell by a flux-limited
upwind rule (Koren 1993, in the form for population balances), merging joins pairs of cells and shares the child between
two neighbours so that number and mass are kept (fixed pivot, Kumar and Ramkrishna 1996). Both from memory. Driven by
the growth, nucleation and merging of the strike's own course; the moments of the strike take no part.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse, stats

from canewright.pans import grain, pan
from canewright.pans.description import Described, StrikeRefused
from canewright.pans.strike import Boiled
from canewright.properties.crystallising import false_grain_rate, merging_rate
from canewright.quantity import noting_breaches

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
PACES = 8
"""Paces: as many as keep the moments of their distribution to the fifth exactly, and some more."""
COURANT = 0.8
"""Most of a cell that the fastest crystals cross in a step."""


@dataclass(frozen=True)
class Classes:
    """Crystals (10⁹) in cells of size: middles of the cells, mm, and numbers by pace (the last row is false grain)."""

    sizes: Vector
    numbers: Matrix

    def moments(self) -> list[float]:
        """Moments 0 to 5 of all crystals."""
        whole = self.numbers.sum(axis=0)
        return [float(whole @ self.sizes**k) for k in range(grain.MOMENTS)]


def by_classes(boiled: Boiled, cells: int = 400) -> Classes:
    """The crystals dropped, by classes of size.

    Raises StrikeRefused where crystal dissolves on the way, which this check does not follow.
    """
    strike, v = boiled.strike, boiled.strike.values
    first = int(np.searchsorted(boiled.times, boiled.figures()["seeded after"][0]))
    times = boiled.times[first:]
    course = {name: values[first:] for name, values in boiled.course.items()}
    if course["growth"].min() < 0.0:
        raise StrikeRefused("classes of size: growth falls below 0; they follow only crystals that grow")
    paces, shares = _paces(v["growth.dispersion"] / 100.0)
    speeds = np.append(paces, 1.0)
    speed = course["growth"]
    travel = 1e-3 * np.append(0.0, np.cumsum(0.5 * np.diff(times) * (speed[1:] + speed[:-1])))
    largest = 1.15 * (4.0 * v["seed.size"] + speeds.max() * travel[-1])
    width = largest / cells
    sizes = width * (np.arange(cells) + 0.5)
    numbers = np.vstack([np.outer(shares, _seed(strike, width, cells)), np.zeros(cells)])
    steps = int(np.ceil(travel[-1] * speeds.max() / (COURANT * width)))
    at = np.interp(np.linspace(0.0, travel[-1], steps + 1), travel, times)
    joined = _joined(sizes) if v["merging.readiness"] else None
    with noting_breaches():
        for begins, ends in pairwise(at):
            middle, span = 0.5 * (begins + ends), ends - begins
            now = {name: float(np.interp(middle, times, values)) for name, values in course.items()}
            numbers = _grown(numbers, speeds * travel[-1] / steps / width)
            if joined is not None:
                numbers = _merged(numbers, joined, _kernel(v, now) * span)
            _born(numbers, v, now, span, width)
    return Classes(sizes, numbers)


def _paces(variation: float) -> tuple[Vector, Vector]:
    """Paces of a gamma distribution of mean 1 and their shares: Gauss's rule, by the eigenvalues of its recurrence."""
    if variation == 0.0:
        return np.array([1.0]), np.array([1.0])
    order = variation**-2.0
    k = np.arange(PACES, dtype=float)
    nodes, vectors = linalg.eigh_tridiagonal(2.0 * k + order, np.sqrt(k[1:] * (k[1:] + order - 1.0)))
    return np.asarray(nodes / order), np.asarray(vectors[0] ** 2)


def _seed(strike: Described, width: float, cells: int) -> Vector:
    """Seed crystals (10⁹) in each cell, their number kept."""
    v = strike.values
    with noting_breaches():
        wanted = [float(m) for m in pan.seed_moments(v)]
    spread = max(v["seed.variation"] / 100.0, 0.05)
    shape = np.sqrt(np.log1p(spread**2))
    edges = width * np.arange(cells + 1)
    found = np.diff(stats.lognorm.cdf(edges, shape, scale=v["seed.size"] * np.exp(-0.5 * shape**2)))
    return np.asarray(wanted[0] * found / found.sum())


def _grown(numbers: Matrix, courant: Vector) -> Matrix:
    """Crystals carried a part of a cell upwards, each pace its own part."""
    padded = np.pad(numbers, ((0, 0), (2, 1)))
    here, below, above = padded[:, 1:-1], padded[:, :-2], padded[:, 2:]
    rise, fall = above - here, here - below
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(np.abs(fall) > 1e-300, rise / fall, 0.0)
    c = courant[:, None]
    limiter = np.maximum(0.0, np.minimum(np.minimum(2.0 * ratio, (1.0 + 2.0 * ratio) / 3.0), 2.0))
    through = c * (here + 0.5 * (1.0 - c) * limiter * fall)
    through[:, -1] = 0.0
    return np.asarray(numbers + through[:, :-1] - through[:, 1:])


def _joined(sizes: Vector) -> tuple[sparse.csr_matrix, int]:
    """Where the child of each pair of cells goes, number and mass kept."""
    cells = len(sizes)
    cubes = sizes**3
    child = (cubes[:, None] + cubes[None, :]).ravel()
    low = np.clip(np.searchsorted(cubes, child, side="right") - 1, 0, cells - 2)
    upper = np.clip((child - cubes[low]) / (cubes[low + 1] - cubes[low]), 0.0, 1.0)
    pairs = np.arange(cells * cells)
    rows, columns = np.concatenate([low, low + 1]), np.concatenate([pairs, pairs])
    return sparse.csr_matrix((np.concatenate([1.0 - upper, upper]), (rows, columns)), (cells, cells * cells)), cells


def _kernel(v: pan.Values, now: dict[str, float]) -> float:
    """Pairs that merge, per pair of 10⁹ crystals and minute: twice the share that vanishes, on the number."""
    share = merging_rate(now["growth"], now["crystals"] / now["volume"], v["merging.readiness"])
    return 2.0 * float(share) / max(now["crystals"], 1e-12)


def _merged(numbers: Matrix, joined: tuple[sparse.csr_matrix, int], kernel: float) -> Matrix:
    """Pairs merged; the child keeps the pace of either parent alike."""
    whole = numbers.sum(axis=0)
    born = np.array([joined[0] @ np.outer(row, whole).ravel() for row in numbers])
    return np.asarray(numbers + kernel * (0.5 * born - numbers * whole.sum()))


def _born(numbers: Matrix, v: pan.Values, now: dict[str, float], span: float, width: float) -> None:
    """False grain, in the cell of its size."""
    rate = false_grain_rate(
        now["supersaturation"], now["crystal"], v["false_grain.limit"], v["false_grain.rate"], v["false_grain.order"]
    )
    numbers[-1, int(v["false_grain.size"] / width)] += float(rate) * span
