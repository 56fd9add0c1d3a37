"""A solved plant as tables: every stream by section and station, and what each station uses of its capacities."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from canewright.plant.plant import State
from canewright.plant.streams import Power, Stream
from canewright.quantity import Dimensional, Unit, noting_breaches, unit

COLUMNS = {
    "flow": "mass flow", "dry substance": "dry substance", "purity": "true purity", "temperature": "temperature",
    "pressure": "pressure", "colour": "colour", "power": "power",
}  # fmt: skip
"""Columns of the table of streams, and the measurable quantity of each."""
UNITS = {
    "flow": "t/h", "dry substance": "%", "purity": "%", "temperature": "°C", "pressure": "kPa", "colour": "IU",
    "power": "kW",
}  # fmt: skip
HELD = {"temperature", "pressure", "power"}
"""Columns that only a stream which holds that very variable has."""
NOTHING_FLOWS = 1e-6
"""Flow, t/h, below which a stream has no composition worth telling."""
CAPACITY_UNITS = (
    "t/h", "kW", "m³", "m³/h", "t", "h", "h/d", "min", "kg/h", "m", "m/s", "K", "°C", "kPa", "%", "mg/kg", "kN·m",
    "kW/m²/K", "1/h", "J/m²", "1",
)  # fmt: skip
"""Units in which capacities are told, each where it is the same measure as the two sides."""


@dataclass(frozen=True)
class StreamRow:
    """A stream: where it comes from and goes to, and what it is like; None for what it does not have."""

    section: str
    station: str
    kind: str
    stream: str
    to: str
    values: dict[str, float | None]


@dataclass(frozen=True)
class CapacityRow:
    """What a station uses of one of its capacities."""

    section: str
    station: str
    kind: str
    limit: str
    unit: str
    used: float
    available: float

    @property
    def share(self) -> float | None:
        """Used, % of what is there."""
        return 100.0 * self.used / self.available if self.available > 0 else None


def stream_rows(state: State) -> list[StreamRow]:
    """Every stream, by section and station in the order of the description."""
    description, assembly = state.assembly.description, state.assembly
    goes = {stream: ".".join(target) for stream, target in destinations(state).items()}
    rows = []
    for section in description.sections:
        for name, station in description.stations.items():
            mine = [s for s in assembly.streams if s.rpartition(".")[0].partition(".")[0] == name]
            if station.section == section:
                rows += [
                    StreamRow(section, name, station.kind.kind, s, goes.get(s, ""), _values(state, s)) for s in mine
                ]
    return rows


def destinations(state: State) -> dict[str, tuple[str, str]]:
    """Where each stream goes: station and inlet, or outside and where."""
    taken: dict[tuple[str, str], int] = {}
    found = {}
    for c in state.assembly.description.connections:
        station, port = c.source
        taken[c.source] = taken.get(c.source, 0) + 1
        many = state.assembly.stations[station].ports()[port].many
        found[f"{station}.{port}.{taken[c.source]}" if many else f"{station}.{port}"] = c.target
    return found


def _values(state: State, name: str) -> dict[str, float | None]:
    stream = state.stream(name)
    return {column: _value(state, stream, name, column) for column in COLUMNS}


def _value(state: State, stream: Stream, name: str, column: str) -> float | None:
    sugar = "sucrose" in stream.holds
    flows = not isinstance(stream, Power) and float(stream.flow) > NOTHING_FLOWS
    told = {
        "flow": not isinstance(stream, Power), "dry substance": sugar and flows, "purity": sugar and flows,
        "colour": sugar and flows,
    }.get(column, column in stream.holds)  # fmt: skip
    if not told:
        return None
    value = state.measured(name, COLUMNS[column])
    return value if math.isfinite(value) else None


def capacity_rows(state: State) -> list[CapacityRow]:
    """Every capacity of every station in a solved state."""
    return list(_capacities(state))


def _capacities(state: State) -> Iterator[CapacityRow]:
    assembly = state.assembly
    for name, station in assembly.stations.items():
        section = assembly.description.stations[name].section
        measures = [used.unit for _, used, _ in station.bound(lambda n: Dimensional(assembly.unit_of[n])).capacities()]
        with noting_breaches():
            told = list(station.bound(state.values.__getitem__).capacities())
        for (sentence, used, available), measure in zip(told, measures, strict=True):
            yield CapacityRow(section, name, station.kind, sentence, _plain(measure), float(used), float(available))


def _plain(measure: Unit) -> str:
    """A unit of this measure that a person reads at once, where there is one."""
    return next((u for u in CAPACITY_UNITS if unit(u).same_measure(measure)), measure.symbol)


def written(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows as comma-separated text with a heading; nothing is written for what there is not."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows([_cell(c) for c in row] for row in rows)
    return text.getvalue()


def _cell(value: object) -> object:
    return "" if value is None else f"{value:.6g}" if isinstance(value, float) else value
