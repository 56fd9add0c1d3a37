"""Weighed and measured determinations of the laboratory: dry substance, ash, insolubles, affined colour, filterability.

Sulphated ash fumes with hot sulphuric acid: fume cupboard and the site's rules.
"""

from __future__ import annotations

from canewright.analysis.declaring import TRUE_SOLIDS, brix, percent, plain
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_PRESENT,
    COLOUR,
    COLOUR_PRESENT,
    FIBRE_OF_SAMPLE,
    MINOR_CONTENT,
    SAMPLE,
    SHARE,
    SOLUTION_PRESENT,
    TRACE,
    WEIGHED,
)
from canewright.properties.sucrose import sucrose_density
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

DEFINITION = "definition; common practice, no source"


def _mass(says: str, low: float, high: float, symbol: str = "m") -> Argument:
    return argument("g", says, low, high, symbol=symbol)


def _colour(says: str, low: float = COLOUR[0], high: float = COLOUR[1]) -> Argument:
    return argument("IU", says, low, high, symbol="C", kind="ICUMSA colour")


@formula(
    result=percent("dry substance", *SHARE, "DS", TRUE_SOLIDS),
    equation="DS = 100 m₂ / m₁",
    source=DEFINITION,
    status="derived",
    caveat="on sand or paper, under vacuum for molasses; masses without dish and sand",
    example=(10.0, 7.951),
    gives=79.51,
    before=_mass("sample before drying", *SAMPLE, symbol="m₁"),
    after=_mass("sample after drying", *WEIGHED, "m₂"),
)
def dry_substance_by_drying(before: Num, after: Num) -> Num:
    """True dry substance of a liquor by drying."""
    return 100.0 * after / before


@formula(
    result=percent("dry substance", *SHARE, "DS", TRUE_SOLIDS),
    equation="DS = 100 - W",
    source=DEFINITION,
    status="derived",
    example=(20.5,),
    gives=79.5,
    water=percent("water by Karl Fischer titration", *SHARE, "W"),
)
def dry_substance_by_water(water: Num) -> Num:
    """True dry substance of a liquor from its water."""
    return 100.0 - water


@formula(
    result=percent("sulphated ash", *SHARE, "A"),
    equation="A = 100 m₂ / m₁",
    source=DEFINITION,
    status="derived",
    caveat="sulphates weigh more than the carbonates of plain ash; not the conductivity ash of every product",
    example=(5.0, 0.6),
    gives=12.0,
    sample=_mass("sample", *SAMPLE, "m₁"),
    residue=_mass("residue after double sulphation", *WEIGHED, "m₂"),
)
def sulphated_ash(sample: Num, residue: Num) -> Num:
    """Ash of molasses or sugar by sulphation."""
    return 100.0 * residue / sample


@formula(
    result=argument("mg/kg", "insoluble matter", *AMOUNT),
    equation="insolubles = 1000 m₂ / m₁, m₂ in mg, m₁ in g",
    source="ICUMSA GS2/3-19, membrane filter; definition",
    status="derived",
    example=(500.0, 12.5),
    gives=25.0,
    sample=_mass("sugar dissolved", *SAMPLE, "m₁"),
    residue=argument("mg", "dry residue on the filter", *TRACE, symbol="m₂"),
)
def insoluble_matter(sample: Num, residue: Num) -> Num:
    """Insoluble matter of sugar."""
    return 1000.0 * residue / sample


@formula(
    result=argument("mg/kg", "content on solids", *AMOUNT),
    equation="content on solids = c / (B ρ(B, 20 °C) / 10⁵), c in mg/L, ρ in kg/m³",
    source="definition; density as for colour",
    status="derived",
    caveat="starch, dextran, phosphate and the like read from the laboratory's own calibration line in mg/L",
    example=(30.0, 15.0),
    gives=188.828467,
    content=argument("mg/L", "content of the solution measured", *TRACE, symbol="c"),
    brix=brix("refractometer brix of the solution", *SOLUTION_PRESENT),
)
def content_on_solids(content: Num, brix: Num) -> Num:
    """Content per solids from the content per volume of a solution: starch, dextran, phosphate, sulphite."""
    return content / (brix * sucrose_density(brix, 20.0) / 1e5)


@formula(
    result=percent("content % brix", *SHARE),
    equation="content % brix = 100 x / B",
    source=DEFINITION,
    status="derived",
    example=(0.55, 15.3),
    gives=3.59477124,
    content=percent("ash, reducing sugars or the like", *MINOR_CONTENT, "x"),
    brix=brix("brix of the same sample", *BRIX_PRESENT),
)
def content_on_brix(content: Num, brix: Num) -> Num:
    """Ash, reducing sugars or another content per 100 of brix."""
    return 100.0 * content / brix


