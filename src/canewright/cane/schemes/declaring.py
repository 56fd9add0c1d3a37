"""How a scheme of payment is declared: its constants with unit and source, what it reads, its steps in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from canewright.cane.exact import Exact
from canewright.quantity.formula import Argument

Readings = Mapping[str, Exact]
"""Columns of a scheme's readings by name, one value for each consignment."""
Terms = Mapping[str, Exact]
"""The constants of the agreement, one value each."""


class Kind(StrEnum):
    """What a scheme fixes: the price of a tonne, or a pool that is shared out to the last cent."""

    PRICE = "price"
    POOL = "pool"


@dataclass(frozen=True)
class Constant:
    """A number that the agreement must give: unit, meaning, limits, and what was published, with date and source."""

    name: str
    unit: str
    says: str
    low: Decimal
    high: Decimal
    published: str = ""

    def accepted(self) -> str:
        """What is accepted, for a message."""
        unit = "" if self.unit == "1" else f" in {self.unit}"
        return f'a decimal number in quotes from {self.low} to {self.high}{unit}, such as "{self.low}"'


@dataclass(frozen=True)
class Crosscheck:
    """A number that notices print beside the constants and that follows from them; where given it must agree."""

    name: str
    unit: str
    says: str
    follows: Callable[[Mapping[str, Decimal]], Decimal]

    def agrees(self, printed: Decimal, values: Mapping[str, Decimal]) -> bool:
        """Whether the printed number is what follows, to half of its last digit."""
        last = int(printed.as_tuple().exponent)
        return abs(printed - self.follows(values)) <= Decimal(5).scaleb(last - 1)


@dataclass(frozen=True)
class Scheme:
    """A published way of paying for cane, as pure functions of readings and constants.

    ``needs`` are the readings by name with unit and range; ``quality`` gives what is paid on, from readings as
    delivered; ``price`` the price of a tonne from that (PRICE) or the pay units of a tonne by which a pool is shared
    (POOL). A version is in force from ``since`` to ``until``; None where the source gives no date.
    """

    name: str
    version: int
    kind: Kind
    says: str
    source: str
    status: str
    quality_name: str
    quality_unit: str
    needs: Mapping[str, Argument]
    constants: tuple[Constant, ...]
    steps: tuple[str, ...]
    quality: Callable[[Readings, Terms], Exact]
    price: Callable[[Exact, Terms], Exact]
    since: dt.date | None = None
    until: dt.date | None = None
    caveat: str = ""
    crosschecks: tuple[Crosscheck, ...] = ()

    @property
    def title(self) -> str:
        """Name and version."""
        return f"{self.name}, version {self.version}"

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its constants."""
        return tuple(c.name for c in self.constants)

    def in_force(self, first: dt.date, last: dt.date) -> bool:
        """Whether the version is in force on every day from first to last."""
        return (self.since is None or first >= self.since) and (self.until is None or last <= self.until)


SCHEMES: dict[tuple[str, int], Scheme] = {}
"""Every declared scheme by name and version."""


def declare(scheme: Scheme) -> Scheme:
    """Put a scheme into the register. Raises ValueError when the name and version are taken."""
    key = (scheme.name, scheme.version)
    if key in SCHEMES:
        raise ValueError(f"scheme {scheme.title} is declared twice")
    SCHEMES[key] = scheme
    return scheme


def scheme_names() -> Sequence[str]:
    """The names of all schemes, in order."""
    return sorted({name for name, _ in SCHEMES})


def versions_of(name: str) -> Sequence[int]:
    """The versions of a scheme, oldest first."""
    return sorted(version for known, version in SCHEMES if known == name)
