"""Public cane-payment formulas: Florida, India, Thailand, Jamaica's price, and relative payment.

Prices are in the currency of the agreement, written $. Each formula is a dated setting: read the agreement in force.
"""

from __future__ import annotations

from canewright.analysis.declaring import REFRACTOMETER, percent, plain, tonnes
from canewright.properties.ranges import (
    AMOUNT,
    BRIX_OF_RAW_JUICE,
    CANE_QUALITY,
    CANE_QUALITY_PRESENT,
    FIBRE_OF_CANE,
    MASS,
    POL_OF_JUICE,
    PRICE,
    PURITY_OF_PRESS_JUICE,
    SHARE,
)
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

FLORIDA = "Florida agricultural bulletin UF00067462, pages 7-8, quoting 7 CFR 873.14"
INDIA = "press report of 22 February 2024 on the fair and remunerative price 2024-25; floor at 9.5 % recovery"
THAILAND = "press report on the final cane price 2022/23, 70:30 system"
SOUTH_AFRICA = "South African sugar industry agreement, clauses 148-149 (relative RV)"
WYNNE = "Wynne, Murray and Gabriel, South African Sugar Technologists' Association, abstract"


def _money(says: str, low: float, high: float, symbol: str = "P") -> Argument:
    return argument("$/t", says, low, high, symbol=symbol)


def _quality(says: str, low: float = CANE_QUALITY[0], high: float = CANE_QUALITY[1], symbol: str = "") -> Argument:
    return percent(says, low, high, symbol, "cane quality")


@formula(
    result=plain("quality factor", *AMOUNT),
    equation="factor = 1 + 0.1 (S - 12.5)",
    source=FLORIDA,
    status="read",
    caveat="historic; 0.05 per 0.5 % of sucrose in normal juice; trash above 4 % comes off the mass first",
    example=(14.0,),
    gives=1.15,
    sucrose=percent("sucrose of normal juice", 5.0, 22.0, "S"),
)
def florida_quality_factor(sucrose: Num) -> Num:
    """Factor from net tons to standard tons of cane, Florida."""
    return 1.0 + 0.1 * (sucrose - 12.5)


@formula(
    result=percent("brix of normal juice", *SHARE, "B", REFRACTOMETER),
    equation="B = f Bc",
    source=FLORIDA,
    status="read",
    caveat="dry-milling factor: brix of normal juice over that of crusher juice, 15.0/16.0 in the bulletin",
    example=(16.0, 0.9375),
    gives=15.0,
    crusher_brix=percent("brix of crusher juice", *BRIX_OF_RAW_JUICE, "Bc", REFRACTOMETER),
    factor=plain("dry-milling factor", 0.85, 1.05, "f"),
)
def normal_juice_brix(crusher_brix: Num, factor: Num) -> Num:
    """Brix of normal juice from crusher juice."""
    return factor * crusher_brix


@formula(
    result=tonnes("standard tons", *AMOUNT),
    equation="standard = net · factor",
    source=FLORIDA,
    status="read",
    example=(100.0, 1.15),
    gives=115.0,
    net=tonnes("net cane", *MASS),
    factor=plain("quality factor", 0.1, 3.0),
)
def standard_tons(net: Num, factor: Num) -> Num:
    """Standard tons of cane."""
    return net * factor


@formula(
    result=_money("price of cane", *AMOUNT),
    equation="P = P₀ + 10 p (r - r₀)",
    source=INDIA,
    status="read",
    caveat="at and above the floor recovery of 9.5 %; below it the price stays that of 9.5 %. Recovery of the whole "
    "mill, not of one grower. 340 per quintal is 3400 $/t",
    example=(10.75, 3400.0, 10.25, 33.2),
    gives=3566.0,
    # the floor of the price
    recovery=percent("recovery of the mill", 9.5, 14.0, "r"),
    base_price=_money("price at the basic recovery", *PRICE, "P₀"),
    base_recovery=percent("basic recovery", 8.0, 11.0, "r₀"),
    premium=_money("change per 0.1 % of recovery", 0.0, 1000.0, "p"),
)
def india_fair_price(recovery: Num, base_price: Num, base_recovery: Num, premium: Num) -> Num:
    """Fair and remunerative price of cane in India, at and above its floor."""
    return base_price + 10.0 * premium * (recovery - base_recovery)


def india_price_with_floor(
    recovery: float, base_price: float, base_recovery: float, premium: float, floor_recovery: float = 9.5
) -> float:
    """Fair and remunerative price, $/t, at any recovery in %: below the floor recovery it stays at the floor's price.

    Raises OutOfRange for figures outside the ranges of ``india_fair_price``. Source as there.
    """
    return float(india_fair_price(max(recovery, floor_recovery), base_price, base_recovery, premium))


@formula(
    result=_money("price of cane", *AMOUNT),
    equation="P = P₁₀ [1 + 0.06 (CCS - 10)]",
    source=THAILAND,
    status="read",
    caveat="the notice of 2017-18 prints one change per CCS for two base prices, which 6 % does not reproduce",
    example=(1197.53, 11.0),
    gives=1269.3818,
    price_at_ten=_money("price at CCS 10", *PRICE, "P₁₀"),
    ccs=percent("commercial cane sugar", *CANE_QUALITY, "CCS", "CCS"),
)
def thailand_cane_price(price_at_ten: Num, ccs: Num) -> Num:
    """Price of cane in Thailand's 70:30 system."""
    return price_at_ten * (1.0 + 0.06 * (ccs - 10.0))


