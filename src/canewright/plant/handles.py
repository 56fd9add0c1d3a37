"""Handles: the settings that advice may move, how far from today, and which it must leave alone."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from canewright.engine import Move
from canewright.plant.experience import ClosedState, Range, seen
from canewright.plant.faults import nearest
from canewright.plant.plant import Plant, State
from canewright.plant.station import Station

TARGET = "target."
"""How the settings that hold a target's value begin."""


class AdviceRefused(ValueError):
    """Advice that cannot be given as it was asked for; the message says what is lacking or not known."""


@dataclass(frozen=True)
class Handle:
    """A setting that may be moved: its limits, its largest step from today, and the range behind it, where known."""

    setting: str
    says: str
    unit: str
    now: float
    low: float
    high: float
    step: float
    seen: Range | None
    left_alone: bool = False

    @property
    def room(self) -> Move:
        """From today to the limits, no further than the step."""
        low, high = max(self.low, self.now - self.step), min(self.high, self.now + self.step)
        return Move(self.setting, min(low, self.now), max(high, self.now))

    @property
    def known_room(self) -> Move:
        """The part of the room that lies in the range behind the handle; today always does."""
        if self.seen is None:
            return Move(self.setting, self.now, self.now)
        room = self.room
        low, high = max(room.low, self.seen.low), min(room.high, self.seen.high)
        return Move(self.setting, min(low, self.now), max(high, self.now))

    @property
    def outside(self) -> bool:
        """Whether today's value lies outside the limits."""
        return not self.low <= self.now <= self.high


def handles(
    plant: Plant,
    state: State,
    days: Sequence[ClosedState] | None = None,
    chosen: Collection[str] | None = None,
    held: Collection[str] = (),
) -> list[Handle]:
    """The handles of the plant description at today's state.

    ``days`` are closed days (None: the range behind a handle is not asked for); ``chosen`` restricts the handles,
    ``held`` and the description's ``do_not_touch`` leave settings alone. Raises AdviceRefused for a name that is no
    handle of this plant, with the nearest.
    """
    tables = plant.description.data.get("advice", {}).get("moves", [])
    known = {str(t["setting"]) for t in tables}
    for name in (*(chosen or ()), *held):
        if name not in known:
            raise AdviceRefused(f"no handle is called '{name}'; {nearest(name, known)}")
    alone = {*held, *plant.description.data.get("advice", {}).get("do_not_touch", [])}
    if chosen is not None:
        alone |= known - set(chosen)
    return [replace(_handle(plant, state, t, days), left_alone=str(t["setting"]) in alone) for t in tables]


def _handle(plant: Plant, state: State, table: Mapping[str, object], days: Sequence[ClosedState] | None) -> Handle:
    name = str(table["setting"])
    variable = plant.model.variables[plant.model.index[name]]
    low, high = float(str(table["low"])), float(str(table["high"]))
    now, step = state.values[name], float(str(table.get("step", math.inf)))
    tried = table.get("tried")
    stated = (float(tried[0]), float(tried[1])) if isinstance(tried, list) else None
    behind = None if days is None else seen(days, name, stated)
    return Handle(name, variable.says, variable.unit, now, low, high, step, behind)


def hazards_of(stations: Mapping[str, Station], settings: Iterable[str]) -> dict[str, list[str]]:
    """Each hazard of the stations whose settings are moved, with those stations, in order of the moves."""
    found: dict[str, list[str]] = {}
    for name in dict.fromkeys(_station_of(setting) for setting in settings):
        for hazard in stations[name].hazards if name in stations else ():
            found.setdefault(hazard, []).append(name)
    return found


def _station_of(setting: str) -> str:
    """The station of a setting; what is wanted of a stream is moved at the station that gives the stream."""
    if setting.startswith(TARGET):
        return setting.removeprefix(TARGET).partition(".")[0]
    return setting.rpartition(".")[0]
