"""Volumes in the mill: no-void volume, escribed volume, filling ratio and reabsorption."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain
from canewright.properties.ranges import AMOUNT, FIBRE_OF_SAMPLE, FLOW, LIQUOR_DENSITY
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

VOLUMES = "Hugot, Handbook of Cane Sugar Engineering, 3rd ed. 1986; Rein, Cane Sugar Engineering, 2007"
JUICE_DENSITY = argument("kg/m³", "density of juice", 995.0, 1200.0, symbol="ρj")
ROLL_LENGTH = argument("m", "roll length", 0.3, 4.0, symbol="L")
WORK_OPENING = argument("m", "work opening, of the delivery where bagasse leaves", 0.002, 1.0, symbol="W")
ROLL_SPEED = argument("m/s", "roll surface speed", 0.02, 1.0, symbol="S")
FIBRE_DENSITY = argument("kg/m³", "density of fibre", 1300.0, 1600.0, symbol="ρf")


@formula(
    result=argument("kg/m³", "no-void density", *AMOUNT, symbol="ρ"),
    equation="1/ρ = (1 - f)/ρj + f/ρf",
    source=VOLUMES,
    status="from memory",
    caveat="fibre density of 1530 kg/m³ is a usual value, not measured here",
    example=(14.0, 1065.0, 1530.0),
    gives=1112.32819,
    fibre=percent("fibre of the material", *FIBRE_OF_SAMPLE, "100 f"),
    juice_density=JUICE_DENSITY,
    fibre_density=FIBRE_DENSITY,
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
    length=ROLL_LENGTH,
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
    no_void=argument("m³/s", "no-void volume rate", 0.0, 1.0),
    escribed=argument("m³/s", "escribed volume rate", 0.0005, 10.0),
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
    length=ROLL_LENGTH,
    opening=WORK_OPENING,
    speed=ROLL_SPEED,
)
def reabsorption_factor(bagasse: Num, density: Num, length: Num, opening: Num, speed: Num) -> Num:
    """Reabsorption factor at the delivery opening of a mill."""
    return bagasse / (3.6 * density) / (length * opening * speed)
