"""What a questioned juice sample may have been meant to say: brix and pol exchanged, two digits exchanged.

Only proposals: a person looks at the slip, and accepts one with a reason or has the retained juice read again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from canewright.analysis.cane import ccs
from canewright.cane.sample_checks import GREATEST_PURITY, LEAST_PURITY, Expectation
from canewright.quantity import OutOfRange

NEAR = 1.0
"""Exchanged digits must bring the CCS within so many standard deviations of what is expected."""
EXCHANGED = 4.0
"""The same for brix and pol exchanged, which leaves no choice of digits."""


@dataclass(frozen=True)
class Proposal:
    """What a sample may have been meant to say: brix and pol, %, the CCS they give, and why."""

    brix: Decimal
    pol: Decimal
    ccs: float
    says: str


def proposals(brix: Decimal, pol: Decimal, fibre: float, expected: Expectation | None) -> list[Proposal]:
    """Every feasible reading that exchanging brix and pol, or two neighbouring digits of one, gives.

    ``fibre`` % of cane. With an expectation, only what comes within its spread; several proposals mean that the sample
    itself must decide.
    """
    found = []
    if _feasible(pol, brix, fibre, expected, EXCHANGED):
        found.append(_made(pol, brix, fibre, "brix and pol stand in each other's place"))
    found += [
        _made(brix, other, fibre, f"pol {other} was keyed {pol}: two digits exchanged")
        for other in _swaps(pol, lambda p: _feasible(brix, p, fibre, expected))
    ]
    found += [
        _made(other, pol, fibre, f"brix {other} was keyed {brix}: two digits exchanged")
        for other in _swaps(brix, lambda b: _feasible(b, pol, fibre, expected))
    ]
    return found


def the_proposal(brix: Decimal, pol: Decimal, fibre: float, expected: Expectation | None) -> Proposal | None:
    """The one feasible reading, or None when there is none or several."""
    found = proposals(brix, pol, fibre, expected)
    return found[0] if len(found) == 1 else None


def _swaps(value: Decimal, feasible: Callable[[Decimal], bool]) -> list[Decimal]:
    """Feasible values that a swap of two neighbouring digits gives; the point stays where it is."""
    text = str(value)
    places = [k for k, mark in enumerate(text) if mark.isdigit()]
    made = []
    for left, right in pairwise(places):
        digits = list(text)
        digits[left], digits[right] = text[right], text[left]
        candidate = Decimal("".join(digits))
        if candidate != value and candidate not in made and feasible(candidate):
            made.append(candidate)
    return made


def _made(brix: Decimal, pol: Decimal, fibre: float, says: str) -> Proposal:
    return Proposal(brix, pol, float(ccs(float(brix), float(pol), fibre)), says)


def _feasible(brix: Decimal, pol: Decimal, fibre: float, expected: Expectation | None, near: float = NEAR) -> bool:
    if not brix > 0 or not LEAST_PURITY <= float(100 * pol / brix) <= GREATEST_PURITY:
        return False
    try:
        found = float(ccs(float(brix), float(pol), fibre))
    except OutOfRange:
        return False
    return expected is None or abs(found - expected.ccs) <= near * expected.spread
