"""Heaters of juice and liquor: held at a temperature, or as hot as their surface makes them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.heating import TubeHeater
from canewright.plant.station import Equations, inlet, outlet, result, setting
from canewright.plant.streams import Juice
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp, sqrt

MOST_UNITS = constant(1e5, "1")
"""Juice at a standstill is as hot as its vapour: that many transfer units leave it no difference."""
NOTHING_SQUARED = constant(1e-20, "MJ·MJ/h/h/K/K")


class LiquorHeater(TubeHeater):
    """Warms clear juice, syrup or liquor to a temperature. It decides the flow of its vapour.

    The coefficient that this takes of the surface in service is a result, to be held against the one that the scaled
    surface has.
    """

    kind = "liquor heater"
    handles = ("temperature", "in_service")

    temperature = setting(
        "°C", 100.0, "temperature of the juice or liquor that leaves", limits=(20.0, 130.0), prior=1.0
    )
    heat_transfer_coefficient = result("kW/m²/K", 1.0, "coefficient that the surface must show", limits=(0.0, 50.0))

    def equations(self) -> Equations:
        """What heaters share, and the temperature."""
        yield from self._shared(self.heat_transfer_coefficient, self._capacity_flow())
        yield "juice leaves at its temperature", self.heated.temperature, self.temperature

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Coefficient within that of the scaled surface; velocity, m/s."""
        yield "surface passes the heat", self.heat_transfer_coefficient, self.working_coefficient
        yield self._slow_enough()

    def estimate(self) -> Mapping[str, float]:
        """The set temperature."""
        return self._warmed(float(self.temperature))


class JuiceHeater(LiquorHeater):
    """Warms raw or limed juice that may carry fibre: 30-75 °C before and 70-105 °C after liming (from memory)."""

    kind = "juice heater"

    liquor, heated = inlet(Juice), outlet(Juice)


class RatedLiquorHeater(TubeHeater):
    """Warms clear juice, syrup or liquor as far as its surface does, uncontrolled. It decides the flow of its vapour.

    Scale, less vapour pressure or more juice show in the temperature.
    """

    kind = "rated liquor heater"

    transfer_units = result("1", 1.0, "number of transfer units", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """What heaters share, by the coefficient of the scaled surface."""
        juice, surface = self._capacity_flow(), self.KILOWATT * self.working_coefficient * self._serving(self.area)
        least = surface / MOST_UNITS
        yield from self._shared(self.working_coefficient, sqrt(juice * juice + least * least + NOTHING_SQUARED))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Velocity, m/s."""
        yield self._slow_enough()

    def estimate(self) -> Mapping[str, float]:
        """As far towards the condensing vapour as one kilowatt to the square metre and kelvin brings it."""
        surface = 3.6 * float(self._serving(self.area)) + 1e-9
        units = surface / (3.9 * float(self.liquor.flow) + surface / float(MOST_UNITS))
        cold, steam = float(self.liquor.temperature), float(self.vapour.saturation_temperature)
        guess = self._warmed(steam - (steam - cold) * float(exp(-units)))
        return guess | {f"{self.name}.transfer_units": units}


class RatedJuiceHeater(RatedLiquorHeater):
    """Warms raw or limed juice that may carry fibre, as far as its surface does."""

    kind = "rated juice heater"

    liquor, heated = inlet(Juice), outlet(Juice)
