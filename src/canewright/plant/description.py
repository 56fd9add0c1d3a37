"""The plant as a person describes it in ``plant.toml``: read, checked, and every fault named by line and field."""

from __future__ import annotations

import datetime as dt
import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from canewright.plant.catalogue import STATIONS
from canewright.plant.measures import MEASURABLE, RESULT_QUANTITIES
from canewright.plant.station import Result, Setting, Station
from canewright.plant.toml_lines import LinedToml, TomlSyntax, read_lined

WITHIN_LIMITS = 0.4
"""Most that a declared prior's standard uncertainty may be of the distance to the nearest limit."""
OUTSIDE = "outside"
"""The place beyond the site's fence to which products, effluents and losses go."""


@dataclass(frozen=True)
class Fault:
    """One fault in a plant description: where, what was found, what is accepted."""

    line: int
    field: str
    found: str
    accepted: str

    def __str__(self) -> str:
        """The fault as one line of text."""
        return f"line {self.line}: {self.field}: found {self.found}; accepted: {self.accepted}"


class DescriptionFaults(ValueError):
    """A plant description that cannot be used; ``faults`` lists every one found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Keep the faults in order of line."""
        self.faults = sorted(faults, key=lambda f: f.line)
        super().__init__("\n".join(str(f) for f in self.faults))


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
class Meter:
    """A meter or an analysis: what it reads, where, in what unit, how surely, and in which file it arrives.

    A laboratory result arrives under its ``sample``; any other reading under the meter's ``tag``.

    ``uncertainty`` is in the unit; ``relative`` tells that it was given in per cent of the reading.
    """

    tag: str
    stream: str
    quantity: str
    unit: str
    uncertainty: float
    relative: bool
    file: str
    low: float
    high: float
    hint: str
    line: int
    sample: str

    def standard_uncertainty(self, value: float) -> float:
        """Standard uncertainty of a reading of this size."""
        return self.uncertainty / 100.0 * abs(value) if self.relative else self.uncertainty


@dataclass(frozen=True)
class Target:
    """A quantity held at a value, and the setting that moves to hold it."""

    stream: str
    quantity: str
    value: float
    moves: str
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


def nearest(word: str, known: Iterable[str]) -> str:
    """The accepted words, with the nearest first: for messages about a word that is not known."""
    known = sorted(known)
    close = difflib.get_close_matches(word, known, n=3, cutoff=0.4)
    return f"did you mean '{close[0]}'? known: {', '.join(known)}" if close else f"one of {', '.join(known)}"


LINKS = {
    "rotation_of_reducing_sugars": Setting(
        "1", 0.30, "rotation of reducing sugars on that of sucrose, to the left", (0.0, 0.6), 0.05, 0.3
    ),
    "refraction_of_non_sucrose": Setting(
        "1", 0.05, "refractometer solids of non-sucrose beyond its dry substance", (-0.1, 0.2), 0.02, 0.05
    ),
}


