"""Cane analysis: direct analysis by digestion, the first-expressed-juice route, and the payment measures."""

from __future__ import annotations

from canewright.analysis.declaring import REFRACTOMETER, percent, plain
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_CANE,
    BRIX_OF_JUICE,
    CANE_QUALITY,
    CANE_QUALITY_PRESENT,
    FIBRE_OF_CANE,
    FIBRE_OF_SAMPLE,
    LOSS_PER_FIBRE,
    NON_SUCROSE_OF_CANE,
    PART,
    POL_OF_CANE,
    POL_OF_JUICE,
    POL_PRESENT,
    PRICE,
    RECOVERY_MADE,
    SHARE,
    WATER_RATIO,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

DIGESTER = "balance over the cold digester, brix-free water on fibre 25 % by convention (SASTA Laboratory Manual, 2009)"
FARMNOTE = "Engelke, Sugarcane: Measuring Commercial Quality, Farmnote 712/25, Department of Agriculture, WA"
DOUBTFUL_WATER = "the 25 % brix-free water is a convention of doubtful origin; 10 to 50 % is found in the literature"

EXTRACT_BRIX = percent("brix of the extract", 0.0, 8.0, "b", REFRACTOMETER)
FIBRE_IN_SAMPLE = percent("fibre in the sample", *FIBRE_OF_SAMPLE, "F")
WATER_ADDED = plain("water added per mass of sample: 2 for cane, 10 for bagasse", *WATER_RATIO, "k")
BRIX_FREE_WATER = percent("brix-free water on fibre", 0.0, 50.0, "w")


@formula(
    result=percent("fibre in the sample", *SHARE, "F"),
    equation="F = [100 - M - (1 + k) b] / [1 - (1 + w/100) b/100]",
    source=DIGESTER,
    status="derived",
    caveat=DOUBTFUL_WATER,
    example=(70.0, 5.20, 2.0, 25.0),
    gives=15.401070,
    moisture=percent("moisture of the sample", 30.0, 80.0, "M"),
    extract_brix=EXTRACT_BRIX,
    water_ratio=WATER_ADDED,
    brix_free_water=BRIX_FREE_WATER,
)
def direct_fibre(moisture: Num, extract_brix: Num, water_ratio: Num, brix_free_water: Num) -> Num:
    """Fibre of cane or bagasse by direct analysis."""
    liquid_share = 1.0 - (1.0 + brix_free_water / 100.0) * extract_brix / 100.0
    return (100.0 - moisture - (1.0 + water_ratio) * extract_brix) / liquid_share


@formula(
    result=percent("brix in the sample", *SHARE, "B", REFRACTOMETER),
    equation="B = b [(1 + k) - (1 + w/100) F/100]",
    source=DIGESTER,
    status="derived",
    caveat=DOUBTFUL_WATER,
    example=(5.20, 15.401070, 2.0, 25.0),
    gives=14.598930,
    extract_brix=EXTRACT_BRIX,
    fibre=FIBRE_IN_SAMPLE,
    water_ratio=WATER_ADDED,
    brix_free_water=BRIX_FREE_WATER,
)
def direct_brix(extract_brix: Num, fibre: Num, water_ratio: Num, brix_free_water: Num) -> Num:
    """Brix of cane or bagasse by direct analysis."""
    return extract_brix * (1.0 + water_ratio - (1.0 + brix_free_water / 100.0) * fibre / 100.0)


@formula(
    result=percent("pol in the sample", *SHARE, "P", "pol"),
    equation="P = p [(1 + k) - (1 + w/100) F/100]",
    source=DIGESTER,
    status="derived",
    caveat=DOUBTFUL_WATER,
    example=(4.55, 15.401070, 2.0, 25.0),
    gives=12.774064,
    extract_pol=percent("pol of the extract", EXTRACT_BRIX.low, EXTRACT_BRIX.high, "p", "pol"),
    fibre=FIBRE_IN_SAMPLE,
    water_ratio=WATER_ADDED,
    brix_free_water=BRIX_FREE_WATER,
)
def direct_pol(extract_pol: Num, fibre: Num, water_ratio: Num, brix_free_water: Num) -> Num:
    """Pol of cane or bagasse by direct analysis."""
    return extract_pol * (1.0 + water_ratio - (1.0 + brix_free_water / 100.0) * fibre / 100.0)


