"""Small boiling-house plants for tests, written as descriptions of catalogue stations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from canewright.plant.plant import Plant, State

HEAD = '[plant]\nname = "case"\n[sections.house]\nhours = 24\n'
PLAIN: dict[str, Any] = {
    "wash_on_massecuite": 0, "dissolving_power": 0, "crystal_loss": 0, "film": 0, "wash_effect": 0, "suspended_kept": 0,
}  # fmt: skip
"""Centrifugals that part crystal from mother liquor and do nothing else."""


def described(stations: Mapping[str, Any], connections: Mapping[str, Any], more: str = "") -> Plant:
    """A plant of one section from tables of stations and connections."""
    lines = [HEAD]
    for name, table in stations.items():
        lines.append(f'[stations."{name}"]')
        lines += [f"{key} = {value!r}".replace("'", '"') for key, value in table.items()]
    lines.append("[connections]")
    lines += [f'"{end}" = {start!r}'.replace("'", '"') for end, start in connections.items()]
    return Plant.from_text("\n".join(lines) + "\n" + more)


def worst_closure(state: State) -> float:
    """Largest relative gap of any balance of any station; what carries nothing must have no gap to speak of."""
    small = [abs(c.gap) for c in state.closures if c.brought <= 1e-9]
    assert max(small, default=0.0) <= 1e-9
    return max((c.relative for c in state.closures if c.brought > 1e-9), default=0.0)


def idle(plant: Plant, **none: float) -> Mapping[str, float]:
    """The plant's variables where nothing is fed; ``__`` in a name stands for the full stop of a setting."""
    return plant.predict({name.replace("__", "."): value for name, value in none.items()}).values


def of(state: State, stream: str) -> Any:
    """A stream of a state, of whatever kind it is."""
    return state.stream(stream)


def number(state: State, stream: str, name: str) -> float:
    """One variable or property of a stream."""
    return float(getattr(of(state, stream), name))


STRIKE: dict[str, Mapping[str, Any]] = {
    "syrup": {"kind": "liquor supply", "rate": 100, "suspended": 0.1},
    "steam": {"kind": "steam supply", "pressure": 170},
    "water": {"kind": "water supply", "temperature": 75},
    "river": {"kind": "water supply", "temperature": 28},
    "pan": {"kind": "vacuum pan"},
    "centrifugals": {"kind": "centrifugals"},
    "condenser": {"kind": "condenser", "pressure": 15},
}
"""One strike: syrup, pan, centrifugals, condenser."""

STRIKE_CONNECTIONS = {
    "pan.feeds": "syrup.liquor",
    "pan.steam": "steam.steam",
    "centrifugals.massecuite": "pan.massecuite",
    "centrifugals.wash": "water.water",
    "condenser.vapours": "pan.vapour",
    "condenser.water": "river.water",
    "outside.sugar": "centrifugals.sugar",
    "outside.molasses": "centrifugals.molasses",
    "outside.condensate": "pan.condensate",
    "outside.warm": "condenser.warm",
}


def strike(changes: Mapping[str, Mapping[str, Any]] | None = None) -> Plant:
    """One strike with settings of its stations changed."""
    tables = {name: {**table, **(changes or {}).get(name, {})} for name, table in STRIKE.items()}
    return described(tables, STRIKE_CONNECTIONS)
