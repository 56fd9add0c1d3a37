"""Refinery control beyond yield: remelt, pan yield, losses on melt, and colour carried and taken into crystal."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    COLOUR,
    COLOUR_PRESENT,
    COLOUR_REMOVED,
    DOSE,
    GAIN,
    MASS,
    MASS_PRESENT,
    PART,
    SATURATING_DOSE,
    SHARE,
    SIGNED,
    WASH_RATIO,
)
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num, exp, log

DEFINITION = "definition; common practice, no source"
ADDITIVE = "colour times solids is additive"


def _colour(says: str, low: float, high: float, symbol: str = "C") -> Argument:
    return argument("IU", says, low, high, symbol=symbol, kind="ICUMSA colour")


@formula(
    result=percent("remelt % production", *AMOUNT),
    equation="remelt % = 100 · remelt / production",
    source=DEFINITION,
    status="derived",
    caveat="on solids; 2 to 8 is usual (from memory)",
    example=(42.0, 950.0),
    gives=4.42105263,
    remelt=tonnes("sugar melted again", *MASS),
    production=tonnes("refined sugar made", *MASS_PRESENT),
)
def remelt_on_production(remelt: Num, production: Num) -> Num:
    """Sugar melted again per 100 of sugar made."""
    return 100.0 * remelt / production


@formula(
    result=tonnes("raw melt", *AMOUNT),
    equation="raw melt = total melt - remelt",
    source=DEFINITION,
    status="derived",
    example=(1042.0, 42.0),
    gives=1000.0,
    total_melt=tonnes("all solids melted", *MASS),
    remelt=tonnes("remelt", *MASS),
)
def raw_melt(total_melt: Num, remelt: Num) -> Num:
    """Raw sugar melted, remelt left out."""
    return total_melt - remelt


@formula(
    result=percent("yield on pol", *SHARE),
    equation="yield = 100 · (pol in refined + Δ stock) / pol in raw melt",
    source=DEFINITION,
    status="derived",
    caveat="with this basis a refinery yields less than 100 by its losses and its molasses",
    example=(949.0, 5.0, 985.0),
    gives=96.8527919,
    refined_pol=tonnes("pol in refined sugar", *MASS),
    stock_gain=tonnes("gain of pol in process", *GAIN),
    melt_pol=tonnes("pol in raw melt", *MASS_PRESENT),
)
def refinery_yield_on_pol(refined_pol: Num, stock_gain: Num, melt_pol: Num) -> Num:
    """Refinery yield on pol."""
    return 100.0 * (refined_pol + stock_gain) / melt_pol


@formula(
    result=percent("pan yield", *SHARE),
    equation="pan yield = 100 · sugar solids / massecuite solids",
    source=DEFINITION,
    status="derived",
    example=(26.0, 50.0),
    gives=52.0,
    sugar_solids=tonnes("solids of the sugar", *MASS),
    massecuite_solids=tonnes("solids of the massecuite", *MASS_PRESENT),
)
def pan_yield(sugar_solids: Num, massecuite_solids: Num) -> Num:
    """Sugar per massecuite on solids."""
    return 100.0 * sugar_solids / massecuite_solids


@formula(
    result=percent("undetermined loss % melt", *SIGNED),
    equation="undetermined = 100 · (pol in - refined - molasses - other known - Δ stock) / pol in",
    source="refinery pol balance",
    status="derived",
    caveat="carries every error of weighing, sampling and stock; 0.3 to 1.0 is usual (from memory)",
    example=(985.0, 949.0, 25.0, 2.0, 5.0),
    gives=0.406091371,
    melt_pol=tonnes("pol in raw melt", *MASS_PRESENT),
    refined_pol=tonnes("pol in refined sugar", *MASS),
    molasses_pol=tonnes("pol in refinery molasses", *MASS),
    known_pol=tonnes("pol in cake, sweet water and other known losses", *MASS),
    stock_gain=tonnes("gain of pol in process", *GAIN),
)
def undetermined_on_melt(melt_pol: Num, refined_pol: Num, molasses_pol: Num, known_pol: Num, stock_gain: Num) -> Num:
    """Pol of the melt for which no stream accounts."""
    return 100.0 * (melt_pol - refined_pol - molasses_pol - known_pol - stock_gain) / melt_pol


@formula(
    result=percent("colour not accounted for", *SIGNED),
    equation="100 · (C₁ s₁ - C₂ s₂ - C₃ s₃) / (C₁ s₁)",
    source=ADDITIVE,
    status="derived",
    caveat="negative where colour formed; additivity holds only approximately and at one pH",
    example=(100.0, 210.0, 50.0, 21.0, 50.0, 399.0),
    gives=0.0,
    solids_in=tonnes("solids in", *MASS_PRESENT, "s₁"),
    colour_in=_colour("colour in", *COLOUR_PRESENT, "C₁"),
    solids_one=tonnes("solids of the first product", *MASS, "s₂"),
    colour_one=_colour("its colour", *COLOUR, "C₂"),
    solids_two=tonnes("solids of the second product", *MASS, "s₃"),
    colour_two=_colour("its colour", *COLOUR, "C₃"),
)
def colour_unaccounted(
    solids_in: Num, colour_in: Num, solids_one: Num, colour_one: Num, solids_two: Num, colour_two: Num
) -> Num:
    """Colour balance of a station with two products, such as sugar and run-off."""
    entered = solids_in * colour_in
    return 100.0 * (entered - solids_one * colour_one - solids_two * colour_two) / entered


@formula(
    result=percent("colour removed by both", *SHARE),
    equation="removal = 100 [1 - (1 - r₁/100)(1 - r₂/100)]",
    source="definition of colour removal",
    status="derived",
    caveat="removals multiply, they do not add",
    example=(55.0, 45.0),
    gives=75.25,
    first=percent("colour removed by the first", *COLOUR_REMOVED, "r₁"),
    second=percent("colour removed by the second", *COLOUR_REMOVED, "r₂"),
)
def removal_in_series(first: Num, second: Num) -> Num:
    """Colour removed by two stations one after the other."""
    return 100.0 * (1.0 - (1.0 - first / 100.0) * (1.0 - second / 100.0))


@formula(
    result=_colour("mean colour of the crystal", *AMOUNT),
    equation="C_c = C₀ [1 - (1 - y)^p] / y",
    source="colour taken in by the growing crystal in constant proportion to the mother liquor, summed over the strike",
    status="derived",
    caveat="the crystal without its film; fit p from washed sugar",
    example=(1000.0, 0.55, 0.03),
    gives=43.0374215,
    feed_colour=_colour("colour of the feed liquor on solids", *COLOUR, "C₀"),
    crystal_yield=plain("crystal per solids at drop", 0.2, 0.7, "y"),
    inclusion=plain("colour of fresh crystal per colour of mother liquor", 0.001, 1.0, "p"),
)
def crystal_colour(feed_colour: Num, crystal_yield: Num, inclusion: Num) -> Num:
    """Colour inside the crystal of a strike."""
    return feed_colour * (1.0 - exp(inclusion * log(1.0 - crystal_yield))) / crystal_yield


@formula(
    result=plain("phosphate colour removal, share", *PART),
    equation="removal = r (1 - exp(-d/d*))",
    source="form chosen here for jar tests; r and d* from the plant's own jars",
    status="own fit",
    caveat="r 0.35 to 0.45 and d* about 180 mg/kg (from memory)",
    example=(300.0, 0.40, 180.0),
    gives=0.324449759,
    dose=argument("mg/kg", "phosphorus pentoxide on solids", *DOSE, symbol="d"),
    most=plain("removal at a large dose", *PART, "r"),
    scale=argument("mg/kg", "dose that gives 63 % of it", *SATURATING_DOSE, symbol="d*"),
)
def removal_by_dose(dose: Num, most: Num, scale: Num) -> Num:
    """Colour removed against the dose of a precipitant."""
    return most * (1.0 - exp(-dose / scale))


@formula(
    result=plain("share of the liquor lost", *PART),
    equation="loss = (w - 1) / (w^(n+1) - 1) = 1 / (1 + w + ... + wⁿ), n = 3",
    source="ideal mixing in three stages against the stream",
    status="derived",
    caveat="liquor carried by the scum into the stages",
    example=(2.0,),
    gives=0.0666666667,
    wash_ratio=plain("water per liquor carried by the scum", *WASH_RATIO, "w"),
)
def scum_loss_three_stages(wash_ratio: Num) -> Num:
    """Liquor lost with scum desweetened in three counter-current stages."""
    return 1.0 / (1.0 + wash_ratio * (1.0 + wash_ratio * (1.0 + wash_ratio)))
