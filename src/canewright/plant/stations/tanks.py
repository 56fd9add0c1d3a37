"""Tanks and mixers: several streams become one."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, inlets, outlet, spread
from canewright.plant.streams import Juice, Liquor, Massecuite, Stream, Water
from canewright.quantity import constant

STILL = constant(4e-11, "MJ/h/K")
"""Heat capacity flow of a hundredth of a milligram of water an hour, so that an empty tank has a temperature."""


class _Tank(Station):
    """Everything that enters leaves together, mixed, at the temperature of the mixture."""

    def _leaves(self) -> Stream:
        return self.leaving[0]

    def equations(self) -> Equations:
        """Each component and the energy pass through; empty, it is as warm as its first feed."""
        mixed = self._leaves()
        yield from conserve(*self.entering, into=[mixed])
        for sentence, brought, carried in conserve_energy(self):
            yield sentence, brought, carried + STILL * (mixed.temperature - self.entering[0].temperature)

    def estimate(self) -> Mapping[str, float]:
        """The sum of what enters."""
        return spread(self.entering, {self._leaves(): 1.0})


class JuiceTank(_Tank):
    """A tank of juice that may carry fibre: mixed juice, limed juice."""

    kind = "juice tank"
    feeds = inlets(Juice)
    mixed = outlet(Juice)


class LiquorTank(_Tank):
    """A tank of liquor, syrup, molasses or sweet water."""

    kind = "liquor tank"
    feeds = inlets(Liquor)
    mixed = outlet(Liquor)


class WaterTank(_Tank):
    """A tank of water or condensate."""

    kind = "water tank"
    feeds = inlets(Water)
    mixed = outlet(Water)


class MassecuiteMixer(_Tank):
    """Sugar, magma or massecuite streams joined without dissolving crystal."""

    kind = "massecuite mixer"
    feeds = inlets(Massecuite)
    mixed = outlet(Massecuite)

    def equations(self) -> Equations:
        """Each component and the energy pass through; crystals stay crystals."""
        yield from super().equations()
        yield "crystals stay crystals", sum(s.crystal for s in self.feeds), self.mixed.crystal
        yield "crystals keep their colour", sum(s.crystal_colour for s in self.feeds), self.mixed.crystal_colour
