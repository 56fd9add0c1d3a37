"""Entrainment separator: vapour leaves boiling juice with droplets of it, and sugar with them."""

from __future__ import annotations

from canewright.plant.carrying_over import CarryingOver
from canewright.plant.station import inlet, outlet
from canewright.plant.streams import Liquor
from canewright.plant.strength import density
from canewright.quantity import Num


class EntrainmentSeparator(CarryingOver):
    """Vapour space and separator of a body: vapour takes along a little of the juice that boils, the more the faster.

    It stands behind an effect: juice and vapour enter as they left it. What is carried over has the composition
    of the juice and leaves at its own outlet; as sugar in condensate or in condenser water it is what the laboratory
    finds. Sucrose entrained is about 0.01 % of sucrose in juice in good order (from memory); water to boilers is turned
    away above some 20-50 mg/kg of sugar (from memory, local rules govern).
    """

    kind = "entrainment separator"

    liquor = inlet(Liquor)
    kept = outlet(Liquor)

    def _boiled(self) -> Liquor:
        return self.liquor

    def _kept(self) -> Liquor:
        return self.kept

    def _density(self) -> Num:
        return density(self.liquor)
