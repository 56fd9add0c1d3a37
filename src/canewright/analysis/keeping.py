"""Liquid sugar that keeps: pasteurisation units of a hold, and ultraviolet dose in a layer of syrup.

Food safety is regulated: the site's food safety plan and verified instruments outrank any figure here. Ultraviolet
light burns eyes and skin; hot syrup scalds.
"""

from __future__ import annotations

from canewright.analysis.declaring import degrees_celsius, plain
from canewright.properties.ranges import AMOUNT, HEATED_TEMPERATURE, PART
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, exp

LN10 = 2.302585092994046


@formula(
    result=argument("min", "minutes at the reference temperature of equal effect", *AMOUNT, symbol="P"),
    equation="P = τ 10^((t - t_r)/z)",
    source="Bigelow's law of decimal change with temperature; z about 7 K for yeasts in syrup",
    status="from memory",
    caveat="yeasts in strong syrup bear more heat than in water: z and the units wanted come from the food safety plan",
    example=(5.0, 78.0, 70.0, 7.0),
    gives=69.4747747,
    minutes=argument("min", "time held", 0.0, 1e7, symbol="τ"),
    temperature=degrees_celsius("temperature held", *HEATED_TEMPERATURE),
    reference=degrees_celsius("reference temperature", *HEATED_TEMPERATURE, "t_r"),
    tenfold=argument("K", "rise that makes the effect tenfold", 4.0, 20.0, symbol="z"),
)
def pasteurisation_units(minutes: Num, temperature: Num, reference: Num, tenfold: Num) -> Num:
    """Effect of holding a liquid at a temperature, as minutes at the reference temperature."""
    return minutes * exp(LN10 * (temperature - reference) / tenfold)


@formula(
    result=plain("mean irradiance on that at the surface", *PART),
    equation="mean/surface = (1 - 10^(-a d)) / (a d ln 10)",
    source="law of Beer averaged over a stirred layer (Morowitz 1950, Science 111, 229)",
    status="from memory",
    example=(2.0, 0.5),
    gives=0.390865034,
    absorption=argument("1/cm", "decadic absorption at 254 nm", 0.001, 50.0, symbol="a"),
    depth=argument("cm", "depth of the layer", 0.05, 10.0, symbol="d"),
)
def mean_irradiance(absorption: Num, depth: Num) -> Num:
    """Mean irradiance in a stirred layer lit from one side, on that at its surface."""
    decades = absorption * depth
    return (1.0 - exp(-LN10 * decades)) / (LN10 * decades)
