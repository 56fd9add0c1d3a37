"""The crystals of a strike: a seed whose crystals each grow at a pace of their own, and false grain, by their moments.

Every crystal of the seed has a size and a pace γ of its own (mean 1), kept for life: growth-rate dispersion by common
history. Where the liquor would grow a crystal of pace 1 by dΛ, another grows by γ dΛ. Size and pace being independent
in the seed, every moment at any time follows from Λ alone:

    m_k = Σ_j C(k, j) Λ^(k−j) ℓ_j E[γ^(k−j)],   ℓ_j moments of the seed

so that crystal, and with it the sucrose left in solution, is known without adding up rates. Crystals that merge keep
their mass: their number falls by s³ and all sizes grow by s, which keeps the shape of the distribution (checked against
classes of size in the tests). Source: moments of the population balance, Randolph and Larson, Theory of Particulate
Processes (1971, from memory); common history after Iswanto, White, Hardin and Broadfoot (2007), Proc. Aust. Soc. Sugar
Cane Technol. 29 (abstract read).

Numbers are in 10⁹ crystals, sizes in mm, masses in t: 10⁹ crystals of 1 mg are a tonne.
"""

from __future__ import annotations

from math import comb

from canewright.properties.crystal import DENSITY
from canewright.quantity import Num
from canewright.quantity.maths import exp

SHAPE = 0.69
"""Volume of a crystal over its sieve size cubed: 1.1 mg at 1 mm, a published seeding note (read)."""
PER_CUBE = 1e-3 * DENSITY * SHAPE
"""Mass of a crystal of 1 mm, mg."""
SURFACE = 4.38
"""Surface of 10⁹ crystals over their size squared, 10⁹ mm² or 10³ m²: 4.12 m^(2/3) in cm² and g after Kukharenko."""
MOMENTS = 6
"""Moments 0 to 5: number, mean, surface, mass, and mean and spread by mass."""


def log_normal_moments(number: Num, mean: Num, variation: Num) -> list[Num]:
    """Moments of a log-normal number distribution from its mean and coefficient of variation (a fraction)."""
    square = 1.0 + variation * variation
    found: list[Num] = [number]
    for k in range(1, MOMENTS):
        found.append(found[-1] * mean * _whole_power(square, k - 1))
    return found


def pace_moments(variation: Num) -> list[Num]:
    """E[γ^k] of a gamma distribution of paces of mean 1 and this coefficient of variation (a fraction)."""
    found: list[Num] = [1.0]
    for k in range(1, MOMENTS):
        found.append(found[-1] * (1.0 + (k - 1) * variation * variation))
    return found


def grown(seed: list[Num], pace: list[Num], travel: Num, merged: Num) -> list[Num]:
    """Moments of the crop after its growth travel Λ, mm, and the growth of all sizes by merging, ln s."""
    plain = [
        sum(comb(k, j) * _whole_power(travel, k - j) * seed[j] * pace[k - j] for j in range(k + 1))
        for k in range(MOMENTS)
    ]
    return [moment * exp((k - 3) * merged) for k, moment in enumerate(plain)]


def growing(seed: list[Num], pace: list[Num], travel: Num, order: int = 3) -> Num:
    """Derivative of a moment before merging by the travel."""
    return sum(
        comb(order, j) * (order - j) * _whole_power(travel, order - j - 1) * seed[j] * pace[order - j]
        for j in range(order)
    )


def born_and_grown(moments: list[Num], growth: Num, born: Num, size: Num) -> list[Num]:
    """Rates of the moments of grain that forms at a size and grows at pace 1 (size per minute, number per minute)."""
    return [born * _whole_power(size, k) + (k * growth * moments[k - 1] if k else 0.0) for k in range(MOMENTS)]


def mass(moments: list[Num]) -> Num:
    """Crystal, t."""
    return PER_CUBE * moments[3]


def mean_by_mass(moments: list[Num]) -> Num:
    """Mean size by mass, mm."""
    return moments[4] / moments[3]


def variation_squared(moments: list[Num]) -> Num:
    """Square of the coefficient of variation by mass (a fraction)."""
    return moments[5] * moments[3] / (moments[4] * moments[4]) - 1.0


def number_for(crystal: Num, mean: Num, variation: Num) -> Num:
    """Crystals (10⁹) that weigh so much, t, with a log-normal spread of sizes."""
    one = log_normal_moments(1.0, mean, variation)
    return crystal / (PER_CUBE * one[3])


def _whole_power(base: Num, times: int) -> Num:
    """A power by multiplying, exact at zero and below it."""
    result: Num = 1.0
    for _ in range(times):
        result = result * base
    return result
