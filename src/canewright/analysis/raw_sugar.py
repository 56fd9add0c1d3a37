"""Raw sugar as a refiner values it: yield formulae, net titre, and EU colour and ash points of white sugar."""

from __future__ import annotations

from canewright.analysis.declaring import percent, plain, purity
from canewright.properties.ranges import AMOUNT, COLOUR, PURITY_OF_MOLASSES, SHARE
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

BENTO = "Bento, Raw Sugar - Yield - Refining, entry E0102, 2011"
RAW_POL = percent("pol of raw sugar", 90.0, 100.0, "P", "pol")
ASH = percent("ash", 0.0, 2.0, "A")
INVERT = percent("invert sugar", 0.0, 3.0, "I")
LOSS = percent("losses allowed", 0.0, 2.0)
POINTS = "EU Regulation 1308/2013, Annex III B"


@formula(
    result=percent("yield", *SHARE),
    equation="yield = P - (100 - P) q / (100 - q)",
    source=f"general form of the yields in {BENTO}: q = 50 gives 2 P - 100",
    status="derived",
    example=(98.5, 50.0),
    gives=97.0,
    pol=RAW_POL,
    molasses_purity=purity("purity of refinery molasses", *PURITY_OF_MOLASSES, "q"),
)
def raw_yield(pol: Num, molasses_purity: Num) -> Num:
    """Refined sugar from raw sugar when all non-pol leaves in molasses of a given purity."""
    return pol - (100.0 - pol) * molasses_purity / (100.0 - molasses_purity)


@formula(
    result=percent("yield", *SHARE),
    equation="yield = 2 P - 100 - loss",
    source=BENTO,
    status="read",
    example=(98.5, 0.5),
    gives=96.5,
    pol=RAW_POL,
    loss=LOSS,
)
def raw_yield_with_loss(pol: Num, loss: Num) -> Num:
    """Refined sugar from raw sugar: twice the pol less a hundred, less a loss."""
    return 2.0 * pol - 100.0 - loss


@formula(
    result=percent("yield or net titre", *SHARE),
    equation="yield = P - a · ash - i · invert - loss",
    source=f"{BENTO}: South Africa 4.5, 1, 0.6 to 0.8; UK 3, 2, 0; Australia 5, 1, 0; EU 4, 2, 1",
    status="read",
    caveat="ash by the method of the industry; with 5, 1, 0 it is also the Australian net titre",
    example=(98.5, 0.25, 0.30, 4.5, 1.0, 0.7),
    gives=96.375,
    pol=RAW_POL,
    ash=ASH,
    invert=INVERT,
    ash_factor=plain("melassigenic factor of ash", 2.0, 6.0, "a"),
    invert_factor=plain("factor of invert", 0.0, 3.0, "i"),
    loss=LOSS,
)
def raw_yield_by_ash(pol: Num, ash: Num, invert: Num, ash_factor: Num, invert_factor: Num, loss: Num) -> Num:
    """Refined sugar from raw sugar by pol, ash and invert."""
    return pol - ash_factor * ash - invert_factor * invert - loss


@formula(
    result=plain("mass ratio to sugar of 94 net titre", *AMOUNT),
    equation="factor = net titre / 94",
    source="Australian practice (94 net titre sugar)",
    status="from memory",
    example=(97.55,),
    gives=1.03776596,
    net_titre=percent("net titre", 60.0, 100.0, "NT"),
)
def net_titre_factor(net_titre: Num) -> Num:
    """Tonnes of 94 net titre sugar per tonne of sugar."""
    return net_titre / 94.0


@formula(
    result=plain("EU ash points", *AMOUNT),
    equation="points = ash / 0.0018",
    source=POINTS,
    status="read",
    caveat="standard white at most 15, extra-white at most 6",
    example=(0.0270,),
    gives=15.0,
    ash=percent("conductivity ash of a 28 brix solution", 0.0, 0.5, "A", "conductivity ash, 28 g/100 g"),
)
def eu_ash_points(ash: Num) -> Num:
    """EU points for conductivity ash."""
    return ash / 0.0018


@formula(
    result=plain("EU colour type points", *AMOUNT),
    equation="points = type / 0.5",
    source=POINTS,
    status="read",
    caveat="standard white at most 9, extra-white at most 4",
    example=(4.5,),
    gives=9.0,
    colour_type=plain("colour type in Brunswick units", 0.0, 20.0),
)
def eu_type_points(colour_type: Num) -> Num:
    """EU points for colour type."""
    return colour_type / 0.5


@formula(
    result=plain("EU solution colour points", *AMOUNT),
    equation="points = colour / 7.5",
    source=POINTS,
    status="read",
    caveat="standard white at most 6, extra-white at most 3; total at most 22 and 8",
    example=(45.0,),
    gives=6.0,
    colour=argument("IU", "colour in solution", *COLOUR),
)
def eu_solution_points(colour: Num) -> Num:
    """EU points for colour in solution."""
    return colour / 7.5


EU_LIMITS: dict[str, dict[str, float]] = {
    "standard white": {"total": 22.0, "ash": 15.0, "type": 9.0, "solution": 6.0},
    "extra-white": {"total": 8.0, "ash": 6.0, "type": 4.0, "solution": 3.0},
}
"""Limits of points, EU Regulation 1308/2013 and Directive 2001/111/EC Annex A (read)."""


def eu_limits_exceeded(grade: str, ash: float, colour_type: float, solution: float) -> list[str]:
    """Which limits of an EU grade the points exceed, in words; an empty list when none.

    Arguments are points, not raw figures. Raises KeyError for a grade other than those of ``EU_LIMITS``.
    """
    found = {"total": ash + colour_type + solution, "ash": ash, "type": colour_type, "solution": solution}
    limits = EU_LIMITS[grade]
    return [
        f"{name} {found[name]:g} points, at most {limits[name]:g}"
        for name in limits
        if found[name] > limits[name] + 1e-9
    ]
