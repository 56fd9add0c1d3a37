"""Boiling-house balances beyond recovery: basic recovery, reduced overall recovery, non-pol, molasses to be made."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain, purity, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_MOLASSES,
    EXTRACTION,
    MASS,
    MASS_PRESENT,
    POL_OF_SUGAR,
    PURITY_OF_JUICE,
    PURITY_OF_MOLASSES,
    PURITY_OF_SUGAR,
    RECOVERY_MADE,
    SHARE,
    SIGNED,
)
from canewright.quantity.formula import formula
from canewright.quantity.maths import Num

BALANCE = "pol and non-pol balance of the boiling house"


@formula(
    result=percent("basic boiling-house recovery", *SHARE),
    equation="R = 100 · 100 (J - M) / [J (100 - M)]",
    source="basic recovery of Indian practice (Gundu Rao), taken as SJM with pure sugar and a set molasses purity",
    status="from memory",
    caveat="LOW CONFIDENCE: neither the definition nor the molasses purity it sets was confirmed; with 28.57 "
    "it is the Winter-Carp recovery. Name the molasses purity with the figure",
    example=(82.0, 28.57),
    gives=91.2201268,
    juice_purity=purity("purity of juice", *PURITY_OF_JUICE, "J", ""),
    molasses_purity=purity("molasses purity set by the convention", *PURITY_OF_MOLASSES, "M", ""),
)
def basic_recovery(juice_purity: Num, molasses_purity: Num) -> Num:
    """Recovery a juice would give at a set molasses purity with no losses; low confidence in the name."""
    return 1e4 * (juice_purity - molasses_purity) / (juice_purity * (100.0 - molasses_purity))


@formula(
    result=percent("reduced overall recovery", *SHARE),
    equation="reduced overall = E₁₂.₅ · R₈₅ / 100",
    source="definition: reduced extraction times reduced boiling-house recovery",
    status="derived",
    caveat="name the forms of both reductions",
    example=(96.5513784, 89.2824),
    gives=86.2033879,
    reduced_extraction=percent("reduced extraction", *EXTRACTION, "E₁₂.₅"),
    reduced_recovery=percent("reduced boiling-house recovery", *RECOVERY_MADE, "R₈₅"),
)
def reduced_overall_recovery(reduced_extraction: Num, reduced_recovery: Num) -> Num:
    """Overall recovery reduced to standard fibre and juice purity."""
    return reduced_extraction * reduced_recovery / 100.0


@formula(
    result=plain("non-pol in molasses per non-pol in juice", *AMOUNT),
    equation="ratio = non-pol in molasses / non-pol in mixed juice",
    source=BALANCE,
    status="derived",
    caveat="a large pol loss beside a closed non-pol balance means destruction or entrainment; both short, to a mass",
    example=(185.504, 209.3684),
    gives=0.886017183,
    molasses=tonnes("non-pol in molasses", *MASS),
    juice=tonnes("non-pol in mixed juice", *MASS_PRESENT),
)
def non_pol_ratio(molasses: Num, juice: Num) -> Num:
    """How much of the non-pol of juice is found in molasses."""
    return molasses / juice


@formula(
    result=tonnes("non-pol not accounted for", *SIGNED),
    equation="difference = juice - cake - sugar - molasses",
    source=BALANCE,
    status="derived",
    example=(209.3684, 12.0, 11.840, 185.504),
    gives=0.0244,
    juice=tonnes("non-pol in mixed juice", *MASS),
    cake=tonnes("non-pol removed with cake", *MASS),
    sugar=tonnes("non-pol in sugar", *MASS),
    molasses=tonnes("non-pol in molasses", *MASS),
)
def non_pol_difference(juice: Num, cake: Num, sugar: Num, molasses: Num) -> Num:
    """Non-pol of the juice that no stream accounts for."""
    return juice - cake - sugar - molasses


@formula(
    result=tonnes("molasses to be made", *AMOUNT),
    equation="molasses = solids (S - J) / (S - M) · 100 / B",
    source=BALANCE,
    status="derived",
    caveat="solids and purity after cake and after the undetermined loss expected",
    example=(1464.0, 86.5878, 98.998, 36.0, 85.0),
    gives=339.292429,
    solids=tonnes("solids to the pans", *MASS),
    juice_purity=purity("purity of those solids", *PURITY_OF_JUICE, "J", ""),
    sugar_purity=purity("purity of sugar", *PURITY_OF_SUGAR, "S", ""),
    molasses_purity=purity("purity expected of molasses", *PURITY_OF_MOLASSES, "M", ""),
    molasses_brix=percent("brix of molasses", *BRIX_OF_MOLASSES, "B"),
)
def molasses_expected(
    solids: Num, juice_purity: Num, sugar_purity: Num, molasses_purity: Num, molasses_brix: Num
) -> Num:
    """Final molasses that the solids sent to the pans will give."""
    share = (sugar_purity - juice_purity) / (sugar_purity - molasses_purity)
    return solids * share * 100.0 / molasses_brix


@formula(
    result=percent("pol lost in molasses % pol in cane", *SHARE),
    equation="loss = molasses · pol of molasses / pol in cane",
    source="definition; common practice, no source",
    status="derived",
    example=(341.0, 30.6, 1350.0),
    gives=7.72933333,
    molasses=tonnes("final molasses", *MASS),
    molasses_pol=percent("pol of molasses", 0.0, 60.0, "P", "pol"),
    cane_pol=tonnes("pol in cane", *MASS_PRESENT),
)
def pol_lost_in_molasses(molasses: Num, molasses_pol: Num, cane_pol: Num) -> Num:
    """Pol lost in final molasses."""
    return molasses * molasses_pol / cane_pol


@formula(
    result=tonnes("molasses at standard brix", *AMOUNT),
    equation="standard = molasses · B / 85",
    source="trade convention of 85 brix; common practice, no source",
    status="derived",
    example=(341.0, 82.0),
    gives=328.964706,
    molasses=tonnes("final molasses as weighed", *MASS),
    brix=percent("brix of molasses", *BRIX_OF_MOLASSES, "B"),
)
def molasses_at_85(molasses: Num, brix: Num) -> Num:
    """Molasses brought to 85 brix, for comparing periods and for sale."""
    return molasses * brix / 85.0


@formula(
    result=plain("cane per sugar", *AMOUNT),
    equation="cane per sugar = cane / sugar",
    source="definition; common practice, no source",
    status="derived",
    caveat="name the basis of the sugar: as made, or at 96 pol",
    example=(10000.0, 1184.0),
    gives=8.44594595,
    cane=tonnes("cane", *MASS),
    sugar=tonnes("sugar made", *MASS_PRESENT),
)
def cane_per_sugar(cane: Num, sugar: Num) -> Num:
    """Tonnes of cane for a tonne of sugar."""
    return cane / sugar


@formula(
    result=tonnes("sugar as 96 pol", *AMOUNT),
    equation="sugar at 96 = sugar · P / 96",
    source="trade convention; common practice, no source",
    status="derived",
    caveat="by pol alone; the older bonus tables pay more for pol above 96 than this",
    example=(1184.0, 98.80),
    gives=1218.53333,
    sugar=tonnes("sugar made", *MASS),
    pol=percent("pol of sugar", *POL_OF_SUGAR, "P", "pol"),
)
def sugar_at_96(sugar: Num, pol: Num) -> Num:
    """Sugar expressed as sugar of 96 pol."""
    return sugar * pol / 96.0
