"""First-order uncertainty of a figure that one declared formula computes from others.

Derivatives are exact: the formula is worked once per input with an imaginary step, which smooth formulas allow. Leaves
shared by several inputs (one brix enters pol and CCS) are followed down the tree, so they are not taken as independent.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from canewright.quantity import Figure, Formula, Source

STEP = 1e-30
Leaf = tuple[str, str | None]


class FigureWithoutValue(ValueError):
    """A formula was to be worked from a figure that has no value."""


def figure_of(formula: Formula, inputs: Sequence[Figure], name: str = "", decimals: int = 2) -> Figure:
    """The figure a formula gives for these inputs, with derivatives, shares of variance and standard uncertainty.

    The uncertainty is None when any leaf has none. Raises FigureWithoutValue for an input without value and OutOfRange
    when a value lies outside the formula's range.
    """
    values = [_value(each, formula.name) for each in inputs]
    value = float(formula(*values))
    derivatives = [_derivative(formula, values, place) for place in range(len(values))]
    uncertainty, shares = _spread(inputs, derivatives)
    sources = tuple(Source(f, d, s) for f, d, s in zip(inputs, derivatives, shares, strict=True))
    return Figure(
        name=name or formula.name,
        value=value,
        unit=formula.result.unit,
        uncertainty=uncertainty,
        how=f"{formula.name}: {formula.equation}",
        inputs=sources,
        note=formula.caveat,
        decimals=decimals,
    )


def leaf_derivatives(figure: Figure) -> dict[Leaf, tuple[Figure, float]]:
    """Each leaf of a tree with the total derivative of the figure to it."""
    if not figure.inputs:
        return {(figure.name, figure.reading): (figure, 1.0)}
    found: dict[Leaf, tuple[Figure, float]] = {}
    for source in figure.inputs:
        for key, (leaf, slope) in leaf_derivatives(source.figure).items():
            before = found[key][1] if key in found else 0.0
            found[key] = (leaf, before + (source.derivative or 0.0) * slope)
    return found


def _value(figure: Figure, formula: str) -> float:
    if figure.value is None:
        raise FigureWithoutValue(f"{formula}: {figure.name} has no value; enter the reading or use a fall-back")
    return figure.value


def _derivative(formula: Formula, values: Sequence[float], place: int) -> float:
    stepped: list[complex | float] = list(values)
    stepped[place] = complex(values[place], STEP)
    return float(complex(formula(*stepped)).imag / STEP)


def _spread(inputs: Sequence[Figure], derivatives: Sequence[float]) -> tuple[float | None, list[float | None]]:
    by_input = [
        {key: (leaf, slope * derivative) for key, (leaf, slope) in leaf_derivatives(each).items()}
        for each, derivative in zip(inputs, derivatives, strict=True)
    ]
    total: dict[Leaf, float] = {}
    variances: dict[Leaf, float] = {}
    for part in by_input:
        for key, (leaf, slope) in part.items():
            if leaf.uncertainty is None:
                return None, [None] * len(inputs)
            total[key] = total.get(key, 0.0) + slope
            variances[key] = leaf.uncertainty**2
    variance = sum(slope**2 * variances[key] for key, slope in total.items())
    if variance == 0.0:
        return 0.0, [None] * len(inputs)
    parts = [sum(slope * total[key] * variances[key] for key, (_, slope) in part.items()) for part in by_input]
    return sqrt(variance), [part / variance for part in parts]
