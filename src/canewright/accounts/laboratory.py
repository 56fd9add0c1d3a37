"""From what the analyst read to the quantity that a meter of the plant stands for, each step a formula.

A method names the raw readings of a determination with units and plausible ranges, and the formula that turns them
into the quantity. The figure it makes keeps the whole tree down to the readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from canewright.analysis.brix import corrected_brix, undiluted_brix
from canewright.analysis.colour import icumsa_colour
from canewright.analysis.purity import apparent_purity
from canewright.analysis.sugar import moisture_by_drying
from canewright.cane.propagation import figure_of
from canewright.quantity import Figure, Formula, OutOfRange
from canewright.quantity.figure import Source


@dataclass(frozen=True)
class Raw:
    """A raw reading of a method: what the analyst writes down."""

    name: str
    unit: str
    low: float
    high: float
    hint: str = ""


@dataclass(frozen=True)
class Method:
    """How a quantity is determined from raw readings: the formula takes them in order."""

    raws: tuple[Raw, ...]
    formula: Formula | None


_BRIX_HINT = "brix as the instrument shows it, before the temperature correction"

METHODS: dict[str, Method] = {
    "refractometer brix": Method(
        (
            Raw("refractometer reading", "%", 0.0, 95.0, _BRIX_HINT),
            Raw("temperature at the refractometer", "°C", 10.0, 32.0),
        ),
        corrected_brix,
    ),
    "moisture": Method(
        (Raw("mass before drying", "g", 1.0, 5000.0), Raw("mass after drying", "g", 0.1, 5000.0)),
        moisture_by_drying,
    ),
    "colour": Method(
        (
            Raw("absorbance at 420 nm", "1", 0.0, 3.0),
            Raw("cell length", "cm", 0.1, 20.0),
            Raw("brix of the colour solution", "%", 0.1, 75.0),
        ),
        icumsa_colour,
    ),
    "apparent purity": Method(
        (Raw("pol of the purity solution", "%", 0.0, 100.0), Raw("brix of the purity solution", "%", 0.1, 100.0)),
        apparent_purity,
    ),
}
"""Quantities determined from several raw readings; any other quantity is read directly."""


def raws_of(quantity: str, unit: str, low: float, high: float, hint: str) -> tuple[Raw, ...]:
    """The raw readings that a quantity is determined from; the quantity itself where it is read directly."""
    method = METHODS.get(quantity)
    return method.raws if method else (Raw(quantity, unit, low, high, hint),)


class NotComplete(ValueError):
    """A determination lacks one of its raw readings, or one of them is impossible; the message says which."""


def determine(
    quantity: str, place: str, raws: Mapping[str, Figure], dilution: float = 0.0, decimals: int = 3
) -> Figure:
    """The quantity from one set of raw readings; brix read on a diluted sample is brought back to the sample.

    Raises NotComplete when a raw reading is absent or outside the formula's range.
    """
    method = METHODS.get(quantity)
    if method is None or method.formula is None:
        return raws[quantity]
    lacking = [r.name for r in method.raws if r.name not in raws]
    if lacking:
        raise NotComplete(f"{place}: {quantity} needs {', '.join(lacking)} as well")
    try:
        read = figure_of(method.formula, [raws[r.name] for r in method.raws], f"{place}: {quantity}", decimals)
        return _undiluted(read, place, dilution, decimals) if dilution else read
    except (OutOfRange, ValueError, ZeroDivisionError) as error:
        raise NotComplete(f"{place}: {quantity} cannot be calculated: {error}") from error


def _undiluted(read: Figure, place: str, dilution: float, decimals: int) -> Figure:
    how = "dilution by mass, from the plant description"
    sample = Figure(f"{place}: sample diluted", 100.0, "g", None, how)
    water = Figure(f"{place}: water added", 100.0 * dilution, "g", None, how)
    return figure_of(undiluted_brix, [read, sample, water], f"{place}: undiluted brix", decimals)


def mean(name: str, figures: Sequence[Figure], unit: str, how: str) -> Figure:
    """The mean of several figures as a figure."""
    if len(figures) == 1:
        return figures[0]
    values = [f.value for f in figures if f.value is not None]
    inputs = tuple(Source(f, 1.0 / len(values), 1.0 / len(values)) for f in figures)
    return Figure(name, sum(values) / len(values), unit, None, how, inputs, decimals=figures[0].decimals)
