"""Grid: electrical power bought from outside, as much as the board lacks."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, outlet
from canewright.plant.streams import Power


class Grid(Station):
    """Imported power; the power board's balance decides how much. It says no equation of its own."""

    kind = "grid"
    boundary = True

    power = outlet(Power)

    def equations(self) -> Equations:
        """None: the board takes what it lacks."""
        yield from ()

    def estimate(self) -> Mapping[str, float]:
        """Nothing known beforehand."""
        return {}
