"""The whole plant of a day as tables: streams with flow, brix, purity and warmth, and how full each capacity is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from canewright.plant.plant import Plant, State
from canewright.plant.showing import COLUMNS, UNITS, CapacityRow, StreamRow, capacity_rows, stream_rows, written
from canewright.plant.streams import Stream
from canewright.plant.sucrose_account import SucroseAccount, sucrose_account

FULL, NEARLY = 100.0, 95.0
"""Share of a capacity, %, above which it is used beyond what is there, and from which it is nearly full."""


@dataclass(frozen=True)
class Cell:
    """A quantity of a stream with its standard uncertainty, where one is known."""

    value: float
    uncertainty: float | None


@dataclass(frozen=True)
class StreamLine:
    """A stream of a day: where it comes from and goes to, and its quantities; None for what it does not have."""

    section: str
    station: str
    stream: str
    to: str
    cells: dict[str, Cell | None]


@dataclass(frozen=True)
class PlantTables:
    """Streams by section in the order of the description, capacities, the fullest first, and the account of sucrose."""

    streams: dict[str, list[StreamLine]]
    capacities: list[CapacityRow]
    sucrose: SucroseAccount

    @property
    def over(self) -> list[CapacityRow]:
        """Capacities of which more is used than there is."""
        return [c for c in self.capacities if is_over(c)]

    def columns(self, section: str) -> list[str]:
        """The columns that any stream of a section has."""
        return [c for c in UNITS if any(line.cells[c] is not None for line in self.streams[section])]


def is_over(capacity: CapacityRow) -> bool:
    """Whether more is used than there is; what is idle with nothing there is not."""
    return capacity.share > FULL if capacity.share is not None else capacity.used > 0


def is_nearly_full(capacity: CapacityRow) -> bool:
    """Whether little is left, but some."""
    return capacity.share is not None and NEARLY <= capacity.share <= FULL


def plant_tables(plant: Plant, stored: Mapping[str, Any]) -> PlantTables:
    """The tables of a reconciled state as it was stored with the day."""
    state = State(plant.assembly, stored["values"], np.empty(0), "as stored")
    lines = [_line(row, plant.assembly.streams[row.stream], stored) for row in stream_rows(state)]
    sections = {s: [line for line in lines if line.section == s] for s in plant.description.sections}
    fullest = sorted(capacity_rows(state), key=lambda c: (-c.share if c.share is not None else 0.0, c.station))
    return PlantTables({s: lines for s, lines in sections.items() if lines}, fullest, sucrose_account(state))


def _line(row: StreamRow, kind: type[Stream], stored: Mapping[str, Any]) -> StreamLine:
    cells = {
        column: None if value is None else Cell(value, _uncertainty(row.stream, column, kind, stored))
        for column, value in row.values.items()
    }
    return StreamLine(row.section, row.station, row.stream, row.to, cells)


def _uncertainty(stream: str, column: str, kind: type[Stream], stored: Mapping[str, Any]) -> float | None:
    """The standard uncertainty stored with the quantity, or with the variable that is this very quantity."""
    told = stored.get("quantities", {}).get(stream, {}).get(COLUMNS[column])
    if told is not None:
        return None if told["uncertainty"] is None else float(told["uncertainty"])
    alone = [c for c in Stream.COMPONENTS if c in kind.variables()]
    variable = alone[0] if column == "flow" and len(alone) == 1 else column
    found = stored["uncertainty"].get(f"{stream}.{variable}") if variable in kind.variables() else None
    return None if found is None or column == "colour" else float(found)


def streams_written(tables: PlantTables) -> str:
    """Streams as comma-separated text, each quantity with its standard uncertainty."""
    heads = ["section", "station", "stream", "to"]
    for column, symbol in UNITS.items():
        difference = "K" if symbol == "°C" else symbol
        heads += [f"{column}, {symbol}", f"standard uncertainty of {column}, {difference}"]
    rows = []
    for line in (line for lines in tables.streams.values() for line in lines):
        pairs = [(c.value, c.uncertainty) if c else (None, None) for c in line.cells.values()]
        rows.append([line.section, line.station, line.stream, line.to, *(x for pair in pairs for x in pair)])
    return written(heads, rows)


def capacities_written(tables: PlantTables) -> str:
    """Capacities as comma-separated text, the fullest first."""
    heads = ["section", "station", "limit", "used", "there is", "unit", "full, %"]
    rows = ([c.section, c.station, c.limit, c.used, c.available, c.unit, c.share] for c in tables.capacities)
    return written(heads, rows)
