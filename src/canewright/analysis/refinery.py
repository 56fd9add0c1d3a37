"""Refinery figures: yield, loss on melt, colours of white strikes in closed form, and coating with syrup."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain, purity, tonnes
from canewright.properties.ranges import AMOUNT, COLOUR, GAIN, MASS, MASS_PRESENT, PART, SHARE, SIGNED
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num, power

THOMPSON = "Thompson, Fry and Hasrajani, Thoughts on Refinery Boiling Schemes, 2005, Table 1"
STRIKE_CAVEAT = "no back-boiling and no blend into the feed; sugar counted as pure; colour times solids is approximate"


@formula(
    result=percent("refinery yield", *SHARE),
    equation="yield = 100 · (refined made + Δ stock) / raw melt",
    source="definition; common practice, no source",
    status="derived",
    caveat="state the basis (mass or pol) and that remelt is left out of raw melt",
    example=(950.0, 5.0, 1000.0),
    gives=95.5,
    refined=tonnes("refined sugar made", *MASS),
    stock_gain=tonnes("gain of stock in process, as refined sugar", *GAIN),
    raw_melt=tonnes("raw sugar melted", *MASS_PRESENT),
)
def refinery_yield(refined: Num, stock_gain: Num, raw_melt: Num) -> Num:
    """Refined sugar per raw sugar melted."""
    return 100.0 * (refined + stock_gain) / raw_melt


@formula(
    result=percent("melt loss", *SIGNED),
    equation="loss = 100 · (pol in - pol out - Δ stock) / pol in",
    source="refinery pol balance",
    status="derived",
    caveat="pol out includes known losses to give the undetermined part, products alone to give the whole",
    example=(980.0, 970.0, 2.0),
    gives=0.8163265,
    pol_in=tonnes("pol melted", *MASS_PRESENT),
    pol_out=tonnes("pol in products", *MASS),
    stock_gain=tonnes("gain of pol in process", *GAIN),
)
def melt_loss(pol_in: Num, pol_out: Num, stock_gain: Num) -> Num:
    """Pol lost on melt, sugar in against sugar out."""
    return 100.0 * (pol_in - pol_out - stock_gain) / pol_in


STRIKE = plain("number of the strike, the first is 1", 1.0, 6.0, "n")
SOLIDS_YIELD = plain("sugar solids per massecuite solids", 0.3, 0.65, "y")


def _boiling() -> dict[str, Argument]:
    return {
        "colour_rise": plain("colour formed in one boiling, factor", 1.0, 1.2, "g"),
        "solids_yield": SOLIDS_YIELD,
        "colour_ratio": plain("massecuite colour per sugar colour", 5.0, 40.0, "r"),
    }


def _strike() -> dict[str, Argument]:
    feed = argument("IU", "colour of the fine liquor", *COLOUR, kind="ICUMSA colour")
    return {"feed_colour": feed, "strike": STRIKE, **_boiling()}


@formula(
    result=plain("run-off colour per feed colour", *AMOUNT, "J"),
    equation="J = g (1 - y/r) / (1 - y)",
    source=f"colour balance of one boiling; closes on {THOMPSON}",
    status="derived",
    caveat=STRIKE_CAVEAT,
    example=(1.05, 0.5, 10.0),
    gives=1.995,
    **_boiling(),
)
def run_off_colour_factor(colour_rise: Num, solids_yield: Num, colour_ratio: Num) -> Num:
    """How much darker the run-off of a white strike is than its feed."""
    return colour_rise * (1.0 - solids_yield / colour_ratio) / (1.0 - solids_yield)


@formula(
    result=argument("IU", "colour of massecuite", *AMOUNT, kind="ICUMSA colour"),
    equation="Cm = C₀ g Jⁿ⁻¹",
    source=THOMPSON,
    status="read",
    caveat=STRIKE_CAVEAT,
    example=(200.0, 1.0, 1.05, 0.5, 10.0),
    gives=210.0,
    **_strike(),
)
def strike_massecuite_colour(
    feed_colour: Num, strike: Num, colour_rise: Num, solids_yield: Num, colour_ratio: Num
) -> Num:
    """Colour of the massecuite of the n-th white strike, each boiled on the run-off of the one before."""
    factor = run_off_colour_factor(colour_rise, solids_yield, colour_ratio)
    return feed_colour * colour_rise * power(factor, strike - 1.0)


@formula(
    result=argument("IU", "colour of sugar", *AMOUNT, kind="ICUMSA colour"),
    equation="Cs = C₀ g Jⁿ⁻¹ / r",
    source=THOMPSON,
    status="read",
    caveat=STRIKE_CAVEAT,
    example=(200.0, 1.0, 1.05, 0.5, 10.0),
    gives=21.0,
    **_strike(),
)
def strike_sugar_colour(feed_colour: Num, strike: Num, colour_rise: Num, solids_yield: Num, colour_ratio: Num) -> Num:
    """Colour of the sugar of the n-th white strike."""
    return strike_massecuite_colour(feed_colour, strike, colour_rise, solids_yield, colour_ratio) / colour_ratio


@formula(
    result=argument("IU", "colour of run-off", *AMOUNT, kind="ICUMSA colour"),
    equation="Cr = C₀ Jⁿ",
    source=THOMPSON,
    status="read",
    caveat=STRIKE_CAVEAT,
    example=(200.0, 1.0, 1.05, 0.5, 10.0),
    gives=399.0,
    **_strike(),
)
def strike_run_off_colour(feed_colour: Num, strike: Num, colour_rise: Num, solids_yield: Num, colour_ratio: Num) -> Num:
    """Colour of the run-off of the n-th white strike."""
    return feed_colour * power(run_off_colour_factor(colour_rise, solids_yield, colour_ratio), strike)


@formula(
    result=purity("purity of run-off", *SHARE, kind=""),
    equation="Pr = 100 - (100 - P₀) / (1 - y)ⁿ",
    source=THOMPSON,
    status="read",
    caveat="sugar counted as pure",
    example=(99.4, 1.0, 0.5),
    gives=98.8,
    feed_purity=purity("purity of the fine liquor", 95.0, 100.0, kind=""),
    strike=STRIKE,
    solids_yield=SOLIDS_YIELD,
)
def strike_run_off_purity(feed_purity: Num, strike: Num, solids_yield: Num) -> Num:
    """Purity of the run-off of the n-th white strike."""
    return 100.0 - (100.0 - feed_purity) / power(1.0 - solids_yield, strike)


@formula(
    result=plain("syrup solids per coated sugar solids", *PART),
    equation="s/D = (C - Cw) / (Cs - Cw)",
    source="colour balance of coating, D = Dw + s",
    status="derived",
    caveat="colour times solids additive; moisture of the product by its own balance",
    example=(30.0, 40000.0, 2000.0),
    gives=0.0492869653,
    # sugar below any syrup, else the quotient has a pole
    sugar_colour=argument("IU", "colour of the white sugar", 0.0, 500.0, symbol="Cw"),
    syrup_colour=argument("IU", "colour of the syrup solids", 600.0, COLOUR[1], symbol="Cs"),
    target_colour=argument("IU", "colour wanted", *COLOUR, symbol="C"),
)
def coating_syrup_share(sugar_colour: Num, syrup_colour: Num, target_colour: Num) -> Num:
    """Share of syrup solids in coated sugar that gives the wanted colour."""
    return (target_colour - sugar_colour) / (syrup_colour - sugar_colour)
