"""Rounding as an agreement declares it, on decimals, and splitting a total so that its lines add up to the cent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
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


def split_total(total: Decimal, weights: Sequence[Decimal], places: int = 2) -> list[Decimal]:
    """Split a total over weights so that the parts add to it exactly: largest remainder, earlier part first on a tie.

    Raises ValueError for a negative total, a negative weight, weights that add to nothing, or a total with more places.
    """
    whole = sum(weights, Decimal(0))
    if total < 0 or whole <= 0 or any(w < 0 for w in weights) or rounded(total, places) != total:
        raise ValueError(
            f"cannot split {total} over weights {[str(w) for w in weights]}: total must not be negative or finer than "
            f"{places} decimals, weights not negative and not all zero"
        )
    unit = Decimal(1).scaleb(-places)
    shares = [EXACT.divide(EXACT.multiply(total, w), whole) for w in weights]
    parts = [share.quantize(unit, rounding=ROUND_FLOOR, context=EXACT) for share in shares]
    missing = int((total - sum(parts, Decimal(0))) / unit)
    order = sorted(range(len(parts)), key=lambda k: (parts[k] - shares[k], k))
    for place in order[:missing]:
        parts[place] += unit
    return parts
