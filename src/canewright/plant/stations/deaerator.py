"""Deaerator: condensate and make-up are heated with steam and pumped to the boilers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, outlets, setting
from canewright.plant.streams import PERCENT, BoilerWater, Steam, Water
from canewright.properties.steam import saturated_water_enthalpy, saturation_pressure, water_enthalpy
from canewright.quantity import Num


class Deaerator(Station):
    """Deaerator with feed pump: feedwater at a temperature (103-120 °C, common practice, no source) and pressure.

    It decides the flow of make-up (what condensate lacks) and of steam; the flow of feedwater is the boilers'. More
    condensate than feedwater is refused by the name of the make-up: draw the surplus off before. Delivered above its
    own pressure, the water has the work of a feed pump that is not described apart, as far as it raises its enthalpy;
    before a feed pump of its own the deaerator's pressure is a little above that of boiling. Vents 0.1-0.5 % (common
    practice, no source).
    """

    kind = "deaerator"
    hazards = (
        "Hot water and steam under pressure: relief and low-level protection are for licensed persons.",
        "Condensate with sugar must never reach the boilers: divert at the first sign under the site's procedure.",
    )
    handles = ("pressure",)
    measured = ("feedwater temperature", "feedwater pressure", "make_up mass flow")

    condensates = inlets(Water, may_be_open=True)
    make_up, steam = inlet(Water), inlet(Steam)
    feedwater = outlet(BoilerWater)
    vent = outlets(Steam, may_be_open=True)
    pressure = setting("kPa", 4500.0, "absolute pressure of the feed pump's delivery", limits=(120.0, 12000.0))
    temperature = setting("°C", 110.0, "temperature of the feedwater", limits=(60.0, 150.0), prior=1.0)
    vented = setting(
        "%", 0.2, "steam that leaves with the air, on feedwater, at each vent described", limits=(0.0, 5.0)
    )
    rating = setting("t/h", 400.0, "most feedwater that it heats and frees of air", limits=(0.0, 2000.0))

    def equations(self) -> Equations:
        """Mass, energy, and the state that is set."""
        water = self.feedwater
        brought = sum(s.water for s in (*self.condensates, self.make_up, self.steam))
        yield "water in is water out", brought, water.water + sum(v.water for v in self.vent)
        yield from conserve_energy(self)
        yield "feedwater leaves at the temperature", water.temperature, self.temperature
        yield "feedwater leaves at the pressure", water.pressure, self.pressure
        for vent in self.vent:
            yield "the vent takes its share of steam", PERCENT * vent.water, self.vented * water.water
            yield "vented steam is as warm as the water", vent.temperature, self.temperature
            yield "vented steam has the pressure of boiling", vent.pressure, saturation_pressure(self.temperature)

    def exchanges(self) -> Iterable[Exchange]:
        """The feed pump's work."""
        water = self.feedwater
        lifted = water_enthalpy(water.temperature, water.pressure) - saturated_water_enthalpy(water.temperature)
        yield Exchange("work of the feed pump", "energy", water.water * lifted)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What it is built for."""
        yield "feedwater within the rating of the deaerator", self.feedwater.water, self.rating

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
        asked |= {f"{v.prefix}.water": flow * float(self.vented) / 100.0 for v in self.vent}
        asked |= {f"{v.prefix}.temperature": warm for v in self.vent}
        asked |= {f"{v.prefix}.pressure": float(saturation_pressure(warm)) for v in self.vent}
        return {f"{self.feedwater.prefix}.{name}": value for name, value in state.items()} | asked
