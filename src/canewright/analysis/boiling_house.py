"""Boiling-house recovery: SJM, Winter-Carp, virtual molasses purity, and recovery reduced to juice of 85 purity.

Purities in one formula must be of one kind. Overall recovery is extraction times boiling-house recovery.
"""

from __future__ import annotations

from canewright.analysis.declaring import percent, purity, tonnes
from canewright.properties.ranges import (
    MASS,
    MASS_PRESENT,
    MOISTURE_OF_SUGAR,
    POL_OF_SUGAR,
    PURITY_OF_JUICE,
    PURITY_OF_MOLASSES,
    PURITY_OF_SUGAR,
    RECOVERY_FOUND,
    RECOVERY_TO_REDUCE,
    SHARE,
    SIGNED,
)
from canewright.quantity.formula import Argument, formula
from canewright.quantity.maths import Num

WONG = "Wong Sak Hoi, PhD thesis (Mauritius), p. 77"
ONE_KIND = "all three purities of one kind; no losses included"
DEERR = "Deerr's virtual purity, in Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986"


def _sugar_purity(says: str = "purity of sugar on dry substance") -> Argument:
    return purity(says, *PURITY_OF_SUGAR, "S", "")


def _juice_purity() -> Argument:
    return purity("purity of juice", *PURITY_OF_JUICE, "J", "")


def _molasses_purity() -> Argument:
    return purity("purity of molasses", *PURITY_OF_MOLASSES, "M", "")


RECOVERY = percent("boiling-house recovery", *RECOVERY_TO_REDUCE, "BHR")


@formula(
    result=purity("purity of sugar", *SHARE, "S"),
    equation="S = 100 · pol / (100 - moisture)",
    source=WONG,
    status="read",
    example=(98.80, 0.20),
    gives=98.9979960,
    pol=percent("pol of sugar", *POL_OF_SUGAR, "P", "pol"),
    moisture=percent("moisture", *MOISTURE_OF_SUGAR, "M"),
)
def sugar_purity(pol: Num, moisture: Num) -> Num:
    """Purity of sugar on its dry substance."""
    return 100.0 * pol / (100.0 - moisture)


@formula(
    result=percent("theoretical recovery", *SHARE, "R"),
    equation="R = 100 S (J - M) / [J (S - M)]",
    source=WONG,
    status="read",
    caveat=ONE_KIND,
    example=(98.8, 85.0, 35.0),
    gives=91.0935178,
    sugar_purity=_sugar_purity(),
    juice_purity=_juice_purity(),
    molasses_purity=_molasses_purity(),
)
def sjm_recovery(sugar_purity: Num, juice_purity: Num, molasses_purity: Num) -> Num:
    """Recovery of pol from juice by the SJM formula."""
    return 100.0 * sugar_purity * (juice_purity - molasses_purity) / (juice_purity * (sugar_purity - molasses_purity))


@formula(
    result=percent("theoretical recovery", *SHARE, "R"),
    equation="R = 100 (1.4 - 40/J)",
    source="Winter-Carp, as used by Jamaica's core sampling system page",
    status="read",
    caveat="is SJM with sugar of 100 and molasses of 28.571 purity",
    example=(85.0,),
    gives=92.9411765,
    juice_purity=_juice_purity(),
)
def winter_carp_recovery(juice_purity: Num) -> Num:
    """Recovery of pol from juice by the Winter-Carp formula."""
    return 100.0 * (1.4 - 40.0 / juice_purity)


@formula(
    result=percent("boiling-house recovery", *SHARE, "BHR"),
    equation="BHR = 100 · (pol in sugar) / (pol in mixed juice)",
    source="definition; common practice, no source",
    status="derived",
    caveat="pol in sugar includes the change of stock in process",
    example=(1169.792, 1296.947368),
    gives=90.1957819,
    sugar_pol=tonnes("pol in sugar made", *MASS),
    juice_pol=tonnes("pol in mixed juice", *MASS_PRESENT),
)
def boiling_house_recovery(sugar_pol: Num, juice_pol: Num) -> Num:
    """Pol in sugar per pol in mixed juice."""
    return 100.0 * sugar_pol / juice_pol


@formula(
    result=percent("boiling-house efficiency", *SHARE, "BHE"),
    equation="BHE = 100 · BHR / theoretical recovery",
    source="definition; common practice, no source",
    status="derived",
    caveat="name the theory: SJM with actual molasses, SJM with target molasses, or Winter-Carp",
    example=(90.1957819, 91.4401),
    gives=98.639199,
    recovery=percent("boiling-house recovery", *RECOVERY_FOUND, "BHR"),
    theoretical=percent("theoretical recovery", 50.0, 100.0),
)
def boiling_house_efficiency(recovery: Num, theoretical: Num) -> Num:
    """Boiling-house recovery against a named theory."""
    return 100.0 * recovery / theoretical


