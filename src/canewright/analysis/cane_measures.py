"""Payment measures of particular industries: Jamaica (JRCS), São Paulo (ATR) and Louisiana."""

from __future__ import annotations

from canewright.analysis.declaring import APPARENT, REFRACTOMETER, percent, plain, sugar_degrees
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_JUICE,
    BRIX_OF_RAW_JUICE,
    FIBRE_OF_CANE,
    POL_OF_JUICE,
    POLARIMETER_SCALE,
    PURITY_OF_PRESS_JUICE,
    SHARE,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

JAMAICA = "Jamaican industry page: Basics of the core sampling system"


@formula(
    result=plain("pol of absolute juice per pol of press juice", *AMOUNT, "C"),
    equation="C = 1.02 - 0.44 F/100",
    source=JAMAICA,
    status="read",
    example=(14.0,),
    gives=0.9584,
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def press_juice_factor(fibre: Num) -> Num:
    """Factor from press juice pol to absolute juice pol."""
    return 1.02 - 0.0044 * fibre


@formula(
    result=percent("Jamaica recoverable cane sugar", *SHARE, "JRCS"),
    equation="JRCS = 1.03 P C (1 - F/100)(1 - 0.4 F/100)(1.4 - 40/Q)",
    source=JAMAICA,
    status="read",
    caveat="the printed short form 1.03 P (1.02 - 1.73 F)(1.4 - 40/Q) agrees only near 14 % fibre",
    example=(16.0, 14.0, 85.0),
    gives=11.917427,
    press_pol=percent("pol of press juice", *POL_OF_JUICE, "P", "pol"),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
    purity=percent("apparent purity of press juice", *PURITY_OF_PRESS_JUICE, "Q", APPARENT),
)
def jamaica_recoverable_sugar(press_pol: Num, fibre: Num, purity: Num) -> Num:
    """Recoverable sugar at 96 pol from core-sample press juice."""
    mill = press_juice_factor(fibre) * (1.0 - fibre / 100.0) * (1.0 - 0.004 * fibre)
    return 1.03 * press_pol * mill * (1.4 - 40.0 / purity)


@formula(
    result=argument("kg/t", "total recoverable sugar", *AMOUNT, symbol="ATR"),
    equation="ATR = f₁ PC + f₂ ARC; S = L (0.2605 - 0.0009882 B), L = 1.00621 R + 0.05117, F = 0.08 PBU + 0.876",
    source="São Paulo growers' council system; reading correction confirmed on a published pair (59.25 to 59.67)",
    status="from memory",
    caveat="coefficients other than the reading correction are unconfirmed; circulars change factors and rounding",
    example=(18.5, 65.0, 145.0, 9.6316, 9.15),
    gives=133.63802,
    brix=percent("brix of press juice", *BRIX_OF_RAW_JUICE, "B", REFRACTOMETER),
    reading=sugar_degrees("saccharimeter reading with aluminium clarifier", 10.0, POLARIMETER_SCALE[1]),
    wet_cake=argument("g", "wet press cake of a 500 g sample", 80.0, 250.0, symbol="PBU"),
    pol_factor=argument("kg/t", "recoverable sugar per unit of pol in cane", 9.0, 10.0, symbol="f₁"),
    reducing_factor=argument("kg/t", "recoverable sugar per unit of reducing sugars", 8.5, 9.5, symbol="f₂"),
)
def total_recoverable_sugar(brix: Num, reading: Num, wet_cake: Num, pol_factor: Num, reducing_factor: Num) -> Num:
    """Total recoverable sugar (ATR) of cane, kg per tonne."""
    fibre = 0.08 * wet_cake + 0.876
    pol = (1.00621 * reading + 0.05117) * (0.2605 - 0.0009882 * brix)
    reducing = 3.641 - 0.0343 * 100.0 * pol / brix
    to_cane = (1.0 - 0.01 * fibre) * (1.0313 - 0.00575 * fibre)
    return (pol_factor * pol + reducing_factor * reducing) * to_cane


@formula(
    result=argument("kg/t", "theoretical recoverable sugar", *AMOUNT, symbol="TRS"),
    equation="TRS = (0.28 S - 0.08 B)(100 - 56.67 F / (100 - F)) / 2",
    source="Legendre, 1992 (Louisiana core laboratory)",
    status="from memory",
    caveat="given in lb per short ton; half of that is kg/t exactly",
    example=(16.0, 18.0, 14.0),
    gives=137.977481,
    sucrose=percent("sucrose of normal juice", *POL_OF_JUICE, "S"),
    brix=percent("brix of normal juice", *BRIX_OF_JUICE, "B", REFRACTOMETER),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
)
def louisiana_recoverable_sugar(sucrose: Num, brix: Num, fibre: Num) -> Num:
    """Theoretical recoverable sugar of Louisiana, kg per tonne."""
    return (0.28 * sucrose - 0.08 * brix) * (100.0 - 56.67 * fibre / (100.0 - fibre)) / 2.0
