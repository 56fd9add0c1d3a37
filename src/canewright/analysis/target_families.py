"""Target purities of final molasses by family: differences of two families are never compared or trended together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from canewright.analysis.exhaustion import (
    expected_purity_australian,
    target_purity_difference,
    target_purity_older_south_african,
    target_purity_rein,
    target_purity_south_african,
)
from canewright.quantity.formula import Formula

FAMILIES: dict[str, tuple[Formula, ...]] = {
    "fructose and glucose on sulphated ash": (target_purity_south_african, target_purity_rein),
    "reducing sugars on ash, Australian": (expected_purity_australian,),
    "reducing sugars on sulphated ash, older South African": (target_purity_older_south_african,),
}
"""Published target formulas by the kinds of analysis they ask for; the first of the first is the default."""

DEFAULT = target_purity_south_african
"""The target used where a plant names none."""


class FamiliesMixed(ValueError):
    """Target purity differences of several families, or a formula of none."""


@dataclass(frozen=True)
class TargetDifference:
    """How far molasses stands above a target, with the formula and the family of the target."""

    value: float
    formula: str
    family: str


def family_of(formula: str) -> str:
    """The family of a target formula. Raises FamiliesMixed naming the known formulas for any other."""
    for family, members in FAMILIES.items():
        if any(each.name == formula for each in members):
            return family
    known = ", ".join(each.name for members in FAMILIES.values() for each in members)
    raise FamiliesMixed(f"'{formula}' is no target purity formula; known are {known}")


def difference(true_purity: float, ratio: float, formula: str = DEFAULT.name) -> TargetDifference:
    """The target purity difference by a formula, from true purity in % and its own ratio of sugars to ash.

    Raises FamiliesMixed for an unknown formula and OutOfRange for a purity or ratio outside its range.
    """
    family = family_of(formula)
    chosen = next(each for each in FAMILIES[family] if each.name == formula)
    return TargetDifference(float(target_purity_difference(true_purity, chosen(ratio))), formula, family)


def one_family(differences: Sequence[TargetDifference]) -> list[float]:
    """The values of differences that may stand in one trend or mean.

    Raises FamiliesMixed when they come of more than one family: the families stand about 6.5 units apart.
    """
    families = sorted({each.family for each in differences})
    if len(families) > 1:
        raise FamiliesMixed(
            f"target purity differences of {len(families)} families ({'; '.join(families)}) cannot be trended "
            "together; work all of them by one formula"
        )
    return [each.value for each in differences]
