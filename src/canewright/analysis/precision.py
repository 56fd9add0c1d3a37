"""How good a determination is: standard deviations from published limits, and default standard uncertainties.

The defaults are where a site starts; its own duplicate data should replace them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

from canewright.analysis.declaring import plain
from canewright.properties.ranges import AMOUNT
from canewright.quantity.formula import formula
from canewright.quantity.maths import Num

ISO = "ISO 5725: limits are 95 % differences of two results, 2.8 standard deviations"


@formula(
    result=plain("standard deviation, in the unit of the limit", *AMOUNT),
    equation="s = limit / 2.8",
    source=ISO,
    status="from memory",
    caveat="r gives s_r, one laboratory; R gives s_R, between laboratories",
    example=(0.27,),
    gives=0.0964285714,
    limit=plain("repeatability limit r or reproducibility limit R", 0.0, 1e6, "r, R"),
)
def standard_deviation_of_limit(limit: Num) -> Num:
    """Standard deviation behind a published repeatability or reproducibility limit."""
    return limit / 2.8


@dataclass(frozen=True)
class PublishedLimits:
    """Repeatability and reproducibility limits of a method over a range, as published."""

    determination: str
    unit: str
    low: float
    high: float
    repeatability: float
    reproducibility: float
    source: str

    @property
    def within_laboratory(self) -> float:
        """s_r, in the unit of the determination."""
        return float(standard_deviation_of_limit(self.repeatability))

    @property
    def between_laboratories(self) -> float:
        """s_R, in the unit of the determination."""
        return float(standard_deviation_of_limit(self.reproducibility))


_COLOUR = "ICUMSA GS9/1/2/3-8 (2011), abstract, precision table"
PUBLISHED: tuple[PublishedLimits, ...] = (
    PublishedLimits("white sugar pol", "°Z", 99.0, 100.0, 0.066, 0.094, "ICUMSA GS2-1 (2022), abstract"),
    PublishedLimits("raw sugar pol, near infrared", "°Z", 97.5, 99.9, 0.16, 0.27, "ICUMSA GS1-2 (2022), abstract"),
    PublishedLimits("colour at pH 7", "IU", 50.0, 200.0, 9.0, 18.0, _COLOUR),
    PublishedLimits("colour at pH 7", "IU", 200.0, 500.0, 23.0, 68.0, _COLOUR),
    PublishedLimits("colour at pH 7", "IU", 500.0, 1200.0, 48.0, 140.0, _COLOUR),
    PublishedLimits("colour at pH 7", "IU", 1200.0, 2500.0, 210.0, 320.0, _COLOUR),
    PublishedLimits("colour at pH 7", "IU", 2500.0, 5000.0, 220.0, 530.0, _COLOUR),
    PublishedLimits("turbidity", "IU", 0.0, 20.0, 3.0, 5.0, "ICUMSA GS2/3-18 (2013), abstract"),
    PublishedLimits("colour type", "1", 0.0, 4.85, 0.14, 0.55, "ICUMSA GS2-13 (2024), abstract"),
)
"""Published precision, all read in the abstracts of the methods."""


@dataclass(frozen=True)
class DefaultUncertainty:
    """A default standard uncertainty of one determination; relative ones are in % of the value."""

    value: float
    unit: str
    relative: bool
    source: str
    status: str


_JUDGEMENT = "engineering judgement for daily composites including sampling; common practice, no source"


def _absolute(value: float, unit: str = "%") -> DefaultUncertainty:
    return DefaultUncertainty(value, unit, False, _JUDGEMENT, "from memory")


def _relative(value: float) -> DefaultUncertainty:
    return DefaultUncertainty(value, "%", True, _JUDGEMENT, "from memory")


DEFAULT_UNCERTAINTIES: dict[str, DefaultUncertainty] = {
    "cane mass": _relative(0.15),
    "belt weigher mass": _relative(0.7),
    "mixed juice mass, batch scale": _relative(0.15),
    "flow, Coriolis meter": _relative(0.25),
    "flow, magnetic meter": _relative(0.75),
    "imbibition flow": _relative(1.25),
    "bagasse mass by difference": _relative(4.0),
    "filter cake mass": _relative(12.5),
    "molasses mass, scale": _relative(0.4),
    "molasses mass, tank dip": _relative(1.5),
    "sugar mass": _relative(0.1),
    "pol in cane": _absolute(0.20),
    "brix in cane": _absolute(0.20),
    "fibre in cane": _absolute(0.40),
    "mixed juice brix": _absolute(0.075),
    "mixed juice pol": _absolute(0.05),
    "bagasse pol": _absolute(0.10),
    "bagasse moisture": _absolute(0.55),
    "filter cake pol": _absolute(0.20),
    "syrup brix": _absolute(0.20),
    "massecuite brix": _absolute(0.40),
    "massecuite purity": _absolute(0.40),
    "molasses brix": _absolute(0.40),
    "molasses pol": _absolute(0.30),
    "molasses purity": _absolute(0.50),
    "raw sugar pol": _absolute(0.05),
    "raw sugar moisture": _absolute(0.015),
    "conductivity ash": _relative(2.5),
    "mean aperture": _absolute(0.015, "mm"),
    "coefficient of variation of grain": _absolute(1.0),
    "sulphur dioxide": _absolute(2.0, "mg/kg"),
}
"""Default standard uncertainties by determination; the middle of the usual range, all from memory."""


def default_uncertainty(determination: str, value: float) -> float:
    """The default standard uncertainty of a determination at a value, in its unit.

    Raises KeyError naming the known determinations when there is no default.
    """
    if determination not in DEFAULT_UNCERTAINTIES:
        known = ", ".join(sorted(DEFAULT_UNCERTAINTIES))
        raise KeyError(f"no default uncertainty for '{determination}'; known are {known}")
    found = DEFAULT_UNCERTAINTIES[determination]
    return abs(value) * found.value / 100.0 if found.relative else found.value


METHODS: dict[str, str] = {
    "white sugar pol": "white sugar pol",
    "raw sugar pol": "raw sugar pol, near infrared",
    "colour": "colour at pH 7",
    "turbidity": "turbidity",
    "colour type": "colour type",
}
"""Determinations whose method has published limits, and the name of the limits."""


def published_limits(determination: str, value: float) -> PublishedLimits | None:
    """The published limits of a determination's method at a value; None where none were published for it."""
    name = METHODS.get(determination, determination)
    fitting = (each for each in PUBLISHED if each.determination == name and each.low <= value <= each.high)
    return next(fitting, None)


def method_uncertainty(determination: str, value: float) -> float:
    """The standard uncertainty that goes with a figure by its method when the site has none of its own.

    Between laboratories where limits are published for the value, else the default of the determination. Raises
    KeyError naming the known determinations when there is neither.
    """
    limits = published_limits(determination, value)
    return limits.between_laboratories if limits else default_uncertainty(determination, value)


def significant(first: float, second: float, repeatability: float) -> bool:
    """Whether two results of one laboratory differ by more than the repeatability limit of their method allows."""
    return abs(first - second) > repeatability


def combined_uncertainty(contributions: Iterable[float]) -> float:
    """Root sum of squares of independent contributions, in their common unit."""
    return sqrt(sum(c * c for c in contributions))
