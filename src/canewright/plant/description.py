"""The plant as a person describes it in ``plant.toml``: read, checked, and every fault named by line and field."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any
from zoneinfo import ZoneInfo

from canewright.plant.catalogue import STATIONS
from canewright.plant.faults import DescriptionFaults, Fault, Reader, is_number, nearest
from canewright.plant.measures import MEASURABLE
from canewright.plant.metering import Meter, Target, read_meters, read_roles, read_targets
from canewright.plant.station import Port, Setting, Station
from canewright.plant.tables import read_tables
from canewright.plant.toml_lines import LinedToml, Path, TomlSyntax, read_lined

__all__ = [
    "OUTSIDE", "Connection", "Description", "DescriptionFaults", "Fault", "Given", "Meter", "StationGiven", "Target",
    "nearest", "outlet_streams", "read_description", "read_file",
]  # fmt: skip

WITHIN_LIMITS = 0.4
"""Most that a declared prior's standard uncertainty may be of the distance to the nearest limit."""
OUTSIDE = "outside"
"""The place beyond the site's fence to which products, effluents and losses go."""


@dataclass(frozen=True)
class Given:
    """A setting as given: value, standard uncertainty (0 = held) and limits."""

    value: float
    uncertainty: float
    limits: tuple[float, float]
    unit: str
    says: str
    nominal: float


@dataclass(frozen=True)
class StationGiven:
    """A station as given."""

    name: str
    kind: type[Station]
    section: str
    settings: Mapping[str, Given]
    choices: Mapping[str, str]
    line: int


@dataclass(frozen=True)
class Connection:
    """A stream from an outlet to an inlet, or to a named place outside."""

    source: tuple[str, str]
    target: tuple[str, str]
    line: int


@dataclass(frozen=True)
class Description:
    """A whole plant description, checked for everything that can be checked without its equations."""

    name: str
    data: Mapping[str, Any]
    text: str
    sections: Mapping[str, float]
    stations: Mapping[str, StationGiven]
    connections: tuple[Connection, ...]
    meters: tuple[Meter, ...]
    targets: tuple[Target, ...]
    links: Mapping[str, Given]
    roles: Mapping[str, str]
    lined: LinedToml

    @property
    def cut_hour(self) -> int:
        """The hour of the clock at which the factory day begins."""
        return int(self.data.get("plant", {}).get("cut_hour", 6))

    @property
    def zone(self) -> str:
        """The plant's time zone."""
        return str(self.data.get("plant", {}).get("zone", "UTC"))


TABLES = {
    "plant", "sections", "links", "stations", "connections", "meters", "targets", "roles", "products", "prices",
    "advice", "sheet", "cane",
}  # fmt: skip


LINKS = {
    "rotation_of_reducing_sugars": Setting(
        "1", 0.30, "rotation of reducing sugars on that of sucrose, to the left", (0.0, 0.6), 0.05, 0.3
    ),
    "refraction_of_non_sucrose": Setting(
        "1", 0.05, "refractometer solids of non-sucrose beyond its dry substance", (-0.1, 0.2), 0.02, 0.05
    ),
}


