"""Other published ways from a sieve set to grain size: moments, RRSB, and two sieves after Butler.

The method moves CV by more than a unit on the same sieves; each result names its own. Loose sugar dust can explode:
sieve away from ignition and follow the local code.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp as exp_of
from math import log as log_of
from math import sqrt
from statistics import NormalDist

from canewright.analysis.declaring import percent, plain
from canewright.analysis.grain import GrainSize, SievesRefused, cumulative_inside
from canewright.properties.ranges import AMOUNT, SHARE, SIEVE_APERTURE
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, exp, log

RRSB = (
    "Rosin, Rammler, Sperling and Bennett; one of the forms left open by ICUMSA GS2-37 (choice read, form from memory)"
)


APERTURE = argument("mm", "aperture", *SIEVE_APERTURE, symbol="a")
CHARACTERISTIC = argument("mm", "aperture that retains 36.8 %", *SIEVE_APERTURE, symbol="a′")
UNIFORMITY = plain("uniformity exponent", 1.0, 10.0, "n")
COARSE_DEVIATE = plain("normal deviate on the coarse sieve", -3.0, -0.1, "z₁")
FINE_DEVIATE = plain("normal deviate on the fine sieve", 0.1, 3.0, "z₂")


@formula(
    result=percent("cumulative retained", *SHARE, "R"),
    equation="R = 100 exp[-(a/a′)ⁿ]",
    source=RRSB,
    status="from memory",
    example=(0.5, 0.7, 3.5),
    gives=73.4914714,
    # narrower than a sieve set: powers of the quotient run over beyond
    aperture=argument("mm", "aperture", 0.02, 2.0, symbol="a"),
    characteristic=argument("mm", "aperture that retains 36.8 %", 0.2, 2.0, symbol="a′"),
    uniformity=plain("uniformity exponent", 1.0, 6.0, "n"),
)
def rrsb_retained(aperture: Num, characteristic: Num, uniformity: Num) -> Num:
    """Cumulative retained % of a sugar that follows the RRSB law."""
    return 100.0 * exp(-exp(uniformity * log(aperture / characteristic)))


@formula(
    result=argument("mm", "mean aperture", *AMOUNT, symbol="MA"),
    equation="MA = a′ (ln 2)^(1/n)",
    source=RRSB,
    status="derived",
    caveat="the aperture at 50 % retained",
    example=(0.7, 3.5),
    gives=0.630404929,
    characteristic=CHARACTERISTIC,
    uniformity=UNIFORMITY,
)
def rrsb_mean_aperture(characteristic: Num, uniformity: Num) -> Num:
    """Mean aperture of a sugar that follows the RRSB law."""
    return characteristic * exp(-0.36651292058166435 / uniformity)


@formula(
    result=percent("coefficient of variation", *AMOUNT, "CV"),
    equation="CV = 100 (a₁₆ - a₈₄) / (2 MA), a_R = a′ [ln(100/R)]^(1/n)",
    source=RRSB,
    status="derived",
    example=(3.5,),
    gives=32.3033996,
    uniformity=UNIFORMITY,
)
def rrsb_variation(uniformity: Num) -> Num:
    """CV of a sugar that follows the RRSB law, from the apertures at 16, 50 and 84 % retained."""
    coarse, middle, fine = (exp(log_of(log_of(100.0 / r)) / uniformity) for r in (16.0, 50.0, 84.0))
    return 50.0 * (coarse - fine) / middle


@formula(
    result=argument("mm", "spread of the apertures", *AMOUNT, symbol="s"),
    equation="s = (a₁ - a₂) / (z₂ - z₁)",
    source="two-sieve normal solution (Butler); from memory",
    status="from memory",
    caveat="z is the normal deviate of the cumulative share retained, lower on the coarser sieve; the two sieves "
    "bracket the mean",
    example=(0.71, 0.50, -0.5187, 0.6818),
    gives=0.174927114,
    coarse=APERTURE,
    fine=APERTURE,
    coarse_deviate=COARSE_DEVIATE,
    fine_deviate=FINE_DEVIATE,
)
def two_sieve_spread(coarse: Num, fine: Num, coarse_deviate: Num, fine_deviate: Num) -> Num:
    """Standard deviation of aperture from two sieves."""
    return (coarse - fine) / (fine_deviate - coarse_deviate)


@formula(
    result=argument("mm", "mean aperture", *AMOUNT, symbol="MA"),
    equation="MA = (a₁ z₂ - a₂ z₁) / (z₂ - z₁)",
    source="two-sieve normal solution (Butler); from memory",
    status="from memory",
    example=(0.71, 0.50, -0.5187, 0.6818),
    gives=0.619265306,
    coarse=APERTURE,
    fine=APERTURE,
    coarse_deviate=COARSE_DEVIATE,
    fine_deviate=FINE_DEVIATE,
)
def two_sieve_mean(coarse: Num, fine: Num, coarse_deviate: Num, fine_deviate: Num) -> Num:
    """Mean aperture from two sieves, normal grain."""
    return (coarse * fine_deviate - fine * coarse_deviate) / (fine_deviate - coarse_deviate)


def grain_size_by_two_sieves(apertures: Sequence[float], retained: Sequence[float]) -> GrainSize:
    """MA and CV from two sieves of a normal sugar.

    ``apertures`` in mm, coarse then fine, with the cumulative retained on the coarse below and on the fine above 50 %;
    ``retained`` % on each. Raises SievesRefused for anything else.
    """
    if len(apertures) != 2:
        raise SievesRefused(f"{len(apertures)} sieves: this method takes two, one on each side of the mean")
    totals = cumulative_inside(apertures, retained)
    if len(totals) != 2 or totals[0][1] >= 46.0 or totals[1][1] <= 54.0:
        raise SievesRefused(
            f"cumulative retained {[round(t, 2) for _, t in totals]} %: the coarse sieve must hold less than 46 and "
            "both together more than 54 %; choose sieves on both sides of the mean"
        )
    normal = NormalDist()
    low, high = (normal.inv_cdf(t / 100.0) for _, t in totals)
    middle = float(two_sieve_mean(apertures[0], apertures[1], low, high))
    spread = float(two_sieve_spread(apertures[0], apertures[1], low, high))
    return GrainSize(middle, 100.0 * spread / middle, "two sieves, normal (Butler)")


def grain_size_by_moments(
    apertures: Sequence[float], retained: Sequence[float], coarsest: float, finest: float
) -> GrainSize:
    """MA and CV as mean and standard deviation of the middle apertures of the fractions.

    ``apertures`` in mm from coarse to fine, ``retained`` % on each, the rest in the pan. ``coarsest`` and ``finest``
    (mm) close the top fraction and the pan: assumptions that move CV, so report them. Raises SievesRefused when they do
    not enclose the sieves or the sieves are out of order.
    """
    cumulative_inside(apertures, retained)
    if not (coarsest > apertures[0] and 0.0 <= finest < apertures[-1]):
        raise SievesRefused(
            f"ends {coarsest:g} and {finest:g} mm must enclose the sieves {apertures[0]:g} to {apertures[-1]:g} mm"
        )
    edges = [coarsest, *apertures, finest]
    shares = [*retained, 100.0 - sum(retained)]
    middles = [0.5 * (a + b) for a, b in pairwise(edges)]
    average = sum(s * m for s, m in zip(shares, middles, strict=True)) / 100.0
    variance = sum(s * (m - average) ** 2 for s, m in zip(shares, middles, strict=True)) / 100.0
    return GrainSize(average, 100.0 * sqrt(variance) / average, f"moments, ends {coarsest:g} and {finest:g} mm")


def grain_size_by_rrsb(apertures: Sequence[float], retained: Sequence[float]) -> GrainSize:
    """MA and CV by least squares of ln ln(100/R) on ln aperture.

    Arguments and errors as ``grain.grain_size_by_regression``. The straight line in these logarithms weights the ends
    of the set; a set that is not RRSB shows it in its CV.
    """
    points = [(log_of(a), log_of(log_of(100.0 / t))) for a, t in cumulative_inside(apertures, retained)]
    if len(points) < 3:
        raise SievesRefused("at least three sieves must hold something for an RRSB line; add sieves")
    mean_x = sum(x for x, _ in points) / len(points)
    mean_y = sum(y for _, y in points) / len(points)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / sum((x - mean_x) ** 2 for x, _ in points)
    characteristic = exp_of(mean_x - mean_y / slope)
    middle = float(rrsb_mean_aperture(characteristic, slope))
    return GrainSize(middle, float(rrsb_variation(slope)), "RRSB line")