JUICE_POL = percent("pol of first expressed juice", *POL_OF_JUICE, "Pj", "pol")
JUICE_BRIX = percent("brix of first expressed juice", *BRIX_OF_JUICE, "Bj", REFRACTOMETER)
FIBRE = percent("fibre % cane", *FIBRE_OF_CANE, "F")
JUICE_CAVEAT = "fresh juice of the first mill at normal settings; the allowances 3 and 5 are conventional"


@formula(
    result=percent("pol in cane", *SHARE, "Pc", "pol in cane"),
    equation="Pc = Pj [100 - (F + 5)] / 100",
    source=FARMNOTE,
    status="read",
    caveat=JUICE_CAVEAT,
    example=(18.20, 14.00),
    gives=14.742,
    juice_pol=JUICE_POL,
    fibre=FIBRE,
)
def pol_in_cane(juice_pol: Num, fibre: Num) -> Num:
    """Pol in cane from the first expressed juice."""
    return juice_pol * (95.0 - fibre) / 100.0


@formula(
    result=percent("brix in cane", *SHARE, "Bc", "brix in cane"),
    equation="Bc = Bj [100 - (F + 3)] / 100",
    source=FARMNOTE,
    status="read",
    caveat=JUICE_CAVEAT,
    example=(20.50, 14.00),
    gives=17.015,
    juice_brix=JUICE_BRIX,
    fibre=FIBRE,
)
def brix_in_cane(juice_brix: Num, fibre: Num) -> Num:
    """Brix in cane from the first expressed juice."""
    return juice_brix * (97.0 - fibre) / 100.0


@formula(
    result=percent("commercial cane sugar", *SHARE, "CCS", "CCS"),
    equation="CCS = Pc - (Bc - Pc) / 2",
    source=FARMNOTE,
    status="read",
    example=(14.742, 17.015),
    gives=13.6055,
    pol_in_cane=percent("pol in cane", *POL_OF_CANE, "Pc", "pol in cane"),
    brix_in_cane=percent("brix in cane", *BRIX_OF_CANE, "Bc", "brix in cane"),
)
def ccs_of_cane(pol_in_cane: Num, brix_in_cane: Num) -> Num:
    """CCS: pol in cane less half the impurities in cane."""
    return pol_in_cane - 0.5 * (brix_in_cane - pol_in_cane)


@formula(
    result=percent("commercial cane sugar", *SHARE, "CCS", "CCS"),
    equation="CCS = 1.5 Pj [1 - (F + 5)/100] - 0.5 Bj [1 - (F + 3)/100]",
    source=FARMNOTE,
    status="read",
    caveat=JUICE_CAVEAT,
    example=(20.50, 18.20, 14.00),
    gives=13.6055,
    juice_brix=JUICE_BRIX,
    juice_pol=JUICE_POL,
    fibre=FIBRE,
)
def ccs(juice_brix: Num, juice_pol: Num, fibre: Num) -> Num:
    """CCS from brix and pol of first expressed juice and fibre."""
    return ccs_of_cane(pol_in_cane(juice_pol, fibre), brix_in_cane(juice_brix, fibre))


@formula(
    result=percent("recoverable value", *SHARE, "RV", "RV"),
    equation="RV = S - d N - c F",
    source="Kadwa, Cane payment in the SA sugar industry explained, 2018; d of August 2019 from a growers' notice",
    status="read",
    caveat="d and c are dated settings; c of about 0.02 is from memory",
    example=(13.5, 2.4, 15.2, 0.400022, 0.020),
    gives=12.2359472,
    sucrose=percent("sucrose % cane", *POL_OF_CANE, "S"),
    non_sucrose=percent("non-sucrose % cane", *NON_SUCROSE_OF_CANE, "N"),
    fibre=FIBRE,
    non_sucrose_loss=plain("sucrose lost per non-sucrose", *PART, "d"),
    fibre_loss=plain("sucrose lost per fibre", *LOSS_PER_FIBRE, "c"),
)
def recoverable_value(sucrose: Num, non_sucrose: Num, fibre: Num, non_sucrose_loss: Num, fibre_loss: Num) -> Num:
    """Recoverable value (RV) of cane."""
    return sucrose - non_sucrose_loss * non_sucrose - fibre_loss * fibre


