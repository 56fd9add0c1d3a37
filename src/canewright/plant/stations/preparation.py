"""Cane preparation: knives and shredder open the cells; power goes into the cane as warmth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting, spread
from canewright.plant.streams import Juice, Power
from canewright.quantity import Num


class Preparation(Station):
    """Knives and shredder. Power 35-60 kW per t/h of fibre for a heavy-duty shredder (from memory, Rein 2007)."""

    kind = "cane preparation"
    hazards = ("Rotating knives and hammers: guards and lock-out under local safety rules; tramp iron can be thrown.",)

    cane, power = inlet(Juice), inlet(Power)
    prepared = outlet(Juice)
    specific_power = setting("kW/t·h", 50.0, "power for each t/h of fibre", limits=(0.0, 120.0), prior=5.0)
    installed_power = setting("kW", 5000.0, "installed power", limits=(0.0, 50000.0))

    def equations(self) -> Equations:
        """Composition passes; the power taken becomes warmth."""
        yield from conserve(self.cane, into=[self.prepared])
        yield "power is what the fibre asks", self.power.power, self.specific_power * self.cane.fibre
        yield from conserve_energy(self)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Installed power."""
        yield "preparation power within the installed power", self.power.power, self.installed_power

    def estimate(self) -> Mapping[str, float]:
        """Cane as it came; power from its fibre."""
        asked = {f"{self.power.prefix}.power": float(self.specific_power * self.cane.fibre)}
        return {**spread([self.cane], {self.prepared: 1.0}), **asked}
