"""Settling cane by the classic CCS price, on decimals: P = Ps · recovery · (CCS - base) / 100 + constant.

The scheme is public: Queensland cane-growers' organisation, Cane payment information (read). Payment uses readings,
never reconciled values.

Rules kept here and printed on the pay line:

- A consignment without a sample it can be paid on takes the first rung of the fall-back ladder that applies: the
  mass-weighted mean of the same grower's same block on the day, of its fibre class on the day, of the mill on the day.
  Only consignments with their own sample enter these means.
- Below the base CCS the formula turns negative. A tonne is never priced below ``Price.least_price``, which is 0 unless
  the agreement says otherwise: nothing is paid, nothing is charged, and the line says what the formula gave.
- Money is rounded once per line; totals are sums of the lines, so they agree to the cent.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import IntEnum

from canewright.cane.consignment import Consignment, analyse
from canewright.cane.rounding import EXACT, Rounding, rounded
from canewright.cane.sample_checks import why_not_paid_on

VERSION = "classic CCS, version 1"


class SettlementRefused(ValueError):
    """Consignments that cannot be settled together as they stand."""


class Rung(IntEnum):
    """Where the CCS of a pay line comes from."""

    OWN_SAMPLE = 0
    SAME_BLOCK_SAME_DAY = 2
    FIBRE_CLASS_OF_DAY = 5
    MILL_OF_DAY = 6


IN_WORDS = {
    Rung.OWN_SAMPLE: "own juice sample",
    Rung.SAME_BLOCK_SAME_DAY: "mean of the same grower and block on the day",
    Rung.FIBRE_CLASS_OF_DAY: "mean of the fibre class on the day",
    Rung.MILL_OF_DAY: "mean of the mill on the day",
}


@dataclass(frozen=True)
class Price:
    """Terms of one season's agreement: sugar price and constant in $/t, shares, floor and rounding."""

    season: str
    sugar_price: Decimal
    constant: Decimal = Decimal("0.578")
    recovery: Decimal = Decimal("0.90")
    base_ccs: Decimal = Decimal(4)
    least_price: Decimal = Decimal(0)
    rounding: Rounding = field(default_factory=Rounding)

    def __post_init__(self) -> None:
        """Refuse terms that are not numbers or not possible."""
        for name in ("sugar_price", "constant", "recovery", "base_ccs", "least_price"):
            value = getattr(self, name)
            if not isinstance(value, Decimal) or not value.is_finite():
                raise SettlementRefused(f"price of {self.season}: {name} is {value!r}; give a decimal number")
        if self.sugar_price < 0 or not 0 < self.recovery <= 1:
            raise SettlementRefused(
                f"price of {self.season}: sugar price {self.sugar_price} must be 0 or more and recovery "
                f"{self.recovery} above 0 and at most 1"
            )


@dataclass(frozen=True)
class PayLine:
    """What is owed for one consignment: net t, CCS and its rung, price in $/t, amount in $, and notes in words."""

    ticket: str
    day: dt.date
    grower: str
    block: str
    net: Decimal
    ccs: Decimal
    rung: Rung
    basis: str
    price_per_tonne: Decimal
    amount: Decimal
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Settlement:
    """Pay lines by day and ticket, what each grower is owed, and the mass-weighted mean CCS paid on."""

    version: str
    price: Price
    lines: tuple[PayLine, ...]
    owed_by_grower: dict[str, Decimal]
    mean_ccs: Decimal | None

    @property
    def owed(self) -> Decimal:
        """What is owed to all growers together, $."""
        return sum(self.owed_by_grower.values(), Decimal(0))


def formula_price(ccs: Decimal, price: Price) -> Decimal:
    """Price of a tonne by the formula alone, $, unrounded; negative below about the base CCS."""
    above = EXACT.subtract(ccs, price.base_ccs)
    sugar = EXACT.multiply(EXACT.multiply(price.sugar_price, price.recovery), above)
    return EXACT.add(EXACT.divide(sugar, Decimal(100)), price.constant)


def price_per_tonne(ccs: Decimal, price: Price) -> Decimal:
    """Price of a tonne, $: the formula, not below the least price, rounded only if the agreement says so."""
    found = max(formula_price(ccs, price), price.least_price)
    places = price.rounding.price_places
    return found if places is None else rounded(found, places, price.rounding.half)


def settle(consignments: Sequence[Consignment], price: Price) -> Settlement:
    """Pay lines and what each grower is owed for these consignments at this price.

    The order of the consignments does not matter. Raises SettlementRefused when a ticket stands twice on a day, or when
    a consignment without a usable sample falls on a day on which no sample is usable.
    """
    lines = tuple(_line(found, price) for found in ccs_paid_on(consignments, price.rounding))
    return Settlement(f"{VERSION}, {price.season}", price, lines, _owed(lines), _mean_paid(lines, price))


@dataclass(frozen=True)
class PaidOn:
    """The CCS a consignment is paid on, the rung of the ladder it comes from, and what is to be said of it."""

    consignment: Consignment
    ccs: Decimal
    rung: Rung
    basis: str
    notes: tuple[str, ...]


