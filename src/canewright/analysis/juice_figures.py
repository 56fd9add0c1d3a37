"""Mixed juice and clarification figures: shares of cane, dilution, absolute juice won, purity rise and removal."""

from __future__ import annotations

from canewright.analysis.declaring import percent, purity, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_RAW_JUICE,
    FIBRE_OF_SAMPLE,
    GAIN,
    MASS,
    MASS_PRESENT,
    PURITY_OF_JUICE,
    SHARE,
    SIGNED,
)
from canewright.quantity.formula import formula
from canewright.quantity.maths import Num

DEFINITION = "definition; common practice, no source"


@formula(
    result=percent("share of cane", *AMOUNT),
    equation="% cane = 100 · stream / cane",
    source=DEFINITION,
    status="derived",
    caveat="imbibition, mixed juice, bagasse, cake, sugar and molasses alike",
    example=(9852.631579, 10000.0),
    gives=98.5263158,
    stream=tonnes("stream", *MASS),
    cane=tonnes("cane", *MASS_PRESENT),
)
def on_cane(stream: Num, cane: Num) -> Num:
    """Any stream per 100 of cane."""
    return 100.0 * stream / cane


@formula(
    result=percent("dilution % imbibition", *SHARE),
    equation="dilution % imbibition = 100 · dilution water / imbibition",
    source=DEFINITION,
    status="derived",
    caveat="says how much of the imbibition came out in juice; keep the basis of the undiluted juice with it",
    example=(1653.6975, 2800.0),
    gives=59.060625,
    dilution=tonnes("dilution water in mixed juice", *GAIN),
    imbibition=tonnes("imbibition water", *MASS_PRESENT),
)
def dilution_on_imbibition(dilution: Num, imbibition: Num) -> Num:
    """Dilution water per 100 of imbibition."""
    return 100.0 * dilution / imbibition


@formula(
    result=percent("absolute juice in mixed juice % cane", *SHARE),
    equation="recovered = 100 · [100 · (brix in mixed juice) / Baj] / cane",
    source="ISSCT, System of Cane Sugar Factory Control, 3rd ed. 1971",
    status="from memory",
    caveat="no brix-free water in absolute juice",
    example=(1506.315789, 18.372093, 10000.0),
    gives=81.9893405,
    brix=tonnes("brix in mixed juice", *MASS),
    absolute_juice_brix=percent("brix of absolute juice", *BRIX_OF_RAW_JUICE, "Baj"),
    cane=tonnes("cane", *MASS_PRESENT),
)
def absolute_juice_recovered(brix: Num, absolute_juice_brix: Num, cane: Num) -> Num:
    """Absolute juice won in mixed juice per 100 of cane."""
    return 1e4 * brix / absolute_juice_brix / cane


@formula(
    result=percent("purity rise", *SIGNED),
    equation="rise = purity of clear juice - purity of mixed juice",
    source=DEFINITION,
    status="derived",
    caveat="apparent purities of both; filtrate returned before the scale hides part of the rise",
    example=(86.1, 86.9),
    gives=0.8,
    before=purity("purity of mixed juice", *PURITY_OF_JUICE),
    after=purity("purity of clear juice", *PURITY_OF_JUICE),
)
def purity_rise(before: Num, after: Num) -> Num:
    """Purity rise in clarification."""
    return after - before


@formula(
    result=percent("non-sucrose removed", *SHARE),
    equation="removed = 100 [1 - (100 - Q₂) Q₁ / ((100 - Q₁) Q₂)]",
    source="purity balance with no sucrose lost",
    status="derived",
    caveat="lime salts added count as non-sucrose; inversion shows as a negative removal",
    example=(86.1, 86.9),
    gives=6.62300999,
    before=purity("purity before", *PURITY_OF_JUICE, "Q₁", ""),
    after=purity("purity after", 50.0, 100.0, "Q₂", ""),
)
def non_sucrose_removed(before: Num, after: Num) -> Num:
    """Non-sucrose removed by clarification or another station, from the purities alone."""
    return 100.0 * (1.0 - (100.0 - after) * before / ((100.0 - before) * after))


@formula(
    result=percent("extraction of a mill on the pol entering it", *SHARE),
    equation="extraction = 100 [1 - Pb₂ F₁ / (Pb₁ F₂)]",
    source="fibre balance of one mill",
    status="derived",
    caveat="for the first mill take cane as what enters",
    example=(13.5, 14.0, 7.6, 32.0),
    gives=75.3703704,
    # cane to the first mill, bagasse between mills
    pol_in=percent("pol of what enters", 0.5, 25.0, "Pb₁"),
    fibre_in=percent("fibre of what enters", *FIBRE_OF_SAMPLE, "F₁"),
    pol_out=percent("pol of its bagasse", 0.0, 20.0, "Pb₂"),
    fibre_out=percent("fibre of its bagasse", 15.0, 65.0, "F₂"),
)
def mill_extraction(pol_in: Num, fibre_in: Num, pol_out: Num, fibre_out: Num) -> Num:
    """Extraction of one mill of a train on the pol that enters it."""
    return 100.0 * (1.0 - pol_out * fibre_in / (pol_in * fibre_out))
