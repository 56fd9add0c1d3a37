"""Deaerator: condensate and make-up are heated with steam and pumped to the boilers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, setting
from canewright.plant.streams import BoilerWater, Steam, Water
from canewright.properties.steam import saturated_water_enthalpy, water_enthalpy


class Deaerator(Station):
    """Deaerator with feed pump: feedwater at a temperature (103-120 °C, common practice, no source) and pressure.

    It decides the flow of make-up (what condensate lacks) and of steam; the flow of feedwater is the boilers'. More
    condensate than feedwater is refused by the name of the make-up: draw the surplus off before. The feed pump's work
    is counted as far as it raises the enthalpy of the water at that temperature.
    """

    kind = "deaerator"
    hazards = (
        "Hot water and steam under pressure: relief and low-level protection are for licensed persons.",
        "Condensate with sugar must never reach the boilers: divert at the first sign under the site's procedure.",
    )

    condensates = inlets(Water, may_be_open=True)
    make_up, steam = inlet(Water), inlet(Steam)
    feedwater = outlet(BoilerWater)
    pressure = setting("kPa", 4500.0, "absolute pressure of the feed pump's delivery", limits=(120.0, 12000.0))
    temperature = setting("°C", 110.0, "temperature of the feedwater", limits=(60.0, 150.0), prior=1.0)

    def equations(self) -> Equations:
        """Mass, energy, and the state that is set."""
        water = self.feedwater
        brought = sum(s.water for s in (*self.condensates, self.make_up, self.steam))
        yield "water in is water out", brought, water.water
        yield from conserve_energy(self)
        yield "feedwater leaves at the temperature", water.temperature, self.temperature
        yield "feedwater leaves at the pressure", water.pressure, self.pressure

    def exchanges(self) -> Iterable[Exchange]:
        """The feed pump's work."""
        water = self.feedwater
        lifted = water_enthalpy(water.temperature, water.pressure) - saturated_water_enthalpy(water.temperature)
        yield Exchange("work of the feed pump", "energy", water.water * lifted)

    def estimate(self) -> Mapping[str, float]:
        """Cold make-up for what is lacking, steam for what is cold."""
        flow, warm = float(self.feedwater.water), float(self.temperature)
        condensate = sum(float(s.water) for s in self.condensates)
        short = sum(float(s.water) * (warm - float(s.temperature)) for s in self.condensates)
        short += max(flow - condensate, 0.0) * (warm - float(self.make_up.temperature))
        steam = max(4.19 * short / 2250.0, 0.0)
        state = {"temperature": warm, "pressure": float(self.pressure), "water": flow}
        asked = {
            f"{self.make_up.prefix}.water": max(flow - condensate - steam, 0.0),
            f"{self.steam.prefix}.water": steam,
        }
        return {f"{self.feedwater.prefix}.{name}": value for name, value in state.items()} | asked
