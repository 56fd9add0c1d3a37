"""Contact heater: vapour condenses in the juice itself, without a surface to scale and with its water left in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Steam
from canewright.quantity import Num


class ContactHeater(Station):
    """Warms juice to a temperature by vapour, or flash, that it takes up. It decides the flow of its vapour.

    The juice can come within 1-2 K of the condensing vapour (from memory), and its water must be boiled off again. The
    approach that the temperature leaves is a result.
    """

    kind = "contact heater"
    hazards = (
        "Vapour and hot juice scald; a flooded vessel hammers and can draw juice back into the vapour line.",
        "Vapour may carry oil or sugar from its vessel: keep what comes from boiler steam apart.",
    )

    juice, vapour = inlet(Juice), inlet(Steam)
    heated = outlet(Juice)

    temperature = setting("°C", 95.0, "temperature of the juice that leaves", limits=(20.0, 125.0), prior=1.0)
    heat_loss = setting("%", 0.5, "heat lost, on the heat that the vapour brings", limits=(0.0, 10.0))
    least_approach = setting("K", 1.5, "nearest that juice can come to the vapour", limits=(0.1, 20.0))
    approach = result("K", 5.0, "juice below the condensing vapour", limits=(0.0, 200.0))

    def equations(self) -> Equations:
        """Juice takes up the vapour and leaves at its temperature."""
        heated = self.heated
        yield from conserve(self.juice, self.vapour, into=[heated])
        yield "juice leaves at its temperature", heated.temperature, self.temperature
        yield "juice stays below the vapour", self.approach, self.vapour.saturation_temperature - heated.temperature
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost to the surroundings."""
        lost = self.heat_loss / PERCENT * self.vapour.enthalpy_flow
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Approach, K: that which is wanted within that which there is."""
        yield "juice comes no nearer to the vapour than it can", self.least_approach, self.approach

    def estimate(self) -> Mapping[str, float]:
        """Vapour by the heat of warming at 3.8 kJ/kg K. Asks for its vapour."""
        rise = max(float(self.temperature - self.juice.temperature), 0.0)
        vapour = float(self.juice.flow) * 3.8 * rise / 2200.0
        guess = spread([self.juice], {self.heated: 1.0}, float(self.temperature))
        guess[f"{self.heated.prefix}.water"] += vapour
        near = float(self.vapour.saturation_temperature - self.temperature)
        return {**guess, f"{self.vapour.prefix}.water": vapour, f"{self.name}.approach": near}
