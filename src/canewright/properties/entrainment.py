"""Juice carried over with vapour: how fast vapour may rise, and how much it takes along.

Sugar in condensate harms boilers: local codes and licensed operators govern what goes to them.
"""

from __future__ import annotations

from canewright.properties.ranges import AMOUNT, LIQUOR_DENSITY, TRACE
from canewright.quantity import Num, argument, formula
from canewright.quantity.maths import exp, log, sqrt

NOTHING = 1e-12


@formula(
    result=argument("m/s", "greatest velocity of rising vapour", *AMOUNT, symbol="v_max"),
    constant=argument("m/s", "constant of the vapour space or separator", 0.005, 0.3, symbol="K"),
    liquid=argument("kg/m³", "density of the liquid", *LIQUOR_DENSITY, symbol="ρ_l"),
    # saturated at 5 °C and at 1000 kPa, between which water boils in evaporators and pans
    vapour=argument("kg/m³", "density of the vapour", 0.0068, 5.15, symbol="ρ_v"),
    equation="v_max = K √((ρ_l − ρ_v) / ρ_v)",
    source="Souders and Brown (1934), Ind. Eng. Chem. 26, 98; form read on a public page on vapour-liquid separators",
    status="from memory",
    example=(0.05, 1300.0, 0.1),
    gives=5.70065786,
    caveat="K about 0.02-0.05 m/s without and about 0.1 m/s with a wire mesh (from memory; 0.108 read for one mesh); "
    "foam and a high level carry juice over well below it.",
)
def greatest_vapour_velocity(constant: Num, liquid: Num, vapour: Num) -> Num:
    """Velocity above which rising vapour keeps droplets of ordinary size."""
    return constant * sqrt((liquid - vapour) / vapour)


@formula(
    result=argument("mg/kg", "juice carried on vapour", *AMOUNT, symbol="e"),
    at_greatest=argument("mg/kg", "juice carried at the greatest velocity", *TRACE, symbol="e_max"),
    velocity=argument("m/s", "velocity of the vapour", 0.0, 200.0, symbol="v"),
    greatest=argument("m/s", "greatest velocity", 0.05, 200.0, symbol="v_max"),
    exponent=argument("1", "exponent", 1.0, 8.0, symbol="n"),
    equation="e = e_max (v / v_max)^n",
    source="form chosen here; e_max and n from the plant's own condensates",
    status="own fit",
    example=(200.0, 5.0, 10.0, 3.0),
    gives=25.0,
)
def juice_entrained(at_greatest: Num, velocity: Num, greatest: Num, exponent: Num) -> Num:
    """Juice that vapour carries over, by its velocity."""
    ratio = velocity / greatest
    return at_greatest * exp(0.5 * exponent * log(ratio * ratio + NOTHING))
