"""How quantities of a solved plant answer its settings: exact derivatives along every equation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from canewright.engine.sensitivity import total_slope
from canewright.plant.faults import nearest
from canewright.plant.measures import MEASURABLE, RESULT_QUANTITIES
from canewright.plant.metering import quantities_of
from canewright.plant.plant import Plant, State
from canewright.quantity import noting_breaches

ROUNDING = 1e-12
"""Part of a quantity below which what one per cent of a setting does is rounding: a target holds it, say."""


class NotAsked(ValueError):
    """A quantity, stream or setting that this plant does not have; the message names what it has."""


@dataclass(frozen=True)
class Answer:
    """What one unit more of a setting does to a quantity, in the quantity's unit per the setting's unit."""

    setting: str
    says: str
    value: float
    unit: str
    slope: float

    @property
    def by_one_per_cent(self) -> float:
        """What the quantity moves by when the setting is raised by one per cent of its value."""
        return self.slope * self.value / 100.0


def answers(
    plant: Plant, state: State, stream: str, quantity: str, settings: Sequence[str] | None = None
) -> list[Answer]:
    """How a quantity of a stream (by name or trade name), or a station's result, answers settings, the strongest first.

    All settings that move it at all where none are named. Raises NotAsked for what the plant does not have.
    """
    where = _stream(plant, stream, quantity)
    names = list(settings) if settings is not None else [v.name for v in plant.model.settings]
    known = {v.name: v for v in plant.model.settings}
    for name in names:
        if name not in known:
            raise NotAsked(f"no setting is called '{name}'; {nearest(name, known)}")
    with noting_breaches():
        wanted = plant.model.expressions(lambda v: [plant.assembly.measured(where, quantity, v)])
        slope = total_slope(plant.model, wanted, state.scaled, names)[0]
    sizes = plant.model.nominal[[plant.model.index[n] for n in names]]
    found = [
        Answer(n, known[n].says, state.values[n], known[n].unit, float(s))
        for n, s in zip(names, np.asarray(slope) / sizes, strict=True)
    ]
    nothing = ROUNDING * max(abs(float(wanted.at(state.scaled)[0])), 1.0)
    kept = [a for a in found if abs(a.by_one_per_cent) > nothing] if settings is None else found
    return sorted(kept, key=lambda a: -abs(a.by_one_per_cent))


def _stream(plant: Plant, asked: str, quantity: str) -> str:
    where = plant.description.roles.get(asked, asked)
    if where in plant.assembly.streams:
        fits = quantities_of(plant.assembly.streams[where])
    elif any(where == f"{s.name}.{r}" for s in plant.assembly.stations.values() for r in s.results()):
        fits = list(RESULT_QUANTITIES)
    else:
        raise NotAsked(
            f"no stream is called '{asked}'; {nearest(asked, [*plant.description.roles, *plant.assembly.streams])}"
        )
    if quantity not in fits:
        raise NotAsked(f"{asked} has no '{quantity}'; {nearest(quantity, fits)}")
    return where


def unit_of(plant: Plant, stream: str, quantity: str) -> str:
    """The unit of a quantity that ``answers`` was asked for."""
    where = plant.description.roles.get(stream, stream)
    if quantity in MEASURABLE:
        return MEASURABLE[quantity].unit
    return "t" if quantity == "over the day" else plant.assembly.unit_of[where]
