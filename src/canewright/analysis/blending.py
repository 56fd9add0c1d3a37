"""Blending: shares on solids and on mass, what a blend of three will be, and three materials for two wishes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from canewright.analysis.declaring import percent, plain, tonnes
from canewright.properties.ranges import AMOUNT, BRIX_PRESENT, COLOUR, MASS, MASS_PRESENT, PART
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

SOLIDS = "what is per solids adds by solids: purity, ash, colour (colour approximately)"


@formula(
    result=plain("share of the first by mass", *PART),
    equation="mass share = (x / B₁) / (x / B₁ + (1 - x) / B₂)",
    source="mass is solids over brix",
    status="derived",
    example=(0.333333333, 65.0, 80.0),
    gives=0.380952381,
    solids_share=plain("share of the first on solids", *PART, "x"),
    first_brix=percent("brix of the first", *BRIX_PRESENT, "B₁"),
    second_brix=percent("brix of the second", *BRIX_PRESENT, "B₂"),
)
def mass_share(solids_share: Num, first_brix: Num, second_brix: Num) -> Num:
    """Share by mass from the share on solids that a purity square gives."""
    first = solids_share * second_brix
    return first / (first + (1.0 - solids_share) * first_brix)


@formula(
    result=plain("value of the blend", *AMOUNT),
    equation="x = (s₁ x₁ + s₂ x₂ + s₃ x₃) / (s₁ + s₂ + s₃)",
    source=SOLIDS,
    status="derived",
    caveat="purity, colour or ash, all three by one kind and method",
    example=(50.0, 86.0, 20.0, 68.0, 10.0, 95.0),
    gives=82.625,
    solids_one=tonnes("solids of the first", *MASS_PRESENT, "s₁"),
    value_one=plain("its purity, colour or ash", *COLOUR, "x₁"),
    solids_two=tonnes("solids of the second", *MASS, "s₂"),
    value_two=plain("its purity, colour or ash", *COLOUR, "x₂"),
    solids_three=tonnes("solids of the third", *MASS, "s₃"),
    value_three=plain("its purity, colour or ash", *COLOUR, "x₃"),
)
def blend_of_three(
    solids_one: Num, value_one: Num, solids_two: Num, value_two: Num, solids_three: Num, value_three: Num
) -> Num:
    """Purity, colour or ash of three materials blended."""
    total = solids_one + solids_two + solids_three
    return (solids_one * value_one + solids_two * value_two + solids_three * value_three) / total


@formula(
    result=plain("share of the darker on solids", *PART),
    equation="share = (C - C₂) / (C₁ - C₂)",
    source=SOLIDS,
    status="derived",
    caveat="outside 0 to 1 the colour cannot be met by mixing",
    example=(2500.0, 500.0, 1000.0),
    gives=0.25,
    # the darker begins where the lighter ends, else the quotient has a pole
    dark_colour=argument("IU", "colour of the darker", 601.0, COLOUR[1], symbol="C₁", kind="ICUMSA colour"),
    light_colour=argument("IU", "colour of the lighter", 0.0, 600.0, symbol="C₂", kind="ICUMSA colour"),
    target=argument("IU", "colour wanted", *COLOUR, symbol="C", kind="ICUMSA colour"),
)
def blend_share_by_colour(dark_colour: Num, light_colour: Num, target: Num) -> Num:
    """Share of the darker of two sugars or liquors that gives a colour."""
    return (target - light_colour) / (dark_colour - light_colour)


class BlendImpossible(ValueError):
    """A blend that three materials cannot make."""


@dataclass(frozen=True)
class Material:
    """Something to blend: its name, purity in % and a second quality per solids, such as colour in IU."""

    name: str
    purity: float
    quality: float


def three_way_blend(materials: Sequence[Material], purity: float, quality: float) -> dict[str, float]:
    """Shares on solids of three materials that meet a purity and a second quality at once.

    Solves shares summing to one with both averages met. Raises BlendImpossible when there are not three, when they lie
    on one line, or when a share would be negative, naming the material that is in the way.
    """
    if len(materials) != 3:
        raise BlendImpossible(f"{len(materials)} materials: a blend for two wishes needs exactly three")
    first, second, third = materials
    area = _area(first, second, third)
    spread = max(abs(each.quality) for each in materials) * max(abs(each.purity) for each in materials)
    if abs(area) < 1e-12 * max(spread, 1.0):
        names = ", ".join(each.name for each in materials)
        raise BlendImpossible(f"{names} lie on one line of purity and quality; change one material or drop one wish")
    wanted = Material("wanted", purity, quality)
    shares = {
        first.name: _area(wanted, second, third) / area,
        second.name: _area(first, wanted, third) / area,
        third.name: _area(first, second, wanted) / area,
    }
    short = {name: share for name, share in shares.items() if share < -1e-9}
    if short:
        told = ", ".join(f"{name} {share:.3f}" for name, share in short.items())
        raise BlendImpossible(
            f"purity {purity:g} and {quality:g} lie outside the three materials: {told} would be negative; "
            "take a wish between them"
        )
    return shares


def _area(a: Material, b: Material, c: Material) -> float:
    return (b.purity - a.purity) * (c.quality - a.quality) - (c.purity - a.purity) * (b.quality - a.quality)
