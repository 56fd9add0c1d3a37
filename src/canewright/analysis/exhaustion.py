"""Exhaustion of molasses and massecuite: target purities, crystal content and yield.

Two families of target purity exist and stand about 6.5 units apart. A target purity difference is only meaningful
within one family, with reducing sugars, ash and purity by the methods of that family.
"""

from __future__ import annotations

from canewright.analysis.declaring import TRUE, brix, percent, plain, purity
from canewright.properties.ranges import (
    BRIX_OF_MASSECUITE,
    PURITY_OF_MASSECUITE,
    PURITY_OF_MOLASSES,
    PURITY_OF_MOTHER_LIQUOR,
    PURITY_OF_SUGAR,
    SHARE,
    SIGNED,
    SUGARS_TO_ASH,
)
from canewright.quantity.formula import Argument, formula
from canewright.quantity.maths import Num, exp, log10

SURVEY = "corroborated by White and Verret, Understanding the Final Molasses Survey, 2007, slide 3"
NEW_FAMILY = "true purity; fructose, glucose, sucrose by chromatography; not comparable with the Australian family"
OLD_FAMILY = "true purity on its own basis of reducing sugars and ash: about 6.5 units above the South African family"


def _ratio(says: str) -> Argument:
    return plain(says, *SUGARS_TO_ASH)


@formula(
    result=purity("target purity of molasses", *SHARE, "T", TRUE),
    equation="T = 43.1 - 17.5 [1 - exp(-0.74 (F+G)/A)]",
    source=f"South African target purity formula (exponential); {SURVEY}",
    status="from memory",
    caveat=NEW_FAMILY,
    example=(0.8,),
    gives=35.2813113,
    ratio=_ratio("(fructose + glucose) / ash, sulphated or its equivalent"),
)
def target_purity_south_african(ratio: Num) -> Num:
    """Target true purity of final molasses, South African exponential formula."""
    return 43.1 - 17.5 * (1.0 - exp(-0.74 * ratio))


@formula(
    result=purity("target purity of molasses", *SHARE, "T", TRUE),
    equation="T = 33.9 - 13.4 log₁₀[(F+G)/A]",
    source=f"Rein, Cane Sugar Engineering, 2007; {SURVEY}",
    status="from memory",
    caveat=NEW_FAMILY,
    example=(0.8,),
    gives=35.1985942,
    ratio=_ratio("(fructose + glucose) / ash, sulphated or its equivalent"),
)
def target_purity_rein(ratio: Num) -> Num:
    """Target true purity of final molasses, Rein's formula."""
    return 33.9 - 13.4 * log10(ratio)


@formula(
    result=purity("expected purity of molasses", *SHARE, "T", TRUE),
    equation="T = 40.67 - 17.80 log₁₀(RS/A)",
    source="BSES, Laboratory Manual for Australian Sugar Mills",
    status="from memory",
    caveat=OLD_FAMILY,
    example=(0.8,),
    gives=42.3950,
    ratio=_ratio("reducing sugars / ash on the Australian basis"),
)
def expected_purity_australian(ratio: Num) -> Num:
    """Expected true purity of final molasses, Australian formula."""
    return 40.67 - 17.80 * log10(ratio)


@formula(
    result=purity("expected purity of molasses", *SHARE, "T", TRUE),
    equation="T = 51.02 - 10.89 r/a",
    source="abstract of an older South African exhaustion study (40 °C, about 1000 poise); sign inferred",
    status="read",
    caveat=OLD_FAMILY,
    example=(0.8,),
    gives=42.308,
    ratio=_ratio("reducing sugars / sulphated ash"),
)
def target_purity_older_south_african(ratio: Num) -> Num:
    """Target true purity of final molasses, older South African linear formula."""
    return 51.02 - 10.89 * ratio


@formula(
    result=percent("target purity difference", *SIGNED, "TPD"),
    equation="TPD = true purity - target purity",
    source="definition; common practice, no source",
    status="derived",
    caveat="name the target formula with the figure",
    example=(42.5, 34.4),
    gives=8.1,
    true_purity=purity("true purity of final molasses", *PURITY_OF_MOLASSES, kind=TRUE),
    target=purity("target purity", *PURITY_OF_MOLASSES, "T", TRUE),
)
def target_purity_difference(true_purity: Num, target: Num) -> Num:
    """How far molasses stands above its target purity."""
    return true_purity - target


def _purities() -> tuple[Argument, Argument]:
    return (
        purity("purity of massecuite", *PURITY_OF_MASSECUITE, "P", ""),
        purity("purity of mother liquor", *PURITY_OF_MOTHER_LIQUOR, "Pm", ""),
    )


MASSECUITE, LIQUOR = _purities()


@formula(
    result=percent("crystal % solids", *SHARE),
    equation="crystal % solids = 100 (P - Pm) / (100 - Pm)",
    source="sugar balance of the massecuite, crystal of 100 purity",
    status="derived",
    caveat="true purity; mother liquor by pressure filter at strike temperature",
    example=(85.0, 68.0),
    gives=53.125,
    massecuite_purity=MASSECUITE,
    liquor_purity=LIQUOR,
)
def crystal_on_solids(massecuite_purity: Num, liquor_purity: Num) -> Num:
    """Crystal content of massecuite on its solids."""
    return 100.0 * (massecuite_purity - liquor_purity) / (100.0 - liquor_purity)


@formula(
    result=percent("crystal % massecuite", *SHARE),
    equation="crystal % massecuite = (crystal % solids) · B / 100",
    source="sugar balance of the massecuite",
    status="derived",
    example=(85.0, 68.0, 92.0),
    gives=48.875,
    massecuite_purity=MASSECUITE,
    liquor_purity=LIQUOR,
    massecuite_brix=brix("brix of massecuite", *BRIX_OF_MASSECUITE),
)
def crystal_content(massecuite_purity: Num, liquor_purity: Num, massecuite_brix: Num) -> Num:
    """Crystal content of massecuite by mass."""
    return crystal_on_solids(massecuite_purity, liquor_purity) * massecuite_brix / 100.0


@formula(
    result=percent("exhaustion", *SHARE),
    equation="exhaustion = 100 · (crystal % solids) / P",
    source="sugar balance of the massecuite",
    status="derived",
    example=(85.0, 68.0),
    gives=62.5,
    massecuite_purity=MASSECUITE,
    liquor_purity=LIQUOR,
)
def exhaustion(massecuite_purity: Num, liquor_purity: Num) -> Num:
    """Share of the sucrose of massecuite that is crystal."""
    return 100.0 * crystal_on_solids(massecuite_purity, liquor_purity) / massecuite_purity


@formula(
    result=percent("sugar solids % massecuite solids", *SHARE),
    equation="yield = 100 (P - Pm) / (S - Pm)",
    source="purity balance over the centrifugals",
    status="derived",
    example=(62.0, 36.0, 84.0),
    gives=54.1666667,
    massecuite_purity=purity("purity of massecuite", *PURITY_OF_MASSECUITE, "P", ""),
    # below the purity of any sugar, where the quotient has its pole
    run_off_purity=purity("purity of run-off", 20.0, 78.0, "Pm", ""),
    sugar_purity=purity("purity of sugar", *PURITY_OF_SUGAR, "S", ""),
)
def sugar_yield_on_solids(massecuite_purity: Num, run_off_purity: Num, sugar_purity: Num) -> Num:
    """Yield of a sugar of given purity on massecuite solids."""
    return 100.0 * (massecuite_purity - run_off_purity) / (sugar_purity - run_off_purity)
