"""Power board: electrical power from generators and grid is shared among the consumers."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, inlets, outlets
from canewright.plant.streams import Power


class PowerBoard(Station):
    """What is supplied is what is taken; each consumer says what it takes."""

    kind = "power board"
    hazards = ("Electricity: work only by licensed persons under local codes.",)

    supplies = inlets(Power)
    branches = outlets(Power)

    def equations(self) -> Equations:
        """One balance."""
        yield "power supplied is power taken", sum(s.power for s in self.supplies), sum(b.power for b in self.branches)

    def estimate(self) -> Mapping[str, float]:
        """Consumers write their own demand."""
        return {}