def ccs_paid_on(consignments: Sequence[Consignment], rounding: Rounding) -> list[PaidOn]:
    """The CCS each consignment is paid on, by day and ticket, from its own sample or the first rung that applies.

    Raises SettlementRefused as ``settle`` does.
    """
    ordered = sorted(consignments, key=lambda each: (each.day, each.ticket))
    _refuse_repeated(ordered)
    asides = {_key(each): why_not_paid_on(each) for each in ordered}
    sampled = [(each, _own_ccs(each, rounding)) for each in ordered if not asides[_key(each)]]
    pools = _pools(sampled, rounding)
    own = {_key(each): value for each, value in sampled}
    stranded = [each for each in ordered if _key(each) not in own and _mill(each) not in pools]
    if stranded:
        raise SettlementRefused(
            f"no usable juice sample on {stranded[0].day} to fall back on for {', '.join(e.ticket for e in stranded)}; "
            "read retained juice again or agree a CCS with the growers"
        )
    return [_judged(each, own, pools, asides[_key(each)]) for each in ordered]


def _judged(consignment: Consignment, own: dict[Key, Decimal], pools: dict[PoolKey, _Pool], aside: str) -> PaidOn:
    notes = (aside,) if aside else ()
    if _key(consignment) in own:
        return PaidOn(consignment, own[_key(consignment)], Rung.OWN_SAMPLE, IN_WORDS[Rung.OWN_SAMPLE], notes)
    rung, pool = next((r, pools[of(consignment)]) for r, of in LADDER if of(consignment) in pools)
    basis = f"{IN_WORDS[rung]}, by mass, {pool.count} with sample (rung {rung.value})"
    return PaidOn(consignment, pool.ccs, rung, basis, notes)


Key = tuple[dt.date, str]
PoolKey = tuple[object, ...]


@dataclass(frozen=True)
class _Pool:
    ccs: Decimal
    count: int


def _key(consignment: Consignment) -> Key:
    return consignment.day, consignment.ticket


def _block(consignment: Consignment) -> PoolKey:
    return Rung.SAME_BLOCK_SAME_DAY, consignment.day, consignment.grower, consignment.block


def _class(consignment: Consignment) -> PoolKey:
    return Rung.FIBRE_CLASS_OF_DAY, consignment.day, consignment.fibre.name


def _mill(consignment: Consignment) -> PoolKey:
    return Rung.MILL_OF_DAY, consignment.day


LADDER: tuple[tuple[Rung, Callable[[Consignment], PoolKey]], ...] = (
    (Rung.SAME_BLOCK_SAME_DAY, _block),
    (Rung.FIBRE_CLASS_OF_DAY, _class),
    (Rung.MILL_OF_DAY, _mill),
)


def _refuse_repeated(consignments: Sequence[Consignment]) -> None:
    repeated = [key for key, count in Counter(map(_key, consignments)).items() if count > 1]
    if repeated:
        day, ticket = repeated[0]
        raise SettlementRefused(
            f"ticket {ticket} of {day} is given more than once; a load is paid once, remove the repeat"
        )


def _own_ccs(consignment: Consignment, rounding: Rounding) -> Decimal:
    if consignment.juice is None:
        raise SettlementRefused(f"ticket {consignment.ticket}: no juice sample")
    found = analyse(consignment.juice, consignment.fibre.fibre).ccs
    return rounded(Decimal(found), rounding.ccs_places, rounding.half)


def weighted_mean(pairs: Sequence[tuple[Decimal, Decimal]], rounding: Rounding) -> Decimal:
    """Mass-weighted mean of (t, CCS) pairs, to the declared decimals of CCS; the pairs must hold some mass."""
    mass = sum((net for net, _ in pairs), Decimal(0))
    units = Decimal(0)
    for net, value in pairs:
        units = EXACT.add(units, EXACT.multiply(net, value))
    return rounded(EXACT.divide(units, mass), rounding.ccs_places, rounding.half)


def _pools(sampled: Sequence[tuple[Consignment, Decimal]], rounding: Rounding) -> dict[PoolKey, _Pool]:
    gathered: dict[PoolKey, list[tuple[Decimal, Decimal]]] = {}
    for each, value in sampled:
        for _, pool_of in LADDER:
            gathered.setdefault(pool_of(each), []).append((each.net, value))
    return {key: _Pool(weighted_mean(pairs, rounding), len(pairs)) for key, pairs in gathered.items()}


def _line(found: PaidOn, price: Price) -> PayLine:
    consignment, notes = found.consignment, list(found.notes)
    by_formula = formula_price(found.ccs, price)
    if by_formula < price.least_price:
        notes.append(f"formula gives {rounded(by_formula, 4)} $/t; least price of {price.least_price} $/t applies")
    each_tonne = price_per_tonne(found.ccs, price)
    amount = rounded(EXACT.multiply(consignment.net, each_tonne), price.rounding.money_places, price.rounding.half)
    return PayLine(
        consignment.ticket, consignment.day, consignment.grower, consignment.block, consignment.net,
        found.ccs, found.rung, found.basis, each_tonne, amount, tuple(notes),
    )  # fmt: skip


def _owed(lines: Sequence[PayLine]) -> dict[str, Decimal]:
    owed: dict[str, Decimal] = {grower: Decimal(0) for grower in sorted({line.grower for line in lines})}
    for line in lines:
        owed[line.grower] = EXACT.add(owed[line.grower], line.amount)
    return owed


def _mean_paid(lines: Sequence[PayLine], price: Price) -> Decimal | None:
    return weighted_mean([(line.net, line.ccs) for line in lines], price.rounding) if lines else None
