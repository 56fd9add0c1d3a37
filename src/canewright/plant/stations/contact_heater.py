"""Contact heaters: vapour condenses in the juice itself, without a surface to scale and with its water left in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.heat import blend_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Steam
from canewright.quantity import Num


class _Contact(Station):
    """Juice takes up vapour; the juice can come within 1-2 K of it (from memory), and the water must be boiled off."""

    hazards = (
        "Vapour and hot juice scald; a flooded vessel hammers and can draw juice back into the vapour line.",
        "Vapour may carry oil or sugar from its vessel: keep what comes from boiler steam apart.",
    )
    measured = ("heated temperature", "juice temperature", "vapour pressure")

    juice, vapour = inlet(Juice), inlet(Steam)
    heated = outlet(Juice)

    heat_loss = setting("%", 0.5, "heat lost, on the heat that the vapour brings", limits=(0.0, 10.0))
    least_approach = setting("K", 1.5, "nearest that juice can come to the vapour", limits=(0.1, 20.0))
    approach = result("K", 5.0, "juice below the condensing vapour", limits=(0.0, 200.0))

    def equations(self) -> Equations:
        """Juice takes up the vapour."""
        heated = self.heated
        yield from conserve(self.juice, self.vapour, into=[heated])
        yield "juice stays below the vapour", self.approach, self.vapour.saturation_temperature - heated.temperature

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost to the surroundings."""
        lost = self.heat_loss / PERCENT * self.vapour.enthalpy_flow
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Approach, K: that which is wanted within that which there is."""
        yield "juice comes no nearer to the vapour than it can", self.least_approach, self.approach

    def _taken_up(self, vapour: float, temperature: float) -> dict[str, float]:
        guess = spread([self.juice], {self.heated: 1.0}, temperature)
        guess[f"{self.heated.prefix}.water"] += vapour
        return guess | {f"{self.name}.approach": float(self.vapour.saturation_temperature) - temperature}


class ContactHeater(_Contact):
    """Warms juice to a temperature by the vapour that this takes. It decides the flow of its vapour."""

    kind = "contact heater"
    handles = ("temperature",)

    temperature = setting("°C", 95.0, "temperature of the juice that leaves", limits=(20.0, 125.0), prior=1.0)

    def equations(self) -> Equations:
        """Those of every contact heater, the heat, and the temperature."""
        yield from super().equations()
        yield from conserve_energy(self)
        yield "juice leaves at its temperature", self.heated.temperature, self.temperature

    def estimate(self) -> Mapping[str, float]:
        """Vapour by the heat of warming at 3.8 kJ/kg K. Asks for its vapour."""
        rise = max(float(self.temperature - self.juice.temperature), 0.0)
        vapour = float(self.juice.flow) * 3.8 * rise / 2200.0
        return self._taken_up(vapour, float(self.temperature)) | {f"{self.vapour.prefix}.water": vapour}


class FlashHeater(_Contact):
    """Juice takes up all the vapour that comes, such as the flash of limed juice or of condensate."""

    kind = "flash heater"

    def equations(self) -> Equations:
        """Those of every contact heater, and the heat; juice that does not flow is as warm as it came."""
        yield from super().equations()
        yield from blend_energy(self, self.heated, self.juice)

    def estimate(self) -> Mapping[str, float]:
        """As warm as 2200 kJ/kg of the vapour make it."""
        vapour, juice = float(self.vapour.water), float(self.juice.flow)
        rise = vapour * 2200.0 / (3.9 * juice + 1e-3)
        return self._taken_up(vapour, float(self.juice.temperature) + rise)
