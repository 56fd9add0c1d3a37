"""Mill control: extraction and its reduced forms, losses in bagasse, imbibition and dilution.

Rolls, knives and shredders maim; imbibition water scalds: guards and lock-out by the site's rules.
"""

from __future__ import annotations

from canewright.analysis.declaring import APPARENT, percent, plain, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_RAW_JUICE,
    EXTRACTION,
    FIBRE_OF_BAGASSE,
    FIBRE_OF_CANE,
    FLOW,
    HOURS,
    HOURS_PRESENT,
    MASS,
    MASS_PRESENT,
    MOISTURE_OF_BAGASSE,
    PART,
    POL_OF_BAGASSE,
    POL_PRESENT,
    PURITY_OF_JUICE,
    ROLL_DIAMETER,
    ROLL_LENGTH,
    ROLL_TURNS,
    SHARE,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, exp, sqrt

BALANCE = "mill mass balance"
HUGOT = "Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986"
WORKBOOK = "mill-house basic-data training workbook (worked cane and bagasse figures)"
ISSCT = "ISSCT, System of Cane Sugar Factory Control, 3rd ed. 1971"


@formula(
    result=percent("extraction", *SHARE, "E"),
    equation="E = 100 · (in mixed juice) / (in cane)",
    source="ISSCT definitions; common practice",
    status="derived",
    caveat="name the basis: pol, brix or sucrose; a period takes sums of tonnes, never a mean of percentages",
    example=(1296.947368, 1350.0),
    gives=96.0701754,
    in_mixed_juice=tonnes("pol, brix or sucrose in mixed juice", *MASS),
    in_cane=tonnes("the same in cane", *MASS_PRESENT),
)
def extraction(in_mixed_juice: Num, in_cane: Num) -> Num:
    """Extraction of the mill on a stated basis."""
    return 100.0 * in_mixed_juice / in_cane


@formula(
    result=percent("pol extraction", *SHARE, "E"),
    equation="E = 100 [1 - Pb F / (Pc Fb)]",
    source=WORKBOOK,
    status="read",
    caveat="all fibre of cane goes to bagasse",
    example=(15.46, 12.58, 1.89, 51.47),
    gives=97.011998,
    cane_pol=percent("pol in cane", *POL_PRESENT, "Pc"),
    cane_fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
    bagasse_pol=percent("pol in bagasse", *POL_OF_BAGASSE, "Pb", "pol"),
    bagasse_fibre=percent("fibre % bagasse", *FIBRE_OF_BAGASSE, "Fb"),
)
def extraction_from_fibre_ratio(cane_pol: Num, cane_fibre: Num, bagasse_pol: Num, bagasse_fibre: Num) -> Num:
    """Pol extraction from analyses alone, through the fibre balance."""
    return 100.0 * (1.0 - bagasse_pol * cane_fibre / (cane_pol * bagasse_fibre))


@formula(
    result=tonnes("bagasse", *AMOUNT),
    equation="bagasse = cane · F / Fb",
    source=BALANCE,
    status="derived",
    caveat="soil counts as fibre; bagacillo to the filters leaves with the cake",
    example=(10000.0, 14.0, 47.5),
    gives=2947.368421,
    cane=tonnes("cane", *MASS),
    cane_fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
    bagasse_fibre=percent("fibre % bagasse", *FIBRE_OF_BAGASSE, "Fb"),
)
def bagasse_from_fibre(cane: Num, cane_fibre: Num, bagasse_fibre: Num) -> Num:
    """Mass of bagasse from the fibre balance."""
    return cane * cane_fibre / bagasse_fibre


@formula(
    result=percent("fibre % bagasse", *SHARE, "Fb"),
    equation="Fb = 100 - M - 100 P / Q",
    source=BALANCE,
    status="derived",
    caveat="brix of bagasse taken from its pol and the purity of residual juice",
    example=(50.0, 1.80, 72.0),
    gives=47.5,
    moisture=percent("moisture of bagasse", *MOISTURE_OF_BAGASSE, "M"),
    pol=percent("pol in bagasse", *POL_OF_BAGASSE, "P", "pol"),
    residual_purity=percent("purity of residual or last expressed juice", *PURITY_OF_JUICE, "Q", APPARENT),
)
def bagasse_fibre(moisture: Num, pol: Num, residual_purity: Num) -> Num:
    """Fibre of bagasse by difference."""
    return 100.0 - moisture - 100.0 * pol / residual_purity