class _Reader(Reader):
    """Reads the parts that equations need: sections, links, stations and connections."""

    def plant(self) -> None:
        table = self.table("plant")
        self.known(("plant",), table, {"name", "says", "cut_hour", "zone", "season_start"})
        hour = table.get("cut_hour", 6)
        if not isinstance(hour, int) or isinstance(hour, bool) or not 0 <= hour <= 23:
            self.fault(("plant", "cut_hour"), hour, "a whole hour of the clock from 0 to 23")
        start = table.get("season_start")
        if start is not None and type(start) is not dt.date:
            self.fault(("plant", "season_start"), start, "a date without quotes such as 2031-06-02")

    # --- parts ----------------------------------------------------------------------------------------------------

    def sections(self) -> dict[str, float]:
        found = {}
        for name, section in self.table("sections").items():
            found[name] = self.number(("sections", name, "hours"), section.get("hours", 24.0), 0.0, 24.0)
            self.known(("sections", name), section, {"hours", "says"})
        if not found:
            self.fault(("sections",), "none", "at least one section, such as [sections.mill] with hours = 24")
        return found

    def given(self, path: tuple[str | int, ...], value: Any, declared: Setting) -> Given:
        """A setting from a number, or from a table with value, uncertainty and limits.

        Where no uncertainty is given the declared prior holds, but it does not reach across a limit: a setting left
        at its limit (no colour formed, say) is held there.
        """
        low, high = declared.limits
        uncertainty = declared.prior
        given_uncertainty = isinstance(value, dict) and "uncertainty" in value
        if isinstance(value, dict):
            self.known(path, value, {"value", "uncertainty", "limits"})
            if "limits" in value:
                pair = value["limits"]
                if isinstance(pair, list) and len(pair) == 2:
                    low = self.number((*path, "limits"), pair[0], *declared.limits)
                    high = self.number((*path, "limits"), pair[1], low, declared.limits[1])
                else:
                    self.fault((*path, "limits"), pair, "two numbers, lowest and highest")
            uncertainty = self.number((*path, "uncertainty"), value.get("uncertainty", uncertainty), 0.0)
            value = value.get("value", declared.default)
        number = self.number(path, value, low, high)
        if not given_uncertainty:
            uncertainty = min(uncertainty, WITHIN_LIMITS * min(number - low, high - number))
        return Given(number, uncertainty, (low, high), declared.unit, declared.says, declared.nominal)

    def station(self, name: str, table: Any, sections: Mapping[str, float]) -> StationGiven | None:
        path = ("stations", name)
        if not isinstance(table, dict):
            self.fault(path, table, f'a table [stations."{name}"]')
            return None
        kind = STATIONS.get(str(table.get("kind")))
        if kind is None:
            self.fault((*path, "kind"), table.get("kind"), nearest(str(table.get("kind")), STATIONS))
            return None
        if "." in name or name == OUTSIDE:
            self.fault(path, name, f"a name without a full stop that is not '{OUTSIDE}'")
        section = str(table.get("section", next(iter(sections), "")))
        if section not in sections:
            self.fault((*path, "section"), section, nearest(section, sections))
        declared, options = kind.settings(), kind.options()
        self.known(path, table, {"kind", "section", "says", *declared, *options})
        settings = {key: self.given((*path, key), table.get(key, spec.default), spec) for key, spec in declared.items()}
        picked = {}
        for key, option in options.items():
            picked[key] = str(table.get(key, option.options[0]))
            if picked[key] not in option.options:
                self.fault((*path, key), picked[key], nearest(picked[key], option.options))
        return StationGiven(name, kind, section, settings, picked, self.lined.line(*path))

    def connections(self, stations: Mapping[str, StationGiven]) -> tuple[Connection, ...]:
        found = []
        for target, sources in self.table("connections").items():
            path = ("connections", target)
            end = self._end(path, target, stations, entering=True)
            for source in sources if isinstance(sources, list) else [sources]:
                start = self._end(path, str(source), stations, entering=False)
                if end and start:
                    found.append(Connection(start, end, self.lined.line(*path)))
        self._each_port_once(found, stations)
        return tuple(found)

    def _end(
        self, path: tuple[str | int, ...], text: str, stations: Mapping[str, StationGiven], *, entering: bool
    ) -> tuple[str, str] | None:
        name, _, port = text.partition(".")
        if entering and name == OUTSIDE:
            return (OUTSIDE, port)
        if name not in stations:
            self.fault(path, text, nearest(name, stations))
            return None
        ports = {p.name for p in stations[name].kind.ports().values() if p.entering == entering}
        if port not in ports:
            way = "inlets" if entering else "outlets"
            self.fault(path, text, f"{way} of {name}: {nearest(port, ports)}" if ports else f"{name} has no {way}")
            return None
        return (name, port)

    def _each_port_once(self, found: list[Connection], stations: Mapping[str, StationGiven]) -> None:
        for name, station in stations.items():
            for port in station.kind.ports().values():
                uses = [c for c in found if (c.target if port.entering else c.source) == (name, port.name)]
                way = "inlet" if port.entering else "outlet"
                if not uses and not port.may_be_open:
                    self.fault(
                        ("stations", name), f"{way} '{name}.{port.name}' not connected",
                        f"a line in [connections]: "
                        + (f'"{name}.{port.name}" = "station.outlet"' if port.entering
                           else f'"station.inlet" = "{name}.{port.name}" or "{OUTSIDE}.where" = "{name}.{port.name}"'),
                    )  # fmt: skip
                if len(uses) > 1 and not port.many:
                    lines = ", ".join(str(c.line) for c in uses)
                    self.faults.append(
                        Fault(
                            uses[-1].line, f"{name}.{port.name}", f"connected {len(uses)} times (lines {lines})", "once"
                        )
                    )
                for use in uses if port.entering else []:
                    self._fits(use, stations)

    def _fits(self, use: Connection, stations: Mapping[str, StationGiven]) -> None:
        source = stations[use.source[0]].kind.ports()[use.source[1]].stream
        target = stations[use.target[0]].kind.ports()[use.target[1]].stream
        lacking = [h for h in source.holds if h not in target.holds and h not in _FORGIVEN]
        if lacking:
            self.faults.append(
                Fault(
                    use.line, f"{use.target[0]}.{use.target[1]}",
                    f"{source.__name__.lower()} from {use.source[0]}.{use.source[1]}, which carries {', '.join(lacking)}",
                    f"a stream that fits {target.__name__.lower()}",
                )
            )  # fmt: skip



