"""One pay run: a period's value, corrections of what was paid before, charges, advance and balance of every grower.

What was closed is never changed: a difference found later is a new line of the next run, with its reason. The advance
is the agreed part of all value to date less what was credited before. What a grower owes beyond what is due is carried
to the next run; nobody is paid less than nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from canewright.cane.deliveries import Deliveries, PaymentRefused
from canewright.cane.exact import Exact
from canewright.cane.paying import Paid, pay
from canewright.cane.rounding import EXACT, rounded
from canewright.cane.season import Levy, PayRounding, Per, Period, Season

Key = tuple[dt.date, str, str]
"""A consignment as it was credited: day, ticket, grower."""
PER_TONNE = {"%": 100, "kg/t": 1000, "t/t": 1}
"""What a quality in this unit is divided by to give tonnes of it in a tonne of cane."""


@dataclass(frozen=True)
class Correction:
    """A new line for something credited before: by how much, of which period, and why."""

    grower: str
    period: int
    day: dt.date | None
    ticket: str
    amount: Decimal
    reason: str
    by_hand: bool = False


@dataclass(frozen=True)
class History:
    """What earlier runs of the season, all closed, credited: by consignment, and to date by grower and levy."""

    runs: int = 0
    credited: Mapping[Key, Decimal] = field(default_factory=dict)
    period_of: Mapping[Key, int] = field(default_factory=dict)
    by_hand: Mapping[str, Decimal] = field(default_factory=dict)
    value: Mapping[str, Decimal] = field(default_factory=dict)
    advanced: Mapping[str, Decimal] = field(default_factory=dict)
    charged: Mapping[tuple[str, str], Decimal] = field(default_factory=dict)
    carried: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True)
class Account:
    """One grower in one run, in $: how the payment comes about, line by line."""

    grower: str
    value: Decimal
    corrections: Decimal
    value_before: Decimal
    advance: Decimal
    advanced_before: Decimal
    charges: tuple[tuple[str, Decimal], ...]
    carried_before: Decimal
    rounding: PayRounding

    @property
    def value_to_date(self) -> Decimal:
        """All that was credited so far."""
        return self.value_before + self.value + self.corrections

    @property
    def advanced_to_date(self) -> Decimal:
        """The agreed part of it, rounded."""
        part = EXACT.multiply(self.advance, self.value_to_date)
        return rounded(part, self.rounding.money, self.rounding.half)

    @property
    def advanced(self) -> Decimal:
        """What this run adds to the advance."""
        return self.advanced_to_date - self.advanced_before

    @property
    def balance(self) -> Decimal:
        """Advance less charges, with what was carried."""
        return self.carried_before + self.advanced - sum((amount for _, amount in self.charges), Decimal(0))

    @property
    def payable(self) -> Decimal:
        """What is paid out: the balance, never less than nothing."""
        return max(self.balance, Decimal(0))

    @property
    def carried(self) -> Decimal:
        """What the grower owes and the next run takes: nothing, or less."""
        return self.balance - self.payable


@dataclass(frozen=True)
class PayRun:
    """A run as computed: the period's consignments step by step, corrections, and every grower's account."""

    season: Season
    number: int
    period: Period | None
    paid: Paid
    corrections: tuple[Correction, ...]
    accounts: Mapping[str, Account]

    @property
    def final(self) -> bool:
        """Whether this is the final settlement of the season."""
        return self.period is None

    @property
    def payable(self) -> Decimal:
        """What is paid out to all growers together, $."""
        return sum((a.payable for a in self.accounts.values()), Decimal(0))

    def credits(self) -> dict[Key, Decimal]:
        """What the run credits to each consignment: its value, and what corrections add to earlier ones."""
        found = {} if self.period is None else dict(_credits(self.paid))
        for c in self.corrections:
            if c.day is not None and not c.by_hand:
                found[c.day, c.ticket, c.grower] = found.get((c.day, c.ticket, c.grower), Decimal(0)) + c.amount
        return found


def compute(
    season: Season,
    deliveries: Deliveries,
    history: History,
    by_hand: Sequence[Correction] = (),
    reason: str = "",
) -> PayRun:
    """The run after those of the history: the next period, or after the last period the final settlement.

    ``deliveries`` are all of the season up to the period's end. Raises PaymentRefused; a difference to what was paid
    before without a reason is one of the refusals.
    """
    number = history.runs + 1
    if number > len(season.periods) + 1:
        raise PaymentRefused([f"season {season.name} is settled: run {history.runs} was the final one"])
    if number > len(season.periods):
        return _final(season, deliveries, history, by_hand)
    period = season.periods[number - 1]
    earlier = [pay(deliveries.between(p.first, p.last), season, p) for p in season.periods[: number - 1]]
    paid = pay(deliveries.between(period.first, period.last), season, period)
    found = _differences(season, earlier, history, reason)
    corrections = (*found, *by_hand)
    charges = _charges(season, [*earlier, paid], corrections, history, number)
    accounts = _accounts(season, period.advance, _values(paid), corrections, charges, history)
    return PayRun(season, number, period, paid, corrections, accounts)


def _final(season: Season, deliveries: Deliveries, history: History, by_hand: Sequence[Correction]) -> PayRun:
    """The whole season once more by its final constants and means; the difference is one line for each grower."""
    paid = pay(deliveries, season)
    whole = _values(paid)
    adjustments = []
    for grower in sorted(set(whole) | set(history.value)):
        due = whole.get(grower, Decimal(0)) + history.by_hand.get(grower, Decimal(0))
        apart = due - history.value.get(grower, Decimal(0))
        says = "final adjustment: the season by its final prices and means, less what was credited"
        adjustments.append(Correction(grower, len(season.periods) + 1, None, "", apart, says))
    corrections = (*adjustments, *by_hand)
    charges = _charges(season, [paid], corrections, history, len(season.periods) + 1)
    accounts = _accounts(season, Decimal(1), {}, corrections, charges, history)
    return PayRun(season, history.runs + 1, None, paid, corrections, accounts)


# --- values and corrections -------------------------------------------------------------------------------------------


def _credits(paid: Paid) -> list[tuple[Key, Decimal]]:
    d = paid.deliveries
    days = [dt.date.fromordinal(o) for o in d.days.tolist()]
    growers = [d.growers[g] for g in d.grower.tolist()]
    return [
        ((day, ticket, grower), amount)
        for day, ticket, grower, amount in zip(days, d.tickets, growers, paid.value.decimals(), strict=True)
    ]


def _values(paid: Paid) -> dict[str, Decimal]:
    """Value by grower, of those who delivered."""
    there = np.unique(paid.deliveries.grower).tolist()
    sums = paid.by_grower(paid.value).decimals()
    return {paid.deliveries.growers[g]: sums[g] for g in there}


def _differences(season: Season, earlier: Sequence[Paid], history: History, reason: str) -> list[Correction]:
    """What the closed periods come to now, less what was credited for them, consignment by consignment."""
    now = {key: (number, amount) for number, p in enumerate(earlier, start=1) for key, amount in _credits(p)}
    found = []
    for key in sorted(set(now) | set(history.credited)):
        number, amount = now.get(key, (history.period_of.get(key, 0), Decimal(0)))
        apart = amount - history.credited.get(key, Decimal(0))
        if apart and abs(apart) >= season.least_correction:
            found.append(Correction(key[2], number, key[0], key[1], apart, reason))
    if found and not reason.strip():
        raise PaymentRefused(
            [
                f"ticket {c.ticket} of {c.day}, {c.grower}: {c.amount:+} $ apart from what period {c.period} credited; "
                "say why with a reason and it becomes a new line"
                for c in found
            ]
        )
    return found


# --- charges and accounts ---------------------------------------------------------------------------------------------


def _charges(
    season: Season, paid: Sequence[Paid], corrections: Sequence[Correction], history: History, number: int
) -> dict[str, list[tuple[str, Decimal]]]:
    """Levies to date less those charged before, and the recoveries of this run, by grower."""
    found: dict[str, list[tuple[str, Decimal]]] = {}
    for levy in season.levies:
        to_date: dict[str, Decimal] = {}
        for each in paid:
            for grower, amount in _levied(levy, each).items():
                to_date[grower] = to_date.get(grower, Decimal(0)) + amount
        growers = set(to_date) | {g for g, name in history.charged if name == levy.name}
        for grower in sorted(growers):
            due = rounded(to_date.get(grower, Decimal(0)), season.rounding.money, season.rounding.half)
            apart = due - history.charged.get((grower, levy.name), Decimal(0))
            if apart:
                found.setdefault(grower, []).append((levy.name, apart))
    for recovery in season.recoveries:
        if recovery.period == number:
            amount = rounded(recovery.amount, season.rounding.money, season.rounding.half)
            found.setdefault(recovery.grower, []).append((recovery.name, amount))
    return found


def _levied(levy: Levy, paid: Paid) -> dict[str, Decimal]:
    """A levy on the consignments of its days, by grower, unrounded."""
    d = paid.deliveries
    within = (d.days >= levy.first.toordinal()) & (d.days <= levy.last.toordinal())
    if levy.per is Per.CANE:
        base = d.net
    elif levy.per is Per.VALUE:
        base = paid.value
    else:
        base = quality_tonnes(paid)
    sums = paid.by_grower((base * levy.rate).where(within, 0)).decimals()
    return {d.growers[g]: sums[g] for g in np.unique(d.grower).tolist()}


def quality_tonnes(paid: Paid) -> Exact:
    """Tonnes of what is paid on (CCS, RV, recoverable sugar, standard cane) in each consignment."""
    base = paid.deliveries.net * paid.relative
    for group in paid.groups:
        per = PER_TONNE[group.use.scheme.quality_unit]
        mask = np.zeros(len(paid.deliveries), dtype=bool)
        mask[group.places] = True
        base = (base / per).where(mask, base) if per > 1 else base
    return base


def _accounts(
    season: Season,
    advance: Decimal,
    values: Mapping[str, Decimal],
    corrections: Sequence[Correction],
    charges: Mapping[str, Sequence[tuple[str, Decimal]]],
    history: History,
) -> dict[str, Account]:
    nothing = Decimal(0)
    names = set(values) | set(history.value) | set(charges) | {c.grower for c in corrections} | set(history.carried)
    return {
        grower: Account(
            grower,
            values.get(grower, nothing),
            sum((c.amount for c in corrections if c.grower == grower), nothing),
            history.value.get(grower, nothing),
            advance,
            history.advanced.get(grower, nothing),
            tuple(charges.get(grower, ())),
            history.carried.get(grower, nothing),
            season.rounding,
        )
        for grower in sorted(names)
    }
