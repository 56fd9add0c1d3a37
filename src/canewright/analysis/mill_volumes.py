"""Volumes in the mill: no-void volume, escribed volume, filling ratio and reabsorption."""

from __future__ import annotations

from math import pi

from canewright.analysis.declaring import percent, plain
from canewright.properties.ranges import (
    AMOUNT,
    ESCRIBED_VOLUME,
    FIBRE_OF_SAMPLE,
    FLOW,
    LIQUOR_DENSITY,
    ROLL_DIAMETER,
    ROLL_LENGTH,
    ROLL_TURNS,
)
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

SOEMOHANDOJO = "Soemohandojo, Extraction of a mill, Gula Indonesia VI(4), 1980, and handbook chapters 5 and 6"
VOLUMES = "Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986; Rein, Cane Sugar Engineering, 2007"
LENGTH = argument("m", "roll length", *ROLL_LENGTH, symbol="L")
WORK_OPENING = argument("m", "work opening, of the delivery where bagasse leaves", 0.002, 1.0, symbol="W")
ROLL_SPEED = argument("m/s", "roll surface speed", 0.02, 1.0, symbol="S")


@formula(
    result=argument("kg/m³", "no-void density", *AMOUNT, symbol="ρ"),
    equation="1/ρ = (1 - f)/ρj + f/ρf",
    source=VOLUMES,
    status="from memory",
    caveat="fibre density of 1530 kg/m³ is a usual value, not measured here",
    example=(14.0, 1065.0, 1530.0),
    gives=1112.32819,
    fibre=percent("fibre of the material", *FIBRE_OF_SAMPLE, "100 f"),
    juice_density=argument("kg/m³", "density of juice", *LIQUOR_DENSITY, symbol="ρj"),
    fibre_density=argument("kg/m³", "density of fibre", 1300.0, 1600.0, symbol="ρf"),
)
def no_void_density(fibre: Num, juice_density: Num, fibre_density: Num) -> Num:
    """Density of cane or bagasse with all air squeezed out."""
    share = fibre / 100.0
    return 1.0 / ((1.0 - share) / juice_density + share / fibre_density)


@formula(
    result=argument("m³/s", "no-void volume rate", *AMOUNT),
    equation="volume rate = mass rate / ρ / 3.6",
    source=VOLUMES,
    status="derived",
    example=(420.0, 1112.32819),
    gives=0.10488513,
    rate=argument("t/h", "cane or bagasse", *FLOW),
    density=argument("kg/m³", "no-void density", *LIQUOR_DENSITY, symbol="ρ"),
)
def no_void_volume_rate(rate: Num, density: Num) -> Num:
    """No-void volume passing per second."""
    return rate / (3.6 * density)


@formula(
    result=argument("m³/s", "escribed volume rate", *AMOUNT),
    equation="escribed = L · W · S",
    source=VOLUMES,
    status="from memory",
    example=(2.134, 0.22, 0.55),
    gives=0.258214,
    length=LENGTH,
    opening=WORK_OPENING,
    speed=ROLL_SPEED,
)
def escribed_volume_rate(length: Num, opening: Num, speed: Num) -> Num:
    """Volume swept by a pair of rolls at their work opening."""
    return length * opening * speed


@formula(
    result=plain("no-void volume on escribed volume", *AMOUNT),
    equation="C = no-void volume rate / escribed volume rate",
    source=VOLUMES,
    status="from memory",
    caveat="named filling ratio at the feed opening and reabsorption factor (over 1) at the delivery opening",
    example=(0.10488513, 0.258214),
    gives=0.40619460,
    # the greatest flow of the lightest liquor
    no_void=argument("m³/s", "no-void volume rate", 0.0, 1.55),
    escribed=argument("m³/s", "escribed volume rate", *ESCRIBED_VOLUME),
)
def filling_ratio(no_void: Num, escribed: Num) -> Num:
    """Filling ratio of a pair of rolls."""
    return no_void / escribed


@formula(
    result=plain("reabsorption factor", *AMOUNT, "k"),
    equation="k = bagasse / (3.6 ρ) / (L W S)",
    source=VOLUMES,
    status="from memory",
    caveat="commonly 1.1 to 1.6; below 1 means wrong openings, densities or rates",
    example=(123.789, 1204.433, 2.134, 0.042, 0.22),
    gives=1.4478732,
    bagasse=argument("t/h", "bagasse delivered", *FLOW),
    density=argument("kg/m³", "no-void density of bagasse", *LIQUOR_DENSITY, symbol="ρ"),
    length=LENGTH,
    opening=WORK_OPENING,
    speed=ROLL_SPEED,
)
def reabsorption_factor(bagasse: Num, density: Num, length: Num, opening: Num, speed: Num) -> Num:
    """Reabsorption factor at the delivery opening of a mill."""
    return bagasse / (3.6 * density) / (length * opening * speed)


@formula(
    result=argument("m/s", "roll surface speed", *AMOUNT, symbol="S"),
    equation="S = π D n / 60",
    source="circumference of the mean diameter (outside diameter less depth of groove)",
    status="derived",
    example=(1.002, 4.4666667),
    gives=0.234341870,
    diameter=argument("m", "mean diameter of the rolls", *ROLL_DIAMETER, symbol="D"),
    turns=argument("1/min", "turns of the rolls", *ROLL_TURNS, symbol="n"),
)
def roll_surface_speed(diameter: Num, turns: Num) -> Num:
    """Surface speed of rolls at their mean diameter."""
    return pi * diameter * turns / 60.0


@formula(
    result=argument("kg/m³", "compaction", *AMOUNT, symbol="γ"),
    equation="γ = fibre / (3.6 · escribed)",
    source=VOLUMES,
    status="from memory",
    caveat="600 to 900 kg/m³ at the delivery of last mills",
    example=(56.0, 0.0195),
    gives=797.72080,
    fibre=argument("t/h", "fibre that passes", *FLOW),
    escribed=argument("m³/s", "escribed volume rate", *ESCRIBED_VOLUME),
)
def compaction(fibre: Num, escribed: Num) -> Num:
    """Fibre pressed into a unit of escribed volume."""
    return fibre / (3.6 * escribed)


@formula(
    result=plain("no-void volume of bagasse on that of the feed", *AMOUNT),
    equation="Vb/Vin = (ρin - ρj) / (ρb - ρj)",
    source=SOEMOHANDOJO,
    status="read",
    caveat="volumes add; the density of the bagasse must be above that of the juice",
    example=(1131.46, 1077.88, 1166.89),
    gives=0.60195484,
    feed_density=argument("kg/m³", "no-void density of the feed", 1000.0, 1400.0, symbol="ρin"),
    # from water at 30 °C to what is lighter than all bagasse, where the quotient has its pole
    juice_density=argument("kg/m³", "density of the juice extracted", 995.0, 1100.0, symbol="ρj"),
    bagasse_density=argument("kg/m³", "no-void density of the bagasse", 1105.0, 1500.0, symbol="ρb"),
)
def bagasse_volume_ratio(feed_density: Num, juice_density: Num, bagasse_density: Num) -> Num:
    """How much of the no-void volume stays in the bagasse, from densities alone."""
    return (feed_density - juice_density) / (bagasse_density - juice_density)
