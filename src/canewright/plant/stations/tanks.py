"""Tanks and mixers: several streams become one."""

from __future__ import annotations

from canewright.plant.mixing import Mixing
from canewright.plant.station import Equations, inlets, outlet
from canewright.plant.streams import Juice, Liquor, Massecuite, Water


class JuiceTank(Mixing):
    """A tank of juice that may carry fibre: mixed juice, limed juice."""

    kind = "juice tank"
    feeds = inlets(Juice)
    mixed = outlet(Juice)


class LiquorTank(Mixing):
    """A tank of liquor, syrup, molasses or sweet water."""

    kind = "liquor tank"
    feeds = inlets(Liquor)
    mixed = outlet(Liquor)


class WaterTank(Mixing):
    """A tank of water or condensate."""

    kind = "water tank"
    feeds = inlets(Water)
    mixed = outlet(Water)


class MassecuiteMixer(Mixing):
    """Sugar, magma or massecuite streams joined without dissolving crystal."""

    kind = "massecuite mixer"
    feeds = inlets(Massecuite)
    mixed = outlet(Massecuite)

    def equations(self) -> Equations:
        """Each component and the energy pass through; crystals stay crystals."""
        yield from super().equations()
        yield "crystals stay crystals", sum(s.crystal for s in self.feeds), self.mixed.crystal
        yield "crystals keep their colour", sum(s.crystal_colour for s in self.feeds), self.mixed.crystal_colour
