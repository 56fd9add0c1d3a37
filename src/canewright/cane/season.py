"""A season's agreement as plain objects: schemes in use and who is under which, pay periods, levies, bonuses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from canewright.cane.rounding import Half
from canewright.cane.schemes import READABLE, Scheme

WEEK = 7


class Relative(StrEnum):
    """How the timing in the season is taken out of a grower's quality."""

    NONE = "none"
    ADDITIVE = "additive"
    MULTIPLICATIVE = "multiplicative"


class Per(StrEnum):
    """What a levy is charged on."""

    CANE = "t of cane"
    QUALITY = "t of quality"
    VALUE = "$ of value"


@dataclass(frozen=True)
class PayRounding:
    """Decimals kept of quality, relative quality, price and money, and the rule for a half.

    ``price`` None carries every digit of the price, so that only money is rounded. Parts of a total are settled by the
    largest remainder.
    """

    quality: int = 4
    relative: int = 6
    price: int | None = None
    money: int = 2
    half: Half = Half.EVEN

    def says(self) -> str:
        """The rule in words."""
        price = "not rounded" if self.price is None else f"{self.price} decimals"
        half = "half to the even digit" if self.half is Half.EVEN else "half away from zero"
        return (
            f"quality {self.quality} decimals, relative quality {self.relative}, price {price}, money {self.money}; "
            f"{half}; shares of a pool by largest remainder"
        )


@dataclass(frozen=True)
class DatedTerms:
    """Constants in force from a day until the next row, with the mean that the season is expected to have by then."""

    first: dt.date
    values: Mapping[str, Decimal]
    season_mean: Decimal | None = None


@dataclass(frozen=True)
class SchemeInUse:
    """A scheme with this season's terms. ``final`` holds the constants of the final settlement once they are known.

    ``blend`` is the weight of the consignment's own quality, the rest that of the week's mean (1 where a scheme is
    fully phased in). Relative payment holds from ``relative_first`` to ``relative_last``; cane outside is left out of
    the means and paid on its own quality.
    """

    key: str
    scheme: Scheme
    relative: Relative
    season_mean: Decimal | None
    relative_first: dt.date
    relative_last: dt.date
    blend: Decimal
    least_price: Decimal
    terms: tuple[DatedTerms, ...]
    final: Mapping[str, Decimal] | None = None

    def in_force(self, day: dt.date) -> int | None:
        """The row of terms that holds on a day; None before the first."""
        held = [i for i, row in enumerate(self.terms) if row.first <= day]
        return held[-1] if held else None

    def expected_mean(self, row: DatedTerms) -> Decimal | None:
        """The mean the season is expected to have while a row of terms is in force: its own, else the scheme's."""
        return self.season_mean if row.season_mean is None else row.season_mean

    def holding(self, first: dt.date, last: dt.date) -> dict[str, str]:
        """What the scheme holds for these days, in words by what it is."""
        what = f"scheme '{self.key}'"
        found = {
            what: self.scheme.title,
            f"relative payment of {what}": f"{self.relative}, from {self.relative_first} to {self.relative_last}, "
            f"blend {self.blend}",
            f"least price of {what}": str(self.least_price),
        }
        for row, following in zip(self.terms, [*self.terms[1:], None], strict=True):
            if row.first <= last and (following is None or following.first > first):
                since = max(row.first, first)
                found |= {f"{name} of {what} from {since}": str(value) for name, value in row.values.items()}
                if self.relative is not Relative.NONE:
                    found[f"expected season mean of {what} from {since}"] = str(self.expected_mean(row))
        return found


@dataclass(frozen=True)
class GrowersAgreement:
    """Who is paid by which scheme, and when. ``growers`` None is everybody who has no agreement by name."""

    growers: frozenset[str] | None
    scheme: str
    first: dt.date
    last: dt.date


@dataclass(frozen=True)
class Period:
    """A pay period, both days included; ``advance`` is the part of all value to date that is paid after it."""

    number: int
    first: dt.date
    last: dt.date
    advance: Decimal


@dataclass(frozen=True)
class Levy:
    """A charge on every grower: rate in $ per tonne of cane, per tonne of what is paid on, or per $ of value."""

    name: str
    rate: Decimal
    per: Per
    first: dt.date
    last: dt.date

    def __str__(self) -> str:
        """The levy in words."""
        return f"{self.name}, {self.rate} $ per {self.per.removeprefix('$ of ')}, {self.first} to {self.last}"