@dataclass
class _Reader:
    lined: LinedToml
    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: tuple[str | int, ...], found: object, accepted: str) -> None:
        name = ".".join(str(p) for p in path)
        self.faults.append(Fault(self.lined.line(*path), name, repr(found), accepted))

    def table(self, name: str) -> dict[str, Any]:
        value = self.lined.data.get(name, {})
        if isinstance(value, dict):
            return value
        self.fault((name,), value, f"a table [{name}]")
        return {}

    def array(self, name: str) -> list[dict[str, Any]]:
        value = self.lined.data.get(name, [])
        if isinstance(value, list) and all(isinstance(v, dict) for v in value):
            return value
        self.fault((name,), type(value).__name__, f"tables [[{name}]]")
        return []

    def number(
        self, path: tuple[str | int, ...], value: object, low: float = -math.inf, high: float = math.inf
    ) -> float:
        good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not good or not low <= float(value) <= high:  # type: ignore[arg-type]
            self.fault(path, value, f"a number from {low:g} to {high:g}")
            return max(low, min(high, 1.0)) if math.isfinite(low) else 1.0
        return float(value)  # type: ignore[arg-type]

    def known(self, path: tuple[str | int, ...], table: Mapping[str, Any], accepted: Iterable[str]) -> None:
        accepted = set(accepted)
        for key in table:
            if key not in accepted:
                self.fault((*path, key), key, nearest(key, accepted))

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

    def meters(self, outlets: Mapping[str, type[Any]], results: Mapping[str, Result]) -> tuple[Meter, ...]:
        found = []
        for i, table in enumerate(self.array("meters")):
            path = ("meters", i)
            self.known(path, table, {"tag", "stream", "quantity", "unit", "uncertainty", "file", "plausible", "sample"})
            meter = self._meter(path, table, outlets, results)
            if meter:
                found.append(meter)
        tags = [m.tag for m in found]
        for m in found:
            if tags.count(m.tag) > 1:
                self.faults.append(Fault(m.line, "tag", repr(m.tag), "a tag used once"))
        return tuple(found)

    def _meter(
        self,
        path: tuple[str | int, ...],
        table: Mapping[str, Any],
        outlets: Mapping[str, type[Any]],
        results: Mapping[str, Result],
    ) -> Meter | None:
        stream, quantity = str(table.get("stream")), str(table.get("quantity"))
        span = self._span(path, stream, quantity, outlets, results)
        if span is None:
            return None
        unit, lowest, highest, hint = span
        if "unit" in table and table["unit"] != unit:
            self.fault((*path, "unit"), table["unit"], f"{unit} for {quantity}")
        uncertainty, relative = self._uncertainty((*path, "uncertainty"), table.get("uncertainty"))
        low, high = self._plausible((*path, "plausible"), table.get("plausible"), lowest, highest)
        file = str(table.get("file", "meters"))
        if file not in {"meters", "laboratory", "stocks"}:
            self.fault((*path, "file"), file, "meters, laboratory or stocks")
        return Meter(
            str(table.get("tag", f"{stream} {quantity}")), stream, quantity, unit, uncertainty, relative,
            file, low, high, hint, self.lined.line(*path), str(table.get("sample", table.get("tag", stream))),
        )  # fmt: skip

    def _span(
        self,
        path: tuple[str | int, ...],
        stream: str,
        quantity: str,
        outlets: Mapping[str, type[Any]],
        results: Mapping[str, Result],
    ) -> tuple[str, float, float, str] | None:
        """Unit, lowest, highest and hint of what is measured, or None after a fault."""
        if stream in results:
            if quantity not in RESULT_QUANTITIES:
                self.fault((*path, "quantity"), quantity, nearest(quantity, RESULT_QUANTITIES))
                return None
            if quantity == "over the day":
                return "t", -1e6, 1e6, ""
            return results[stream].unit, *results[stream].limits, ""
        if stream not in outlets:
            self.fault((*path, "stream"), stream, nearest(stream, [*outlets, *results]))
            return None
        if quantity not in MEASURABLE or not issubclass(outlets[stream], MEASURABLE[quantity].of):
            fits = [k for k, m in MEASURABLE.items() if issubclass(outlets[stream], m.of)]
            self.fault((*path, "quantity"), quantity, nearest(quantity, fits))
            return None
        measurable = MEASURABLE[quantity]
        return measurable.unit, measurable.low, measurable.high, measurable.hint

    def _uncertainty(self, path: tuple[str | int, ...], value: object) -> tuple[float, bool]:
        if isinstance(value, str) and value.strip().endswith("%"):
            try:
                number = float(value.strip()[:-1])
            except ValueError:
                number = -1.0
            if number > 0:
                return number, True
        elif isinstance(value, (int, float)) and value > 0:
            return float(value), False
        self.fault(path, value, 'a positive number in the unit of the reading, or a text such as "0.4 %"')
        return 1.0, False

    def _plausible(self, path: tuple[str | int, ...], value: Any, low: float, high: float) -> tuple[float, float]:
        if value is None:
            return low, high
        if isinstance(value, list) and len(value) == 2:
            first = self.number(path, value[0], low, high)
            return first, self.number(path, value[1], first, high)
        self.fault(path, value, "two numbers, lowest and highest plausible reading")
        return low, high

    def targets(self, outlets: Mapping[str, type[Any]], stations: Mapping[str, StationGiven]) -> tuple[Target, ...]:
        found = []
        for i, table in enumerate(self.array("targets")):
            path = ("targets", i)
            self.known(path, table, {"stream", "quantity", "value", "moves"})
            stream, quantity, moves = (str(table.get(k)) for k in ("stream", "quantity", "moves"))
            if stream not in outlets:
                self.fault((*path, "stream"), stream, nearest(stream, outlets))
            elif quantity not in MEASURABLE:
                self.fault((*path, "quantity"), quantity, nearest(quantity, MEASURABLE))
            name, _, key = moves.partition(".")
            if name not in stations or key not in stations[name].settings:
                known = [f"{s}.{k}" for s in stations for k in stations[s].settings]
                self.fault((*path, "moves"), moves, nearest(moves, known))
            value = self.number((*path, "value"), table.get("value"))
            found.append(Target(stream, quantity, value, moves, self.lined.line(*path)))
        return tuple(found)

    def roles(self, outlets: Mapping[str, type[Any]]) -> dict[str, str]:
        found = {}
        for role, stream in self.table("roles").items():
            if stream not in outlets:
                self.fault(("roles", role), stream, nearest(str(stream), outlets))
            found[role] = str(stream)
        return found


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
