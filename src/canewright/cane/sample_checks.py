"""Checks of a juice sample before it is paid on: impossible results, unlikely ones, digits typed in the wrong order.

Nothing is altered here. A person looks at each objection and confirms, rejects or corrects the reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from canewright.cane.consignment import Consignment, JuiceSample, analyse
from canewright.quantity import OutOfRange

LEAST_PURITY = 60.0
GREATEST_PURITY = 96.0
FAR = 4.0
"""Robust standard deviations from what is expected beyond which a sample is questioned."""


@dataclass(frozen=True)
class Expectation:
    """What CCS is expected of a consignment: a local middle and a robust standard deviation, both in units of CCS."""

    ccs: float
    spread: float


@dataclass(frozen=True)
class Objection:
    """Why a sample is not paid on as it stands. ``impossible`` ones cannot be confirmed by anybody."""

    ticket: str
    says: str
    impossible: bool


def objections(consignment: Consignment, expected: Expectation | None = None) -> list[Objection]:
    """What is wrong or unlikely with the juice sample of a consignment; empty when nothing is, or without a sample."""
    if consignment.juice is None:
        return []
    try:
        found = analyse(consignment.juice, consignment.fibre.fibre)
    except OutOfRange as breach:
        return [Objection(consignment.ticket, f"ticket {consignment.ticket}: {breach}; read or enter it again", True)]
    said: list[tuple[str, bool]] = []
    if found.pol > found.brix:
        said.append((f"pol {found.pol:.2f} is above brix {found.brix:.2f}; perhaps the two readings are swapped", True))
    elif not LEAST_PURITY <= found.purity <= GREATEST_PURITY:
        limits = f"{LEAST_PURITY:g} to {GREATEST_PURITY:g}"
        said.append((f"purity is {found.purity:.2f}, usual {limits}; read the retained juice again", False))
    if expected is not None and abs(found.ccs - expected.ccs) > FAR * expected.spread:
        said.append((f"CCS {found.ccs:.2f} is far from {expected.ccs:.2f} expected; read again or confirm", False))
    return [Objection(consignment.ticket, f"ticket {consignment.ticket}: {words}", hard) for words, hard in said]


def why_not_paid_on(consignment: Consignment) -> str:
    """Why the sample of this consignment cannot be paid on, in words; empty when it can.

    A sample rejected by a person, an impossible one, and an unlikely one that nobody has confirmed are set aside.
    """
    sample: JuiceSample | None = consignment.juice
    if sample is None:
        return "no juice sample"
    if sample.rejected_because:
        return f"sample rejected: {sample.rejected_because}"
    open_ones = [o.says for o in objections(consignment) if o.impossible or not sample.confirmed_by]
    return "; ".join(open_ones)


def transposed(value: Decimal, feasible: Callable[[Decimal], bool]) -> Decimal | None:
    """The one feasible value that a swap of two neighbouring digits gives, or None when there is none or several.

    The point stays in its place, so a swap across it counts. Only ever a proposal for a person to accept.
    """
    text = str(value)
    places = [k for k, mark in enumerate(text) if mark.isdigit()]
    found: set[Decimal] = set()
    for left, right in pairwise(places):
        swapped = list(text)
        swapped[left], swapped[right] = text[right], text[left]
        candidate = Decimal("".join(swapped))
        if candidate != value and feasible(candidate):
            found.add(candidate)
    return found.pop() if len(found) == 1 else None
