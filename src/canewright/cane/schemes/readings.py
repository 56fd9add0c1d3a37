"""What deliveries may carry besides their mass, by the names that schemes and files use, and short ways to declare."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from canewright.analysis import cane
from canewright.cane.exact import Exact
from canewright.cane.schemes.declaring import Constant, Readings, Terms
from canewright.quantity.formula import Argument, Formula, argument

CCS, JUICE_BRIX, JUICE_POL, FIBRE = "CCS", "juice brix", "juice pol", "fibre"
READING, WET_CAKE, BURNT = "polarimeter reading", "wet cake", "hours since burning"
TRASH = "extraneous matter"
POL_IN_CANE, BRIX_IN_CANE = "pol in cane", "brix in cane"
CCS_READING = argument("%", "commercial cane sugar", 0.0, 25.0, symbol="CCS", kind="CCS")
TRASH_READING = argument("%", "extraneous matter % gross cane", 0.0, 60.0)
BURNT_HOURS = argument("h", "hours from burning to delivery, stops of the mill left out", 0.0, 400.0)
READABLE: Mapping[str, Argument] = {
    CCS: CCS_READING,
    JUICE_BRIX: cane.ccs.arguments["juice_brix"],
    JUICE_POL: cane.ccs.arguments["juice_pol"],
    FIBRE: cane.ccs.arguments["fibre"],
    READING: argument("°Z", "polarimeter reading of clarified juice", 10.0, 110.0),
    WET_CAKE: argument("g", "wet press cake of a 500 g sample", 80.0, 250.0),
    BURNT: BURNT_HOURS,
    TRASH: TRASH_READING,
    POL_IN_CANE: cane.ccs_of_cane.arguments["pol_in_cane"],
    BRIX_IN_CANE: cane.ccs_of_cane.arguments["brix_in_cane"],
}
"""Every reading that a delivery may carry, with unit and range."""
WORKED_OUT: Mapping[str, tuple[Formula, tuple[str, ...]]] = {
    POL_IN_CANE: (cane.pol_in_cane, (JUICE_POL, FIBRE)),
    BRIX_IN_CANE: (cane.brix_in_cane, (JUICE_BRIX, FIBRE)),
    CCS: (cane.ccs, (JUICE_BRIX, JUICE_POL, FIBRE)),
}
"""What is worked out from other readings where it was not delivered itself."""
NOTHING_WHERE_ABSENT = (BURNT, TRASH)
"""Readings that stand for nothing where they are not given: cane cut green, clean cane."""
CCS_STEP = "CCS = 1.5 Pj [1 - (F + 5)/100] - 0.5 Bj [1 - (F + 3)/100], Pj and Bj of first expressed juice, F fibre"


def of(formula: Formula, **columns: str) -> dict[str, Argument]:
    """Readings by column, each with unit and range as the formula declares its argument."""
    return {column: formula.arguments[name] for name, column in columns.items()}


def constant(name: str, unit: str, says: str, low: str, high: str, published: str = "") -> Constant:
    """A constant that an agreement must give, with its limits."""
    return Constant(name, unit, says, Decimal(low), Decimal(high), published)


def sugar_price(published: str = "") -> Constant:
    """The price of sugar."""
    return constant("sugar_price", "$/t", "price of sugar", "0", "100000", published)


def own_ccs(readings: Readings, terms: Terms) -> Exact:
    """CCS as delivered."""
    return readings[CCS]


def per_hundred(quality: Exact, price: Exact) -> Exact:
    """Price of a tonne of cane from a quality in % and the price of a tonne of it."""
    return quality * price / 100
