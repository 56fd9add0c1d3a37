"""Power board: generated power is shared among consumers; the grid takes or gives the difference."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.either import either
from canewright.plant.station import Equations, Station, inlet, inlets, outlet, outlets, setting
from canewright.plant.streams import Power
from canewright.quantity import Num, constant


class PowerBoard(Station):
    """What is supplied is what is taken. Decides the power imported; import and export exclude each other.

    The exclusion is smooth: their product is a small constant, so that at 1 MW one way the other is 1 W.
    """

    kind = "power board"
    hazards = ("Electricity: work only by licensed persons under local codes.",)
    handles = ("imported", "exported")
    measured = ("imported power", "exported power")

    supplies = inlets(Power, may_be_open=True)
    imported = inlet(Power)
    branches = outlets(Power)
    exported = outlet(Power)
    most_exported = setting("kW", 100000.0, "most that the contract or the line to the grid takes", limits=(0.0, 1e6))
    most_imported = setting("kW", 30000.0, "most that the line from the grid gives", limits=(0.0, 1e6))
    EITHER_WAY = constant(4.0, "kW·kW")

    def equations(self) -> Equations:
        """One balance, and import against export."""
        taken = sum(b.power for b in self.branches) + self.exported.power
        yield "power supplied is power taken", sum(s.power for s in self.supplies) + self.imported.power, taken
        exclude = "import and export exclude each other"
        yield from either(exclude, self.imported.power, self.exported.power, self.EITHER_WAY)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the line and the contract allow, both ways."""
        yield "power exported within what the grid takes", self.exported.power, self.most_exported
        yield "power imported within what the line gives", self.imported.power, self.most_imported

    def estimate(self) -> Mapping[str, float]:
        """Import or export what the known supplies lack or leave."""
        net = sum(float(s.power) for s in self.supplies) - sum(float(b.power) for b in self.branches)
        return {
            f"{self.exported.prefix}.power": max(net, 1.0),
            f"{self.imported.prefix}.power": max(-net, 1.0),
        }
