"""Desuperheater: feedwater sprayed into exhaust takes its superheat before it goes to calandrias."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting
from canewright.plant.streams import BoilerWater, Steam
from canewright.properties.steam import saturated_steam_enthalpy, steam_enthalpy
from canewright.quantity import Num


class Desuperheater(Station):
    """Spray in a main; superheat left 3-10 K (common practice, no source). It does not change the pressure.

    It decides the flow of steam and of spray water from what its users take. Steam with less superheat than is left is
    refused by the name of the water, which would be negative.
    """

    kind = "desuperheater"
    hazards = ("Hot water and steam: spray valves and drains are for licensed persons under local pressure codes.",)
    handles = ("superheat",)
    measured = ("cooled temperature", "cooled pressure")

    steam, water = inlet(Steam), inlet(BoilerWater)
    cooled = outlet(Steam)
    spray_rating = setting("t/h", 50.0, "water that the spray passes", limits=(0.0, 500.0))
    superheat = setting("K", 5.0, "superheat left", limits=(0.0, 150.0), prior=2.0)

    def equations(self) -> Equations:
        """Mass, energy, pressure and the superheat that is left."""
        cooled = self.cooled
        yield "water in is water out", self.steam.water + self.water.water, cooled.water
        yield from conserve_energy(self)
        yield "steam keeps its pressure", cooled.pressure, self.steam.pressure
        yield "cooled steam keeps its superheat", cooled.temperature, cooled.saturation_temperature + self.superheat

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Water within what the spray passes, t/h."""
        yield "water within what the spray passes", self.water.water, self.spray_rating

    def estimate(self) -> Mapping[str, float]:
        """Spray by the superheat taken."""
        cooled, steam = self.cooled, self.steam
        boiling, flow = float(steam.saturation_temperature), float(self.cooled.water)
        over = float(steam_enthalpy(steam.temperature, steam.pressure) - saturated_steam_enthalpy(boiling))
        share = min(max((over - 2.1 * float(self.superheat)) / 2250.0, 0.0), 0.5)
        return {
            f"{cooled.prefix}.pressure": float(steam.pressure),
            f"{cooled.prefix}.temperature": boiling + float(self.superheat),
            f"{steam.prefix}.water": flow / (1.0 + share),
            f"{self.water.prefix}.water": flow * share / (1.0 + share),
        }