@dataclass(frozen=True)
class Adjustment:
    """A bonus or penalty in $/t of cane: flat, or for each unit of a reading above ``free``, at most ``most``."""

    name: str
    sign: int
    rate: Decimal
    first: dt.date
    last: dt.date
    reading: str | None = None
    free: Decimal = Decimal(0)
    most: Decimal | None = None

    def __str__(self) -> str:
        """The rule in words."""
        kind = "bonus" if self.sign > 0 else "penalty"
        on = f" for each {READABLE[self.reading].unit} of {self.reading} above {self.free}" if self.reading else ""
        most = "" if self.most is None else f", at most {self.most} $/t"
        return f"{self.name}, {kind} of {self.rate} $/t{on}{most}, {self.first} to {self.last}"


@dataclass(frozen=True)
class Recovery:
    """Money that a grower owes (a loan, harvesting, haulage), taken back with the payment of one period."""

    name: str
    grower: str
    amount: Decimal
    period: int

    def __str__(self) -> str:
        """The recovery in words."""
        return f"{self.name}, {self.amount} $ from {self.grower}"


@dataclass(frozen=True)
class MillBalance:
    """Tonnes found by the mill balance of these days, over which direct analysis is shared pro rata."""

    first: dt.date
    last: dt.date
    tonnes: Mapping[str, Decimal]

    def __str__(self) -> str:
        """The balance in words."""
        return ", ".join(f"{name} {t} t" for name, t in self.tonnes.items()) + f", {self.first} to {self.last}"


@dataclass(frozen=True)
class MillTerms:
    """What the mill makes and sells at, to tell what it is exposed to: sugar made % recoverable, net price in $/t."""

    recovery: Decimal
    sugar_price: Decimal


def _meeting(rules: Sequence[Any], first: dt.date, last: dt.date) -> list[Any]:
    """The rules that hold on some of these days."""
    return [r for r in rules if r.first <= last and r.last >= first]


@dataclass(frozen=True)
class Season:
    """The agreement of one season, as read from ``text``."""

    name: str
    first: dt.date
    last: dt.date
    currency: str
    rounding: PayRounding
    least_correction: Decimal
    schemes: Mapping[str, SchemeInUse]
    agreements: tuple[GrowersAgreement, ...]
    periods: tuple[Period, ...]
    levies: tuple[Levy, ...] = ()
    adjustments: tuple[Adjustment, ...] = ()
    recoveries: tuple[Recovery, ...] = ()
    balances: tuple[MillBalance, ...] = ()
    mill: MillTerms | None = None
    text: str = field(default="", repr=False)

    def scheme_for(self, grower: str, day: dt.date) -> SchemeInUse | None:
        """The scheme a grower is paid by on a day: by name before everybody; None in a gap."""
        held = [a for a in self.agreements if a.first <= day <= a.last and (a.growers is None or grower in a.growers)]
        named = [a for a in held if a.growers is not None] or held
        return self.schemes[named[0].scheme] if named else None

    def holding(self, period: Period) -> dict[str, str]:
        """All that decides what the deliveries of a period are worth, in words by what it is.

        Two agreements that hold the same for a period pay it the same.
        """
        first, last = period.first, period.last
        found = {
            "season": f"{self.name}, {self.first} to {self.last}, {self.currency}",
            f"period {period.number}": f"{first} to {last}, advance {period.advance}",
        }
        found["rounding"] = self.rounding.says()
        for number, a in enumerate(_meeting(self.agreements, first, last), start=1):
            who = "all" if a.growers is None else ", ".join(sorted(a.growers))
            found[f"agreement {number}"] = f"{who} by {a.scheme}, {max(a.first, first)} to {min(a.last, last)}"
        for key in dict.fromkeys(a.scheme for a in _meeting(self.agreements, first, last)):
            found |= self.schemes[key].holding(first, last)
        dated: dict[str, Sequence[Any]] = {
            "levy": self.levies,
            "bonus or penalty": self.adjustments,
            "mill balance": self.balances,
        }
        for name, rules in dated.items():
            for number, rule in enumerate(_meeting(rules, first, last), start=1):
                found[f"{name} {number}"] = str(rule)
        taken = [r for r in self.recoveries if r.period == period.number]
        found |= {f"recovery {number}": str(rule) for number, rule in enumerate(taken, start=1)}
        return found

    def final_known(self) -> bool:
        """Whether the constants of the final settlement are given for every scheme."""
        return all(s.final is not None for s in self.schemes.values())
