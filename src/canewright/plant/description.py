"""The plant as a person describes it in ``plant.toml``: read, checked, and every fault named by line and field."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any
from zoneinfo import ZoneInfo

from canewright.plant.catalogue import STATIONS
from canewright.plant.common_errors import CommonError, read_common_errors
from canewright.plant.faults import DescriptionFaults, Fault, Reader, nearest
from canewright.plant.measures import MEASURABLE
from canewright.plant.metering import Meter, Target, read_meters, read_roles, read_targets
from canewright.plant.property_forms import read_forms
from canewright.plant.slow import SeasonGiven, read_season
from canewright.plant.standing import ASSUMED, LEFT_OUT, ONES_OWN, STANDINGS, Standing, left, read_standing
from canewright.plant.station import Port, Setting, Station
from canewright.plant.stocktaking import read_stocktaking
from canewright.plant.streams import Steam
from canewright.plant.tables import read_tables
from canewright.plant.toml_lines import LinedToml, Path, TomlSyntax, read_lined
from canewright.properties.choices import Form

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
    """A setting as given: value, standard uncertainty (0 = held), limits, and whose value it is."""

    value: float
    uncertainty: float
    limits: tuple[float, float]
    unit: str
    says: str
    nominal: float
    standing: Standing = ONES_OWN


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
    common_errors: tuple[CommonError, ...]
    targets: tuple[Target, ...]
    links: Mapping[str, Given]
    forms: Mapping[str, Form]
    roles: Mapping[str, str]
    season: SeasonGiven
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
    "plant", "sections", "links", "properties", "stations", "connections", "meters", "common_errors", "targets",
    "roles", "products", "prices", "advice", "sheet", "cane", "season", "movements", "ledgers",
    "traces",
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
        """The plant's name, cut hour, zone and start of season."""
        table = self.table("plant")
        self.known(("plant",), table, {"name", "says", "cut_hour", "zone", "season_start"})
        if "name" in table:
            self.words(("plant", "name"), table["name"])
        hour = table.get("cut_hour", 6)
        if not isinstance(hour, int) or isinstance(hour, bool) or not 0 <= hour <= 23:
            self.fault(("plant", "cut_hour"), hour, "a whole hour of the clock from 0 to 23")
        start = table.get("season_start")
        if start is not None and type(start) is not dt.date:
            self.fault(("plant", "season_start"), start, "a date without quotes such as 2031-06-02")
        self._zone(table.get("zone", "UTC"))

    def _zone(self, zone: object) -> None:
        try:
            ZoneInfo(zone if isinstance(zone, str) else "")
        except (ValueError, OSError, LookupError):  # not a name, a folder of names, or no such name
            self.fault(("plant", "zone"), zone, "a time zone such as Australia/Brisbane, Etc/GMT-10 or UTC")

    # --- parts ----------------------------------------------------------------------------------------------------

    def sections(self) -> dict[str, float]:
        """Running hours of each section, as described."""
        found = {}
        for name, section in self.table("sections").items():
            if not isinstance(section, dict):
                self.fault(("sections", name), section, f"a table [sections.{name}] with hours = 24")
                continue
            found[name] = self._hours(("sections", name, "hours"), section.get("hours", left(24.0)))
            self.known(("sections", name), section, {"hours", "says"})
        if not self.table("sections"):
            self.fault(("sections",), None, "at least one section, such as [sections.mill] with hours = 24")
        return found

    def _hours(self, path: Path, value: Any) -> float:
        table = value if isinstance(value, dict) else {"value": value}
        self.known(path, table, {*STANDINGS, "because"})
        return self.number(path, table.get(read_standing(self, path, table).key), 0.0, 24.0)

    def given(self, path: Path, value: Any, declared: Setting) -> Given:
        """A setting from a number, or from a table with value, uncertainty and limits.

        Where no uncertainty is given the declared prior holds, but it does not reach across a limit: a setting left
        at its limit (no colour formed, say) is held there.
        """
        low, high = declared.limits
        table = value if isinstance(value, dict) else {"value": value}
        self.known(path, table, {*STANDINGS, "because", "uncertainty", "limits"})
        if "limits" in table:
            low, high = self._limits((*path, "limits"), table["limits"], declared.limits)
        standing = read_standing(self, path, table)
        if standing.key not in table:  # an uncertainty alone: the value is its kind's
            standing = Standing(ASSUMED, LEFT_OUT)
        number = self.number(path, table.get(standing.key, declared.default), low, high)
        if "uncertainty" in table:
            uncertainty = self.number((*path, "uncertainty"), table["uncertainty"], 0.0)
        else:
            uncertainty = min(declared.prior, WITHIN_LIMITS * min(number - low, high - number))
        return Given(number, uncertainty, (low, high), declared.unit, declared.says, declared.nominal, standing)

    def _limits(self, path: Path, pair: object, within: tuple[float, float]) -> tuple[float, float]:
        if not isinstance(pair, list) or len(pair) != 2:
            self.fault(path, pair, "two numbers in square brackets, lowest and highest")
            return within
        before = len(self.faults)
        low = self.number(path, pair[0], *within)
        high = self.number(path, pair[1], low, within[1])
        return (low, high) if len(self.faults) == before else within

    def station(self, name: str, table: Any, sections: Mapping[str, float]) -> StationGiven | None:
        """A station as given; None where its kind is not known."""
        path: Path = ("stations", name)
        if not isinstance(table, dict):
            self.fault(path, table, f'a table [stations."{name}"]')
            return None
        if "." in name or name == OUTSIDE or not name.strip():
            self.fault(path, name, f"a name without a full stop that is not '{OUTSIDE}'")
        kind = STATIONS.get(str(table.get("kind")))
        if kind is None:
            self.fault((*path, "kind"), table.get("kind"), nearest(str(table.get("kind")), STATIONS))
            return None
        section = str(table.get("section", next(iter(sections), "")))
        if section not in sections and sections:
            self.fault((*path, "section"), section, nearest(section, sections))
        declared, options = kind.settings(), kind.options()
        self.known(path, table, {"kind", "section", "says", *declared, *options})
        settings = {
            key: self.given((*path, key), table.get(key, left(spec.default)), spec) for key, spec in declared.items()
        }
        picked = {key: str(table[key]) for key in options if key in table}
        for key, option in options.items():
            if key in picked and picked[key] not in option.options:
                self.fault((*path, key), table[key], nearest(picked[key], option.options))
        return StationGiven(name, kind, section, settings, picked, self.lined.line(*path))

    # --- connections ------------------------------------------------------------------------------------------------

    def connections(self, stations: Mapping[str, StationGiven], refused: Iterable[str]) -> tuple[Connection, ...]:
        """Every connection whose two ends exist; ``refused`` names stations that have a fault of their own."""
        found = []
        refused = set(refused)
        for target, sources in self.table("connections").items():
            path: Path = ("connections", target)
            if isinstance(sources, dict):
                port = next(iter(sources), "inlet")
                self.say(path, "a name with a full stop outside quotes", f'quotes around it: "{target}.{port}" = ...')
                continue
            end = self._end(path, target, stations, refused, entering=True)
            for source in sources if isinstance(sources, list) else [sources]:
                start = self._end(path, source, stations, refused, entering=False)
                if end and start:
                    found.append(Connection(start, end, self.lined.line(*path)))
        if not refused:
            self._each_port_once(found, stations)
        return tuple(found)

    def _end(
        self, path: Path, text: object, stations: Mapping[str, StationGiven], refused: set[str], *, entering: bool
    ) -> tuple[str, str] | None:
        name, _, port = str(text).partition(".")
        if entering and name == OUTSIDE:
            return (OUTSIDE, port)
        if name in refused:
            return None
        if not isinstance(text, str) or name not in stations:
            way = "station.inlet" if entering else "station.outlet"
            self.fault(path, text, f"{way} with one of the described stations: {nearest(name, stations)}")
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
                if not uses and not port.may_be_open:
                    self._open(name, port)
                if len(uses) > 1 and not port.many:
                    lines = ", ".join(str(c.line) for c in uses)
                    said = f"connected {len(uses)} times (lines {lines})"
                    whole = f"connections.{name}.{port.name}"
                    self.faults.append(Fault(uses[-1].line, whole, said, f"one connection{_splitting(port)}"))
                for use in uses if port.entering else []:
                    self._fits(use, stations)

    def _open(self, name: str, port: Port) -> None:
        if port.entering:
            said, line = f"inlet '{name}.{port.name}' not connected", f'"{name}.{port.name}" = "station.outlet"'
        else:
            said = f"outlet '{name}.{port.name}' not connected"
            line = f'"station.inlet" = "{name}.{port.name}" or "{OUTSIDE}.where" = "{name}.{port.name}"'
        self.say(("stations", name), said, f"a line in [connections]: {line}")

    def _fits(self, use: Connection, stations: Mapping[str, StationGiven]) -> None:
        source = stations[use.source[0]].kind.ports()[use.source[1]].stream
        target = stations[use.target[0]].kind.ports()[use.target[1]].stream
        lacking = [h for h in source.holds if h not in target.holds and h not in _FORGIVEN]
        needed = (*_NEEDED, "pressure") if issubclass(target, Steam) else _NEEDED
        wanting = [h for h in needed if h in target.holds and h not in source.holds]
        if not lacking and not wanting:
            return
        what = f"carries {', '.join(lacking)}" if lacking else f"has no {', '.join(wanting)}"
        said = f"{_spoken(source)} from {use.source[0]}.{use.source[1]}, which {what.replace('_', ' ')}"
        whole = f"connections.{use.target[0]}.{use.target[1]}"
        self.faults.append(Fault(use.line, whole, said, f"a stream that fits {_spoken(target)}"))


