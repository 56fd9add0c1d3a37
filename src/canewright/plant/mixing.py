"""Vessels in which everything that enters leaves together, mixed, at the temperature of the mixture."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, spread
from canewright.plant.streams import Stream
from canewright.quantity import constant

STILL = constant(4e-11, "MJ/h/K")
"""Heat capacity flow of a hundredth of a milligram of water an hour, so that an empty tank has a temperature."""


class Mixing(Station):
    """One outlet of all that enters."""

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
