"""Vacuum pan: boils syrup, liquor or molasses on a footing to a massecuite of a set brix and exhaustion."""

from __future__ import annotations

from collections.abc import Iterable

from canewright.plant.boiling_pan import BoilingPan
from canewright.plant.station import setting
from canewright.quantity import Num


class VacuumPan(BoilingPan):
    """All pans of one kind of strike together, averaged over strikes: sized by their volume and cycle alone.

    Brix A 91-93, B 93-95, C 95-97, refinery 88-92; mother liquor purity falls 15-20 points in an A strike; colour
    rise 2-8 % (from memory). A footing comes as it comes, among the feeds.
    """

    kind = "vacuum pan"

    volume = setting("m³", 200.0, "strike volume of all pans of this kind", limits=(0.0, 3000.0))
    cycle = setting("h", 4.0, "time from strike to strike", limits=(0.5, 24.0))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Strike volume, and crystal that the mother liquor can still carry out of the pan."""
        needed = self.massecuite.flow * self.cycle / self.density
        yield "massecuite of one cycle within the strike volume", needed, self.volume
        yield from super().capacities()
