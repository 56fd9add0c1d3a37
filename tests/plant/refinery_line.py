"""Small refinery plants for tests: one station between supplies, and the liquor line from melt to carbon."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from canewright.engine import predict
from canewright.plant.plant import Plant, State
from canewright.plant.streams import Liquor, Stream
from canewright.quantity import noting_breaches
from plant.steam_plant import plant_of

MELT: dict[str, Any] = {
    "kind": "liquor supply", "rate": 55.0 / 0.65, "dry_substance": 65.0, "purity": 99.0, "suspended": 0.0,
    "colour": 1000.0, "temperature": 80.0,
}  # fmt: skip
"""55 t/h of solids at 65 % dry substance and 80 °C, 1,000 IU: the liquor of the worked cases."""
HOT_WATER: dict[str, Any] = {"kind": "water supply", "temperature": 75.0}
FLUE: dict[str, Any] = {
    "kind": "air supply", "given": "humidity ratio", "humidity_ratio": 25.0, "temperature": 45.0,
}  # fmt: skip
"""Washed and cooled flue gas."""

OUTLETS = {
    "strainer": ("strained", "screenings"),
    "phosphatation": ("clarified", "scum"),
    "scum desweetening": ("sweet_water", "spent"),
    "deep-bed filter": ("filtered", "sweet_water", "sludge"),
    "carbon columns": ("decolourised", "sweet_water"),
    "ion exchange": ("decolourised", "sweet_water", "effluent"),
    "pressure filter": ("filtered", "sweet_water", "cake"),
    "carbonatation": ("carbonated", "gas_out"),
    "powdered carbon": ("treated",),
}
WATERED = {
    "phosphatation": "water",
    "scum desweetening": "water",
    "deep-bed filter": "backwash",
    "carbon columns": "water",
    "ion exchange": "water",
    "pressure filter": "wash",
    "carbonatation": "water",
}


def alone(kind: str, melt: Mapping[str, Any] | None = None, /, **settings: Any) -> Plant:
    """A plant of one liquor station, called ``it``, between ``melt`` and the outside."""
    stations = {"melt": {**MELT, **(melt or {})}, "hot": HOT_WATER, "it": {"kind": kind, **settings}}
    inlet = "scum" if kind == "scum desweetening" else "liquor"
    connections = {f"it.{inlet}": "melt.liquor"}
    if kind in WATERED:
        connections[f"it.{WATERED[kind]}"] = "hot.water"
    else:
        del stations["hot"]
    if kind == "carbonatation":
        stations["flue"] = FLUE
        connections["it.gas"] = "flue.air"
    return plant_of(stations, connections | {f"outside.{o}": f"it.{o}" for o in OUTLETS[kind]})


@cache
def liquor_line(in_series: str = "1") -> Plant:
    """Liquor, phosphatation with desweetening of its scum, filter and carbon."""
    stations = {
        "melt": {**MELT, "suspended": 0.05},
        "hot": HOT_WATER,
        "strainer": {"kind": "strainer"},
        "phosphatation": {"kind": "phosphatation"},
        "scum": {"kind": "scum desweetening"},
        "filter": {"kind": "deep-bed filter"},
        "carbon": {"kind": "carbon columns", "in_series": in_series},
    }
    connections = {
        "strainer.liquor": "melt.liquor", "outside.screenings": "strainer.screenings",
        "phosphatation.liquor": "strainer.strained", "phosphatation.water": "hot.water",
        "scum.scum": "phosphatation.scum", "scum.water": "hot.water",
        "outside.scum water": "scum.sweet_water", "outside.spent": "scum.spent",
        "filter.liquor": "phosphatation.clarified", "filter.backwash": "hot.water",
        "outside.filter water": "filter.sweet_water", "outside.sludge": "filter.sludge",
        "carbon.liquor": "filter.filtered", "carbon.water": "hot.water",
        "outside.carbon water": "carbon.sweet_water", "outside.fine liquor": "carbon.decolourised",
    }  # fmt: skip
    return plant_of(stations, connections)


@cache
def carbonatation_line() -> Plant:
    """Liquor, carbonatation, filter with cake wash, cake stirred up and washed again, and two resins."""
    stations = {
        "melt": {**MELT, "suspended": 0.05, "temperature": 86.0},
        "hot": HOT_WATER,
        "flue": FLUE,
        "carbonatation": {"kind": "carbonatation"},
        "press": {"kind": "pressure filter"},
        "cake": {"kind": "scum desweetening", "stages": "1", "wash": 3.0},
        "acrylic": {"kind": "ion exchange"},
        "styrenic": {"kind": "ion exchange"},
    }
    connections = {
        "carbonatation.liquor": "melt.liquor", "carbonatation.water": "hot.water", "carbonatation.gas": "flue.air",
        "outside.gas": "carbonatation.gas_out", "press.liquor": "carbonatation.carbonated", "press.wash": "hot.water",
        "outside.press water": "press.sweet_water", "cake.scum": "press.cake", "cake.water": "hot.water",
        "outside.cake water": "cake.sweet_water", "outside.cake": "cake.spent",
        "acrylic.liquor": "press.filtered", "acrylic.water": "hot.water",
        "outside.acrylic water": "acrylic.sweet_water", "outside.acrylic effluent": "acrylic.effluent",
        "styrenic.liquor": "acrylic.decolourised", "styrenic.water": "hot.water",
        "outside.styrenic water": "styrenic.sweet_water", "outside.styrenic effluent": "styrenic.effluent",
        "outside.fine liquor": "styrenic.decolourised",
    }  # fmt: skip
    return plant_of(stations, connections)


def closed(state: State) -> State:
    """The state, every balance of which closes: to 1e-9; one through which less than 1e-9 flows is empty."""
    with noting_breaches():
        gaps = [c for c in state.closures if c.relative > 1e-9 and c.brought > 1e-9]
    assert not gaps
    return state


def solved(plant: Plant, changes: Mapping[str, float] | None = None) -> State:
    """The plant solved cold with changed settings; every balance closes."""
    return closed(plant.predict(changes))


def idle(plant: Plant, changes: Mapping[str, float]) -> State:
    """The plant solved cold where nothing flows: rounding leaves flows of -1e-30 t/h, which formulas would refuse."""
    solution = predict(plant.model, plant.first_estimate(plant.settings(changes)))
    return closed(State(plant.assembly, solution.values, solution.scaled, solution.method))


def liquor(state: State, name: str) -> Liquor:
    """A sugar stream of a state."""
    stream: Stream = state.stream(name)
    assert isinstance(stream, Liquor)
    return stream


def colour(state: State, name: str) -> float:
    """Colour of a stream, IU."""
    return float(liquor(state, name).icumsa_colour)