@formula(
    result=_money("return to the mill", *AMOUNT),
    equation="mill = 3/7 P₁₀",
    source=THAILAND,
    status="read",
    example=(1197.53,),
    gives=513.227143,
    price_at_ten=_money("price of cane at CCS 10", *PRICE, "P₁₀"),
)
def thailand_mill_return(price_at_ten: Num) -> Num:
    """What the mill keeps per tonne of cane in the 70:30 system."""
    return price_at_ten * 3.0 / 7.0


@formula(
    result=percent("Jamaica recoverable cane sugar, short form", *SHARE, "JRCS"),
    equation="JRCS = 1.03 P (1.02 - 1.73 F)(1.4 - 40/Q), F as a share",
    source="Jamaican industry page: Basics of the core sampling system",
    status="read",
    caveat="the printed short form: right near 14 % fibre only, 1 % low at 18 %",
    example=(16.0, 14.0, 85.0),
    gives=11.9133338,
    press_pol=percent("pol of press juice", *POL_OF_JUICE, "P", "pol"),
    fibre=percent("fibre % cane", *FIBRE_OF_CANE, "F"),
    purity=percent("apparent purity of press juice", *PURITY_OF_PRESS_JUICE, "Q", "apparent"),
)
def jamaica_recoverable_sugar_short(press_pol: Num, fibre: Num, purity: Num) -> Num:
    """Recoverable sugar at 96 pol from press juice, the printed short form."""
    return 1.03 * press_pol * (1.02 - 0.0173 * fibre) * (1.4 - 40.0 / purity)


@formula(
    result=_money("price of cane", *AMOUNT),
    equation="P = Ps · FRI/100 · (JRCS · k - FF) / 100",
    source="Jamaica, industry research annual 2003, chapter 9 (form since 2003)",
    status="read",
    caveat="the factory recovery index is normally 80 to 94; a dated setting",
    example=(500.0, 90.0, 11.9, 1.0, 4.0),
    gives=35.55,
    sugar_price=_money("price of sugar", *PRICE, "Ps"),
    recovery_index=percent("factory recovery index", 50.0, 110.0, "FRI"),
    recoverable=percent("Jamaica recoverable cane sugar", *CANE_QUALITY, "JRCS"),
    relative=plain("relative factor of the week", 0.5, 1.5, "k"),
    fixed=percent("factory's fixed share, % cane", 0.0, 10.0, "FF"),
)
def jamaica_cane_price(sugar_price: Num, recovery_index: Num, recoverable: Num, relative: Num, fixed: Num) -> Num:
    """Price of cane from core-sample recoverable sugar, Jamaica."""
    return sugar_price * recovery_index / 100.0 * (recoverable * relative - fixed) / 100.0


@formula(
    result=_quality("relative quality", *SHARE),
    equation="R = C + C̄ season - C̄ week",
    source=SOUTH_AFRICA,
    status="read",
    caveat="means weighted by mass keep the total; cane outside the season is left out of the means",
    example=(11.8, 12.934, 12.066667),
    gives=12.667333,
    quality=_quality("RV or CCS of the consignment"),
    season=_quality("mean of the season, all growers"),
    week=_quality("mean of the week, all growers"),
)
def relative_quality_additive(quality: Num, season: Num, week: Num) -> Num:
    """Quality that takes the timing in the season out of a grower's pay, by difference."""
    return quality + season - week


@formula(
    result=_quality("relative quality", *SHARE),
    equation="R = C · C̄ season / C̄ week",
    source=WYNNE,
    status="read",
    example=(11.8, 12.934, 12.066667),
    gives=12.6481654,
    quality=_quality("RV or CCS of the consignment"),
    season=_quality("mean of the season, all growers"),
    week=_quality("mean of the week, all growers", *CANE_QUALITY_PRESENT),
)
def relative_quality_multiplicative(quality: Num, season: Num, week: Num) -> Num:
    """Quality that takes the timing in the season out of a grower's pay, by ratio."""
    return quality * season / week


@formula(
    result=plain("factor for stale burnt cane", *AMOUNT, "K"),
    equation="K = 1 - 0.002 (h - h₀)",
    source="São Paulo growers' association, page How to calculate, steps 1.1 to 1.5",
    status="read",
    caveat="above the limit only: 72 h to the end of August, 60 h after; up to the limit the factor is 1",
    example=(90.0, 72.0),
    gives=0.964,
    hours=argument("h", "hours from burning to delivery, stops of the mill left out", 60.0, 400.0, symbol="h"),
    # the two limits of the year by the source
    limit=argument("h", "hours allowed", 60.0, 72.0, symbol="h₀"),
)
def stale_cane_factor(hours: Num, limit: Num) -> Num:
    """Factor on recoverable sugar of cane burnt longer ago than allowed."""
    return 1.0 - 0.002 * (hours - limit)


def stale_factor_with_limit(hours: float, limit: float) -> float:
    """Factor for stale burnt cane at any age in h: 1 up to the limit, ``stale_cane_factor`` beyond.

    Raises OutOfRange for ages or limits outside the ranges of that formula, beyond the limit. Source as there.
    """
    return 1.0 if hours <= limit else float(stale_cane_factor(hours, limit))
