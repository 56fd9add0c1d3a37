"""Where the sucrose goes: what comes over the fence, what leaves by each way, and what inverts or is removed inside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from canewright.plant.balance import amount
from canewright.plant.description import OUTSIDE
from canewright.plant.plant import State
from canewright.plant.showing import destinations

NOTHING = 1e-9
"""Sucrose, t a day, below which a way is not worth telling."""


@dataclass(frozen=True)
class Way:
    """A way that sucrose comes or goes: name, the station it is at, t over the factory day, % of all that comes."""

    name: str
    station: str
    tonnes: float
    share: float


@dataclass(frozen=True)
class SucroseAccount:
    """Ways in (supplies, stock given back) and ways out (products, losses, inversion, stock laid in), largest first."""

    came: tuple[Way, ...]
    went: tuple[Way, ...]

    @property
    def tonnes(self) -> float:
        """All that comes, t over the factory day."""
        return sum(way.tonnes for way in self.came)

    def to_json(self) -> dict[str, list[dict[str, Any]]]:
        """As plain data: t over the factory day, and per cent of all that comes."""
        return {"came": [vars(way) for way in self.came], "went": [vars(way) for way in self.went]}

    @property
    def gap(self) -> float:
        """What comes less what goes, t over the factory day: rounding alone in a solved state."""
        return self.tonnes - sum(way.tonnes for way in self.went)


def sucrose_account(state: State) -> SucroseAccount:
    """The account of a solved state, dissolved sucrose and crystal together."""
    flows = [*_supplies(state), *_outlets(state), *_exchanges(state)]
    whole = sum(tonnes for _, _, tonnes in flows if tonnes > 0)
    ways = [Way(n, s, t, 100.0 * t / whole if whole > NOTHING else 0.0) for n, s, t in flows if abs(t) > NOTHING]
    came = sorted((w for w in ways if w.tonnes > 0), key=lambda w: -w.tonnes)
    went = sorted((Way(w.name, w.station, -w.tonnes, -w.share) for w in ways if w.tonnes < 0), key=lambda w: -w.tonnes)
    return SucroseAccount(tuple(came), tuple(went))


def _of_the_day(state: State, stream: str) -> float:
    return float(amount(state.stream(stream), "sucrose")) * float(state.assembly.hours(stream, state.values))


def _supplies(state: State) -> Iterator[tuple[str, str, float]]:
    for name, station in state.assembly.stations.items():
        for port in station.ports().values() if station.boundary else ():
            for prefix in () if port.entering else station.prefixes(port):
                if "sucrose" in port.stream.holds:
                    yield prefix, name, _of_the_day(state, prefix)


def _outlets(state: State) -> Iterator[tuple[str, str, float]]:
    for stream, target in destinations(state).items():
        held = state.assembly.streams[stream].holds
        if target[0] == OUTSIDE and "sucrose" in held:
            yield target[1], stream.partition(".")[0], -_of_the_day(state, stream)


def _exchanges(state: State) -> Iterator[tuple[str, str, float]]:
    for name, station in state.assembly.stations.items():
        if station.boundary:
            continue
        for exchange in station.bound(state.values.__getitem__).exchanges():
            if exchange.what == "sucrose":
                yield exchange.name, name, float(exchange.amount) * float(state.assembly.hours(name, state.values))
