"""Hot well: condensates are gathered and given out to users; what is short is made up, what is over runs off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.either import either
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, outlets, setting
from canewright.plant.streams import Water
from canewright.quantity import Num, constant

SEEPING = constant(0.05**2, "t²/h²")
"""Square of what make-up and surplus pass together where neither is wanted: float valves leak a little."""


class HotWell(Station):
    """Tank of condensate for boilers, or of hot water for imbibition, washing, filters, melting and lime.

    Users decide the flow of each branch. Of make-up and surplus one is nothing (their product is 0.000625 t²/h²). A
    mill gives more condensate than it uses: the water of the cane leaves as surplus, about 20-30 % on cane (common
    practice, no source). Exhaust and first-vapour condensates go to the boilers, the rest to hot water.
    """

    kind = "hot well"
    hazards = (
        "Hot water scalds; vents and overflows are led away from people.",
        "Condensate that may hold sugar never goes to boilers: test it and divert at the first sign by site procedure.",
    )
    handles = ("make_up",)
    measured = ("surplus temperature", "surplus mass flow", "make_up mass flow")

    condensates, make_up = inlets(Water), inlet(Water)
    branches, surplus = outlets(Water), outlet(Water)
    heat_loss = setting("kW/K", 2.0, "heat lost for each kelvin above the surroundings", limits=(0.0, 500.0))
    surroundings = setting("°C", 30.0, "temperature of the surroundings", limits=(-10.0, 50.0))
    rating = setting("t/h", 600.0, "most that the pumps give the users", limits=(0.0, 5000.0))

    def equations(self) -> Equations:
        """One tank of one temperature; either make-up or surplus."""
        surplus = self.surplus
        brought = sum(s.water for s in (*self.condensates, self.make_up))
        yield "water in is water out", brought, sum(b.water for b in self.branches) + surplus.water
        yield from either("the well is made up or runs over", self.make_up.water, surplus.water, SEEPING)
        for branch in self.branches:
            yield "water leaves as warm as the well", branch.temperature, surplus.temperature
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost to the surroundings."""
        lost = self.KILOWATT * self.heat_loss * (self.surplus.temperature - self.surroundings)
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the pumps give."""
        yield "water to the users within what the pumps give", self._drawn(), self.rating

    def _drawn(self) -> Num:
        return sum(b.water for b in self.branches)

    def estimate(self) -> Mapping[str, float]:
        """The mixture; what is short or over from the users' guesses."""
        came = sum(float(s.water) for s in self.condensates)
        over = came - float(self._drawn())
        warm = sum(float(s.water) * float(s.temperature) for s in self.condensates) / came if came > 1e-6 else 60.0
        guess = {f"{s.prefix}.temperature": warm for s in (*self.branches, self.surplus)}
        guess |= {f"{self.surplus.prefix}.water": max(over, 0.025)}
        return guess | {f"{self.make_up.prefix}.water": max(-over, 0.025)}
