"""Sizes of a crop as a sieve analysis finds them, from the seed's sizes and the crystals' own paces."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from canewright.analysis.grain import GrainSize, coefficient_of_variation
from canewright.pans import grain
from canewright.pans.description import Described

Vector = NDArray[np.float64]
PARTS = 160
"""Classes of equal number of the seed's sizes, and again of the paces."""
METHOD = "apertures at 16, 50 and 84 % retained of the computed sizes"


@lru_cache(maxsize=64)
def _seed_sizes(mean: float, variation: float) -> Vector:
    """Sizes of equal numbers of seed crystals, log-normal, their mean and third moment kept."""
    if variation == 0.0:
        return np.array([mean])
    width = np.sqrt(np.log1p(variation**2))
    middles = (np.arange(PARTS) + 0.5) / PARTS
    return np.asarray(mean * np.exp(width * stats.norm.ppf(middles) - 0.5 * width**2))


@lru_cache(maxsize=64)
def _paces(variation: float) -> Vector:
    """Paces of equal numbers of crystals, gamma with mean 1."""
    if variation == 0.0:
        return np.array([1.0])
    middles = (np.arange(PARTS) + 0.5) / PARTS
    return np.asarray(stats.gamma.ppf(middles, variation**-2.0, scale=variation**2))


def crop_sizes(strike: Described, travel: float, merged: float) -> Vector:
    """Sizes, mm, of equal numbers of crystals of the crop."""
    v = strike.values
    first = _seed_sizes(v["seed.size"], v["seed.variation"] / 100.0)
    paces = _paces(v["growth.dispersion"] / 100.0)
    return np.asarray(np.exp(merged) * (first[:, None] + travel * paces[None, :]).ravel())


def sieved(strike: Described, travel: float, merged: float, false: Sequence[float]) -> GrainSize:
    """Mean aperture and coefficient of variation of the crop with its false grain.

    False grain, of which only moments are known, lies at its mean size by mass.
    """
    sizes = crop_sizes(strike, travel, merged)
    seeded = grain.number_for(1e-3 * strike.values["seed.mass"], strike.values["seed.size"], _spread(strike))
    weights = np.exp(-3.0 * merged) * float(seeded) / len(sizes) * sizes**3
    if false[3] > 0.0:
        sizes, weights = np.append(sizes, false[4] / false[3]), np.append(weights, false[3])
    order = np.argsort(sizes)[::-1]
    retained = np.cumsum(weights[order]) - 0.5 * weights[order]
    at = np.interp([0.16, 0.50, 0.84], retained / weights.sum(), sizes[order])
    return GrainSize(float(at[1]), float(coefficient_of_variation.function(*map(float, at))), METHOD)


def _spread(strike: Described) -> float:
    return strike.values["seed.variation"] / 100.0
