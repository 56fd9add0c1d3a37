"""What a plant's meters can tell before a day is closed: what is checked, what says nothing, what rests on priors.

A day in which every meter reads just what the described plant predicts is reconciled; uncertainties and redundancies do
not depend on noise.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from canewright.accounts.measuring import MeasuredDay
from canewright.accounts.reckoning import reckon
from canewright.plant.description import Meter
from canewright.plant.plant import Plant, State
from canewright.plant.streams import Power
from canewright.quantity import Figure

UNCHECKED = 0.02
"""Redundancy below which nothing else checks a meter."""
NOTHING_FLOWS = 1e-6
"""Flow, t/h, below which a stream has no composition or temperature."""
FIXED = (
    "read what the description holds fixed, so no reading can change it; give the setting behind it an uncertainty, or "
    "take the meter out"
)
IDLE = 1e-6
"""Uncertainty of what a meter reads, on the meter's own, below which the description holds it fixed."""


@dataclass(frozen=True)
class Examination:
    """What the meters can tell; each a list of tags or of figures."""

    without_value: tuple[str, ...]
    idle: tuple[str, ...]
    unchecked: tuple[str, ...]
    standing: Mapping[str, str]

    def figures(self, standing: str) -> list[str]:
        """The figures with this standing: known, rests on priors only, not known."""
        return [name for name, found in self.standing.items() if found == standing]

    def sentences(self) -> list[str]:
        """What a person should know before the first day, one sentence each."""
        found = [
            (self.without_value, "read a stream that does not flow as described, so they tell nothing of it"),
            (
                self.idle,
                FIXED,
            ),
            (self.unchecked, "are checked by nothing else: an error of theirs cannot be seen"),
        ]
        said = [f"These meters {what}: {', '.join(tags)}" for tags, what in found if tags]
        for standing, what in (
            ("priors only", "No meter determines these figures, they rest on the description's priors only"),
            ("not known", "With these meters these figures are not known"),
        ):
            names = self.figures(standing)
            said += [f"{what}: {', '.join(names)}"] if names else []
        return said


def examine(plant: Plant, state: State) -> Examination:
    """Examine the meters of a plant at a solved state.

    Raises NotSolved where the plant's own predictions cannot be reconciled.
    """
    readings = {m.tag: _reading(state, m) for m in plant.description.meters}
    usable = {tag: value for tag, value in readings.items() if math.isfinite(value)}
    figures = {
        m.tag: Figure(m.tag, usable[m.tag], m.unit, None, "prediction")
        for m in plant.description.meters
        if m.tag in usable and m.standard_uncertainty(usable[m.tag]) > 0
    }
    day = MeasuredDay(dt.date(2000, 1, 1), figures, {}, (), (), ())
    reckoning = reckon(plant, day)
    result = reckoning.reconciled.result
    _, sd = result.uncertainty(result.expressions)
    idle = [m.name for m, u in zip(result.measured, sd.tolist(), strict=True) if u <= IDLE * m.uncertainty]
    unchecked = [tag for tag, share in result.redundancy.items() if share < UNCHECKED]
    return Examination(
        tuple(tag for tag in readings if tag not in figures),
        tuple(idle),
        tuple(unchecked),
        {f.specification.name: f.standing for f in reckoning.figures},
    )


def _reading(state: State, meter: Meter) -> float:
    """What a perfect meter would read; NaN where there is nothing to read because nothing flows."""
    stream = state.assembly.streams.get(meter.stream)
    material = stream is not None and not issubclass(stream, Power) and meter.quantity not in {"mass", "mass flow"}
    if material and abs(float(state.stream(meter.stream).flow)) <= NOTHING_FLOWS:
        return math.nan
    return state.measured(meter.stream, meter.quantity)
