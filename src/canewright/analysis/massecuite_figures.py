"""Pan and centrifugal figures: crystal by brix, purity drop and rise, crystal lost in spinning, seed count."""

from __future__ import annotations

import math

from canewright.analysis.declaring import brix, percent, plain, purity, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_MASSECUITE,
    BRIX_OF_MOTHER_LIQUOR,
    CRYSTAL_OF_MASSECUITE,
    CRYSTAL_SIZE,
    MASS_PRESENT,
    POL_OF_SUGAR,
    PURITY_OF_MASSECUITE,
    PURITY_OF_MOTHER_LIQUOR,
    PURITY_OF_SUGAR,
    SHARE,
    SIGNED,
    VOLUME,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

BASKET = argument("m", "inner diameter of the basket", 0.2, 2.5, symbol="D")
BALANCE = "solids and sugar balance of the massecuite"


@formula(
    result=percent("crystal % massecuite", *SHARE),
    equation="crystal % massecuite = 100 (B - Bm) / (100 - Bm)",
    source=BALANCE,
    status="derived",
    caveat="both brixes by one method; the brix of massecuite is read on a dissolved sample. Less sure than by "
    "purities when the two brixes are close",
    example=(92.0, 84.4),
    gives=48.7179487,
    massecuite_brix=brix("brix of massecuite", *BRIX_OF_MASSECUITE),
    liquor_brix=brix("brix of mother liquor", *BRIX_OF_MOTHER_LIQUOR),
)
def crystal_content_by_brix(massecuite_brix: Num, liquor_brix: Num) -> Num:
    """Crystal content of massecuite from its brix and that of its mother liquor."""
    return 100.0 * (massecuite_brix - liquor_brix) / (100.0 - liquor_brix)


@formula(
    result=percent("brix of mother liquor", *SHARE, "Bm", "refractometer"),
    equation="Bm = 100 (B - X) / (100 - X)",
    source=BALANCE,
    status="derived",
    example=(92.0, 48.875),
    gives=84.3520782,
    massecuite_brix=brix("brix of massecuite", *BRIX_OF_MASSECUITE),
    crystal=percent("crystal % massecuite", *CRYSTAL_OF_MASSECUITE, "X"),
)
def mother_liquor_brix(massecuite_brix: Num, crystal: Num) -> Num:
    """Brix of the mother liquor of a massecuite of known crystal content."""
    return 100.0 * (massecuite_brix - crystal) / (100.0 - crystal)


@formula(
    result=percent("purity drop", *SIGNED),
    equation="drop = P massecuite - P molasses",
    source="definition; common practice, no source",
    status="derived",
    caveat="one kind of purity; name whether the liquor is of the pan, of the crystallizer or of the centrifugal",
    example=(62.0, 36.0),
    gives=26.0,
    massecuite_purity=purity("purity of massecuite", *PURITY_OF_MASSECUITE, "P", ""),
    liquor_purity=purity("purity of mother liquor or molasses", *PURITY_OF_MOTHER_LIQUOR, "Pm", ""),
)
def purity_drop(massecuite_purity: Num, liquor_purity: Num) -> Num:
    """Purity drop from massecuite to its run-off."""
    return massecuite_purity - liquor_purity


@formula(
    result=percent("crystal lost in the centrifugal % crystal", *SHARE),
    equation="loss = 100 (100 - c)/c · (Pm - Pn) / (100 - Pm)",
    source=BALANCE,
    status="derived",
    caveat="crystal dissolved or passed through the screen; mother liquor filtered at the temperature of spinning",
    example=(40.625, 36.0, 37.5),
    gives=3.50769231,
    crystal=percent("crystal % massecuite solids", 15.0, CRYSTAL_OF_MASSECUITE[1], "c"),
    filtered_purity=purity("purity of mother liquor by pressure filter", *PURITY_OF_MOTHER_LIQUOR, "Pn", ""),
    molasses_purity=purity("purity of molasses from the centrifugal", *PURITY_OF_MOTHER_LIQUOR, "Pm", ""),
)
def crystal_lost_in_spinning(crystal: Num, filtered_purity: Num, molasses_purity: Num) -> Num:
    """Crystal that leaves with the molasses of a centrifugal."""
    liquor = (100.0 - crystal) / crystal
    return 100.0 * liquor * (molasses_purity - filtered_purity) / (100.0 - molasses_purity)


