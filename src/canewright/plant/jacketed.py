"""A vessel whose coil or jacket gives whatever heat its set temperature asks for."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.station import Exchange, Station, result


class Jacketed(Station):
    """What mixers and tanks with a set temperature share: the heat is a result, negative where the vessel loses it."""

    heat = result("kW", 100.0, "heat given by coil, jacket or hot surroundings", limits=(-1e5, 1e5))

    def exchanges(self) -> Iterable[Exchange]:
        """Heat given."""
        yield Exchange("heat given", "energy", self.KILOWATT * self.heat)
