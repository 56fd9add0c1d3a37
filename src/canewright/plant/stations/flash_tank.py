"""Flash tank: hot limed juice boils freely, so that air leaves it before it settles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting, spread
from canewright.plant.streams import Juice, Steam
from canewright.plant.strength import density
from canewright.properties.boiling import boiling_temperature
from canewright.properties.entrainment import greatest_vapour_velocity
from canewright.properties.steam import steam_volume
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")
SECONDS = constant(3600.0, "s/h")


class FlashTank(Station):
    """Juice leaves at its boiling point at the pressure of the tank; the flash is what the heat above it drives off.

    Juice should arrive at 101 °C or more, or nothing flashes and air keeps the mud afloat (from memory). Juice colder
    than its boiling point has no solution here.
    """

    kind = "flash tank"
    hazards = ("Flashing juice and vapour scald: keep the vent clear and clear of people.",)
    measured = ("flashed temperature",)

    juice = inlet(Juice)
    flashed, vapour = outlet(Juice), outlet(Steam)
    pressure = setting("kPa", 101.3, "absolute pressure in the tank", limits=(50.0, 150.0))
    cross_section = setting("m²", 8.0, "cross-section in which the flash rises", limits=(0.1, 200.0))
    separator_constant = setting("m/s", 0.03, "constant of Souders and Brown", limits=(0.005, 0.3))

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

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Velocity of the flash within that at which droplets follow, m/s."""
        volume = steam_volume(self.vapour.temperature, self.vapour.pressure)
        velocity = KILOGRAMS * self.vapour.water * volume / (SECONDS * self.cross_section)
        greatest = greatest_vapour_velocity(self.separator_constant, density(self.flashed), 1.0 / volume)
        yield "flash rises slower than droplets follow", velocity, greatest

    def estimate(self) -> Mapping[str, float]:
        """Juice as it came, at about its boiling point."""
        guess = spread([self.juice], {self.flashed: 1.0}, 100.3)
        rise = max(float(self.juice.temperature) - 100.3, 0.0)
        guess |= {f"{self.vapour.prefix}.water": float(self.juice.flow) * 3.9 * rise / 2257.0}
        return {
            **guess, f"{self.vapour.prefix}.temperature": 100.3, f"{self.vapour.prefix}.pressure": float(self.pressure)
        }  # fmt: skip