@formula(
    result=tonnes("mixed juice", *AMOUNT),
    equation="mixed juice = cane + imbibition - bagasse",
    source=BALANCE,
    status="derived",
    example=(10000.0, 2800.0, 2947.368421),
    gives=9852.631579,
    cane=tonnes("cane", *MASS),
    imbibition=tonnes("imbibition water", *MASS),
    bagasse=tonnes("bagasse", *MASS),
)
def mixed_juice_by_balance(cane: Num, imbibition: Num, bagasse: Num) -> Num:
    """Mass of mixed juice from the mill balance."""
    return cane + imbibition - bagasse


@formula(
    result=percent("reduced extraction, Deerr", *SHARE, "E₁₂.₅"),
    equation="E₁₂.₅ = 100 - (100 - E)(100 - F) / (7 F)",
    source=f"Deerr, in {HUGOT}; 7 = 87.5/12.5",
    status="from memory",
    caveat="holds lost absolute juice % fibre constant; not the same as the Mittal form except at 12.5 % fibre",
    example=(96.0701754, 14.0),
    gives=96.5513784,
    extraction=percent("pol extraction", *EXTRACTION, "E"),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def reduced_extraction_deerr(extraction: Num, fibre: Num) -> Num:
    """Extraction reduced to 12.5 % fibre, Deerr's form."""
    return 100.0 - (100.0 - extraction) * (100.0 - fibre) / (7.0 * fibre)


@formula(
    result=percent("reduced extraction, Mittal", *SHARE, "E₁₂.₅"),
    equation="E₁₂.₅ = 100 - (100 - E) · 12.5 / F",
    source=f"{WORKBOOK}; name from memory",
    status="read",
    caveat="holds the loss proportional to fibre; not the same as Deerr's form except at 12.5 % fibre",
    example=(96.0701754, 14.0),
    gives=96.4912281,
    extraction=percent("pol extraction", *EXTRACTION, "E"),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def reduced_extraction_mittal(extraction: Num, fibre: Num) -> Num:
    """Extraction reduced to 12.5 % fibre, Mittal's form."""
    return 100.0 - (100.0 - extraction) * 12.5 / fibre


@formula(
    result=percent("milling loss", *AMOUNT),
    equation="milling loss = 100 · pol % bagasse / fibre % bagasse",
    source=WORKBOOK,
    status="read",
    example=(1.80, 47.5),
    gives=3.7894737,
    bagasse_pol=percent("pol in bagasse", *POL_OF_BAGASSE, "Pb", "pol"),
    bagasse_fibre=percent("fibre % bagasse", *FIBRE_OF_BAGASSE, "Fb"),
)
def milling_loss(bagasse_pol: Num, bagasse_fibre: Num) -> Num:
    """Pol lost per 100 of fibre in bagasse."""
    return 100.0 * bagasse_pol / bagasse_fibre


@formula(
    result=percent("imbibition % fibre", *AMOUNT),
    equation="imbibition % fibre = 100 · imbibition / fibre",
    source=WORKBOOK,
    status="read",
    example=(2800.0, 1400.0),
    gives=200.0,
    imbibition=tonnes("imbibition water", *MASS),
    fibre=tonnes("fibre in cane", *MASS_PRESENT),
)
def imbibition_on_fibre(imbibition: Num, fibre: Num) -> Num:
    """Imbibition water per 100 of fibre."""
    return 100.0 * imbibition / fibre


@formula(
    result=percent("lost absolute juice % fibre", *AMOUNT),
    equation="lost absolute juice = 100 · [100 · (brix in bagasse) / Baj] / fibre",
    source=ISSCT,
    status="from memory",
    caveat="no brix-free water in absolute juice",
    example=(73.684211, 18.372093, 1400.0),
    gives=28.647568,
    bagasse_brix=tonnes("brix in bagasse", *MASS),
    absolute_juice_brix=percent("brix of absolute juice", *BRIX_OF_RAW_JUICE, "Baj"),
    fibre=tonnes("fibre in cane", *MASS_PRESENT),
)
def lost_absolute_juice(bagasse_brix: Num, absolute_juice_brix: Num, fibre: Num) -> Num:
    """Undiluted juice lost in bagasse per 100 of fibre."""
    return 100.0 * (100.0 * bagasse_brix / absolute_juice_brix) / fibre


@formula(
    result=tonnes("dilution water in mixed juice", *AMOUNT),
    equation="dilution = mixed juice - 100 · (brix in mixed juice) / Baj",
    source=BALANCE,
    status="derived",
    caveat="on absolute juice; referring to primary juice brix gives another figure: keep the basis with it",
    example=(9852.631579, 1506.315789, 18.372093),
    gives=1653.69754,
    mixed_juice=tonnes("mixed juice", *MASS),
    brix=tonnes("brix in mixed juice", *MASS),
    undiluted_brix=percent("brix of undiluted juice", *BRIX_OF_RAW_JUICE, "Baj"),
)
def dilution_water(mixed_juice: Num, brix: Num, undiluted_brix: Num) -> Num:
    """Water of dilution in mixed juice."""
    return mixed_juice - 100.0 * brix / undiluted_brix


@formula(
    result=percent("preparation index", *SHARE, "PI"),
    equation="PI = 100 · (brix leached from prepared cane) / (brix of fully disintegrated cane)",
    source=f"{HUGOT}; Rein, Measurement of Cane Preparation, 2005, prefers cell-breakage methods",
    status="from memory",
    caveat="standard tumbling test; pol may be used in place of brix in both",
    example=(14.05, 15.60),
    gives=90.0641026,
    leached=percent("leached from prepared cane", 0.0, 25.0),
    disintegrated=percent("from fully disintegrated cane", 0.5, 25.0),
)
def preparation_index(leached: Num, disintegrated: Num) -> Num:
    """Share of opened cells in prepared cane."""
    return 100.0 * leached / disintegrated


@formula(
    result=percent("preparation index", *SHARE, "PI"),
    equation="PI = 100 - (100 - PI₀) exp(-e/e₀)",
    source="own saturating form: each further kilowatt opens the same share of the cells still closed",
    status="derived",
    caveat="fit both constants to the plant: 60-75 after knives, 85-92 after a heavy-duty shredder (common practice)",
    example=(50.0, 55.0, 35.0),
    gives=89.215715,
    power=argument("kW/t·h", "power on fibre of knives and shredder", 0.0, 200.0, symbol="e"),
    before=percent("preparation index of cane as it comes", 0.0, 95.0, "PI₀"),
    opening=argument("kW/t·h", "power on fibre that opens 63 % of the closed cells", 5.0, 200.0, symbol="e₀"),
)
def preparation_index_by_power(power: Num, before: Num, opening: Num) -> Num:
    """Preparation index that knives and shredder reach with the power they take."""
    return 100.0 - (100.0 - before) * exp(-power / opening)


@formula(
    result=argument("t/h", "capacity of a train of mills", *AMOUNT),
    equation="A = 0.8 c n L D² √N / f",
    source=HUGOT,
    status="from memory",
    caveat="the constant is fitted in the units of the arguments; c of 1.1 to 1.25 with knives and a shredder",
    example=(1.2, 4.5, 2.134, 1.0, 15.0, 14.0),
    gives=255.032634,
    preparation=plain("coefficient of preparation", 0.9, 1.4, "c"),
    turns=argument("1/min", "turns of the rolls", *ROLL_TURNS, symbol="n"),
    length=argument("m", "length of the rolls", *ROLL_LENGTH, symbol="L"),
    diameter=argument("m", "diameter of the rolls", *ROLL_DIAMETER, symbol="D"),
    rolls=plain("number of rolls of the train", 2.0, 60.0, "N"),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "100 f"),
)
def mill_capacity_hugot(preparation: Num, turns: Num, length: Num, diameter: Num, rolls: Num, fibre: Num) -> Num:
    """Cane that a train of mills can crush in an hour."""
    size = turns * length * diameter * diameter * sqrt(rolls)
    return 0.8 * preparation * size / (fibre / 100.0)


@formula(
    result=percent("time efficiency", *SHARE),
    equation="efficiency = 100 · crushing hours / counted hours",
    source="SASTA Laboratory Manual, 5th ed. 2009 (denominators differ by industry)",
    status="from memory",
    caveat="base: gross hours (overall), less outside stops (available), or crushing plus mechanical stops",
    example=(143.7, 168.0),
    gives=85.5357143,
    crushing=argument("h", "hours crushing", *HOURS),
    counted=argument("h", "hours of the chosen base", *HOURS_PRESENT),
)
def time_efficiency(crushing: Num, counted: Num) -> Num:
    """Time efficiency on a chosen base of hours."""
    return 100.0 * crushing / counted


@formula(
    result=argument("t/h", "fibre rate", *AMOUNT),
    equation="fibre rate = crushing rate · F / 100",
    source=BALANCE,
    status="derived",
    caveat="use hours actually crushing",
    example=(420.0, 14.0),
    gives=58.8,
    crushing_rate=argument("t/h", "cane per crushing hour", *FLOW),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def fibre_rate(crushing_rate: Num, fibre: Num) -> Num:
    """Fibre crushed per hour."""
    return crushing_rate * fibre / 100.0


@formula(
    result=plain("juice in cane not fibre, share of cane", *PART),
    equation="share = 1 - F/100",
    source="definition of absolute juice (ISSCT 1971)",
    status="derived",
    example=(14.0,),
    gives=0.86,
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def absolute_juice_share(fibre: Num) -> Num:
    """Absolute juice per unit of cane: all that is not fibre."""
    return 1.0 - fibre / 100.0
