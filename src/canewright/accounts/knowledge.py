"""What a season knows of a day's meters and settings, put to use: readings set right, and surer values to begin from.

A reading is set right by the error that all *other* days tell of its meter; the day's own evidence is not used twice.
Its uncertainty is the part that is new every day and what is left unknown of the error. Settings begin from the value
that the other days tell. That errors told by one season hang together is left aside here: each is taken for itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from canewright.accounts.measuring import MeasuredDay
from canewright.intervals import TIMES
from canewright.plant.description import Description
from canewright.plant.metering import COMMON_PART
from canewright.plant.season import Known
from canewright.plant.slow import GAIN, SETTING, Slow
from canewright.quantity import Figure
from canewright.quantity.figure import Source


def to_json(known: Iterable[Known]) -> list[dict[str, Any]]:
    """Plain data for the store."""
    return [
        {
            "name": k.slow.name, "kind": k.slow.kind, "unit": k.slow.unit, "first": k.slow.first,
            "before": k.slow.uncertainty, "value": k.value, "uncertainty": k.uncertainty,
        }
        for k in known
    ]  # fmt: skip


def from_json(rows: Iterable[Mapping[str, Any]]) -> list[Known]:
    """The same from the store."""
    return [
        Known(Slow(r["name"], r["kind"], r["unit"], r["first"], r["before"]), r["value"], r["uncertainty"])
        for r in rows
    ]


def set_right(description: Description, measured: MeasuredDay, known: Sequence[Known], source: str) -> MeasuredDay:
    """The measured day with what the season knows; ``source`` says which season, for the trees and notes."""
    figures, uncertainties = dict(measured.figures), dict(measured.uncertainties)
    meters = {m.tag: m for m in description.meters}
    said = []
    for k in known:
        figure = figures.get(k.slow.name) if k.slow.kind != SETTING else None
        if figure is None or figure.value is None:
            continue
        meter = meters[k.slow.name]
        figures[meter.tag], slope = _right(figure, k, source)
        fresh = math.sqrt(1.0 - COMMON_PART) * meter.standard_uncertainty(
            float(figures[meter.tag].value or 0.0), measured.determinations.get(meter.tag, 1)
        )
        uncertainties[meter.tag] = math.hypot(fresh, slope * k.uncertainty)
        if abs(k.value) > TIMES * k.uncertainty:
            said.append(f"{meter.tag} by {-k.value:+.2g} {k.slow.unit}")
    priors = {k.slow.name: (k.value, k.uncertainty) for k in known if k.slow.kind == SETTING}
    note = f"set right by {source}: {', '.join(said) if said else 'no reading by more than is in doubt'}"
    return replace(measured, figures=figures, uncertainties=uncertainties, priors=priors, notes=(*measured.notes, note))


def _right(figure: Figure, known: Known, source: str) -> tuple[Figure, float]:
    """The figure without the meter's error, and its derivative to the error, without sign."""
    read = float(figure.value or 0.0)
    if known.slow.kind == GAIN:
        factor = 1.0 / (1.0 + 0.01 * known.value)
        value, by_reading, slope = read * factor, factor, 0.01 * read * factor**2
        how = "reading over (1 + its error)"
    else:
        value, by_reading, slope, how = read - known.value, 1.0, 1.0, "reading less its error"
    error = Figure(f"error of {known.slow.name}", known.value, known.slow.unit, known.uncertainty, source)
    inputs = (Source(figure, by_reading), Source(error, -slope))
    return Figure(figure.name, value, figure.unit, None, how, inputs, decimals=figure.decimals), abs(slope)
