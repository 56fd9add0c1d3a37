"""What trash, waiting and doubt of the sample cost, in money, for the grower and for the mill.

The grower is paid by the classic CCS price; the mill keeps what the sugar is worth beyond that. Estimates for advice
and talks, with their doubt: what is owed comes from the settlement alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt

LARRAHONDO = "Larrahondo and others, Sugar Tech 8(4), 2006, 233 (read)"
SUGAR_LOST_PER_TRASH = 2.0
"""Sugar lost, kg per t of cane, for 1 % of trash (Larrahondo and others 2006, read)."""
LOSS_IN_FIELD = (0.010, 0.023)
"""Loss of sucrose % cane an hour, whole stalk in the field, by variety (Larrahondo and others 2006, read)."""
LOSS_ON_THE_WAY = 1.2 / 40.0
"""Loss an hour in a commercial chain: 1.2 units over 40 h from burning to mill (Larrahondo and others 2006, read)."""
FORMULA_SHARE = 0.90
"""Growers' factor of the classic CCS price: 0.90 of a unit of CCS above 4."""


@dataclass(frozen=True)
class Terms:
    """Sugar price in $/t, and coefficient of work: sugar made % of CCS in cane."""

    sugar_price: float
    coefficient_of_work: float = 92.5

    def __post_init__(self) -> None:
        """Refuse terms that cannot be. Raises ValueError."""
        if not 0.0 <= self.sugar_price <= 1e5 or not 50.0 <= self.coefficient_of_work <= 110.0:
            raise ValueError(
                f"sugar price {self.sugar_price} $/t, coefficient of work {self.coefficient_of_work}: accepted 0 to "
                "100000 $/t and 50 to 110"
            )

    @property
    def growers(self) -> float:
        """What a unit of CCS is worth to the grower, $ a tonne of cane."""
        return self.sugar_price * FORMULA_SHARE / 100.0

    @property
    def whole(self) -> float:
        """What a unit of CCS is worth as sugar, $ a tonne of cane."""
        return self.sugar_price * self.coefficient_of_work / 1e4


@dataclass(frozen=True)
class Cost:
    """What something costs over some tonnes of cane: the CCS it takes, with its standard uncertainty; money in $."""

    what: str
    tonnes: float
    ccs_lost: float
    ccs_u: float
    grower: float
    mill: float
    basis: str

    @property
    def together(self) -> float:
        """What grower and mill lose together, $."""
        return self.grower + self.mill


def _cost(what: str, tonnes: float, lost: float, u: float, terms: Terms, basis: str) -> Cost:
    grower = lost * tonnes * terms.growers
    return Cost(what, tonnes, lost, u, grower, lost * tonnes * terms.whole - grower, basis)


def cost_of_trash(tonnes: float, trash: float, clean: float, terms: Terms, per_unit: float | None = None) -> Cost:
    """Cost of extraneous matter above what clean cane brings, both % of cane.

    ``per_unit`` CCS lost for 1 % of trash, fitted on the site's own data; else the published 2.0 kg of sugar a tonne.
    """
    each = SUGAR_LOST_PER_TRASH / 10.0 if per_unit is None else per_unit
    above = max(0.0, trash - clean)
    basis = f"2.0 kg sugar/t per 1 %: {LARRAHONDO}" if per_unit is None else f"{per_unit:g} CCS per 1 %, fitted here"
    return _cost("extraneous matter", tonnes, each * above, 0.3 * each * above, terms, basis)


def cost_of_delay(
    tonnes: float, hours: float, usual: float, terms: Terms, *, temperature: float = 20.0, at_20: float = 0.02
) -> Cost:
    """Cost of hours from cutting to crushing beyond the usual; ``at_20`` CCS lost an hour at 20 °C, doubled by 10 K.

    The rate varies tenfold with variety, burning and billets: fit it to the site.
    """
    rate = at_20 * 2.0 ** ((temperature - 20.0) / 10.0)
    over = max(0.0, hours - usual)
    basis = f"{rate:.4f} CCS/h at {temperature:g} °C (published 0.010 to 0.030: {LARRAHONDO})"
    return _cost("waiting", tonnes, rate * over, 0.5 * rate * over, terms, basis)


def cost_of_stale_cane(tonnes: float, ccs: float, factor: float, terms: Terms) -> Cost:
    """Cost to the grower of a factor K on cane burnt too long ago: ``(1 - K)`` of the CCS is not paid."""
    lost = (1.0 - factor) * ccs
    grower = lost * tonnes * terms.growers
    basis = "factor K by hours since burning, São Paulo growers' step list (read)"
    return Cost("stale cane", tonnes, lost, 0.0, grower, 0.0, basis)


@dataclass(frozen=True)
class SampleDoubt:
    """What doubt of the samples leaves open in a grower's season, $: one standard deviation; and by a common error."""

    tonnes: float
    by_chance: float
    by_common_error: float

    @property
    def together(self) -> float:
        """Chance and common error together, $, one standard deviation."""
        return sqrt(self.by_chance**2 + self.by_common_error**2)


def doubt_of_samples(nets: list[float], sds: list[float], common: float, terms: Terms) -> SampleDoubt:
    """Money in doubt over consignments of these masses, t, whose CCS has these standard uncertainties.

    ``common`` is the standard uncertainty of what all samples share (fibre class, instruments), units of CCS: it does
    not average out. It moves money between growers only as far as it differs between them.
    """
    if len(nets) != len(sds):
        raise ValueError(f"{len(nets)} masses and {len(sds)} uncertainties; one of each for every consignment")
    each = terms.growers
    chance = each * sqrt(sum((m * s) ** 2 for m, s in zip(nets, sds, strict=True)))
    return SampleDoubt(sum(nets), chance, each * sum(nets) * common)


def worth_of_a_second_sample(net: float, sd_of_one: float, terms: Terms) -> float:
    """By how much a second sample narrows the money in doubt on ``net`` t of cane, $, one standard deviation."""
    return net * terms.growers * sd_of_one * (1.0 - 1.0 / sqrt(2.0))


def listed(costs: list[Cost], key: Callable[[Cost], float] = lambda c: -c.together) -> list[Cost]:
    """Costs by money, dearest first."""
    return sorted(costs, key=key)