def _splitting(port: Port) -> str:
    return "" if port.entering else "; a splitter or draw shares a stream out"


def _spoken(stream: type[Any]) -> str:
    """A stream's type in small words: BoilerWater is boiler water."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", stream.__name__).lower()


_NEEDED = ("power", "dry_air", "fuel")
"""What a port that holds it cannot do without: no other stream can stand for power, air, fuel or steam."""
_FORGIVEN = {"crystal", "crystal_colour", "pressure", "preparation_index"}
"""Crystals dissolve and pressure is let go where a port cannot hold them; the station's balances count both. How far
cane is prepared matters to the first mill or diffuser alone."""


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


def read_file(path: str | FilePath) -> Description:
    """Read and check the plant description of a file.

    Raises DescriptionFaults, also where the file is not text in UTF-8; OSError where it cannot be read.
    """
    content = FilePath(path).read_bytes()
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found = f"byte {content[error.start]:#04x} that is not UTF-8 text"
        raise DescriptionFaults([Fault(line, "file", found, "text saved as UTF-8")]) from error
    return read_description(text)


_AT_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")


def _not_toml(error: TomlSyntax, text: str) -> Fault:
    """A syntax error with the line at which the reading stopped."""
    at = _AT_LINE.search(str(error))
    line = int(at.group(1)) if at else text.count("\n") + 1
    lines = text.split("\n")
    shown = lines[line - 1].strip()[:60] if line < len(lines) else "the end of the file"
    said = re.sub(r"\s*\(at [^)]*\)$", "", str(error))
    accepted = "TOML: names with spaces or full stops, and texts, stand in quotes; each table and key stands once"
    return Fault(line, "file", f"{said}, at: {shown}", accepted)


def read_description(text: str) -> Description:
    """Read and check a plant description.

    Raises DescriptionFaults listing every fault by line, field, what was found and what is accepted.
    """
    text = text.removeprefix("\ufeff")
    try:
        lined = read_lined(text)
    except TomlSyntax as error:
        raise DescriptionFaults([_not_toml(error, text)]) from error
    reader = _Reader(lined)
    reader.known((), lined.data, TABLES)
    reader.plant()
    sections = reader.sections()
    described = reader.table("stations")
    read = [reader.station(n, t, sections) for n, t in described.items()]
    stations = {s.name: s for s in read if s is not None}
    if not described:
        reader.fault(("stations",), None, 'stations, such as [stations."mill 1"] with kind = "mill"')
    refused = set(described) - set(stations)
    connections = reader.connections(stations, refused)
    links = {
        k: reader.given(("links", k), reader.table("links").get(k, left(spec.default)), spec)
        for k, spec in LINKS.items()
    }
    reader.known(("links",), reader.table("links"), LINKS)
    forms = read_forms(reader, stations)
    if refused or not stations:  # what a station of unknown kind has cannot be told, so more faults would mislead
        raise DescriptionFaults(reader.faults)
    outlets = outlet_streams(stations, connections)
    results = {f"{n}.{k}": r for n, station in stations.items() for k, r in station.kind.results().items()}
    meters = read_meters(reader, outlets, results)
    common_errors = read_common_errors(reader, meters)
    targets = read_targets(reader, outlets, {f"{n}.{k}" for n, s in stations.items() for k in s.settings})
    roles = read_roles(reader, outlets)
    read_stocktaking(reader, outlets, meters)
    read_tables(reader, outlets, results, _movable(stations, links, targets))
    season = _season(reader, stations, links, meters, common_errors)
    if reader.faults:
        raise DescriptionFaults(reader.faults)
    name = str(lined.data.get("plant", {}).get("name", "plant"))
    return Description(
        name,
        lined.data,
        text,
        sections,
        stations,
        connections,
        meters,
        common_errors,
        targets,
        links,
        forms,
        roles,
        season,
        lined,
    )


def _season(
    reader: Reader,
    stations: Mapping[str, StationGiven],
    links: Mapping[str, Given],
    meters: Sequence[Meter],
    common_errors: Iterable[CommonError],
) -> SeasonGiven:
    """What the description names as slow: settings, links and common errors, and meters."""
    given = {f"{n}.{k}": g.uncertainty for n, station in stations.items() for k, g in station.settings.items()}
    given |= {f"links.{k}": g.uncertainty for k, g in links.items()}
    given |= {error.name: error.uncertainty for error in common_errors}
    return read_season(reader, {n for n, u in given.items() if u > 0}, given, meters)


def _movable(
    stations: Mapping[str, StationGiven], links: Mapping[str, Given], targets: Iterable[Target]
) -> dict[str, tuple[float, float]]:
    """The limits of everything that a person can set: settings that no target moves, and the targets' values."""
    targets = list(targets)
    found = {f"{n}.{k}": given.limits for n, station in stations.items() for k, given in station.settings.items()}
    found |= {f"links.{k}": given.limits for k, given in links.items()}
    for t in targets:
        found.pop(t.moves, None)
        if t.quantity in MEASURABLE:
            found[t.name] = (MEASURABLE[t.quantity].low, MEASURABLE[t.quantity].high)
    return found
