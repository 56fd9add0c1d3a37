"""Conservation: the balance equations that stations say, and an independent check of a solved state.

The check never re-reads a residual. It takes the saved state, sums what crosses each station's boundary with the
declared formation and removal, and compares with what came in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from canewright.plant.station import Equations, Exchange, Station
from canewright.plant.streams import Stream
from canewright.quantity import Num, noting_breaches

CONSERVED = (
    "water", "sucrose", "reducing_sugars", "ash", "other", "fibre", "suspended", "dry_air", "fuel", "colour", "energy",
)  # fmt: skip
"""What every station conserves. Sucrose counts dissolved and crystal; colour counts solution and crystal."""

TRACE, TRACE_OF_HEAT = 1e-6, 1e-3
"""What is too small to weigh in a balance: a gram an hour (or 1e-6 IU·t/h), and 1 kJ/h: rounding of what is idle."""

_PARTS = {"sucrose": ("sucrose", "crystal"), "colour": ("colour", "crystal_colour")}


def amount(stream: Stream, what: str) -> Num:
    """How much of something conserved a stream carries, t/h, IU·t/h or MJ/h; zero for what it cannot hold."""
    if what == "energy":
        return stream.enthalpy_flow
    return sum(stream.component(part) for part in _PARTS.get(what, (what,)) if part in stream.holds)


def _carries(stream: Stream, what: str) -> bool:
    return any(part in stream.holds for part in _PARTS.get(what, (what,)))


def _formed(exchanges: Iterable[Exchange], what: str) -> Num:
    return sum(x.amount for x in exchanges if x.what == what)


def conserve(*entering: Stream, into: Sequence[Stream], exchanges: Iterable[Exchange] = ()) -> Equations:
    """One equation for each component, and for colour, that any of these streams carries.

    Crystals that enter where none can leave dissolve: sucrose counts both.
    """
    exchanges = tuple(exchanges)
    for what in CONSERVED[:-1]:
        if any(_carries(s, what) for s in into):
            brought = sum(amount(s, what) for s in entering) + _formed(exchanges, what)
            yield balance_sentence(what), brought, sum(amount(s, what) for s in into)


def conserve_energy(station: Station) -> Equations:
    """The energy balance over all ports of a station with its declared exchanges, in MJ/h."""
    brought = sum(s.enthalpy_flow for s in station.entering) + _formed(station.exchanges(), "energy")
    yield balance_sentence("energy"), brought, sum(s.enthalpy_flow for s in station.leaving)


def balance_sentence(what: str) -> str:
    """The sentence of the balance of something conserved."""
    return f"{_spoken(what)} in is {_spoken(what)} out"


def _spoken(what: str) -> str:
    return what.replace("_", " ")


@dataclass(frozen=True)
class Closure:
    """How far one balance of one station (or of the whole site) is from closing, relative to what came in."""

    place: str
    what: str
    brought: float
    gap: float

    @property
    def relative(self) -> float:
        """Gap relative to what came in; for less than a gram an hour (or 1 kJ/h, 1e-6 IU·t/h), relative to that."""
        return abs(self.gap) / max(self.brought, TRACE_OF_HEAT if self.what == "energy" else TRACE)


def closures(stations: Iterable[Station], look_up: Callable[[str], float]) -> Iterator[Closure]:
    """The closure of every balance of every station within the fence, in a saved state."""
    for station in stations:
        if station.boundary:
            continue
        bound = station.bound(look_up)
        with noting_breaches():  # whether formulas hold here is asked elsewhere; this only weighs
            exchanges = tuple(bound.exchanges())
            entering, leaving = bound.entering, bound.leaving
            yield from [_closure(station.name, what, entering, leaving, exchanges) for what in CONSERVED]


def _closure(
    place: str, what: str, entering: Sequence[Stream], leaving: Sequence[Stream], exchanges: Sequence[Exchange]
) -> Closure:
    moved = [float(amount(s, what)) for s in entering] + [float(x.amount) for x in exchanges if x.what == what]
    out = [float(amount(s, what)) for s in leaving]
    gap = sum(moved) - sum(out)
    brought = sum(abs(x) for x in moved) + sum(abs(x) for x in out)
    return Closure(place, what, brought / 2, gap)


def site_closures(
    entering: Sequence[Stream], leaving: Sequence[Stream], exchanges: Sequence[Exchange]
) -> Iterator[Closure]:
    """The closure of the whole site: what crosses its boundary with everything declared inside."""
    for what in CONSERVED:
        yield _closure("site", what, entering, leaving, exchanges)
