"""From a description to stations that know their feeds, and to the one model of equations they make together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from canewright.engine import Law, Model, Variable
from canewright.plant.description import OUTSIDE, Connection, Description, Target
from canewright.plant.measures import MEASURABLE, RESULT_QUANTITIES, Links
from canewright.plant.scales import laws_of, nominal_size
from canewright.plant.station import Feed, Station
from canewright.plant.streams import Stream
from canewright.quantity import Dimensional, Num, unit

LookUp = Callable[[str], Num]


def build_stations(description: Description) -> dict[str, Station]:
    """Stations of the description with their feeds bound, in the order in which they are described."""
    built = {}
    for name, given in description.stations.items():
        counts = {
            port.name: sum(1 for c in description.connections if _end(c, entering=port.entering) == (name, port.name))
            for port in given.kind.ports().values()
            if port.many
        }
        built[name] = given.kind(name, counts, given.choices, description.forms)
    _bind_feeds(description, built)
    return built


def _end(connection: Connection, *, entering: bool) -> tuple[str, str]:
    return connection.target if entering else connection.source


def _bind_feeds(description: Description, built: Mapping[str, Station]) -> None:
    taken: dict[tuple[str, str], int] = {}
    for connection in description.connections:
        name, port_name = connection.source
        port = built[name].ports()[port_name]
        taken[connection.source] = taken.get(connection.source, 0) + 1
        prefix = f"{name}.{port_name}.{taken[connection.source]}" if port.many else f"{name}.{port_name}"
        target, inlet_name = connection.target
        if target == OUTSIDE:
            continue
        ratio = hours_ratio(description.stations[name].section, description.stations[target].section)
        built[target].wiring.setdefault(inlet_name, []).append(Feed(port.stream, prefix, ratio))


def hours_name(section: str) -> str:
    """The name of the setting that holds a section's running hours."""
    return f"sections.{section}.hours"


def hours_ratio(source: str, target: str) -> Callable[[LookUp], Num] | None:
    """The ratio that turns a flow while one section runs into the same daily mass while another runs."""
    if source == target:
        return None
    return lambda look_up: look_up(hours_name(source)) / look_up(hours_name(target))


def setting_variables(description: Description) -> dict[str, tuple[Variable, float, float]]:
    """Every setting: its variable, its value and its standard uncertainty."""
    found: dict[str, tuple[Variable, float, float]] = {}
    for section, hours in description.sections.items():
        name = hours_name(section)
        found[name] = (Variable(name, "h", 24.0, 0.0, 24.0, f"running hours of {section}"), hours, 0.0)
    for link, given in description.links.items():
        variable = Variable(f"links.{link}", given.unit, given.nominal, *given.limits, given.says)
        found[variable.name] = (variable, given.value, given.uncertainty)
    for name, station in description.stations.items():
        for key, given in station.settings.items():
            variable = Variable(f"{name}.{key}", given.unit, given.nominal, *given.limits, given.says)
            found[variable.name] = (variable, given.value, given.uncertainty)
    return found


def unknown_variables(stations: Iterable[Station]) -> Iterator[Variable]:
    """Every unknown: the variables of each outlet stream and the results of each station."""
    for station in stations:
        for port in station.ports().values():
            for prefix in [] if port.entering else station.prefixes(port):
                for name, held in port.stream.variables().items():
                    low = -held.high if port.signed and held.extensive else held.low
                    yield Variable(f"{prefix}.{name}", held.unit, held.nominal, low, held.high, held.says)
        for name, declared in station.results().items():
            yield Variable(f"{station.name}.{name}", declared.unit, declared.nominal, *declared.limits, declared.says)


def target_name(target: Target) -> str:
    """The name of the setting that holds a target's value."""
    return f"target.{target.stream} {target.quantity}"


class Assembly:
    """The stations and the model of a described plant."""

    def __init__(self, description: Description) -> None:
        """Build the stations, list unknowns and settings, and trace the equations."""
        self.description = description
        self.stations = build_stations(description)
        self.streams = _stream_types(self.stations)
        self.given = setting_variables(description)
        freed = {t.moves for t in description.targets}
        unknowns = list(unknown_variables(self.stations.values()))
        unknowns += [self.given[name][0] for name in self.given if name in freed]
        settings = [variable for name, (variable, _, _) in self.given.items() if name not in freed]
        settings += [self._target_variable(t) for t in description.targets]
        self.unit_of = {v.name: v.unit for v in (*unknowns, *settings)}
        self.laws = self._laws()
        self.model = Model(unknowns, settings, self.laws, self._sides)

    def _target_variable(self, target: Target) -> Variable:
        measurable = MEASURABLE[target.quantity]
        size = max(abs(target.value), 1e-3)
        says = f"{target.quantity} of {target.stream}"
        return Variable(target_name(target), measurable.unit, size, measurable.low, measurable.high, says)

    def _laws(self) -> list[Law]:
        """Sentences and sizes; stations of a kind with the same ports share them."""
        known: dict[Any, list[tuple[str, str, float]]] = {}
        dimensions: dict[str, Dimensional] = {}

        def dimension(name: str) -> Dimensional:
            symbol = self.unit_of[name]
            if symbol not in dimensions:
                dimensions[symbol] = Dimensional(symbol)
            return dimensions[symbol]

        laws = []
        for station in self.stations.values():
            key = (type(station), str(station.counts), str(station.choices), _feed_types(station))
            if key not in known:
                known[key] = laws_of(station, dimension)
            laws += [Law(station.name, sentence, symbol, size) for sentence, symbol, size in known[key]]
        for target in self.description.targets:
            symbol = MEASURABLE[target.quantity].unit
            sentence = f"{target.quantity} of {target.stream} is as wanted"
            laws.append(Law("targets", sentence, symbol, nominal_size(unit(symbol))))
        return laws

    def _sides(self, values: Mapping[str, Num]) -> Iterator[tuple[Num, Num]]:
        for station in self.stations.values():
            for _, left, right in station.bound(values.__getitem__).equations():
                yield left, right
        for target in self.description.targets:
            yield self.measured(target.stream, target.quantity, values), values[target_name(target)]

    def stream(self, name: str, values: Mapping[str, Num]) -> Stream:
        """A stream by name in a reading."""
        return self.streams[name](values.__getitem__, name)

    def measured(self, stream: str, quantity: str, values: Mapping[str, Num]) -> Num:
        """A measurable quantity of a stream, or of a station's result, in a reading."""
        hours = self.hours(stream, values)
        if quantity in RESULT_QUANTITIES:
            return values[stream] * hours if quantity == "over the day" else values[stream]
        return MEASURABLE[quantity].build(self.stream(stream, values), hours, self.links(values))

    def links(self, values: Mapping[str, Num]) -> Links:
        """What links true and measured expressions in a reading."""
        return Links(
            values["links.rotation_of_reducing_sugars"],
            values["links.refraction_of_non_sucrose"],
            self.description.forms,
        )

    def hours(self, stream: str, values: Mapping[str, Num]) -> Num:
        """Running hours of the section that a stream leaves."""
        return values[hours_name(self.description.stations[stream.partition(".")[0]].section)]


def _feed_types(station: Station) -> tuple[Any, ...]:
    return tuple(
        (port, tuple((f.stream, f.ratio is None) for f in feeds)) for port, feeds in sorted(station.wiring.items())
    )


def _stream_types(stations: Mapping[str, Station]) -> dict[str, type[Stream]]:
    return {
        prefix: port.stream
        for station in stations.values()
        for port in station.ports().values()
        if not port.entering
        for prefix in station.prefixes(port)
    }
