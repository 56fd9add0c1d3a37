"""A small steam plant for tests: bagasse, store, boiler, turbine, let-down, exhaust range, heater."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from typing import Any

from canewright.plant.plant import Plant, State
from canewright.plant.streams import Stream

BAGASSE: dict[str, Any] = {
    "kind": "juice supply", "rate": 106.6286, "fibre": 46.784157, "suspended": 1.241693, "dry_substance": 3.797704,
    "purity": 80.921, "reducing_sugars": 25.4917, "ash": 21.5584, "temperature": 28.0,
}  # fmt: skip
"""Bagasse of the worked reference case: moisture 50, brix 1.974, ash with soil 1.323 %, fired at air temperature."""

STATIONS: dict[str, dict[str, Any]] = {
    "bagasse": BAGASSE,
    "store": {"kind": "bagasse store", "cooling": 0.0},
    "boiler": {"kind": "boiler"},
    "main": {"kind": "vapour main", "pressure_drop": 0.0},
    "turbine": {"kind": "back-pressure turbine", "steam_flow": 135.0415},
    "let-down": {"kind": "let-down"},
    "range": {"kind": "exhaust range", "pressure": 230.0},
    "deaerator": {"kind": "deaerator", "pressure": 150.0},
    "water": {"kind": "water supply", "temperature": 28.0},
    "spray": {"kind": "water supply", "temperature": 98.0},
    "juice": {"kind": "liquor supply", "rate": 400.0, "dry_substance": 15.0, "temperature": 30.0},
    "heater": {"kind": "liquor heater"},
}
CONNECTIONS: dict[str, Any] = {
    "store.bagasse": "bagasse.juice",
    "boiler.fuel": "store.reclaimed",
    "boiler.feedwater": "deaerator.feedwater",
    "main.supply": "boiler.steam",
    "turbine.steam": "main.branches",
    "let-down.steam": "main.branches",
    "let-down.water": "spray.water",
    "range.exhausts": "turbine.exhaust",
    "range.let_down": "let-down.reduced",
    "deaerator.steam": "range.branches",
    "deaerator.make_up": "water.water",
    "outside.condensate": "heater.condensate",
    "heater.liquor": "juice.liquor",
    "heater.vapour": "range.branches",
    "outside.juice": "heater.heated",
    "outside.blow-off": "range.blow_off",
    "outside.blowdown": "boiler.blowdown",
    "outside.power": "turbine.power",
}


def written(stations: Mapping[str, Mapping[str, Any]], connections: Mapping[str, Any]) -> str:
    """The text of a description of these stations and connections (target to source)."""
    lines = ["[plant]", 'name = "steam plant"', "[sections.power]", "hours = 24"]
    for name, table in stations.items():
        lines.append(f'[stations."{name}"]')
        lines += [f"{key} = {value!r}".replace("'", '"') for key, value in table.items()]
    lines.append("[connections]")
    lines += [f'"{target}" = {sources!r}'.replace("'", '"') for target, sources in connections.items()]
    return "\n".join(lines)


def plant_of(stations: Mapping[str, Mapping[str, Any]], connections: Mapping[str, Any], more: str = "") -> Plant:
    """A plant of these stations and connections (target to source), and ``more`` tables."""
    text = f"{written(stations, connections)}\n{more}"
    tomllib.loads(text)
    return Plant.from_text(text)


@cache
def steam_plant() -> Plant:
    """The small steam plant."""
    return plant_of(STATIONS, CONNECTIONS)


def solved(plant: Plant, changes: Mapping[str, float] | None = None) -> State:
    """The plant solved with changed settings; every balance closed."""
    state = plant.predict(changes)
    assert max(c.relative for c in state.closures) <= 1e-9
    return state


def enthalpy(stream: Stream) -> float:
    """Specific enthalpy of a stream, kJ/kg."""
    return float(stream.enthalpy_flow) / float(stream.flow)
