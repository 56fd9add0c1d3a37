"""Flash tank: hot limed juice boils freely, so that air leaves it before it settles."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting, spread
from canewright.plant.streams import Juice, Steam
from canewright.properties.boiling import boiling_temperature


class FlashTank(Station):
    """Juice leaves at its boiling point at the pressure of the tank; the flash is what the heat above it drives off.

    Juice should arrive at 101 °C or more, or nothing flashes and air keeps the mud afloat (from memory). Juice colder
    than its boiling point has no solution here.
    """

    kind = "flash tank"
    hazards = ("Flashing juice and vapour scald: keep the vent clear and clear of people.",)

    juice = inlet(Juice)
    flashed, vapour = outlet(Juice), outlet(Steam)
    pressure = setting("kPa", 101.3, "absolute pressure in the tank", limits=(50.0, 150.0))

    def equations(self) -> Equations:
        """Balances; juice and vapour leave at the boiling point of the juice."""
        juice, vapour = self.flashed, self.vapour
        yield from conserve(self.juice, into=[juice, vapour])
        yield (
            "juice leaves at its boiling point",
            juice.temperature,
            boiling_temperature(
                juice.water, juice.sucrose, juice.reducing_sugars, juice.ash + juice.other, self.pressure
            ),
        )
        yield "vapour leaves as warm as the juice", vapour.temperature, juice.temperature
        yield "vapour has the pressure of the tank", vapour.pressure, self.pressure
        yield from conserve_energy(self)

    def estimate(self) -> Mapping[str, float]:
        """Juice as it came, at about its boiling point."""
        guess = spread([self.juice], {self.flashed: 1.0}, 100.3)
        rise = max(float(self.juice.temperature) - 100.3, 0.0)
        guess |= {f"{self.vapour.prefix}.water": float(self.juice.flow) * 3.9 * rise / 2257.0}
        return {
            **guess, f"{self.vapour.prefix}.temperature": 100.3, f"{self.vapour.prefix}.pressure": float(self.pressure)
        }  # fmt: skip
