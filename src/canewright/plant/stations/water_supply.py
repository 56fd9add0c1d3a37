"""Water supply: water at a temperature, as much as its users ask for."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, outlets, setting
from canewright.plant.streams import Water


class WaterSupply(Station):
    """Clean or condensate water from outside the described plant; each user sets its own flow."""

    kind = "water supply"
    boundary = True

    water = outlets(Water)
    temperature = setting("°C", 30.0, "temperature of the water", limits=(1.0, 98.0))

    def equations(self) -> Equations:
        """Every branch leaves at the temperature of the supply."""
        for branch in self.water:
            yield "water has the temperature of the supply", branch.temperature, self.temperature

    def estimate(self) -> Mapping[str, float]:
        """Temperatures; flows are the users' guess."""
        return {f"{b.prefix}.temperature": float(self.temperature) for b in self.water}
