"""Sizes for a draft: what its equipment must do, by the plant's own equations at the design point, and a margin.

Areas of the juice evaporator are those at which the effects have the pressures wanted; every other size leaves its
``USED`` share unused at the described rate. No size is a design: it stands until the site writes its own.
"""

from __future__ import annotations

import math

from canewright.plant.drafting.draft import Draft, Number, rounded
from canewright.plant.plant import Plant, State

USED = 0.85
"""Share of a size that the described rate uses (common practice, no source)."""
CLEANED = 0.8
"""Coefficient at which heaters are sized, kW/m²K: 0.5-0.9 scaled, 1.0-1.6 clean (from memory)."""
SIZES = {
    "cane preparation": "installed_power", "clarifier": "area", "vacuum pan": "volume", "crystalliser": "volume",
    "melter": "volume", "centrifugals": "machines", "boiler": "rating", "back-pressure turbine": "swallow",
    "condensing turbine": "swallow", "diffuser": "width",
}  # fmt: skip
"""The setting that makes the first capacity of each kind; the capacity is in proportion to it."""
HEATERS = ("juice heater", "liquor heater")
BURNT = 0.97
"""Share of the bagasse that a plant with a condensing turbine burns (common practice, no source)."""


def sized(draft: Draft) -> Plant:
    """Size the equipment of a draft in place, and give the plant of it.

    Raises NotSolved where no state fits the answers.
    """
    if draft.sizing:
        _size_areas(draft)
    plant = Plant.from_text(draft.text())
    state = plant.predict()
    if "condensing turbine" in draft.stations:
        state = _burn_the_bagasse(draft, plant, state)
    _size_capacities(draft, state)
    return Plant.from_text(draft.text())


def _size_areas(draft: Draft) -> None:
    """Surfaces at which the design pressures stand."""
    state = Plant.from_text(draft.for_sizing().text()).predict()
    for target in draft.sizing:
        name, _, key = target.moves.rpartition(".")
        because = "the surface at which the design pressures stand"
        draft.set(name, key, Number(rounded(state.values[target.moves]), because=because))


def _size_capacities(draft: Draft, state: State) -> None:
    for station in state.assembly.stations.values():
        bound = station.bound(state.values.__getitem__)
        if station.kind in HEATERS:
            needed = float(bound.look_up("heat_transfer_coefficient")) * float(bound.look_up("area")) / CLEANED
            draft.set(station.name, "area", Number(rounded(needed / USED), because=_because()))
        if station.kind not in SIZES:
            continue
        key = SIZES[station.kind]
        _, used, there = next(iter(bound.capacities()))
        size = float(bound.look_up(key)) * float(used) / (USED * float(there))
        whole = key == "machines"
        draft.set(station.name, key, Number(math.ceil(size) if whole else rounded(size), because=_because()))
    if "exhaust range" in draft.stations:
        swallow = draft.stations["turbine"].entries["swallow"]
        if isinstance(swallow, Number):
            draft.set("exhaust range", "most_exhaust", Number(swallow.value, because="the swallow of the turbine"))


def _because() -> str:
    return f"the described rate uses {100 * USED:g} % of it"


def _burn_the_bagasse(draft: Draft, plant: Plant, state: State) -> State:
    """The steam to the condensing turbine that burns the bagasse, and the state then: two steps of the secant rule."""
    name = "condensing turbine.steam_flow"
    before, more = state, 0.1 * float(state.stream("boiler.steam").flow)
    for _ in range(3):
        after = plant.predict({name: before.values[name] + more}, before)
        slope = (_burnt(after) - _burnt(before)) / more
        before, more = after, (BURNT - _burnt(after)) / slope
    because = f"burns {100 * BURNT:g} % of the bagasse"
    draft.set("condensing turbine", "steam_flow", Number(rounded(before.values[name], 4), because=because))
    return before


def _burnt(state: State) -> float:
    """Bagasse burnt on bagasse that comes."""
    return float(state.stream("bagasse store.reclaimed").flow) / float(state.stream("bagacillo.rest").flow)
