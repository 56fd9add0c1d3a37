"""Surface condenser of a turbine: exhaust condenses at a pressure, cooling water stays an approach below it."""

from __future__ import annotations

from canewright.plant.station import Equations, Station, inlet, outlet, result, setting
from canewright.plant.streams import Water
from canewright.properties.steam import saturation_temperature, steam_enthalpy, water_enthalpy
from canewright.quantity import Num


class SurfaceCondenser(Station):
    """What turbines with a condenser share. Usual 8-15 kPa, approach 3-8 K (common practice, no source)."""

    water = inlet(Water)
    condensate, warm = outlet(Water), outlet(Water)
    pressure = setting("kPa", 10.0, "absolute pressure of the condenser", limits=(4.0, 60.0), prior=0.5)
    approach = setting("K", 4.0, "cooling water below condensing temperature", limits=(0.5, 25.0), prior=1.0)
    exhaust_quality = result("1", 0.9, "vapour in the real exhaust", limits=(0.84, 1.0))

    def condensing(self, exhaust: Num, flow: Num) -> Equations:
        """Quality of the exhaust (its enthalpy, kJ/kg), its condensate, and the cooling water."""
        boiling = saturation_temperature(self.pressure)
        liquid, dry = water_enthalpy(boiling, self.pressure), steam_enthalpy(boiling, self.pressure)
        yield "the real exhaust has its quality", exhaust, liquid + self.exhaust_quality * (dry - liquid)
        yield "steam in is condensate out", flow, self.condensate.water
        yield "condensate leaves as it condenses", self.condensate.temperature, boiling
        yield "cooling water in is cooling water out", self.water.water, self.warm.water
        yield "cooling water approaches the condensing temperature", boiling - self.warm.temperature, self.approach

    def guessed_condensing(self, flow: float, exhaust: float) -> dict[str, float]:
        """First estimate: the cooling water by the heat of the exhaust (kJ/kg)."""
        boiling = float(saturation_temperature(self.pressure))
        left = exhaust - 4.19 * boiling
        rise = max(boiling - float(self.approach) - float(self.water.temperature), 1.0)
        cooling = flow * left / (4.19 * rise)
        return {
            f"{self.name}.exhaust_quality": min(left / 2400.0, 1.0),
            f"{self.condensate.prefix}.water": flow,
            f"{self.condensate.prefix}.temperature": boiling,
            f"{self.water.prefix}.water": cooling,
            f"{self.warm.prefix}.water": cooling,
            f"{self.warm.prefix}.temperature": boiling - float(self.approach),
        }
