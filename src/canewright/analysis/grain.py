"""Grain size from sieving: mean aperture (MA) and coefficient of variation (CV).

The method alone moves CV by more than one unit on the same sieves, so each result names its method. Loose sugar dust
can explode: sieve away from ignition and follow the local code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from statistics import NormalDist

from canewright.analysis.declaring import percent
from canewright.properties.ranges import AMOUNT, SIEVE_APERTURE
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

_APERTURE = argument("mm", "aperture", *SIEVE_APERTURE, symbol="a")


class SievesRefused(ValueError):
    """A sieve set from which no mean aperture can be read."""


@dataclass(frozen=True)
class GrainSize:
    """Mean aperture in mm, coefficient of variation in %, and the method they were computed by."""

    mean_aperture: float
    coefficient_of_variation: float
    method: str


@formula(
    result=percent("coefficient of variation", *AMOUNT, "CV"),
    equation="CV = 100 (a₁₆ - a₈₄) / (2 a₅₀)",
    source="Powers' probability plot, in the comments on ICUMSA GS2-37",
    status="from memory",
    caveat="apertures at 16, 50 and 84 % cumulative retained; never extrapolated",
    example=(0.7936, 0.62, 0.4464),
    gives=28.0,
    aperture_16=_APERTURE,
    aperture_50=_APERTURE,
    aperture_84=_APERTURE,
)
def coefficient_of_variation(aperture_16: Num, aperture_50: Num, aperture_84: Num) -> Num:
    """CV of a sugar from three apertures of its probability plot."""
    return 100.0 * (aperture_16 - aperture_84) / (2.0 * aperture_50)


def grain_size_by_regression(apertures: Sequence[float], retained: Sequence[float]) -> GrainSize:
    """MA and CV by least squares of aperture on the normal deviate of cumulative % retained.

    ``apertures`` in mm from coarse to fine; ``retained`` % on each, the pan left out. Raises SievesRefused when the
    sieves are out of order or do not bracket 16 and 84 %. Defined here after G. Pollach's comments on ICUMSA GS2-37.
    """
    points = _deviates(apertures, retained)
    count = len(points)
    mean_z = sum(z for z, _ in points) / count
    mean_a = sum(a for _, a in points) / count
    slope = sum((z - mean_z) * (a - mean_a) for z, a in points) / sum((z - mean_z) ** 2 for z, _ in points)
    middle = mean_a - slope * mean_z
    return GrainSize(middle, -100.0 * slope / middle, "least squares on normal deviates")


def grain_size_by_interpolation(apertures: Sequence[float], retained: Sequence[float]) -> GrainSize:
    """MA and CV by straight lines between sieves on probability paper, CV from the 16 and 84 % apertures.

    Arguments, errors and source as for ``grain_size_by_regression``.
    """
    points = _deviates(apertures, retained)
    at_16, at_50, at_84 = (_between(points, NormalDist().inv_cdf(p)) for p in (0.16, 0.50, 0.84))
    variation = float(coefficient_of_variation(at_16, at_50, at_84))
    return GrainSize(at_50, variation, "straight lines on probability paper, 16/84 %")


def cumulative_inside(apertures: Sequence[float], retained: Sequence[float]) -> list[tuple[float, float]]:
    """Aperture and cumulative retained % of the sieves on which something is and not everything is.

    Raises SievesRefused when the sieves are not one retained % each from coarse to fine, or a retained % is impossible.
    """
    if len(apertures) != len(retained) or any(a <= b for a, b in pairwise(apertures)):
        raise SievesRefused(
            f"sieves {list(apertures)} mm: give one retained % per sieve, apertures falling from coarse to fine"
        )
    if any(r < 0 for r in retained) or sum(retained) > 100.0 + 1e-9:
        raise SievesRefused(f"retained {list(retained)} %: each must be 0 or more and the sum at most 100; weigh again")
    return [(a, t) for a, t in zip(apertures, accumulate(retained), strict=True) if 0.0 < t < 100.0]


def _deviates(apertures: Sequence[float], retained: Sequence[float]) -> list[tuple[float, float]]:
    inside = cumulative_inside(apertures, retained)
    if len(inside) < 3 or inside[0][1] > 16.0 or inside[-1][1] < 84.0:
        raise SievesRefused(
            f"cumulative retained {[round(t, 2) for _, t in inside]} %: at least three sieves must hold something and "
            "they must bracket 16 and 84 %; add a coarser or a finer sieve"
        )
    return [(NormalDist().inv_cdf(t / 100.0), a) for a, t in inside]


def _between(points: Sequence[tuple[float, float]], z: float) -> float:
    for (z1, a1), (z2, a2) in pairwise(points):
        if z1 <= z <= z2 and z2 > z1:
            return a1 + (a2 - a1) * (z - z1) / (z2 - z1)
    raise SievesRefused(f"no pair of sieves brackets a normal deviate of {z:.3f}")
