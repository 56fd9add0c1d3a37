"""Small plants of juice-side and evaporation stations for tests, written as descriptions of catalogue stations."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from canewright.plant.plant import Plant, State
from canewright.plant.streams import Stream
from canewright.quantity import noting_breaches

POUND, SQUARE_FOOT = 0.45359237e-3, 0.09290304  # t, m²
BRITISH_COEFFICIENT = 5.678263e-3  # kW/m²K for one Btu/(h ft² °F)


TRACE = {"dry_substance": 0.001, "suspended": 0, "colour": 0}
"""Liquor that is water but for ten milligrams of solids in a kilogram."""


def celsius(fahrenheit: float) -> float:
    """Degrees Fahrenheit to °C."""
    return (fahrenheit - 32.0) / 1.8


def station(name: str, kind: str, **settings: Any) -> str:
    """A station of a description."""
    lines = [f'[stations."{name}"]', f'kind = "{kind}"']
    return "\n".join([*lines, *(f"{key} = {value!r}".replace("'", '"') for key, value in settings.items())]) + "\n"


def target(stream: str, quantity: str, value: float, moves: str) -> str:
    """A quantity held by moving a setting."""
    return f'[[targets]]\nstream = "{stream}"\nquantity = "{quantity}"\nvalue = {value}\nmoves = "{moves}"\n'


def plant(stations: Iterable[str], connections: Mapping[str, str | list[str]], targets: Iterable[str] = ()) -> Plant:
    """A plant of one section; every outlet that no connection takes leaves the site."""
    head = '[plant]\nname = "case"\n[sections.mill]\nhours = 24\n'
    lines = [f'"{end}" = {start!r}'.replace("'", '"') for end, start in connections.items()]
    return Plant.from_text(
        head + "\n".join(stations) + "[connections]\n" + "\n".join(lines) + "\n" + "\n".join(targets)
    )


def effects_in_series(names: list[str], juice: str, steam: str, condenser: str) -> dict[str, str | list[str]]:
    """Connections of a plain forward row without bleeds."""
    links: dict[str, str | list[str]] = {}
    for name in names:
        links |= {
            f"{name}.liquor": juice,
            f"{name}.steam": steam,
            f"outside.condensate of {name}": f"{name}.condensate",
        }
        juice, steam = f"{name}.concentrated", f"{name}.vapour"
    return links | {f"{condenser}.vapours": steam, "outside.product": juice, "outside.warm": f"{condenser}.warm"}


def flow(state: State, stream: str) -> float:
    """Total flow of a stream, t/h."""
    return float(state.stream(stream).flow)


def part(stream: Stream, name: str) -> float:
    """One variable of a stream as a number."""
    return float(getattr(stream, name))


def worst_closure(state: State) -> float:
    """Largest gap of any balance of any station: relative, or in t/h where less than a gram an hour moves."""
    with noting_breaches():
        return max(c.relative if c.brought > 1e-6 else abs(c.gap) for c in state.closures)