_FORGIVEN = {"crystal", "crystal_colour", "pressure"}
"""Crystals dissolve and pressure is let go where a port cannot hold them; the station's balances count both."""


def outlet_streams(stations: Mapping[str, StationGiven], connections: Iterable[Connection]) -> dict[str, type[Any]]:
    """Every stream of the plant by name (``station.port`` or ``station.port.2``) with its type."""
    found: dict[str, type[Any]] = {}
    for name, station in stations.items():
        for port in station.kind.ports().values():
            if port.entering:
                continue
            if not port.many:
                found[f"{name}.{port.name}"] = port.stream
                continue
            uses = [c for c in connections if c.source == (name, port.name)]
            found.update({f"{name}.{port.name}.{i + 1}": port.stream for i in range(len(uses))})
    return found


def read_description(text: str) -> Description:
    """Read and check a plant description.

    Raises DescriptionFaults listing every fault by line, field, what was found and what is accepted.
    """
    try:
        lined = read_lined(text)
    except TomlSyntax as error:
        raise DescriptionFaults([Fault(1, "file", str(error), "TOML text")]) from error
    reader = _Reader(lined)
    reader.known((), lined.data, TABLES)
    reader.plant()
    sections = reader.sections()
    read = [reader.station(n, t, sections) for n, t in reader.table("stations").items()]
    stations = {s.name: s for s in read if s is not None}
    if not stations:
        reader.fault(("stations",), "none", 'stations, such as [stations."mill 1"] with kind = "mill"')
    connections = reader.connections(stations)
    outlets = outlet_streams(stations, connections)
    links = {
        k: reader.given(("links", k), reader.table("links").get(k, spec.default), spec) for k, spec in LINKS.items()
    }
    reader.known(("links",), reader.table("links"), LINKS)
    results = {f"{n}.{k}": r for n, station in stations.items() for k, r in station.kind.results().items()}
    meters = reader.meters(outlets, results)
    targets = reader.targets(outlets, stations)
    roles = reader.roles(outlets)
    if reader.faults:
        raise DescriptionFaults(reader.faults)
    name = str(lined.data.get("plant", {}).get("name", "plant"))
    return Description(name, lined.data, text, sections, stations, connections, meters, targets, links, roles, lined)
