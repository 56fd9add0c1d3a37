"""What a plant description assumes, and what matters most of it: by how much it moves money, or sugar, a day.

The weight of an assumption is the exact derivative of the figure along the plant's equations times the assumption's
standard uncertainty. What stands without an uncertainty is held as it is and cannot be weighed so; it is counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from canewright.engine.model import Expressions
from canewright.engine.sensitivity import total_slope
from canewright.plant.assembly import hours_name, target_name
from canewright.plant.plant import Plant, State
from canewright.plant.prices import worth_of
from canewright.plant.standing import ASSUMED, Standing, left
from canewright.quantity import noting_breaches

MOST = 10
"""How many assumptions are listed as the ones that matter most."""
SUGARS = ("refined sugar", "raw sugar", "mixed juice", "syrup")
"""Roles whose sucrose a day weighs assumptions where the description has no prices, the first that is there."""


@dataclass(frozen=True)
class Assumption:
    """A number that nobody at the site gave: its name, what it is, its standard uncertainty and why it stands."""

    name: str
    says: str
    unit: str
    value: float
    uncertainty: float
    because: str


@dataclass(frozen=True)
class Weighed:
    """An assumption with what one standard uncertainty of it moves of the figure, in the figure's unit, with sign."""

    assumption: Assumption
    moves: float


@dataclass(frozen=True)
class Examined:
    """Every assumption of a plant: those that can be weighed in order of weight, those held exactly, those idle.

    Idle ones enter no equation as the plant stands: capacity limits, and settings of an option that is not picked.
    """

    figure: str
    unit: str
    settings: int
    weighed: tuple[Weighed, ...]
    held: tuple[Assumption, ...]
    idle: tuple[Assumption, ...]
    prices: int

    @property
    def count(self) -> int:
        """How many settings are assumed."""
        return len(self.weighed) + len(self.held) + len(self.idle)

    @property
    def most(self) -> tuple[Weighed, ...]:
        """The assumptions that matter most."""
        return tuple(w for w in self.weighed if w.moves != 0.0)[:MOST]


def assumptions(plant: Plant) -> list[Assumption]:
    """Every setting and target of the description that is assumed, in the order of the file."""
    return [found for found in _listed(plant) if found.name in {v.name for v in plant.model.settings}]


def _listed(plant: Plant) -> Iterator[Assumption]:
    description = plant.description

    def made(name: str, standing: Standing) -> Iterator[Assumption]:
        if standing.assumed:
            variable, value, spread = plant.assembly.given[name]
            yield Assumption(name, variable.says, variable.unit, value, spread, standing.because)

    for section, table in description.data.get("sections", {}).items():
        hours = table.get("hours", left(24.0))
        if isinstance(hours, dict) and ASSUMED in hours:
            yield from made(hours_name(section), Standing(ASSUMED, str(hours.get("because", ""))))
    for link, given in description.links.items():
        yield from made(f"links.{link}", given.standing)
    for name, station in description.stations.items():
        for key, given in station.settings.items():
            yield from made(f"{name}.{key}", given.standing)
    for t in description.targets:
        if t.standing.assumed:
            variable = plant.model.variables[plant.model.index[target_name(t)]]
            yield Assumption(t.name, variable.says, variable.unit, t.value, t.uncertainty, t.standing.because)


def figure_of(plant: Plant) -> tuple[str, str, Expressions] | None:
    """What assumptions are weighed by: money a day, else sucrose a day of the main product; None without either."""
    if plant.description.data.get("prices"):
        return "money a day", "$", worth_of(plant)
    role = next((r for r in SUGARS if r in plant.description.roles), None)
    if role is None:
        return None
    name = plant.description.roles[role]

    def sucrose(values: object) -> list[object]:
        stream = plant.assembly.stream(name, values)  # type: ignore[arg-type]
        return [(stream.sucrose + stream.crystal) * plant.assembly.hours(name, values)]  # type: ignore[arg-type]

    return f"sucrose in {role} a day", "t", plant.model.expressions(sucrose, "sucrose_a_day")


def examine_assumptions(plant: Plant, state: State) -> Examined:
    """Weigh the assumptions of a plant at a solved state."""
    listed = assumptions(plant)
    figure = figure_of(plant)
    active = _entering(plant, state)
    idle = tuple(a for a in listed if a.name not in active)
    held = tuple(a for a in listed if a.name in active and a.uncertainty == 0.0)
    loose = [a for a in listed if a.name in active and a.uncertainty > 0.0]
    weighed: list[Weighed] = [Weighed(a, 0.0) for a in loose]
    if figure is not None and loose:
        with noting_breaches():
            slope = total_slope(plant.model, figure[2], state.scaled, [a.name for a in loose])[0]
        sizes = np.array([plant.model.nominal[plant.model.index[a.name]] for a in loose])
        moved = slope / sizes * np.array([a.uncertainty for a in loose])
        weighed = [Weighed(a, float(m)) for a, m in zip(loose, moved, strict=True)]
    weighed.sort(key=lambda w: -abs(w.moves))
    name, unit = (figure[0], figure[1]) if figure else ("", "")
    prices = sum(1 for p in plant.description.data.get("prices", []) if ASSUMED in p)
    return Examined(name, unit, len(plant.model.settings), tuple(weighed), held, idle, prices)


def _entering(plant: Plant, state: State) -> set[str]:
    """Settings on which an equation depends as the plant stands; hours enter what is counted over the day."""
    _, jacobian = plant.model.jacobian_at(state.scaled)
    columns = np.diff(jacobian.tocsc().indptr)
    found = {v.name for v in plant.model.settings if columns[plant.model.index[v.name]] > 0}
    return found | {hours_name(s) for s in plant.description.sections} | {f"links.{k}" for k in plant.description.links}