@formula(
    result=percent("overall recovery", *SHARE, "OR"),
    equation="OR = E · BHR / 100",
    source="identity from the definitions",
    status="derived",
    example=(96.0701754, 90.1957819),
    gives=86.6512459,
    extraction=percent("pol extraction", *SHARE, "E"),
    recovery=percent("boiling-house recovery", *RECOVERY_FOUND, "BHR"),
)
def overall_recovery(extraction: Num, recovery: Num) -> Num:
    """Pol in sugar per pol in cane."""
    return extraction * recovery / 100.0


@formula(
    result=purity("virtual purity of molasses", *SHARE, "Mv", ""),
    equation="Mv = S J (1 - x) / (S - x J), x = BHR/100",
    source=f"{DEERR}; algebra of SJM solved for M",
    status="derived",
    caveat="takes every loss as if it were in molasses; needs S above x J",
    example=(100.0, 82.0, 88.5),
    gives=34.3784178,
    sugar_purity=_sugar_purity(),
    juice_purity=_juice_purity(),
    recovery=percent("boiling-house recovery", *RECOVERY_TO_REDUCE, "BHR"),
)
def virtual_molasses_purity(sugar_purity: Num, juice_purity: Num, recovery: Num) -> Num:
    """Molasses purity that would explain the recovery with no other loss."""
    share = recovery / 100.0
    return sugar_purity * juice_purity * (1.0 - share) / (sugar_purity - share * juice_purity)


@formula(
    result=percent("recovery reduced to 85 purity", *SHARE, "R₈₅"),
    equation="R₈₅ = SJM(S, 85, Mv(S, J, BHR))",
    source=DEERR,
    status="derived",
    caveat="equals the Gundu Rao form only for sugar of 100 purity",
    example=(99.0, 86.1, 89.2),
    gives=88.1274158,
    sugar_purity=_sugar_purity(),
    juice_purity=_juice_purity(),
    recovery=percent("boiling-house recovery", *RECOVERY_TO_REDUCE, "BHR"),
)
def reduced_recovery(sugar_purity: Num, juice_purity: Num, recovery: Num) -> Num:
    """Boiling-house recovery reduced to juice of 85 purity through the virtual molasses purity."""
    share = recovery / 100.0
    molasses = sugar_purity * juice_purity * (1.0 - share) / (sugar_purity - share * juice_purity)
    return 100.0 * sugar_purity * (85.0 - molasses) / (85.0 * (sugar_purity - molasses))


@formula(
    result=percent("recovery reduced to 85 purity", *SHARE, "R₈₅"),
    equation="R₈₅ = 100 - (100 - BHR) · J / (100 - J) · 15/85",
    source="Gundu Rao's form, common in India; from memory",
    status="from memory",
    caveat="identical with the virtual-purity form for sugar of 100 purity; lower sugar purity parts them",
    example=(82.0, 88.5),
    gives=90.7549020,
    juice_purity=_juice_purity(),
    recovery=RECOVERY,
)
def reduced_recovery_gundu_rao(juice_purity: Num, recovery: Num) -> Num:
    """Boiling-house recovery reduced to juice of 85 purity, Gundu Rao's form."""
    return 100.0 - (100.0 - recovery) * juice_purity / (100.0 - juice_purity) * 15.0 / 85.0


@formula(
    result=tonnes("pol not accounted for", *SIGNED),
    equation="undetermined = juice - cake - sugar - molasses",
    source="boiling-house pol balance",
    status="derived",
    caveat="carries every error of weighing, sampling, stock and the pol of non-sucrose",
    example=(1296.947368, 5.25, 1169.792, 104.346),
    gives=17.559368,
    juice_pol=tonnes("pol in mixed juice", *MASS),
    cake_pol=tonnes("pol in filter cake", *MASS),
    sugar_pol=tonnes("pol in sugar and gain of stock", *MASS),
    molasses_pol=tonnes("pol in molasses", *MASS),
)
def undetermined_loss(juice_pol: Num, cake_pol: Num, sugar_pol: Num, molasses_pol: Num) -> Num:
    """Pol lost in the boiling house for which no stream accounts."""
    return juice_pol - cake_pol - sugar_pol - molasses_pol
