"""What a run exposes the mill to: price schemes pay the formula whatever the factory makes of the cane."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from canewright.cane.exact import Exact
from canewright.cane.pay_run import quality_tonnes
from canewright.cane.paying import Paid
from canewright.cane.rounding import EXACT, rounded
from canewright.cane.schemes import Kind
from canewright.cane.season import Season


@dataclass(frozen=True)
class Exposure:
    """Money of the mill: paid to growers, proceeds at the stated recovery, and what moves with one unit of each term.

    ``proceeds`` and ``left`` are None where the agreement tells no recovery; ``per_term`` says by how much more would
    be paid if a term in $ per unit rose by 1; ``uncertainty`` is that of the sum paid, from CCS alone.
    """

    paid: Decimal
    proceeds: Decimal | None
    left: Decimal | None
    per_recovery: Decimal | None
    per_term: tuple[tuple[str, str, Decimal], ...]
    uncertainty: float | None

    @property
    def growers_share(self) -> Decimal | None:
        """Part of the proceeds that the growers get, %."""
        if not self.proceeds:
            return None
        return EXACT.divide(EXACT.multiply(self.paid, Decimal(100)), self.proceeds)


def exposure(paid: Paid, season: Season) -> Exposure:
    """The mill's exposure by these deliveries."""
    whole = paid.value.total()
    per_term = tuple(_more(paid, number) for number in range(len(paid.groups)) if _priced(paid, number))
    known = not np.isnan(paid.deliveries.uncertainty).any() and len(paid.deliveries) > 0
    uncertainty = float(np.sqrt(np.sum(paid.uncertainty_by_grower() ** 2))) if known else None
    flat = tuple(term for group in per_term for term in group)
    if season.mill is None:
        return Exposure(whole, None, None, None, flat, uncertainty)
    each = EXACT.multiply(EXACT.divide(quality_tonnes(paid).total(), Decimal(100)), season.mill.sugar_price)
    proceeds = EXACT.multiply(each, season.mill.recovery)
    return Exposure(
        whole, rounded(proceeds, 2), rounded(proceeds - whole, 2), rounded(each, 2), flat, uncertainty
    )  # fmt: skip


def _priced(paid: Paid, number: int) -> bool:
    return paid.groups[number].use.scheme.kind is Kind.PRICE


def _more(paid: Paid, number: int) -> tuple[tuple[str, str, Decimal], ...]:
    """What one more of each money term of a scheme adds to the sum paid, before rounding; least prices left out."""
    group = paid.groups[number]
    quality, net = paid.relative.take(group.places), paid.deliveries.net.take(group.places)
    base = group.use.scheme.price(quality, group.terms)
    found = []
    for constant in group.use.scheme.constants:
        if not constant.unit.startswith("$"):
            continue
        more = dict(group.terms) | {constant.name: group.terms[constant.name] + 1}
        apart: Exact = group.use.scheme.price(quality, more) - base
        found.append((constant.says, constant.unit, rounded((apart.filled(len(net)) * net).total(), 2)))
    return tuple(found)
