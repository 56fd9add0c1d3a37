"""Colour taken by columns of carbon or resin: breakthrough, what has passed, and equilibrium on carbon.

Wet carbon takes the oxygen out of the air of a vessel; entry only by permit with tested air, under local codes.
"""

from __future__ import annotations

from canewright.analysis.declaring import plain
from canewright.properties.ranges import AMOUNT, COLOUR_PRESENT, PART
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num, exp, log

BOHART = "Bohart and Adams (1920), J. Am. Chem. Soc. 42, 523"
LEAST = -27.631021115928547
"""ln 1e-12."""
HAND = "60 t of 1e5 IU capacity on 9.1667 t/h of solids, 3e-5 1/(IU·h), 1,000 IU for 556.4 h, worked by hand"


def _column() -> dict[str, Argument]:
    return {
        "transfer_units": plain("rate · capacity · adsorbent / flow of solids", 0.0, 1e12, "A"),
        "exposure": plain("rate · colour brought, summed over time", 0.0, 600.0, "X"),
    }


@formula(
    result=plain("share of adsorbable colour that passes", *PART),
    equation="passes = e^(X-A) / (e^(X-A) + 1 - e^(-A))",
    source=f"{BOHART}; where e^A is large this is the form of Thomas, 1 / (1 + e^(A-X)); {HAND}",
    status="from memory",
    caveat="exact for any history of colour; a column without adsorbent (A = 0) passes all",
    example=(19.636363636, 16.692),
    gives=0.0500035790,
    **_column(),
)
def column_passing(transfer_units: Num, exposure: Num) -> Num:
    """Share of adsorbable colour that a column of carbon or resin passes at this moment."""
    shown = exp(exposure - transfer_units)
    return shown / (shown + 1.0 - exp(-transfer_units))


@formula(
    result=plain("exposure that has left", *AMOUNT),
    equation="passed = ln(1 + e^(X-A) - e^(-A))",
    source=f"integral of what passes; {BOHART}",
    status="derived",
    caveat="what leaves one column enters the next in a row",
    example=(19.636363636, 16.692),
    gives=0.0512970588,
    **_column(),
)
def column_passed(transfer_units: Num, exposure: Num) -> Num:
    """Exposure that has left a column after this exposure has entered."""
    return log(1.0 + exp(exposure - transfer_units) - exp(-transfer_units))


@formula(
    result=argument("IU", "colour of solids in equilibrium with the carbon", *AMOUNT, symbol="C"),
    equation="C = (q/k)ⁿ",
    source="Freundlich isotherm q = k C^(1/n)",
    status="from memory",
    example=(1500.0, 400.0, 1.6),
    gives=8.28800546,
    held=argument("IU", "colour held, on its mass of carbon", 0.0, 1e6, symbol="q"),
    capacity=argument("IU", "held at a colour of 1 IU", *COLOUR_PRESENT, symbol="k"),
    exponent=plain("exponent of the isotherm", 1.0, 5.0, "n"),
)
def equilibrium_colour(held: Num, capacity: Num, exponent: Num) -> Num:
    """Colour of liquor, on solids, in Freundlich equilibrium with carbon that holds this much."""
    share = held / capacity
    # the square and 1e-12 keep the curvature finite at nothing held; the second term makes that colour nothing again
    return exp(0.5 * exponent * log(share * share + 1e-12)) - exp(0.5 * exponent * LEAST)