@formula(
    result=percent("estimated recoverable crystal", *SHARE, "ERC", "ERC"),
    equation="ERC = a S - b N - c F",
    source="South African cane payment before RV, one historical set of constants",
    status="from memory",
    caveat="constants differ by season",
    example=(13.0, 2.2, 15.0, 0.978, 0.535, 0.018),
    gives=11.267,
    sucrose=percent("sucrose % cane", *POL_OF_CANE, "S"),
    non_sucrose=percent("non-sucrose % cane", *NON_SUCROSE_OF_CANE, "N"),
    fibre=FIBRE,
    sucrose_share=plain("share of sucrose recoverable", 0.8, 1.0, "a"),
    non_sucrose_loss=plain("loss per non-sucrose", *PART, "b"),
    fibre_loss=plain("loss per fibre", *LOSS_PER_FIBRE, "c"),
)
def estimated_recoverable_crystal(
    sucrose: Num,
    non_sucrose: Num,
    fibre: Num,
    sucrose_share: Num,
    non_sucrose_loss: Num,
    fibre_loss: Num,
) -> Num:
    """Estimated recoverable crystal (ERC) of cane."""
    return sucrose_share * sucrose - non_sucrose_loss * non_sucrose - fibre_loss * fibre


@formula(
    result=argument("$/t", "price of cane", *AMOUNT, symbol="P"),
    equation="P = Ps · 0.90 (CCS - 4) / 100 + constant",
    source="Queensland cane-growers' organisation, Cane payment information (constant 0.578 in 2000)",
    status="read",
    caveat="below CCS 4 the sugar part is negative; the payment scheme must say what then happens",
    example=(400.0, 13.5, 0.578),
    gives=34.778,
    sugar_price=argument("$/t", "price of sugar", *PRICE, symbol="Ps"),
    ccs=percent("commercial cane sugar", *CANE_QUALITY, "CCS", "CCS"),
    constant=argument("$/t", "constant of the agreement", -10.0, 50.0),
)
def classic_cane_price(sugar_price: Num, ccs: Num, constant: Num) -> Num:
    """Price per tonne of cane in the classic CCS scheme."""
    return sugar_price * 0.90 * (ccs - 4.0) / 100.0 + constant


@formula(
    result=plain("growers' share of the proceeds", *PART),
    equation="share = 0.90 (CCS - 4) / (CCS · recovery / 100)",
    source="Queensland cane-growers' organisation, Cane payment information: two thirds at CCS 12 and 90 recovery",
    status="read",
    example=(12.0, 90.0),
    gives=0.6666666667,
    ccs=percent("commercial cane sugar", *CANE_QUALITY_PRESENT, "CCS", "CCS"),
    recovery=percent("sugar made % CCS in cane", *RECOVERY_MADE),
)
def grower_share(ccs: Num, recovery: Num) -> Num:
    """Growers' share of sugar proceeds in the classic CCS scheme, constant left out."""
    return 0.90 * (ccs - 4.0) / (ccs * recovery / 100.0)


@formula(
    result=percent("java ratio", *SHARE),
    equation="J = 100 · pol % cane / pol % first expressed juice",
    source="mill-house basic-data training workbook (worked cane and bagasse figures)",
    status="read",
    example=(15.46, 18.25),
    gives=84.712329,
    cane_pol=percent("pol in cane", *POL_OF_CANE, "P"),
    juice_pol=percent("pol of first expressed juice", *POL_PRESENT, "Pj", "pol"),
)
def java_ratio(cane_pol: Num, juice_pol: Num) -> Num:
    """Pol in cane as a percentage of pol in first expressed juice."""
    return 100.0 * cane_pol / juice_pol


@formula(
    result=percent("content of absolute juice", *SHARE),
    equation="absolute juice = 100 x / (100 - F)",
    source="mill-house basic-data training workbook: 15.46 at fibre 12.58 gives 17.68",
    status="read",
    caveat="takes all of cane but fibre as juice: no brix-free water",
    example=(15.46, 12.58),
    gives=17.684740,
    content=percent("pol or brix in cane", *BRIX_OF_CANE),
    fibre=FIBRE,
)
def in_absolute_juice(content: Num, fibre: Num) -> Num:
    """Pol or brix of the absolute juice: all of cane that is not fibre."""
    return 100.0 * content / (100.0 - fibre)


@formula(
    result=percent("brix of absolute juice, estimated", *SHARE, "B", REFRACTOMETER),
    equation="B = Bj (1 - 0.002 F)",
    source="mill-house basic-data training workbook: factor 0.97484 at fibre 12.58",
    status="read",
    caveat="estimate for one industry's first mills",
    example=(21.2, 12.58),
    gives=20.666608,
    juice_brix=JUICE_BRIX,
    fibre=FIBRE,
)
def absolute_juice_brix_from_first_juice(juice_brix: Num, fibre: Num) -> Num:
    """Brix of absolute juice estimated from first expressed juice."""
    return juice_brix * (1.0 - 0.002 * fibre)