@formula(
    result=argument("m³/t", "massecuite per brix in juice", *AMOUNT),
    equation="massecuite per brix = volume / brix in mixed juice",
    source="definition; common practice, no source",
    status="derived",
    example=(450.0, 1506.3158),
    gives=0.298742136,
    volume=argument("m³", "massecuite boiled", *VOLUME),
    juice_brix=tonnes("brix in mixed juice", *MASS_PRESENT),
)
def massecuite_on_brix(volume: Num, juice_brix: Num) -> Num:
    """Massecuite of a grade boiled per tonne of brix in mixed juice."""
    return volume / juice_brix


@formula(
    result=plain("crystals in the strike", *AMOUNT),
    equation="N = 1000 m / (k ρ L³), k 0.69, ρ 1587.9 kg/m³",
    source="mass of one crystal; shape factor from a seeding note of 1.1 d³ mg (read)",
    status="derived",
    caveat="crystals of one size; a spread of sizes has fewer",
    example=(20.0, 1.0),
    gives=18253987811.8,
    crystal=tonnes("crystal", 1e-6, 500.0, "m"),
    size=argument("mm", "size of the crystal", *CRYSTAL_SIZE, symbol="L"),
)
def crystals_in_strike(crystal: Num, size: Num) -> Num:
    """Number of crystals in a strike or a seed."""
    return 1e3 * crystal / (0.69 * 1587.9 * (1e-3 * size) ** 3)


@formula(
    result=plain("mean mass per mass of the mean size", *AMOUNT),
    equation="factor = (1 + (CV/100)²)³",
    source="third moment of a log-normal spread of sizes",
    status="derived",
    caveat="multiply the seed of one size by it when the seed has a spread; sizes by number",
    example=(40.0,),
    gives=1.560896,
    variation=percent("coefficient of variation of the seed, by number", *SHARE, "CV"),
)
def seed_spread_factor(variation: Num) -> Num:
    """How much more seed of a spread of sizes weighs than seed of its mean size."""
    spread = 1.0 + 1e-4 * variation * variation
    return spread * spread * spread


@formula(
    result=percent("white sugar equivalent", *SHARE),
    equation="equivalent = P (1.4 - 40/S)",
    source="Winter-Carp recovery of pure sugar from a sugar of purity S (equivalent standard granulated); from memory",
    status="from memory",
    example=(98.8, 98.998),
    gives=98.4000016,
    pol=percent("pol of sugar", *POL_OF_SUGAR, "P", "pol"),
    sugar_purity=purity("purity of sugar", *PURITY_OF_SUGAR, "S"),
)
def standard_granulated_equivalent(pol: Num, sugar_purity: Num) -> Num:
    """Pure white sugar that a raw sugar stands for, for comparing factories that make different sugars."""
    return pol * (1.4 - 40.0 / sugar_purity)


@formula(
    result=argument("m³", "massecuite in a full basket", *AMOUNT),
    equation="V = π e H (D - e)",
    source="public page on batch centrifugal capacity; volume of a cylindrical layer",
    status="read",
    caveat="level top plate; a plate at an angle θ adds π e² tan θ (3 D - 4 e)/6. Layer 12 to 14 % of the diameter "
    "(read there)",
    example=(1.22, 0.76, 0.15),
    gives=0.383211472,
    diameter=BASKET,
    height=argument("m", "height of the basket", 0.1, 2.0, symbol="H"),
    layer=argument("m", "thickness of the massecuite", 0.0, 0.6, symbol="e"),
)
def basket_charge(diameter: Num, height: Num, layer: Num) -> Num:
    """Volume of massecuite that a batch centrifugal basket holds."""
    return math.pi * layer * height * (diameter - layer)


@formula(
    result=plain("gravity factor", *AMOUNT, "G"),
    equation="G = (2 π n/60)² D / (2 · 9.80665)",
    source="centrifugal on normal acceleration; Perk, Centrifugal Machines, 1953, has 14.2 D (n/1000)², D in inches "
    "(read), which is the same to 0.1 %",
    status="derived",
    caveat="at the wall of the basket",
    example=(1.22, 1200.0),
    gives=982.265493,
    diameter=BASKET,
    speed=argument("1/min", "speed", 0.0, 3000.0, symbol="n"),
)
def gravity_factor(diameter: Num, speed: Num) -> Num:
    """How many times its weight presses on massecuite at the wall of a centrifugal basket."""
    turning = math.pi * speed / 30.0
    return turning * turning * diameter / 19.6133
