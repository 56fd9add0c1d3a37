"""ICUMSA colour: from absorbance, back to absorbance, turbidity, removal and mixing.

Colours measured at different pH or after different filtration are different quantities and must not be mixed.
"""

from __future__ import annotations

from canewright.analysis.declaring import brix, percent, plain, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    COLOUR,
    COLOUR_PRESENT,
    COLOUR_REMOVED,
    MASS,
    MASS_PRESENT,
    SHARE,
    SOLUTION_PRESENT,
)
from canewright.properties.sucrose import sucrose_density
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

DEFINITION = "transcription of the ICUMSA colour method for white sugar, definitions, section 3 (420 nm)"
CELL_LENGTH = argument("cm", "cell length", 0.5, 20.0, symbol="b")


def _colour(says: str, low: float = COLOUR[0], high: float = COLOUR[1], symbol: str = "C") -> Argument:
    return argument("IU", says, low, high, symbol=symbol, kind="ICUMSA colour")


@formula(
    result=argument("kg/L", "dry substance per volume", *AMOUNT, symbol="c"),
    equation="c = B ρ(B, 20 °C) / 10⁵",
    source=DEFINITION,
    status="read",
    example=(50.0,),
    gives=0.614827,
    brix=brix("refractometer brix of the colour solution"),
)
def colour_concentration(brix: Num) -> Num:
    """Concentration of a colour solution, g/mL (the same as kg/L)."""
    return brix * sucrose_density(brix, 20.0) / 1e5


@formula(
    result=_colour("ICUMSA colour", *AMOUNT),
    equation="C = 1000 A / (b c)",
    source=DEFINITION,
    status="read",
    caveat="state pH and filter; bubbles, pore size and cell length matter",
    example=(0.120, 10.0, 50.0),
    gives=19.51769,
    absorbance=plain("absorbance at 420 nm", -0.1, 3.0, "A"),
    cell_length=CELL_LENGTH,
    brix=brix("refractometer brix of the colour solution", *SOLUTION_PRESENT),
)
def icumsa_colour(absorbance: Num, cell_length: Num, brix: Num) -> Num:
    """ICUMSA colour from absorbance, cell length and brix."""
    return 1000.0 * absorbance / (cell_length * colour_concentration(brix))


@formula(
    result=plain("absorbance expected at 420 nm", *AMOUNT, "A"),
    equation="A = C b c / 1000",
    source=DEFINITION,
    status="read",
    example=(19.51769, 10.0, 50.0),
    gives=0.120,
    colour=_colour("ICUMSA colour"),
    cell_length=CELL_LENGTH,
    brix=brix("refractometer brix of the colour solution"),
)
def absorbance_of_colour(colour: Num, cell_length: Num, brix: Num) -> Num:
    """Absorbance a photometer would show for a solution of this colour."""
    return colour * cell_length * colour_concentration(brix) / 1000.0


@formula(
    result=_colour("turbidity", *AMOUNT, "T"),
    equation="T = C unfiltered - C filtered",
    source="ICUMSA GS2/3-18 (2013), abstract",
    status="read",
    caveat="for sugars below 50 IU",
    example=(24.722, 19.518),
    gives=5.204,
    unfiltered=_colour("colour of the unfiltered solution"),
    filtered=_colour("colour of the filtered solution"),
)
def turbidity(unfiltered: Num, filtered: Num) -> Num:
    """Turbidity in ICUMSA units."""
    return unfiltered - filtered


@formula(
    result=percent("colour removed on solids", *SHARE),
    equation="removal = 100 (1 - C₂ s₂ / (C₁ s₁))",
    source="colour times solids is additive; common practice, no source",
    status="derived",
    caveat="colour times solids is conserved only approximately and at one pH",
    example=(1200.0, 540.0, 100.0, 100.0),
    gives=55.0,
    colour_in=_colour("colour in", *COLOUR_PRESENT),
    colour_out=_colour("colour out"),
    solids_in=tonnes("solids in", *MASS_PRESENT),
    solids_out=tonnes("solids out", *MASS),
)
def colour_removal(colour_in: Num, colour_out: Num, solids_in: Num, solids_out: Num) -> Num:
    """Share of colour removed by a station."""
    return 100.0 * (1.0 - colour_out * solids_out / (colour_in * solids_in))


@formula(
    result=_colour("colour after the station", *AMOUNT),
    equation="C₂ = C₁ (1 - removal/100)",
    source="definition of colour removal",
    status="derived",
    caveat="removals of stations in series multiply, they do not add; a negative removal is colour formed",
    example=(1200.0, 55.0),
    gives=540.0,
    colour=_colour("colour in"),
    removal=percent("colour removed", *COLOUR_REMOVED),
)
def colour_after_removal(colour: Num, removal: Num) -> Num:
    """Colour left after a removal."""
    return colour * (1.0 - removal / 100.0)


@formula(
    result=_colour("colour of the mixture", *AMOUNT),
    equation="C = (s₁ C₁ + s₂ C₂) / (s₁ + s₂)",
    source="colour times solids is additive",
    status="derived",
    caveat="same pH and method for both",
    example=(100.0, 800.0, 12.0, 2500.0),
    gives=982.142857,
    solids_one=tonnes("solids of the first", *MASS_PRESENT, "s₁"),
    colour_one=_colour("colour of the first"),
    solids_two=tonnes("solids of the second", *MASS, "s₂"),
    colour_two=_colour("colour of the second"),
)
def mixed_colour(solids_one: Num, colour_one: Num, solids_two: Num, colour_two: Num) -> Num:
    """Colour of two sugars or liquors mixed."""
    return (solids_one * colour_one + solids_two * colour_two) / (solids_one + solids_two)
