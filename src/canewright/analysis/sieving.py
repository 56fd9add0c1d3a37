"""Sieving of sugar into grades: what of an RRSB grain passes one, two or three decks of imperfect screens.

Each grain size passes a deck of aperture a in the share ``e / (1 + exp(k (L-a)/a))``: efficiency times a partition
curve. Sums over the grain run over 48 Gauss-Legendre points in the share retained. Sugar dust explodes: sieves are
closed, earthed and vented under local codes.
"""

from __future__ import annotations

from math import log as log_of

import numpy as np

from canewright.analysis.declaring import plain
from canewright.analysis.grain_methods import APERTURE, CHARACTERISTIC, UNIFORMITY
from canewright.properties.ranges import AMOUNT
from canewright.quantity.formula import Argument, formula
from canewright.quantity.maths import Num, exp, tanh

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(48)
NODES = tuple((log_of(-log_of((1.0 + float(x)) / 2.0)), float(w) / 2.0) for x, w in zip(_POINTS, _WEIGHTS, strict=True))
"""Logarithm of -ln(retained), and weight, at each point; size on characteristic aperture is exp(logarithm / n)."""
SOURCE = "logistic partition curve by size (form common for screens, from memory) over the RRSB law"
MOMENT = "0 gives the share of mass, 1 its mean size on the characteristic aperture times the share, 2 the square"


def _grain() -> dict[str, Argument]:
    return {
        "characteristic": CHARACTERISTIC,
        "uniformity": UNIFORMITY,
        "sharpness": plain("sharpness of the partition curve", 2.0, 60.0, "k"),
        "efficiency": plain("share of far undersize that passes a deck", 0.5, 1.0, "e"),
        "moment": plain("power of the size", 0.0, 3.0, "m"),
    }


def _passing(
    apertures: tuple[Num, ...], characteristic: Num, uniformity: Num, sharpness: Num, efficiency: Num, moment: Num
) -> Num:
    total: Num = 0.0
    for logarithm, weight in NODES:
        size = exp(logarithm / uniformity)
        part = weight * exp(moment * (logarithm / uniformity))
        for aperture in apertures:
            beyond = sharpness * (size * characteristic / aperture - 1.0)
            part = part * efficiency * (0.5 - 0.5 * tanh(0.5 * beyond))  # 1/(1 + exp(beyond)), which may overflow
        total = total + part
    return total


@formula(
    result=plain("passes one deck, as share of mass times size to the moment", *AMOUNT),
    equation="∫ Lᵐ e/(1 + exp(k (L-a)/a)) dR(L)",
    source=SOURCE,
    status="derived",
    caveat=MOMENT,
    example=(0.5, 0.7, 3.5, 60.0, 1.0, 0.0),
    gives=0.265591529,
    first=APERTURE,
    **_grain(),
)
def passing_one_deck(
    first: Num, characteristic: Num, uniformity: Num, sharpness: Num, efficiency: Num, moment: Num
) -> Num:
    """What passes one deck."""
    return _passing((first,), characteristic, uniformity, sharpness, efficiency, moment)


@formula(
    result=plain("passes two decks, as share of mass times size to the moment", *AMOUNT),
    equation="∫ Lᵐ Π e/(1 + exp(k (L-a)/a)) dR(L)",
    source=SOURCE,
    status="derived",
    caveat=MOMENT,
    example=(1.0, 0.5, 0.7, 3.5, 20.0, 0.95, 0.0),
    gives=0.243267683,
    first=APERTURE,
    second=APERTURE,
    **_grain(),
)
def passing_two_decks(
    first: Num, second: Num, characteristic: Num, uniformity: Num, sharpness: Num, efficiency: Num, moment: Num
) -> Num:
    """What passes two decks, one under the other."""
    return _passing((first, second), characteristic, uniformity, sharpness, efficiency, moment)


@formula(
    result=plain("passes three decks, as share of mass times size to the moment", *AMOUNT),
    equation="∫ Lᵐ Π e/(1 + exp(k (L-a)/a)) dR(L)",
    source=SOURCE,
    status="derived",
    caveat=MOMENT,
    example=(1.0, 0.5, 0.3, 0.7, 3.5, 20.0, 0.95, 0.0),
    gives=0.044449425,
    first=APERTURE,
    second=APERTURE,
    third=APERTURE,
    **_grain(),
)
def passing_three_decks(
    first: Num,
    second: Num,
    third: Num,
    characteristic: Num,
    uniformity: Num,
    sharpness: Num,
    efficiency: Num,
    moment: Num,
) -> Num:
    """What passes three decks, one under the other."""
    return _passing((first, second, third), characteristic, uniformity, sharpness, efficiency, moment)
