"""Every pol carries its method and clarifier; pols by different methods are joined only through a fitted offset.

Basic lead acetate is poisonous and builds up in the body and in waste water: gloves, no drain, disposal by local rules.
Inversion for Clerget's method uses hot hydrochloric acid: it burns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import sqrt
from statistics import mean, stdev

from canewright.analysis.declaring import degrees_celsius, percent, sugar_degrees
from canewright.properties.ranges import AMOUNT, FLASK, POLARIMETER_SCALE, ROOM_TEMPERATURE, SHARE
from canewright.quantity.formula import argument, formula
from canewright.quantity.maths import Num

INVERTED = sugar_degrees("reading after inversion", -50.0, 50.0, "P'")
LEAD_CAUTION = "lead salts are poisonous: gloves, no drain, disposal by local rules"


class Clarifier(Enum):
    """What cleared the solution before it was read."""

    NONE = "none"
    DRY_LEAD = "dry basic lead acetate"
    WET_LEAD = "lead acetate solution"
    ALUMINIUM = "aluminium-based"
    FILTER_AID = "filter aid only"
    OTHER = "other"

    @property
    def caution(self) -> str:
        """What to mind when it is used; empty where nothing is."""
        return LEAD_CAUTION if self in {Clarifier.DRY_LEAD, Clarifier.WET_LEAD} else ""


@dataclass(frozen=True)
class PolMethod:
    """How a pol was determined: clarifier, wavelength in nm, and the convention of its calculation."""

    clarifier: Clarifier
    wavelength: float = 589.44
    convention: str = "air"

    def __str__(self) -> str:
        """The method in words."""
        return f"{self.clarifier.value}, {self.wavelength:g} nm, {self.convention} convention"


@dataclass(frozen=True)
class Pol:
    """A pol in % with the method that gave it."""

    value: float
    method: PolMethod


@dataclass(frozen=True)
class MethodOffset:
    """What to add to pols by ``given`` to compare them with pols by ``wanted``, its uncertainty and its pairs."""

    given: PolMethod
    wanted: PolMethod
    value: float
    uncertainty: float
    pairs: int


class MethodsMixed(ValueError):
    """Pols by different methods without an offset that joins them."""


LEAST_PAIRS = 10
"""Fewest samples by both methods from which an offset is taken (common practice, no source)."""


def fitted_offset(given: Sequence[Pol], wanted: Sequence[Pol]) -> MethodOffset:
    """The mean difference of samples determined by both methods, with its standard uncertainty.

    The two sequences hold the same samples in the same order, each sequence by one method. Raises MethodsMixed when
    they do not pair, when one holds several methods, or when there are fewer than ``LEAST_PAIRS``.
    """
    if len(given) != len(wanted) or len(given) < LEAST_PAIRS:
        raise MethodsMixed(
            f"{len(given)} and {len(wanted)} pols: an offset needs the same samples by both methods, "
            f"at least {LEAST_PAIRS}; run both methods side by side for longer"
        )
    methods = ({each.method for each in given}, {each.method for each in wanted})
    if any(len(found) != 1 for found in methods):
        raise MethodsMixed("each side of an offset must hold one method only; sort the samples by method")
    differences = [b.value - a.value for a, b in zip(given, wanted, strict=True)]
    spread = stdev(differences) / sqrt(len(differences))
    return MethodOffset(given[0].method, wanted[0].method, mean(differences), spread, len(differences))


def one_series(pols: Sequence[Pol], wanted: PolMethod, offsets: Sequence[MethodOffset] = ()) -> list[float]:
    """The pols as if all were by one method, for a trend or a mean.

    Raises MethodsMixed for a pol by another method to which no offset leads: results by different methods are never
    trended together unadjusted.
    """
    known = {each.given: each.value for each in offsets if each.wanted == wanted}
    joined = []
    for place, each in enumerate(pols, start=1):
        if each.method != wanted and each.method not in known:
            raise MethodsMixed(
                f"pol {place} of {len(pols)} is by {each.method}, the series by {wanted}: fit an offset from samples "
                "determined both ways, or keep two series"
            )
        joined.append(each.value if each.method == wanted else each.value + known[each.method])
    return joined


@formula(
    result=argument("g", "mass to weigh, in air", *AMOUNT),
    equation="m = 26.000 V / 100",
    source="ICUMSA, General definitions: normal sugar solution",
    status="read",
    caveat="half-normal and double-normal solutions: half and twice as much, and the reading accordingly",
    example=(200.0,),
    gives=52.0,
    volume=argument("mL", "volume of the flask", *FLASK, symbol="V"),
)
def normal_mass(volume: Num) -> Num:
    """Mass that makes a normal solution in a flask."""
    return 0.26 * volume


@formula(
    result=percent("sucrose", *SHARE, "S"),
    equation="S = 100 (P - P') / (144 - t/2)",
    source="Clerget, in Landolt (Robb and Veley), Handbook of the Polariscope, 1882, p. 188",
    status="read",
    caveat="both readings on the original normal solution, dilution undone, the second negative; acid inversion "
    "at about 68 °C for ten minutes with 5 mL concentrated hydrochloric acid; the modern constants differ",
    example=(94.0, -38.0, 20.0),
    gives=98.5074627,
    direct=sugar_degrees("reading before inversion", *POLARIMETER_SCALE, "P"),
    inverted=INVERTED,
    temperature=degrees_celsius("temperature of the inverted solution", *ROOM_TEMPERATURE),
)
def clerget_sucrose(direct: Num, inverted: Num, temperature: Num) -> Num:
    """Sucrose by double polarisation, Clerget's own constants."""
    return 100.0 * (direct - inverted) / (144.0 - 0.5 * temperature)


@formula(
    result=percent("sucrose", *SHARE, "S"),
    equation="S = 100 (P - P') / (132.63 + 0.0794 (m - 13) - 0.53 (t - 20))",
    source="Jackson and Gillis, method IV, NBS Circular C440",
    status="from memory",
    caveat="constants of low confidence: check against the method in use before any figure is reported",
    example=(94.0, -30.0, 13.0, 20.0),
    gives=93.4931765,
    direct=sugar_degrees("reading before inversion, with sodium chloride", *POLARIMETER_SCALE, "P"),
    inverted=INVERTED,
    # at most a normal solution
    solids=argument("g", "dry substance in 100 mL of the inverted solution", 0.0, 26.0, symbol="m"),
    temperature=degrees_celsius("temperature of both solutions", *ROOM_TEMPERATURE),
)
def jackson_gillis_sucrose(direct: Num, inverted: Num, solids: Num, temperature: Num) -> Num:
    """Sucrose by double polarisation, method IV of Jackson and Gillis; constants of low confidence."""
    divisor = 132.63 + 0.0794 * (solids - 13.0) - 0.53 * (temperature - 20.0)
    return 100.0 * (direct - inverted) / divisor
