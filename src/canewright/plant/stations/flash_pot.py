"""Flash pot: hot condensate is let down to the pressure of a vapour and gives part of itself to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.ratios import SEEPAGE
from canewright.plant.station import Equations, Station, inlet, inlets, outlet, setting
from canewright.plant.streams import Steam, Water
from canewright.properties.steam import saturated_steam_enthalpy, steam_enthalpy
from canewright.quantity import Num


class FlashPot(Station):
    """Condensates boil down to the boiling point at the pressure of the vapour; the flash joins it, saturated.

    Colder condensate would draw vapour down instead (the flash is then negative); the balance holds either way.
    """

    kind = "flash pot"
    hazards = ("Flashing condensate scalds and hammers pipes: drain and warm lines by site procedure.",)
    measured = ("condensate temperature", "vapour pressure")

    condensates, vapour = inlets(Water), inlet(Steam)
    joined, condensate = outlet(Steam), outlet(Water)
    rating = setting("t/h", 600.0, "condensate that pot and siphon pass", limits=(0.0, 5000.0))

    def equations(self) -> Equations:
        """Water and energy are kept; vapour and flash mix; condensate leaves at its boiling point."""
        vapour, joined = self.vapour, self.joined
        boils = vapour.saturation_temperature
        water = sum(c.water for c in self.condensates)
        yield "water in is water out", vapour.water + water, joined.water + self.condensate.water
        yield "flash joins at the pressure of the vapour", joined.pressure, vapour.pressure
        yield "condensate leaves at its boiling point", self.condensate.temperature, boils
        own = steam_enthalpy(vapour.temperature, vapour.pressure)
        mixed = steam_enthalpy(joined.temperature, joined.pressure)
        flashed = saturated_steam_enthalpy(boils)
        yield (
            "vapour and saturated flash mix",
            (joined.water + SEEPAGE) * mixed,
            vapour.water * own + (joined.water - vapour.water + SEEPAGE) * flashed,
        )
        yield from conserve_energy(self)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Condensate within what pot and siphon pass, t/h."""
        yield "condensate within what pot and siphon pass", self.condensate.water, self.rating

    def estimate(self) -> Mapping[str, float]:
        """Two per cent of the condensate flashes."""
        boils = float(self.vapour.saturation_temperature)
        water = sum(float(c.water) for c in self.condensates)
        guess = {f"{self.joined.prefix}.water": float(self.vapour.water) + 0.02 * water}
        guess |= {f"{self.joined.prefix}.temperature": float(self.vapour.temperature)}
        guess |= {f"{self.joined.prefix}.pressure": float(self.vapour.pressure)}
        cool = {f"{self.condensate.prefix}.water": 0.98 * water, f"{self.condensate.prefix}.temperature": boils}
        return guess | cool