@formula(
    result=plain("reducing sugars per ash", *AMOUNT),
    equation="ratio = RS / A",
    source=DEFINITION,
    status="derived",
    caveat="a target purity asks for its own kinds: fructose and glucose by chromatography on sulphated ash, or RS by "
    "titration on its ash; never mix them",
    example=(9.4, 10.0),
    gives=0.94,
    reducing_sugars=percent("reducing sugars", *MINOR_CONTENT, "RS"),
    ash=percent("ash", 0.1, 30.0, "A"),
)
def reducing_sugars_to_ash(reducing_sugars: Num, ash: Num) -> Num:
    """Reducing sugars per ash of molasses, for target purities."""
    return reducing_sugars / ash


@formula(
    result=plain("whole colour per affined colour", *AMOUNT),
    equation="ratio = C whole / C affined",
    source="affination test: colour of the sugar over that of its washed crystal; from memory",
    status="from memory",
    caveat="washing in the laboratory with saturated pure syrup, both colours by one method and pH",
    example=(1800.0, 600.0),
    gives=3.0,
    whole=_colour("colour of the raw sugar"),
    affined=_colour("colour of the affined sugar", *COLOUR_PRESENT),
)
def affined_colour_ratio(whole: Num, affined: Num) -> Num:
    """How much darker a raw sugar is than its crystal: high where the colour washes off."""
    return whole / affined


@formula(
    result=percent("colour in the film", *SHARE),
    equation="film = 100 (1 - C affined s / C whole)",
    source="colour times solids is additive",
    status="derived",
    caveat="takes the affined crystal for all of the crystal",
    example=(1800.0, 600.0, 0.97),
    gives=67.6666667,
    whole=_colour("colour of the raw sugar", *COLOUR_PRESENT),
    affined=_colour("colour of the affined sugar"),
    crystal_share=plain("crystal solids per solids of the raw sugar", 0.5, 1.0, "s"),
)
def colour_in_film(whole: Num, affined: Num, crystal_share: Num) -> Num:
    """Share of the colour of a raw sugar that lies in its film and leaves in affination."""
    return 100.0 * (1.0 - affined * crystal_share / whole)


@formula(
    result=percent("filterability", *SHARE),
    equation="filterability = 100 V / V₀",
    source="filterability test: filtrate of the sugar over that of pure sucrose, all else the same",
    status="from memory",
    caveat="only within one method: brix, temperature, pressure and filter aid are part of the figure",
    example=(62.0, 110.0),
    gives=56.3636364,
    volume=argument("mL", "filtrate of the sugar", 0.0, 5000.0, symbol="V"),
    pure_volume=argument("mL", "filtrate of pure sucrose", 1.0, 5000.0, symbol="V₀"),
)
def filterability(volume: Num, pure_volume: Num) -> Num:
    """Filterability of a raw sugar."""
    return 100.0 * volume / pure_volume


@formula(
    result=percent("fibre", *SHARE, "F"),
    equation="F = 100 m₂ / m₁",
    source="definition: washed free of brix and dried to constant mass",
    status="derived",
    caveat="soil that stays in the bag counts as fibre",
    example=(250.0, 35.5),
    gives=14.2,
    sample=_mass("prepared cane or bagasse taken", *SAMPLE, "m₁"),
    residue=_mass("dry residue in the bag", *WEIGHED, "m₂"),
)
def fibre_by_washing(sample: Num, residue: Num) -> Num:
    """Fibre of cane or bagasse by washing and drying."""
    return 100.0 * residue / sample


@formula(
    result=percent("fibre without soil", *SHARE),
    equation="true fibre = F - (a - a₀ F / 100)",
    source="ash of the dry residue above that of clean fibre is soil",
    status="derived",
    caveat="ash of clean cane fibre about 1 to 2 % (from memory)",
    example=(15.4, 1.2, 1.5),
    gives=14.431,
    fibre=percent("fibre as weighed", *FIBRE_OF_SAMPLE, "F"),
    ash=percent("ash of the residue, % on sample", 0.0, 20.0, "a"),
    clean_ash=percent("ash of clean fibre", 0.0, 5.0, "a₀"),
)
def fibre_without_soil(fibre: Num, ash: Num, clean_ash: Num) -> Num:
    """Fibre less the soil weighed with it."""
    return fibre - ash + clean_ash * fibre / 100.0
