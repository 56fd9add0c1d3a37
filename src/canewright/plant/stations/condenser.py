"""Condenser: cold water takes vapour down and holds the vacuum."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station, inlet, inlets, outlet, setting
from canewright.plant.streams import Steam, Water
from canewright.properties.steam import saturation_temperature


class Condenser(Station):
    """Jet condenser of one or more vapours at one pressure. It decides those pressures and the flow of its water.

    Water leaves an approach below the boiling point at the pressure: 3-8 K (from memory). Air in the vapour, which
    raises the pressure above that of the steam, is part of the approach.
    """

    kind = "condenser"
    hazards = (
        "A flooded tail pipe or lost water breaks the vacuum and can draw water back: levels and seals by site rules.",
        "Sugar carried over fouls rivers: watch the water for sugar and keep to the discharge licence.",
    )

    vapours, water = inlets(Steam), inlet(Water)
    warm = outlet(Water)
    pressure = setting("kPa", 15.0, "absolute pressure", limits=(4.0, 150.0), prior=0.5)
    approach = setting("K", 5.0, "how far the warm water stays below the boiling point", limits=(0.1, 40.0), prior=1.0)

    def equations(self) -> Equations:
        """One pressure; vapour and water leave together, an approach below the boiling point."""
        for vapour in self.vapours:
            yield "vapour has the pressure of the condenser", vapour.pressure, self.pressure
        boils = saturation_temperature(self.pressure)
        yield "water in is water out", sum(v.water for v in self.vapours) + self.water.water, self.warm.water
        yield "water leaves an approach below the boiling point", self.warm.temperature, boils - self.approach
        yield from conserve_energy(self)

    def estimate(self) -> Mapping[str, float]:
        """The pressure of the vapours, and water by the latent heat."""
        vapour = sum(float(v.water) for v in self.vapours)
        warm = float(saturation_temperature(self.pressure) - self.approach)
        water = vapour * 2400.0 / (4.18 * max(warm - float(self.water.temperature), 3.0))
        guess = {f"{v.prefix}.pressure": float(self.pressure) for v in self.vapours}
        guess |= {f"{self.water.prefix}.water": water, f"{self.warm.prefix}.water": water + vapour}
        return {**guess, f"{self.warm.prefix}.temperature": warm}
