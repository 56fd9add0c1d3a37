"""Continuous vacuum pan: grain grows from compartment to compartment, each fed with its part of the liquor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.grained_pan import GrainedPan
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.station import Equations, choice, result, setting
from canewright.plant.streams import PERCENT
from canewright.quantity import Num
from canewright.quantity.maths import sqrt


class ContinuousPan(GrainedPan):
    """Compartments of equal volume in a row, stirred each, fed so that the massecuite grows by equal steps.

    Massecuite stays ``V / n / q`` in each compartment. Crystals that grow alike but stay by chance (stirred vessels
    in a row) end with sizes spread by ``sqrt(Σ t²) / Σ t`` of what they grew: 100 % on one compartment, ``100 / √n``
    on n equal ones (derived; the seed's own spread comes on top). Operator's handles: seed and its size, steam, feed
    and brix by compartment, vacuum. Measured: as a batch pan's, by compartment.

    8-16 compartments, 3-5 h for A, 5-8 h for C, 8-12 m² per m³, vapour as heating medium (from memory).
    """

    kind = "continuous pan"
    handles = ("brix", "steam", "feeds", "footing")

    compartments = choice("12", "4", "6", "8", "10", "16", says="number of compartments")
    volume = setting("m³", 120.0, "volume of all compartments when full", limits=(1.0, 2000.0))
    area = setting("m²", 1100.0, "calandria of all compartments", limits=(1.0, 20000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 0.4, "overall heat transfer coefficient", limits=(0.01, 3.0), prior=0.05
    )
    time_wanted = setting("h", 3.0, "time that the grain needs to grow", limits=(0.2, 24.0))

    residence_time = result("h", 3.5, "time that the massecuite stays", limits=(0.0, 1e9))
    size_variation = result("%", 20.0, "spread of the crystal sizes by unequal stay, by number", limits=(0.0, 100.0))

    def equations(self) -> Equations:
        """Those of a pan on a footing, and the time in each compartment."""
        yield from super().equations()
        flow, stays = self.massecuite.flow + STANDSTILL, self._stays()
        held = self.volume * self.density * sum(stays) / len(stays)
        yield "massecuite stays the sum of its times", self.residence_time * flow, held
        unequal = PERCENT * sqrt(sum(t * t for t in stays)) / sum(stays)
        grown = (self.grain_size - self.seed_size) / self.grain_size
        yield "sizes spread by unequal stay", self.size_variation, unequal * grown

    def _stays(self) -> list[Num]:
        """Time in each compartment on that in the last, which passes all the massecuite."""
        number = int(self.compartments)
        seed, whole = sum((s.flow for s in self.footing), 0.0 * self.massecuite.flow), self.massecuite.flow
        passing = [seed + (whole - seed) * (i + 1) / number for i in range(number)]
        return [(whole + STANDSTILL) / (flow + STANDSTILL) for flow in passing]

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time to grow, heating surface, and crystal that still flows."""
        yield "grain has its time to grow", self.time_wanted, self.residence_time
        passes = self.heat_transfer_coefficient * self.area * self._driving()
        yield "heat within what the calandria passes", self.duty, passes
        yield from super().capacities()

    def estimate(self) -> Mapping[str, float]:
        """As any pan, with four hours' stay."""
        return {**super().estimate(), f"{self.name}.residence_time": 4.0, f"{self.name}.size_variation": 20.0}
