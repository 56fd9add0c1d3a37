"""Condensing turbine: steam expands into its own condenser and drives a generator."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.expansion import Expansion
from canewright.plant.station import Equations, Exchange, inlet, outlet, result, setting
from canewright.plant.streams import Water
from canewright.properties.steam import saturation_temperature, steam_enthalpy, water_enthalpy


class CondensingTurbine(Expansion):
    """Expansion to the pressure of a surface condenser, with it; usual 8-15 kPa (common practice, no source).

    It decides the flows of steam and of cooling water. The exhaust is wet; one wetter than 0.84 is refused by the name
    of its quality, for drops erode the last blades.
    """

    kind = "condensing turbine"
    hazards = (
        "Overspeed, live steam and vacuum: governors, trips and relief are for licensed persons under local codes.",
        "Rotating shafts and couplings: guards and lock-out.",
    )

    water = inlet(Water)
    condensate, warm = outlet(Water), outlet(Water)
    pressure = setting("kPa", 10.0, "absolute pressure of the condenser", limits=(4.0, 60.0), prior=0.5)
    approach = setting("K", 4.0, "cooling water below condensing temperature", limits=(0.5, 25.0), prior=1.0)
    exhaust_quality = result("1", 0.9, "vapour in the real exhaust", limits=(0.84, 1.0))

    def equations(self) -> Equations:
        """The expansion, the quality it ends at, the power, and the condenser's balances."""
        boiling = saturation_temperature(self.pressure)
        liquid, dry = water_enthalpy(boiling, self.pressure), steam_enthalpy(boiling, self.pressure)
        yield from self.ideal(self.pressure)
        fall = self.fall(self.pressure)
        yield (
            "the real exhaust has its quality",
            self.live_enthalpy - fall,
            liquid + self.exhaust_quality * (dry - liquid),
        )
        yield (
            "power is the fall of the steam, less losses",
            self.power.enthalpy_flow,
            self.kept * fall * self.steam.water,
        )
        yield "steam in is condensate out", self.steam.water, self.condensate.water
        yield "condensate leaves as it condenses", self.condensate.temperature, boiling
        yield "cooling water in is cooling water out", self.water.water, self.warm.water
        yield "cooling water approaches the condensing temperature", boiling - self.warm.temperature, self.approach
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        lost = (1.0 - self.kept) * self.fall(self.pressure) * self.steam.water
        yield Exchange("lost in bearings, gear and generator", "energy", -lost)

    def estimate(self) -> Mapping[str, float]:
        """The end points by hand, and the cooling water by the latent heat."""
        guess = dict(self.guessed_end(float(self.pressure)))
        boiling, flow = float(saturation_temperature(self.pressure)), float(self.steam_flow)
        left = float(self.live_enthalpy) - guess.pop("fall") - 4.19 * boiling
        rise = max(boiling - float(self.approach) - float(self.water.temperature), 1.0)
        cooling = flow * left / (4.19 * rise)
        return guess | {
            f"{self.name}.exhaust_quality": min(left / 2400.0, 1.0),
            f"{self.condensate.prefix}.water": flow,
            f"{self.condensate.prefix}.temperature": boiling,
            f"{self.water.prefix}.water": cooling,
            f"{self.warm.prefix}.water": cooling,
            f"{self.warm.prefix}.temperature": boiling - float(self.approach),
        }
