"""Hot juice that stays in a vessel: how long, and how much of its sucrose inverts meanwhile."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, Station, choice, result, setting
from canewright.plant.streams import PERCENT, Liquor
from canewright.plant.strength import guarded_purity, strength, volume_flow
from canewright.properties.kinetics import inversion_rate, ph_at_temperature, sucrose_inverted
from canewright.quantity import Num, constant
from canewright.quantity.maths import sqrt

LONGEST = constant(240.0, "h")
"""Juice at a standstill counts as staying ten days, for which the law of inversion holds; 3 h gain 0.01 % by it."""
CREEP_SQUARED = constant(1e-8, "m³·m³/h/h")


class Retaining(Station):
    """Sucrose inverts by a set share, or by its rate over the time that the vessel takes to fill.

    The rate takes the pH at the temperature of the juice, from the pH of the cooled sample and its fall per kelvin,
    which decides the loss within a factor of 4 to 10: measure it. Below 0.1 % an hour the loss hides in the error of
    routine control (van Hengel 1962, opening read), so it is a set share until somebody asks for the law.
    """

    inversion_law = choice("set", "vukov", says="how inversion is found: as set, or by pH, temperature and time")
    inversion = setting("%", 0.0, "sucrose inverted where it is set", limits=(0.0, 5.0))
    ph = setting("1", 7.0, "pH of the cooled sample", limits=(4.0, 9.0))
    ph_fall = setting("1/K", 0.010, "fall of the pH for each kelvin above 20 °C", limits=(0.0, 0.03))
    volume = setting("m³", 10.0, "volume of juice in the vessel", limits=(0.0, 10000.0))
    retention_time = result("h", 1.0, "time that the juice stays", limits=(0.0, 1e9))
    inverted = result("%", 0.1, "sucrose inverted, on sucrose that enters", limits=(0.0, 100.0))

    def _retained(self, juice: Liquor) -> Equations:
        """Retention time of this juice and what inverts of its sucrose."""
        flow, slowest = volume_flow(juice), self.volume / LONGEST
        renewed = sqrt(flow * flow + slowest * slowest + CREEP_SQUARED)
        yield "juice stays until its volume is renewed", self.retention_time * renewed, self.volume
        yield "sucrose inverts by the chosen law", self.inverted, self._lost(juice)

    def _lost(self, juice: Liquor) -> Num:
        if self.inversion_law == "set":
            return self.inversion
        hot = ph_at_temperature(self.ph, juice.temperature, self.ph_fall)
        rate = inversion_rate(juice.temperature, hot, strength(juice), guarded_purity(juice))
        return sucrose_inverted(rate, self.retention_time)

    def _inversion(self, juice: Liquor) -> Iterable[Exchange]:
        """Sucrose lost, water taken up and reducing sugars formed."""
        return inversion(self.inverted / PERCENT * juice.sucrose)

    def _stay(self, juice: Liquor) -> dict[str, float]:
        """First estimate of time and loss."""
        hours = float(self.volume) / (float(juice.flow) / 1.05 + float(self.volume) / 240.0 + 1e-4)
        return {f"{self.name}.retention_time": hours, f"{self.name}.inverted": float(self.inversion)}
