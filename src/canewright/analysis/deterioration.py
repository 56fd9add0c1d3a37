"""Cane that waits: how fast it loses sucrose between cutting and crushing."""

from __future__ import annotations

from canewright.analysis.declaring import degrees_celsius, plain
from canewright.properties.ranges import AMBIENT_TEMPERATURE, AMOUNT
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num, exp, log


@formula(
    result=argument("1/h", "share of the sucrose lost in an hour", *AMOUNT, symbol="k"),
    equation="k = k₂₀ q^((t - 20)/10)",
    source="common practice, no source for the form; 0.0004 to 0.0012 1/h burnt and chopped (from memory)",
    status="from memory",
    caveat="Varies tenfold with variety, burning, billets and weather: fit it to the site. Larrahondo and others, "
    "Sugar Tech 8(4), 2006 (read): 0.010-0.023 units of sucrose % cane an hour in the field, 0.030 to the mill",
    example=(0.0008, 2.0, 27.0),
    gives=0.00129960398,
    at_20=argument("1/h", "share lost in an hour at 20 °C", 0.0, 0.02, symbol="k₂₀"),
    quotient=plain("factor for ten kelvin", 1.0, 5.0, "q"),
    temperature=degrees_celsius("temperature of the cane", *AMBIENT_TEMPERATURE),
)
def cane_deterioration_rate(at_20: Num, quotient: Num, temperature: Num) -> Num:
    """Rate at which cut cane loses sucrose, by its temperature."""
    return at_20 * exp(log(quotient) * (temperature - 20.0) / 10.0)
