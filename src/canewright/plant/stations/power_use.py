"""Power use: consumers that are not described one by one."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Exchange, Station, inlet, setting
from canewright.plant.streams import Power


class PowerUse(Station):
    """Pumps, fans, lighting and other drives taken together. Decides the power it takes; all of it becomes warmth."""

    kind = "power use"
    hazards = ("Electricity: work only by licensed persons under local codes.",)

    power = inlet(Power)
    demand = setting("kW", 1000.0, "power taken", limits=(0.0, 100000.0), prior=50.0)

    def equations(self) -> Equations:
        """Takes what it is set to take."""
        yield "power taken is the demand", self.power.power, self.demand

    def exchanges(self) -> tuple[Exchange, ...]:
        """All power ends as warmth in the surroundings."""
        return (Exchange("warmth to the surroundings", "energy", -self.KILOWATT * self.power.power),)

    def estimate(self) -> Mapping[str, float]:
        """The demand."""
        return {f"{self.power.prefix}.power": float(self.demand)}
