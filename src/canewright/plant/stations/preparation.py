"""Cane preparation: knives and shredder open the cells; power goes into the cane as warmth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.milling import preparation_index_by_power
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import LiquorStation
from canewright.plant.station import Equations, Exchange, inlet, outlet, setting, spread
from canewright.plant.streams import Juice, Power, PreparedCane
from canewright.quantity import Num


class Preparation(LiquorStation):
    """Knives and shredder; the prepared cane carries its preparation index to a first mill or diffuser fed with it.

    Power 10-20 kW per t/h of fibre for knives, 35-60 for a heavy-duty shredder (from memory, Rein 2007); index 60-75
    before and 85-92 after it (common practice). Worn hammers open less with the same power: raise ``opening_power``.
    Moved by speed, grid and hammers; measured: power, and the index by leaching or conductivity to about 2 units.
    """

    kind = "cane preparation"
    hazards = ("Rotating knives and hammers: guards and lock-out under local safety rules; tramp iron can be thrown.",)
    handles = ("specific_power",)
    measured = ("power power", "prepared preparation index")

    cane, power = inlet(Juice), inlet(Power)
    prepared = outlet(PreparedCane)
    specific_power = setting("kW/t·h", 50.0, "power for each t/h of fibre", limits=(0.0, 120.0), prior=5.0)
    index_before = setting("%", 55.0, "preparation index of cane as it comes", limits=(0.0, 80.0), prior=5.0)
    opening_power = setting(
        "kW/t·h", 35.0, "power for each t/h of fibre that opens 63 % of the closed cells", limits=(10.0, 150.0)
    )
    installed_power = setting("kW", 5000.0, "installed power", limits=(0.0, 50000.0))

    def equations(self) -> Equations:
        """Composition passes; the power taken opens cells and becomes warmth."""
        yield from conserve(self.cane, into=[self.prepared])
        yield "power is what the fibre asks", self.power.power, self.specific_power * self.cane.fibre
        yield "cells open with the power on fibre", self.prepared.preparation_index, self._index()
        yield from conserve_energy(self)

    def _index(self) -> Num:
        return preparation_index_by_power(self.specific_power, self.index_before, self.opening_power)

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        yield self._lost(self.prepared.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Installed power."""
        yield "preparation power within the installed power", self.power.power, self.installed_power

    def estimate(self) -> Mapping[str, float]:
        """Cane as it came; power from its fibre; the index itself."""
        asked = {f"{self.power.prefix}.power": float(self.specific_power * self.cane.fibre)}
        index = {f"{self.prepared.prefix}.preparation_index": float(self._index())}
        return {**spread([self.cane], {self.prepared: 1.0}), **asked, **index}
