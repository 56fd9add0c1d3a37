"""Rounding as an agreement declares it, on decimals."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from enum import StrEnum

EXACT = Context(prec=60)
"""Wide enough that no product or quotient of a settlement is cut short, whatever the surrounding program uses."""


class Half(StrEnum):
    """What happens to a digit of exactly five: to the even neighbour, or away from zero."""

    EVEN = ROUND_HALF_EVEN
    UP = ROUND_HALF_UP


@dataclass(frozen=True)
class Rounding:
    """Decimals kept in CCS, in the price of a tonne and in money, and the rule for a half.

    ``price_places`` None carries every digit of the price, so that only money is rounded. Half to even is the rule of
    the SASTA Laboratory Manual, chapter 3 section 2 (read); commerce often rounds half up.
    """

    ccs_places: int = 6
    price_places: int | None = None
    money_places: int = 2
    half: Half = Half.EVEN


def rounded(value: Decimal, places: int, half: Half = Half.EVEN) -> Decimal:
    """A decimal to a number of places by the declared rule for a half."""
    return value.quantize(Decimal(1).scaleb(-places), rounding=half.value, context=EXACT)
